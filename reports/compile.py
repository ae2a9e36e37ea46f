"""Everything that the records hold about one object, gathered for a dossier in few queries.

Reading only: nothing here draws or lays out. The number of queries does not grow with the records.
"""

import datetime
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from django.db.models import F, FloatField, Func, Prefetch, QuerySet, TextField, Value
from django.db.models.functions import Coalesce

from analyses.choices import Decision, PreparationKind
from analyses.models import (
    Analysis,
    Identification,
    Layer,
    Preparation,
    Reading,
    Sample,
    SamplingPoint,
)
from records.choices import FaceKind, Family, ImageKind, Seen
from records.models import (
    Campaign,
    Component,
    Effect,
    Examination,
    Face,
    Image,
    MaterialDate,
    Object,
    Occurrence,
    Placement,
    Sighting,
    Source,
    Statement,
    Trace,
    TraceKind,
    Treatment,
    TreatmentArea,
    Zone,
)
from reports import areas, quantities
from reports.areas import Extent, Mapped
from reports.cautions import Caution, Mention, cautions
from reports.maps import Ground, Mark, Spot, scale_of
from reports.signs import Sign

FAMILIES = {
    Family.ALTERATION: "alterations",
    Family.INTERVENTION: "interventions",
    Family.MAKING: "traces of making",
}
PAPER_PRECISION_MM = 0.05  # finer detail does not show in print


class State(StrEnum):
    """What the latest look at a trace leaves certain."""

    CERTAIN = "certain"
    POSSIBLE = "possible"
    GONE = "gone"


@dataclass(frozen=True)
class TraceLine:
    """One trace as it stands at its latest look."""

    trace: Trace
    state: State
    state_words: str
    looked: str
    extent: str
    zones: str
    sign: Sign
    dimension: int | None
    uncertainty_mm: float | None


@dataclass(frozen=True)
class KindLine:
    """One row of the condition summary: a kind on the whole face, or within a zone."""

    kind: TraceKind | None
    zone: str
    certain: int
    possible: int
    extent: str
    possible_extent: str
    share: str
    sign: Sign | None


@dataclass(frozen=True)
class ZoneLine:
    """What alterations and interventions together cover of one zone; shares are per cent."""

    name: str
    area: str
    altered: str
    altered_share: float
    altered_possible: float
    treated: str
    treated_share: float
    treated_possible: float


@dataclass
class FacePart:
    """One face with everything recorded on it."""

    face: Face
    size_mm: tuple[float, float]
    ground: Ground
    frame_note: str
    zones: list[tuple[Zone, float]]
    traces: list[TraceLine]
    points: list[SamplingPoint]
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
    def size_words(self) -> str:
        width, height = self.size_mm
        return f"{quantities.length(width)} wide, {quantities.length(height)} high"


@dataclass(frozen=True)
class PointPart:
    """A sampling point with what was taken there and every analysis made of it."""

    point: SamplingPoint
    zones: str
    samples: list[Sample]
    analyses: list[Analysis]


@dataclass(frozen=True)
class SectionPart:
    """A cross-section with its layers from the top down and what was identified in each."""

    preparation: Preparation
    layers: list[tuple[Layer, list[Identification]]]


@dataclass
class Content:
    """What a dossier tells about its object."""

    object: Object
    components: list[tuple[int, Component]]
    faces: list[FacePart]
    campaigns: list[Campaign]
    examinations: list[Examination]
    treatments: list[Treatment]
    occurrences: list[Occurrence]
    points: list[PointPart]
    sections: list[SectionPart]
    identifications: list[Identification]
    material_dates: list[MaterialDate]
    images: list[Image]
    sources: list[Source]
    cautions: list[Caution]
    counts: dict[str, int]
    latest_examination: Examination | None
    as_of: datetime.datetime

    @property
    def undecided(self) -> list[Identification]:
        return [
            i for i in self.identifications if i.decision in {Decision.PROPOSED, Decision.UNDECIDED}
        ]

    @property
    def label_picture(self) -> Image | None:
        """The picture for the label: of the first face that has one."""
        return next((face.picture.image for face in self.faces if face.picture), None)


def standing(model: type[Any]) -> QuerySet[Any]:
    """Records of any kind that have not been withdrawn."""
    records: QuerySet[Any] = model._default_manager.filter(withdrawn_at__isnull=True)
    return records


