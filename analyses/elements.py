"""Readings on the faces of an object: where something was read, and where one looked in vain."""

from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Count

from analyses.models import Analysis, Reading, SamplingPoint
from records.models import Face, Object

READ, VAIN, UNSEEN = "read", "not_read", "not_looked"


@dataclass(frozen=True, slots=True)
class Spot:
    """A sampling point on a map: `x`, `y` in mm from the upper left, as pictures count."""

    point: SamplingPoint
    x: float
    y: float
    state: str
    amount: str


@dataclass(frozen=True, slots=True)
class FaceMap:
    """One face with its points; sizes in mm."""

    face: Face
    width: float
    height: float
    outline: str
    spots: tuple[Spot, ...]


def kinds_read(item: Object) -> list[tuple[str, str]]:
    """Elements and phases read on the object, the most often read first: code and words."""
    analyses = Analysis.objects.of_object(item).filter(withdrawn_at__isnull=True)
    rows = (
        Reading.objects.filter(
            analysis__in=analyses, withdrawn_at__isnull=True, kind__in=("element", "phase")
        )
        .values("label")
        .annotate(times=Count("pk"))
        .order_by("-times", "label")
    )
    return [(row["label"], f"{row['label']} ({row['times']})") for row in rows]


def maps(item: Object, label: str) -> list[FaceMap]:
    """Every face that has sampling points, in three queries."""
    found = (
        Analysis.objects.of_object(item)
        .filter(withdrawn_at__isnull=True)
        .select_related("point", "sample__point", "layer__preparation__sample__point", "technique")
        .prefetch_related("readings")
    )
    read: dict[int, str] = {}
    kinds = set(
        Reading.objects.filter(label=label, analysis__in=found).values_list(
            "analysis__technique_id", flat=True
        )
    )
    looked = set()
    for analysis in found:
        point = analysis.at_point.pk
        if analysis.technique_id in kinds:
            looked.add(point)
        for reading in analysis.readings.all():
            if reading.label == label and not reading.is_withdrawn:
                read[point] = read.get(point) or reading.amount or "amount not stated"
    by_face: dict[int, list[SamplingPoint]] = defaultdict(list)
    points = SamplingPoint.objects.filter(face__object=item, withdrawn_at__isnull=True)
    for place in points.select_related("face"):
        by_face[place.face_id].append(place)
    return [_map(places, read, looked) for places in by_face.values()]


def _map(places: list[SamplingPoint], read: dict[int, str], looked: set[int]) -> FaceMap:
    face = places[0].face
    left, bottom, right, top = face.outline.extent
    spots = tuple(
        Spot(
            place,
            round(place.geometry.x - left, 1),
            round(top - place.geometry.y, 1),
            READ if place.pk in read else VAIN if place.pk in looked else UNSEEN,
            read.get(place.pk, ""),
        )
        for place in places
    )
    ring = face.outline.coords[0] if face.outline.geom_type == "Polygon" else ()
    outline = " ".join(f"{x - left:.1f},{top - y:.1f}" for x, y in ring)
    return FaceMap(face, right - left, top - bottom, outline, spots)
