"""Faces with their traces as last seen, ready to be mapped and measured."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from django.db.models import F, FloatField, Func, Prefetch, TextField
from django.db.models.functions import Coalesce

from analyses.models import SamplingPoint
from records import areas, quantities
from records.areas import Extent, Mapped
from records.choices import FaceKind, Family, ImageKind, Seen
from records.models import Face, Image, Object, Placement, Sighting, Trace, Zone
from records.signs import Sign
from reports.content import condition
from reports.content.condition import FAMILIES, KindLine, ZoneLine
from reports.content.reading import condensed, few, natural, number, on, path, simplified, standing
from reports.maps import Ground, Mark, Spot, scale_of

PAPER_PRECISION_MM = 0.05  # finer detail does not show in print


class State(StrEnum):
    """What the latest look at a trace leaves certain."""

    CERTAIN = "certain"
    POSSIBLE = "possible"
    GONE = "gone"


@dataclass(frozen=True)
class Dates:
    """When a trace was made and, if it has certainly ended, when; in words, with the grounds.

    The years are for lists: '1951–1988'.
    """

    made: str
    made_years: str
    gone: str
    gone_years: str
    grounds: tuple[str, ...]


@dataclass(frozen=True)
class Grounds:
    """Why traces of one kind that are dated alike are dated so; what is said is said of each."""

    numbers: str
    kind: str
    dates: Dates


@dataclass(frozen=True)
class TraceLine:
    """One trace as it stands at its latest look."""

    trace: Trace
    state: State
    state_words: str
    looked: str
    extent: str
    zones: str
    is_whole_face: bool
    sign: Sign
    dimension: int | None
    dates: Dates | None


@dataclass
class FacePart:
    """One face with everything recorded on it."""

    face: Face
    size_mm: tuple[float, float]
    area_mm2: float
    ground: Ground
    frame_note: str
    zones: list[Zone]
    traces: list[TraceLine]
    points: list[SamplingPoint] = field(default_factory=list)
    kind_lines: dict[str, list[KindLine]] = field(default_factory=dict)
    zone_lines: list[ZoneLine] = field(default_factory=list)
    unstated_uncertainty: bool = False
    marks: dict[str, list[Mark]] = field(default_factory=dict)
    spots: list[Spot] = field(default_factory=list)
    picture: Placement | None = None

    @property
    def families(self) -> list[tuple[str, str, list[KindLine]]]:
        """The condition summary by family: code, words, rows."""
        return [(family, words, self.kind_lines[family]) for family, words in FAMILIES.items()]

    @property
    def coats(self) -> list[TraceLine]:
        """Standing traces that cover the whole face."""
        return [t for t in self.traces if t.is_whole_face and t.state != State.GONE]

    @property
    def grounds(self) -> list[Grounds]:
        """The grounds of the dates of traces, told once for all that are dated alike."""
        groups: dict[tuple[str, Dates], list[str]] = defaultdict(list)
        for line in self.traces:
            if line.dates and line.dates.grounds:
                groups[line.trace.kind.label.lower(), line.dates].append(line.trace.number)
        return [
            Grounds(condensed(numbers), kind, dates) for (kind, dates), numbers in groups.items()
        ]

    @property
    def size_words(self) -> str:
        width, height = self.size_mm
        return f"{quantities.length(width)} × {quantities.length(height)}"


def read_faces(item: Object, dates: Mapping[int, Dates]) -> list[FacePart]:
    """Every face of the object; `dates` are those worked out for traces, by their keys."""
    faces: list[Any] = list(
        standing(Face)
        .filter(object=item)
        .select_related("component", "mirror_of", "mirrored_by")
        .annotate(path=path(F("outline")), area_mm2=number("ST_Area", "outline"))
    )
    zones: list[Any] = list(
        standing(Zone)
        .filter(face__in=faces)
        .annotate(
            path=path(F("geometry")),
            area_mm2=number("ST_Area", "geometry"),
            at_x=on("X", "geometry"),
            at_y=on("Y", "geometry"),
        )
    )
    traces = _traces(faces)
    signs = _signs(traces)
    extents = _extents(traces, dates)
    pictures = _pictures(faces)
    parts = []
    for face in faces:
        own = [zone for zone in zones if zone.face_id == face.pk]
        part = FacePart(
            face=face,
            size_mm=face.size_mm,
            area_mm2=face.area_mm2,
            ground=_ground(face, own),
            frame_note=_frame_note(face),
            zones=own,
            traces=[
                _trace_line(trace, face, own, dates.get(trace.pk), signs[trace.kind_id])
                for trace in traces
                if trace.face_id == face.pk
            ],
            picture=pictures.get(face.pk),
        )
        _measure(part, [e for e in extents if e.face == face.pk], signs)
        parts.append(part)
    return parts


def _measure(part: FacePart, extents: Sequence[Extent], signs: Mapping[int, Sign]) -> None:
    """Fill in the condition summary and what is drawn on the maps."""
    kinds = {line.trace.kind_id: line.trace.kind for line in part.traces}
    for family in Family:
        part.kind_lines[family] = condition.kind_lines(
            [e for e in extents if e.family == family], kinds, part.zones, part.area_mm2, signs
        )
        part.marks[family] = [
            _mark(line)
            for line in part.traces
            if line.trace.kind.family == family
            and line.dimension is not None
            and line.state != State.GONE
        ]
    part.zone_lines = condition.zone_lines(part.area_mm2, part.zones, extents)
    part.unstated_uncertainty = any(e.uncertain for e in extents)


def _traces(faces: Sequence[Face]) -> list[Any]:
    """Traces with their looks and their shape as drawn; detail too fine for print is dropped."""
    scales = [scale_of(Ground(*face.size_mm, "")) for face in faces]
    drawn = simplified("shape", min(scales, default=1.0) * PAPER_PRECISION_MM)
    looks = (
        standing(Sighting)
        .select_related("examination__technique", "image__examination__technique")
        .annotate(
            looked=Coalesce(
                "examination__date_latest", "image__date_latest", "image__date_earliest"
            )
        )
        .order_by(F("looked").asc(nulls_first=True), "pk")
        .defer("geometry")
    )
    traces = (
        standing(Trace)
        .filter(face__in=faces)
        .select_related("kind", "face")
        .prefetch_related(Prefetch("sightings", looks, to_attr="looks"))
        .annotate(
            path=path(drawn),
            dimension=Func(F("shape"), function="ST_Dimension", output_field=FloatField()),
            at_x=on("X", "shape"),
            at_y=on("Y", "shape"),
            area_mm2=number("ST_Area", "shape"),
            length_mm=number("ST_Length", "shape"),
            edge_mm=number("ST_Perimeter", "shape"),
            in_zones=ZonesAt("pk"),
        )
    )
    return sorted(traces, key=lambda trace: (trace.face_id, natural(trace.number)))


class ZonesAt(Func):
    """Keys of the zones that a trace touches with more than its edge, the smallest first."""

    template = (
        "(SELECT array_agg(z.id ORDER BY ST_Area(z.geometry)) FROM records_zone z"
        " WHERE z.face_id = records_trace.face_id AND z.withdrawn_at IS NULL"
        " AND ST_Intersects(z.geometry, records_trace.shape)"
        " AND NOT ST_Touches(z.geometry, records_trace.shape) AND %(expressions)s IS NOT NULL)"
    )
    output_field = TextField()


def _signs(traces: Iterable[Trace]) -> dict[int, Sign]:
    """One sign for each kind, the same on every map of the object."""
    kinds = {trace.kind_id: trace.kind for trace in traces}
    counters: dict[tuple[str, str], int] = defaultdict(int)
    signs = {}
    for kind in sorted(kinds.values(), key=lambda k: k.code):
        signs[kind.pk] = Sign(kind.family, counters[kind.family, kind.shape])
        counters[kind.family, kind.shape] += 1
    return signs


def _state(trace: Any, dates: Dates | None) -> tuple[State, str]:
    """State at the latest look, and its words."""
    latest: Sighting | None = trace.looks[-1] if trace.looks else None
    if dates and dates.gone:
        return State.GONE, f"gone {dates.gone_years}"
    if latest is None:
        return State.POSSIBLE, "recorded without a look"
    if latest.outcome == Seen.NOT_SEEN:
        return State.GONE, "no longer seen"
    if latest.outcome == Seen.UNCLEAR:
        return State.POSSIBLE, "unclear"
    if latest.image and latest.image.kind == ImageKind.HISTORICAL:
        return State.POSSIBLE, "seen on an old photograph only"
    return State.CERTAIN, "seen"


def _looked(trace: Any) -> str:
    """The latest look in a few words: 'IRR, May 2021'."""
    if not trace.looks:
        return ""
    look = trace.looks[-1].look
    if isinstance(look, Image):
        return look.title
    technique = look.technique.abbreviation or look.technique.label
    return f"{technique}, {look.date_latest:%B %Y}" if look.date_latest else technique


def _uncertainty(trace: Any) -> float | None:
    """How far the edge of the latest drawn shape may be off, in mm."""
    drawn = [look for look in trace.looks if look.area_mm2 is not None]
    off: float | None = drawn[-1].uncertainty_mm if drawn else None
    return off


def _extents(traces: Sequence[Any], dates: Mapping[int, Dates]) -> list[Extent]:
    mapped = []
    for trace in traces:
        state, _ = _state(trace, dates.get(trace.pk))
        if state != State.GONE:
            mapped.append(Mapped(trace.pk, state == State.CERTAIN, _uncertainty(trace)))
    return areas.measure(mapped)


def _trace_line(
    trace: Any, face: Any, zones: Sequence[Zone], dates: Dates | None, sign: Sign
) -> TraceLine:
    state, words = _state(trace, dates)
    off = _uncertainty(trace)
    dimension = None if trace.dimension is None else int(trace.dimension)
    match dimension:
        case 2:
            extent = quantities.area(trace.area_mm2, off * trace.edge_mm if off else None)
        case 1:
            extent = quantities.length(trace.length_mm, 2 * off if off else None)
        case _:
            extent = ""
    names = {zone.pk: zone.name for zone in zones}
    is_whole = dimension == 2 and trace.area_mm2 >= areas.WHOLE_FACE_SHARE * face.area_mm2
    touched = [names[pk] for pk in trace.in_zones or () if pk in names]
    return TraceLine(
        trace=trace,
        state=state,
        state_words=words,
        looked=_looked(trace),
        extent=extent,
        zones="whole face" if is_whole else few(touched),
        is_whole_face=is_whole,
        sign=sign,
        dimension=dimension,
        dates=dates,
    )


def _mark(line: TraceLine) -> Mark:
    trace: Any = line.trace
    points: tuple[tuple[float, float], ...] = ()
    if line.dimension == 0:
        shape = trace.shape
        several = shape.geom_type == "MultiPoint"
        points = tuple(point.coords for point in shape) if several else (shape.coords,)
    return Mark(
        number=trace.number,
        short=trace.kind.short,
        kind=trace.kind.label,
        sign=line.sign,
        shape=("point", "line", "polygon")[line.dimension or 0],
        certain=line.state == State.CERTAIN,
        dimension=line.dimension or 0,
        path=trace.path,
        at=(trace.at_x, trace.at_y),
        size=trace.area_mm2 or trace.length_mm,
        points=points,
        is_whole_face=line.is_whole_face,
    )


def _ground(face: Any, zones: Sequence[Any]) -> Ground:
    drawn = tuple((zone.name, zone.path, (zone.at_x, zone.at_y)) for zone in zones)
    width, height = face.size_mm
    return Ground(width, height, face.path, drawn)


def _frame_note(face: Face) -> str:
    """How the map is to be held, and how it relates to the other side."""
    seen = {
        FaceKind.RECTO: "Seen from the front, upright.",
        FaceKind.VERSO: "Seen from behind, upright: left and right are those of someone who looks"
        " at the back.",
        FaceKind.EDGE: "Seen from the side, upright.",
        FaceKind.UNROLLED: "The surface unrolled flat, seen from outside, upright.",
    }.get(FaceKind(face.kind), "Seen by someone looking at this side, upright.")
    if other := face.other_side:
        width = quantities.number(face.size_mm[0], 0)
        seen += (
            f" A point x, y of this side lies behind the point {width} − x, y (in mm) of the side"
            f" ‘{other.name}’."
        )
    return seen


def _pictures(faces: Sequence[Face]) -> dict[int, Placement]:
    """For each face the latest technical picture placed on it, visible light before others."""
    placed = (
        standing(Placement)
        .filter(face__in=faces, image__withdrawn_at__isnull=True)
        .exclude(image__kind__in=[ImageKind.SECTION, ImageKind.DOCUMENT])
        .select_related("image__examination__technique", "face")
        .order_by("image__date_latest", "image__examination__date_latest", "pk")
    )

    def rank(placement: Placement) -> tuple[bool, bool]:
        examination = placement.image.examination
        visible = bool(examination and examination.technique.code == "visible_light")
        return visible, placement.image.kind == ImageKind.TECHNICAL

    best: dict[int, Placement] = {}
    for placement in placed:
        current = best.get(placement.face_id)
        if current is None or rank(placement) >= rank(current):
            best[placement.face_id] = placement
    return best