def compile_object(item: Object, gone: dict[int, str], as_of: datetime.datetime) -> Content:
    """Gather the object's records.

    `gone` maps traces that the history shows to have ended to words that say when.
    """
    faces = _faces(item, gone)
    images = list(
        standing(Image)
        .filter(object=item)
        .select_related("examination__technique", "examination__campaign", "source")
        .prefetch_related(Prefetch("placements", standing(Placement).select_related("face")))
    )
    points = _points(item, {f.face.pk: f for f in faces})
    identifications = list(
        standing(Identification)
        .filter(pk__in=_of_object(item))
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
        .order_by("material__group", "material__label", "pk")
    )
    examinations = list(
        standing(Examination)
        .filter(campaign__object=item, campaign__withdrawn_at__isnull=True)
        .select_related("campaign", "technique", "operator")
        .prefetch_related("coverage__face", "images")
    )
    treatments = list(
        standing(Treatment)
        .filter(object=item)
        .select_related("kind", "campaign")
        .prefetch_related(
            "people",
            "materials",
            "sources",
            Prefetch("areas", standing(TreatmentArea).select_related("face")),
            Prefetch("effects", standing(Effect).select_related("trace__kind", "trace__face")),
        )
    )
    occurrences = list(
        standing(Occurrence)
        .filter(object=item)
        .select_related("kind")
        .prefetch_related(
            "sources",
            Prefetch("effects", standing(Effect).select_related("trace__kind", "trace__face")),
        )
    )
    used = {i.material_id for i in identifications if i.decision == Decision.ACCEPTED}
    content = Content(
        object=item,
        components=_tree(list(standing(Component).filter(object=item))),
        faces=faces,
        campaigns=list(
            standing(Campaign)
            .filter(object=item)
            .select_related("parent")
            .prefetch_related("people")
        ),
        examinations=examinations,
        treatments=treatments,
        occurrences=occurrences,
        points=points,
        sections=_sections(item, identifications),
        identifications=identifications,
        material_dates=list(
            standing(MaterialDate).filter(material__in=used).select_related("material")
        ),
        images=images,
        sources=list(
            standing(Source)
            .filter(object=item)
            .prefetch_related(Prefetch("statements", standing(Statement)))
        ),
        cautions=[],
        counts={},
        latest_examination=max(
            (e for e in examinations if e.date_latest), key=lambda e: e.date_latest, default=None
        ),
        as_of=as_of,
    )
    content.cautions = cautions(_mentions(content))
    content.counts = {
        "traces": sum(len(face.traces) for face in faces),
        "points": len(points),
        "analyses": sum(len(point.analyses) for point in points),
        "images": len(images),
        "sources": len(content.sources),
    }
    return content


def _of_object(item: Object) -> list[int]:
    """Identifications made at any point of the object, in a sample or in a layer of one."""
    paths = ("point", "sample__point", "layer__preparation__sample__point")
    found: set[int] = set()
    for path in paths:
        found |= set(
            Identification.objects.filter(**{f"{path}__face__object": item}).values_list(
                "pk", flat=True
            )
        )
    return sorted(found)


def _tree(components: Sequence[Component]) -> list[tuple[int, Component]]:
    """Components with their depth, each under the one that it belongs to."""
    below: dict[int | None, list[Component]] = defaultdict(list)
    present = {component.pk for component in components}
    for component in components:
        below[component.parent_id if component.parent_id in present else None].append(component)

    def walk(parent: int | None, depth: int) -> Iterable[tuple[int, Component]]:
        for component in below[parent]:
            yield depth, component
            yield from walk(component.pk, depth + 1)

    return list(walk(None, 0))


# Faces


def _faces(item: Object, gone: dict[int, str]) -> list[FacePart]:
    faces = list(
        standing(Face)
        .filter(object=item)
        .select_related("component", "mirror_of", "mirrored_by")
        .annotate(path=_path(F("outline")), area_mm2=_number("ST_Area", "outline"))
    )
    zones = list(
        standing(Zone)
        .filter(face__in=faces)
        .annotate(
            path=_path(F("geometry")),
            area_mm2=_number("ST_Area", "geometry"),
            at_x=_at("ST_X", "geometry"),
            at_y=_at("ST_Y", "geometry"),
        )
    )
    scales = {face.pk: scale_of(Ground(*face.size_mm, "")) for face in faces}
    traces = _traces(faces, scales)
    signs = _signs(traces)
    extents = _extents(traces, gone)
    pictures = _pictures(faces)
    parts = []
    for face in faces:
        own_zones = [zone for zone in zones if zone.face_id == face.pk]
        here = [trace for trace in traces if trace.face_id == face.pk]
        lines = [_trace_line(trace, own_zones, gone, signs[trace.kind_id]) for trace in here]
        part = FacePart(
            face=face,
            size_mm=face.size_mm,
            ground=_ground(face, own_zones),
            frame_note=_frame_note(face),
            zones=[(zone, zone.area_mm2) for zone in own_zones],
            traces=lines,
            points=[],
            picture=pictures.get(face.pk),
        )
        for family in Family:
            part.kind_lines[family] = _kind_lines(
                [e for e in extents if e.face == face.pk and e.family == family],
                {line.trace.kind_id: line.trace.kind for line in lines},
                own_zones,
                face.area_mm2,
                signs,
            )
            part.marks[family] = [
                _mark(line)
                for line in lines
                if line.trace.kind.family == family
                and line.dimension is not None
                and line.state != State.GONE
            ]
        part.zone_lines = _zone_lines(part, [e for e in extents if e.face == face.pk])
        part.unstated_uncertainty = any(e.uncertain for e in extents if e.face == face.pk)
        parts.append(part)
    return parts


