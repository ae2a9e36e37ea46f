"""Sampling points with their samples, analyses, cross-sections and identifications."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import F, FloatField, Func, Prefetch, QuerySet, TextField

from analyses.choices import Decision, PreparationKind
from analyses.models import (
    Analysis,
    Evaluation,
    Identification,
    Layer,
    Preparation,
    Reading,
    Sample,
    SamplingPoint,
)
from records.models import MaterialDate, Object
from reports.content.faces import FacePart
from reports.content.reading import natural, standing
from reports.maps import Spot

# The ways from a sampling point to what was analysed or identified there.
TO_POINT = ("point", "sample__point", "layer__preparation__sample__point")


@dataclass(frozen=True)
class LeftOpen:
    """What the last evaluation of a raw file could not tell: in sentences, each with its remedy."""

    method: str
    unsettled: tuple[tuple[str, str], ...]
    unexplained: str


@dataclass(frozen=True)
class PointPart:
    """A sampling point with what was taken there and every analysis made of it."""

    point: SamplingPoint
    zones: str
    samples: list[Sample]
    analyses: list[tuple[Analysis, LeftOpen | None]]


@dataclass(frozen=True)
class SectionPart:
    """A cross-section with its layers from the top down and what was identified in each."""

    preparation: Preparation
    layers: list[tuple[Layer, list[Identification]]]


@dataclass(frozen=True)
class Found:
    """An identification with the readings that it rests on, gathered by technique."""

    identification: Identification
    readings: str


def read_points(item: Object, faces: Mapping[int, FacePart]) -> list[PointPart]:
    """Every sampling point; each is also noted on its face, to be mapped."""
    points = list(
        standing(SamplingPoint)
        .filter(face__object=item, face__withdrawn_at__isnull=True)
        .select_related("face", "campaign", "taken_by", "trace__kind")
        .annotate(
            at_x=Func(F("geometry"), function="ST_X", output_field=FloatField()),
            at_y=Func(F("geometry"), function="ST_Y", output_field=FloatField()),
            in_zones=ZonesAround("pk"),
        )
        .prefetch_related(Prefetch("samples", standing(Sample)))
    )
    points.sort(key=lambda p: (p.face.position, p.face_id, natural(p.number)))
    analyses: dict[int, list[tuple[Analysis, LeftOpen | None]]] = defaultdict(list)
    left_open = _left_open(item)
    for analysis in _analyses(item):
        analyses[analysis.at_point.pk].append((analysis, left_open.get(analysis.pk)))
    for point in points:
        part = faces[point.face_id]
        part.points.append(point)
        part.spots.append(Spot(point.number, (point.at_x, point.at_y), point.invasive))
    return [
        PointPart(point, point.in_zones or "", list(point.samples.all()), analyses[point.pk])
        for point in points
    ]


class ZonesAround(Func):
    """Names of the zones that a sampling point lies in, the smallest first."""

    template = (
        "(SELECT string_agg(z.name, ', ' ORDER BY ST_Area(z.geometry)) FROM records_zone z"
        " WHERE z.face_id = analyses_samplingpoint.face_id AND z.withdrawn_at IS NULL"
        " AND ST_Intersects(z.geometry, analyses_samplingpoint.geometry)"
        " AND %(expressions)s IS NOT NULL)"
    )
    output_field = TextField()


def _analyses(item: Object) -> Iterable[Analysis]:
    """Every analysis at any point of the object, of its samples or of their layers."""
    for way in TO_POINT:
        analyses: QuerySet[Analysis] = standing(Analysis)
        yield from (
            analyses.filter(**{f"{way}__face__object": item})
            .select_related("technique", "operator", way)
            .prefetch_related(Prefetch("readings", standing(Reading)))
        )


def _left_open(item: Object) -> dict[int, LeftOpen]:
    """By analysis, what its last evaluation left open; those that left nothing are left out."""
    rows = (
        Evaluation.objects.filter(
            analysis__in=Analysis.objects.of_object(item), result__isnull=False
        )
        .order_by("analysis", "-pk")
        .distinct("analysis")
        .values_list("analysis", "method", "result__unsettled", "result__unexplained")
    )
    return {
        analysis: LeftOpen(
            method,
            tuple((open_["says"], open_["settle"]) for open_ in unsettled or ()),
            ", ".join(_place(mark) for mark in unexplained or ()),
        )
        for analysis, method, unsettled, unexplained in rows
        if unsettled or unexplained
    }


def _place(mark: Mapping[str, Any]) -> str:
    return f"{mark['x']:.5g} ({mark['label']})" if mark["label"] else f"{mark['x']:.5g}"


def read_identifications(item: Object) -> list[Found]:
    """What was identified, by material; at points, in samples and in layers."""
    found: list[Identification] = []
    for way in TO_POINT:
        found += (
            standing(Identification)
            .filter(**{f"{way}__face__object": item})
            .select_related(
                "material",
                "trace__kind",
                "decided_by",
                "point__face",
                "sample__point__face",
                "layer__preparation__sample__point__face",
                "layer__trace__kind",
            )
            .prefetch_related(
                Prefetch("readings", standing(Reading).select_related("analysis__technique"))
            )
        )
    found.sort(key=lambda i: (i.decision != Decision.ACCEPTED, i.material.label, i.pk))
    return [Found(identification, _readings(identification)) for identification in found]


def _readings(identification: Identification) -> str:
    """'XRF: Pb, Zn; FTIR: 1408 carbonate', each label once."""
    by_technique: dict[str, dict[str, None]] = defaultdict(dict)
    for reading in identification.readings.all():
        technique = reading.analysis.technique
        by_technique[technique.abbreviation or technique.label][reading.label] = None
    return "; ".join(f"{name}: {', '.join(labels)}" for name, labels in by_technique.items())


def read_material_dates(found: Sequence[Found]) -> list[tuple[str, list[MaterialDate]]]:
    """Dated facts about the materials accepted, by material."""
    accepted = {
        f.identification.material_id
        for f in found
        if f.identification.decision == Decision.ACCEPTED
    }
    by_material: dict[str, list[MaterialDate]] = defaultdict(list)
    dates = standing(MaterialDate).filter(material__in=accepted).select_related("material")
    for fact in dates.order_by("material__label", "date_earliest", "pk"):
        by_material[fact.material.label].append(fact)
    return list(by_material.items())


def read_sections(item: Object, found: Sequence[Found]) -> list[SectionPart]:
    """Cross-sections and thin sections that have layers."""
    of_layer: dict[int, list[Identification]] = defaultdict(list)
    for one in found:
        identification = one.identification
        if identification.layer_id and identification.decision != Decision.REJECTED:
            of_layer[identification.layer_id].append(identification)
    preparations = (
        standing(Preparation)
        .filter(
            sample__point__face__object=item,
            kind__in=[PreparationKind.CROSS_SECTION, PreparationKind.THIN_SECTION],
        )
        .select_related("sample__point__face", "image")
        .prefetch_related(
            Prefetch(
                "layers",
                standing(Layer).select_related("trace__kind", "trace__face").order_by("-number"),
            )
        )
    )
    return [
        SectionPart(
            preparation, [(layer, of_layer[layer.pk]) for layer in preparation.layers.all()]
        )
        for preparation in preparations
        if preparation.layers.all()
    ]
