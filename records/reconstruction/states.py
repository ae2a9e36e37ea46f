"""The object on a day: which traces were there, were not, or may have been, and how it looked."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.contrib.gis.db.models.functions import AsSVG
from django.db import connection

from records import history
from records.choices import Family
from records.models import Face, Object
from records.reconstruction.gather import gather
from records.spatial import AreaMm2

WHOLE_SHARE = 0.6  # of a face; a trace that covers more is named beside the drawing, not drawn
DRAWN_PX = 2000  # shapes are simplified to a pixel of a drawing this wide
POINT_SHARE = 0.004  # radius of a point, of the face's width


def traces_on(item: Object, day: date) -> dict[int, str]:
    """State of every standing trace on that day: 'present', 'absent' or 'possible', by its key.

    Rests on all evidence in the records as they are now.
    """
    return states(gather(item).case(), day)


def states(case: dict[str, Any], day: date) -> dict[int, str]:
    """The same for a case that is there already."""
    found = history.state(history.Case.from_json(case), day)
    return {int(trace.removeprefix("trace:")): state for trace, state in found.items()}


@dataclass(frozen=True, slots=True)
class Stop:
    """A day at which something was over, to go to; `at` counts days from the first."""

    day: date
    label: str
    at: int

    @property
    def iso(self) -> str:
        return self.day.isoformat()


def stops(case: Mapping[str, Any], result: Mapping[str, Any]) -> list[Stop]:
    """The last possible day of each event, in order: by then it is over."""
    first = date.fromisoformat(case["horizon"]["earliest"])
    found = []
    for event in case["events"]:
        if event["kind"] in {"treatment", "occurrence"}:
            day = date.fromisoformat(result["events"][event["id"]]["end"][1])
            found.append(Stop(day, event["label"], (day - first).days))
    return sorted(found, key=lambda stop: (stop.day, stop.label))


def best_known(result: Mapping[str, Any]) -> date | None:
    """The last of the days on which the most traces are certain to have been there."""
    spans = [(b["made"][1], b["gone"][0]) for b in result["traces"].values()]
    certain = [(made, gone) for made, gone in spans if made <= gone]
    steps = sorted([(made, 1) for made, _ in certain] + [(gone, 2) for _, gone in certain])
    there, most, best = 0, 0, None
    for day, step in steps:
        if step == 1:
            there += 1
        else:
            if there >= most:
                most, best = there, day
            there -= 1
    return date.fromisoformat(best) if best else None


@dataclass(frozen=True, slots=True)
class Mark:
    """A trace as drawn: `path` is SVG path data in face millimetres, y downwards from zero."""

    trace: int
    label: str
    family: str
    state: str
    path: str

    @property
    def entity(self) -> str:
        """Its name in a case."""
        return f"trace:{self.trace}"


@dataclass(frozen=True, slots=True)
class Side:
    """A face with its traces on a day; `whole` are those that cover (nearly) all of it."""

    face: Face
    width_mm: float
    height_mm: float
    outline: str
    marks: tuple[Mark, ...]
    whole: tuple[Mark, ...]

    @property
    def hatch_scale(self) -> float:
        """Millimetres to a pixel of a drawing on a usual page, so that hatching keeps its look."""
        return round(self.width_mm / 640, 3)


# Lines and points have no inside to fill: they are drawn as wide as a point is.
DRAWN = """
    SELECT t.id, t.label, k.label, t.number, k.family,
        ST_AsSVG(
            CASE WHEN ST_Dimension(t.shape) = 2
                THEN ST_SimplifyPreserveTopology(t.shape, %(pixel)s)
                ELSE ST_Buffer(t.shape, %(point)s, 4)
            END, 1, 1),
        ST_Area(t.shape)
    FROM records_trace t
    JOIN records_tracekind k ON k.id = t.kind_id
    WHERE t.face_id = %(face)s AND t.id = ANY(%(there)s) AND k.family = ANY(%(families)s)
        AND t.shape IS NOT NULL
    ORDER BY ST_Area(t.shape) DESC, t.id
"""


def surface_on(item: Object, states: Mapping[int, str], families: Sequence[str]) -> list[Side]:
    """Every face of an object with the traces of these families that were or may have been there.

    One query for the faces and one for each face.
    """
    faces = Face.objects.filter(object=item, withdrawn_at__isnull=True).annotate(
        path=AsSVG("outline", relative=True, precision=1), area_mm2=AreaMm2("outline")
    )
    return [_side(face, states, families) for face in faces]


def places_of(item: Object, traces: Iterable[int]) -> list[Side]:
    """The faces on which these traces lie, with them drawn; faces without any are left out."""
    sides = surface_on(item, dict.fromkeys(traces, "present"), list(Family.values))
    return [side for side in sides if side.marks or side.whole]


def _side(face: Any, states: Mapping[int, str], families: Sequence[str]) -> Side:
    width_mm, height_mm = face.size_mm
    marks: list[Mark] = []
    whole: list[Mark] = []
    there = [pk for pk, state in states.items() if state != "absent"]
    with connection.cursor() as cursor:
        cursor.execute(
            DRAWN,
            {
                "face": face.pk,
                "there": there,
                "families": list(families),
                "pixel": width_mm / DRAWN_PX,
                "point": width_mm * POINT_SHARE,
            },
        )
        for pk, label, kind, number, family, path, area_mm2 in cursor.fetchall():
            mark = Mark(pk, label or f"{kind} {number}", family, states[pk], path)
            covers = area_mm2 > WHOLE_SHARE * face.area_mm2
            (whole if covers else marks).append(mark)
    return Side(face, width_mm, height_mm, face.path, tuple(marks), tuple(whole))