def _path(expression: Any) -> Func:
    """A shape as SVG path data, y downwards, with a tenth of a millimetre."""
    return Func(expression, Value(0), Value(1), function="ST_AsSVG", output_field=TextField())


def _number(function: str, column: str) -> Func:
    return Func(F(column), function=function, output_field=FloatField())


def _at(axis: str, column: str) -> Func:
    """A coordinate of a point that certainly lies on the shape."""
    return Func(
        Func(F(column), function="ST_PointOnSurface"), function=axis, output_field=FloatField()
    )


def _traces(faces: Sequence[Face], scales: dict[int, float]) -> list[Trace]:
    """Traces with their looks and their shape as drawn; detail too fine for print is dropped."""
    finest = min(scales.values(), default=1.0) * PAPER_PRECISION_MM
    drawn = Func(F("shape"), Value(finest), function="ST_SimplifyPreserveTopology")
    looks = (
        standing(Sighting)
        .select_related("examination__technique", "image__examination")
        .annotate(
            looked=Coalesce(
                "examination__date_latest", "image__date_latest", "image__date_earliest"
            )
        )
        .order_by(F("looked").asc(nulls_first=True), "pk")
        .defer("geometry")
    )
    traces: list[Trace] = list(
        standing(Trace)
        .filter(face__in=faces)
        .select_related("kind", "face")
        .prefetch_related(Prefetch("sightings", looks, to_attr="looks"))
        .annotate(
            path=_path(drawn),
            dimension=Func(F("shape"), function="ST_Dimension", output_field=FloatField()),
            at_x=_at("ST_X", "shape"),
            at_y=_at("ST_Y", "shape"),
            area_mm2=_number("ST_Area", "shape"),
            length_mm=_number("ST_Length", "shape"),
            edge_mm=_number("ST_Perimeter", "shape"),
            in_zones=ZonesAt("pk"),
        )
    )
    return sorted(traces, key=lambda trace: (trace.face_id, natural(trace.number)))


class ZonesAt(Func):
    """Names of the zones that a trace touches with more than its edge."""

    template = (
        "(SELECT array_agg(z.id ORDER BY ST_Area(z.geometry)) FROM records_zone z"
        " WHERE z.face_id = records_trace.face_id AND z.withdrawn_at IS NULL"
        " AND ST_Intersects(z.geometry, records_trace.shape)"
        " AND NOT ST_Touches(z.geometry, records_trace.shape) AND %(expressions)s IS NOT NULL)"
    )
    output_field = TextField()


def natural(number: str) -> tuple[tuple[bool, int, str], ...]:
    """Sort key under which 'A2' comes before 'A10'."""
    parts: list[str] = [""]
    for character in number:
        if character.isdigit() == parts[-1][-1:].isdigit() and parts[-1]:
            parts[-1] += character
        else:
            parts.append(character)
    return tuple(
        (part.isdigit(), int(part) if part.isdigit() else 0, part.casefold()) for part in parts[1:]
    )


def _signs(traces: Iterable[Trace]) -> dict[int, Sign]:
    """One sign for each kind, the same on every map of the object."""
    kinds = {trace.kind_id: trace.kind for trace in traces}
    counters: dict[tuple[str, str], int] = defaultdict(int)
    signs = {}
    for kind in sorted(kinds.values(), key=lambda k: k.code):
        signs[kind.pk] = Sign(kind.family, counters[kind.family, kind.shape])
        counters[kind.family, kind.shape] += 1
    return signs


