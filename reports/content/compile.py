"""Everything that the records hold about one object, gathered for a dossier in few queries.

Reading only: nothing here draws or lays out. The number of queries does not grow with the records.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import Prefetch

from analyses.choices import Decision
from records.carrying import LeftBehind, left_behind
from records.models import (
    Campaign,
    Component,
    Effect,
    Examination,
    Image,
    Object,
    Occurrence,
    Placement,
    Sighting,
    Source,
    Statement,
    Treatment,
    TreatmentArea,
)
from reports.cautions import Caution, Mention, cautions
from reports.content.faces import Dates, FacePart, State, read_faces
from reports.content.laboratory import (
    Found,
    PointPart,
    SectionPart,
    read_identifications,
    read_material_dates,
    read_points,
    read_sections,
)
from reports.content.reading import condensed, few, standing


@dataclass(frozen=True)
class WorkedOut:
    """When an event took place by all evidence, in words and as the first and last day."""

    words: str
    earliest: date
    latest: date

    def narrows(self, record: Treatment | Occurrence) -> bool:
        """Whether this says more than the record's own date."""
        first, last = record.date_earliest, record.date_latest
        return first is None or last is None or self.earliest > first or self.latest < last


@dataclass(frozen=True)
class EventPart:
    """A treatment or occurrence with what it did to traces, and when it was, worked out."""

    record: Any
    did: list[str]
    sources: list[str]
    worked_out: str


@dataclass
class Content:
    """What a dossier tells about its object."""

    object: Object
    components: list[tuple[int, Component]]
    faces: list[FacePart]
    campaigns: list[Campaign]
    examinations: list[Examination]
    treatments: list[EventPart]
    occurrences: list[EventPart]
    points: list[PointPart]
    sections: list[SectionPart]
    identifications: list[Found]
    material_dates: list[tuple[str, list[Any]]]
    images: list[Image]
    sources: list[tuple[int, Source]]
    left_behind: list[LeftBehind]
    cautions: list[Caution]
    as_of: datetime

    @property
    def analysis_count(self) -> int:
        return sum(len(point.analyses) for point in self.points)

    @property
    def latest_examination(self) -> Examination | None:
        dated = [e for e in self.examinations if e.date_latest]
        return max(dated, key=lambda e: (e.date_latest, e.pk), default=None)

    @property
    def undecided(self) -> list[Found]:
        waiting = {Decision.PROPOSED, Decision.UNDECIDED}
        return [f for f in self.identifications if f.identification.decision in waiting]

    @property
    def label_picture(self) -> Image | None:
        """The picture for the label: of the first face that has one."""
        return next((face.picture.image for face in self.faces if face.picture), None)


def compile_object(
    item: Object,
    as_of: datetime,
    dates: Mapping[int, Dates] | None = None,
    worked_out: Mapping[tuple[str, int], WorkedOut] | None = None,
) -> Content:
    """Gather the object's records.

    `dates` are those worked out for traces, `worked_out` those of events by kind of record and key.
    """
    worked_out = worked_out or {}
    faces = read_faces(item, dates or {})
    found = read_identifications(item)
    sources: list[tuple[int, Source]] = list(
        enumerate(
            standing(Source)
            .filter(object=item)
            .prefetch_related(Prefetch("statements", standing(Statement))),
            start=1,
        )
    )
    numbers = {source.pk: number for number, source in sources}
    effects = Prefetch("effects", standing(Effect).select_related("trace__kind", "trace__face"))
    treatments = (
        standing(Treatment)
        .filter(object=item)
        .select_related("kind", "campaign")
        .prefetch_related(
            "people",
            "materials",
            "sources",
            Prefetch("areas", standing(TreatmentArea).select_related("face")),
            effects,
        )
    )
    occurrences = (
        standing(Occurrence)
        .filter(object=item)
        .select_related("kind")
        .prefetch_related("sources", effects)
    )
    content = Content(
        object=item,
        components=_tree(list(standing(Component).filter(object=item))),
        faces=faces,
        campaigns=list(standing(Campaign).filter(object=item).prefetch_related("people")),
        examinations=list(
            standing(Examination)
            .filter(campaign__object=item, campaign__withdrawn_at__isnull=True)
            .select_related("campaign", "technique", "operator")
            .prefetch_related("coverage__face")
        ),
        treatments=[_event(t, "treatment", numbers, worked_out) for t in treatments],
        occurrences=[_event(o, "occurrence", numbers, worked_out) for o in occurrences],
        points=read_points(item, {face.face.pk: face for face in faces}),
        sections=read_sections(item, found),
        identifications=found,
        material_dates=read_material_dates(found),
        images=list(
            standing(Image)
            .filter(object=item)
            .select_related("examination__technique", "source")
            .prefetch_related(Prefetch("placements", standing(Placement).select_related("face")))
        ),
        sources=sources,
        left_behind=left_behind(standing(Sighting), [face.face.pk for face in faces]),
        cautions=[],
        as_of=as_of,
    )
    content.cautions = cautions(_mentions(content))
    return content


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


def _event(
    record: Treatment | Occurrence,
    kind: str,
    numbers: Mapping[int, int],
    worked_out: Mapping[tuple[str, int], WorkedOut],
) -> EventPart:
    groups: dict[tuple[str, str], dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    for effect in record.effects.all():
        key = (effect.get_kind_display(), effect.get_strength_display().lower())
        groups[key][effect.trace.face.name].append(effect.trace.number)
    did = [
        f"{verb.capitalize()} ({strength}): "
        + "; ".join(f"{face} {condensed(traces)}" for face, traces in faces.items())
        for (verb, strength), faces in groups.items()
    ]
    sources = [
        f"{source.title} (source {numbers[source.pk]})"
        for source in record.sources.all()
        if source.pk in numbers
    ]
    found = worked_out.get((kind, record.pk))
    return EventPart(record, did, sources, found.words if found and found.narrows(record) else "")


# Cautions


def _mentions(content: Content) -> list[Mention]:
    """Terms that the records use, each once, with where they are used."""
    where: dict[Any, list[str]] = defaultdict(list)
    for found in content.identifications:
        identification = found.identification
        if identification.decision == Decision.ACCEPTED:
            point = identification.at_point
            where[identification.material].append(f"identified at {point.face.name} {point}")
    for treatment in content.treatments:
        for material in treatment.record.materials.all():
            where[material].append(f"used in ‘{treatment.record}’")
        where[treatment.record.kind].append(f"‘{treatment.record}’")
    for examination in content.examinations:
        where[examination.technique].append(str(examination.campaign))
    for part in content.points:
        for analysis, _ in part.analyses:
            where[analysis.technique].append(f"at {part.point.face.name} {part.point}")
    for face in content.faces:
        for line in face.traces:
            if line.state != State.GONE:
                where[line.trace.kind].append(f"{face.face.name} {line.trace.number}")
    return [
        Mention(
            code=term.code,
            label=term.label,
            cautions=term.cautions,
            where=few(places),
            elements=tuple(getattr(term, "elements", ())),
            hazards=tuple(getattr(term, "hazards", ())),
        )
        for term, places in where.items()
    ]