def _state(trace: Trace, gone: dict[int, str]) -> tuple[State, str]:
    """State at the latest look, and its words."""
    latest: Sighting | None = trace.looks[-1] if trace.looks else None  # type: ignore[attr-defined]
    if words := gone.get(trace.pk):
        return State.GONE, words
    if latest is None:
        return State.POSSIBLE, "recorded without a look"
    if latest.outcome == Seen.NOT_SEEN:
        return State.GONE, "no longer seen"
    if latest.outcome == Seen.UNCLEAR:
        return State.POSSIBLE, "unclear"
    if latest.image_id and latest.image.kind == ImageKind.HISTORICAL:  # type: ignore[union-attr]
        return State.POSSIBLE, "seen on an old photograph only"
    return State.CERTAIN, "seen"


def _uncertainty(trace: Trace) -> float | None:
    """How far the edge of the latest drawn shape may be off, in mm."""
    drawn = [look for look in trace.looks if look.area_mm2 is not None]  # type: ignore[attr-defined]
    return drawn[-1].uncertainty_mm if drawn else None


def _extents(traces: Sequence[Trace], gone: dict[int, str]) -> list[Extent]:
    mapped = []
    for trace in traces:
        state, _ = _state(trace, gone)
        if state != State.GONE:
            mapped.append(Mapped(trace.pk, state == State.CERTAIN, _uncertainty(trace)))
    return areas.measure(mapped)


def _trace_line(trace: Any, zones: Sequence[Zone], gone: dict[int, str], sign: Sign) -> TraceLine:
    state, words = _state(trace, gone)
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
    latest = trace.looks[-1] if trace.looks else None
    look = latest.look if latest else None
    return TraceLine(
        trace=trace,
        state=state,
        state_words=words,
        looked=f"{look}" if look else "",
        extent=extent,
        zones=", ".join(names[pk] for pk in trace.in_zones or () if pk in names),
        sign=sign,
        dimension=dimension,
        uncertainty_mm=off,
    )


def _mark(line: TraceLine) -> Mark:
    trace: Any = line.trace
    points = ()
    if line.dimension == 0:
        shape = trace.shape
        points = tuple(shape.coords) if shape.geom_type == "MultiPoint" else (tuple(shape.coords),)
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
    )


def _ground(face: Any, zones: Sequence[Any]) -> Ground:
    drawn = tuple((zone.name, zone.path, (zone.at_x, zone.at_y)) for zone in zones)
    return Ground(*face.size_mm, face.path, drawn)


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
            f" A point x, y here lies behind the point {width} − x, y (in mm) of the side"
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
        visible = bool(examination and "visible" in examination.technique.code)
        return visible, placement.image.kind == ImageKind.TECHNICAL

    best: dict[int, Placement] = {}
    for placement in placed:
        current = best.get(placement.face_id)
        if current is None or rank(placement) >= rank(current):
            best[placement.face_id] = placement
    return best


# Condition summary


def _extent_words(extents: Sequence[Extent]) -> str:
    """Area and length of a group; without ± where an uncertainty was never stated."""
    words = []
    for extent in extents:
        known = not extent.uncertain
        if extent.area_mm2:
            words.append(
                quantities.area(extent.area_mm2, extent.area_uncertainty_mm2 if known else None)
            )
        if extent.length_mm:
            words.append(
                quantities.length(extent.length_mm, extent.length_uncertainty_mm if known else None)
            )
    return ", ".join(words)


def _kind_lines(
    extents: Sequence[Extent],
    kinds: dict[int, TraceKind],
    zones: Sequence[Any],
    face_mm2: float,
    signs: dict[int, Sign],
) -> list[KindLine]:
    """Rows: each kind on the whole face, widest first, then the zones where it is found."""
    groups: dict[tuple[int, int | None], list[Extent]] = defaultdict(list)
    for extent in extents:
        if extent.kind is not None:
            groups[extent.kind, extent.zone].append(extent)

    def line(kind: int, zone: Any | None) -> KindLine:
        group = groups[kind, zone.pk if zone else None]
        certain = [e for e in group if e.certain]
        possible = [e for e in group if not e.certain]
        covered = sum(e.area_mm2 for e in certain)
        return KindLine(
            kind=kinds[kind],
            zone=zone.name if zone else "",
            certain=sum(e.count for e in certain),
            possible=sum(e.count for e in possible),
            extent=_extent_words(certain),
            possible_extent=_extent_words(possible),
            share=quantities.share(covered, zone.area_mm2 if zone else face_mm2) if covered else "",
            sign=signs[kind],
        )

    def weight(kind: int) -> tuple[float, float, int]:
        group = groups[kind, None]
        return (
            -sum(e.area_mm2 for e in group),
            -sum(e.length_mm for e in group),
            -sum(e.count for e in group),
        )

    whole = sorted({kind for kind, zone in groups if zone is None}, key=weight)
    rows = []
    for kind in whole:
        rows.append(line(kind, None))
        rows += [line(kind, zone) for zone in zones if (kind, zone.pk) in groups]
    return rows


def _zone_lines(part: FacePart, extents: Sequence[Extent]) -> list[ZoneLine]:
    """Rows: the whole face, then each zone, with what alterations and interventions cover of it."""

    def line(name: str, zone: int | None, mm2: float) -> ZoneLine:
        def covered(family: str, certain: bool) -> Extent | None:
            return next(
                (
                    e
                    for e in extents
                    if e.kind is None
                    and e.zone == zone
                    and e.family == family
                    and e.certain == certain
                ),
                None,
            )

        def told(family: str) -> tuple[str, float, float]:
            certain, possible = covered(family, True), covered(family, False)
            return (
                _extent_words([certain] if certain else []),
                min(100.0, 100 * certain.area_mm2 / mm2) if certain else 0.0,
                min(100.0, 100 * possible.area_mm2 / mm2) if possible else 0.0,
            )

        return ZoneLine(
            name, quantities.area(mm2), *told(Family.ALTERATION), *told(Family.INTERVENTION)
        )

    whole = line("Whole face", None, part.face.area_mm2)  # type: ignore[attr-defined]
    return [whole, *(line(zone.name, zone.pk, mm2) for zone, mm2 in part.zones if mm2 > 0)]


# Laboratory


def _points(item: Object, faces: dict[int, FacePart]) -> list[PointPart]:
    points = list(
        standing(SamplingPoint)
        .filter(face__object=item)
        .select_related("face", "campaign", "taken_by", "trace__kind")
        .annotate(
            at_x=Func(F("geometry"), function="ST_X", output_field=FloatField()),
            at_y=Func(F("geometry"), function="ST_Y", output_field=FloatField()),
            in_zones=ZonesAround("pk"),
        )
        .prefetch_related(
            Prefetch(
                "samples",
                standing(Sample).prefetch_related(Prefetch("preparations", standing(Preparation))),
            )
        )
    )
    points.sort(key=lambda p: (p.face.position, p.face_id, natural(p.number)))
    analyses: dict[int, list[Analysis]] = defaultdict(list)
    for analysis in _analyses(item):
        analyses[analysis.at_point.pk].append(analysis)
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
    for path in ("point", "sample__point", "layer__preparation__sample__point"):
        analyses: QuerySet[Analysis] = standing(Analysis)
        yield from (
            analyses.filter(**{f"{path}__face__object": item})
            .select_related("technique", "operator", "campaign", path)
            .prefetch_related(Prefetch("readings", standing(Reading)))
        )


def _sections(item: Object, identifications: Sequence[Identification]) -> list[SectionPart]:
    of_layer: dict[int, list[Identification]] = defaultdict(list)
    for identification in identifications:
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


# Cautions


def _mentions(content: Content) -> list[Mention]:
    """Terms that the records use, each once, with where they are used."""
    where: dict[Any, list[str]] = defaultdict(list)
    for identification in content.identifications:
        if identification.decision == Decision.ACCEPTED:
            where[identification.material].append(f"identified in {identification.target}")
    for treatment in content.treatments:
        for material in treatment.materials.all():
            where[material].append(f"used in ‘{treatment}’")
        where[treatment.kind].append(f"‘{treatment}’")
    for examination in content.examinations:
        where[examination.technique].append(str(examination.campaign))
    for point in content.points:
        for analysis in point.analyses:
            where[analysis.technique].append(f"point {point.point.number}")
    for face in content.faces:
        for line in face.traces:
            if line.state != State.GONE:
                where[line.trace.kind].append(f"{face.face.name} {line.trace.number}")
    return [
        Mention(
            code=term.code,
            label=term.label,
            cautions=term.cautions,
            where=_few(places),
            elements=tuple(getattr(term, "elements", ())),
            hazards=tuple(getattr(term, "hazards", ())),
        )
        for term, places in where.items()
    ]


def _few(places: Sequence[str], most: int = 4) -> str:
    distinct = list(dict.fromkeys(places))
    rest = len(distinct) - most
    return ", ".join(distinct[:most]) + (f" and {rest} more" if rest > 0 else "")
