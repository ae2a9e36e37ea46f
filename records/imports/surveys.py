"""Checking a survey against the records, and writing it as one change.

A survey is what one look at one face says of many traces: it adds traces that are new and sightings
of all, and never changes what another look has said.
"""

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from records.changes import change
from records.choices import CampaignPurpose, Seen
from records.imports import geojson
from records.imports.places import build, misplaced
from records.imports.problems import Problem, Refused, nearest
from records.models import Campaign, Examination, Face, Sighting, Technique, Trace, TraceKind, User
from records.reconstruction import recompute

EXAMPLE = Path(__file__).parent / "examples" / "survey.geojson"


@dataclass(frozen=True, slots=True)
class Look:
    """Where and when the survey was made; campaign and examination are found or made."""

    face: Face
    campaign: str
    technique: Technique
    date: str


@dataclass(slots=True)
class SurveyPlan:
    """What an import would write, or why it cannot; nothing of it is saved yet."""

    look: Look
    problems: list[Problem] = field(default_factory=list)
    remarks: list[Problem] = field(default_factory=list)
    campaign: Campaign | None = None
    examination: Examination | None = None
    traces: list[Trace] = field(default_factory=list)
    sightings: list[Sighting] = field(default_factory=list)
    unchanged: int = 0

    @property
    def is_ready(self) -> bool:
        return not self.problems and bool(self.sightings)

    @property
    def summary(self) -> list[tuple[str, int]]:
        """What would be written, in words and numbers."""
        return [
            ("new traces", len(self.traces)),
            ("sightings of traces known before", len(self.sightings) - len(self.traces)),
            ("sightings that stand already and stay as they are", self.unchanged),
        ]

    @property
    def by_kind(self) -> list[tuple[str, int]]:
        """How many sightings of each kind of trace, most first."""
        counted = Counter(str(sighting.trace.kind) for sighting in self.sightings)
        return counted.most_common()


def plan_survey(data: bytes, look: Look) -> SurveyPlan:
    """Check a file against the records; a fixed number of queries however many features."""
    plan = SurveyPlan(look)
    features, found = geojson.read(data)
    _find_examination(plan)
    if plan.examination and plan.examination.is_signed:
        found.append(
            Problem("Examination", f"“{plan.examination}” is signed and takes no more sightings.")
        )
    found += _plan_sightings(plan, features)
    found.sort(key=_position)
    plan.problems = [problem for problem in found if problem.stops]
    plan.remarks = [problem for problem in found if not problem.stops]
    return plan


def import_survey(data: bytes, look: Look, *, user: User, why: str) -> SurveyPlan:
    """Write a survey, all or nothing, as one change; raises Refused with every problem."""
    with change(user=user, why=why):
        # Two people importing onto one face go one after the other.
        Face.objects.select_for_update(of=("self",)).get(pk=look.face.pk)
        plan = plan_survey(data, look)
        if plan.problems:
            raise Refused(plan.problems)
        if not plan.sightings:
            return plan
        if plan.campaign is None:
            plan.campaign = Campaign.objects.create(
                object=look.face.object,
                title=look.campaign,
                purpose=CampaignPurpose.SURVEY,
                date=look.date,
            )
        if plan.examination is None:
            plan.examination = Examination.objects.create(
                campaign=plan.campaign, technique=look.technique, date=look.date
            )
        Trace.objects.bulk_create(plan.traces)
        for sighting in plan.sightings:
            sighting.trace = sighting.trace  # takes over the key that its new trace has by now
            sighting.examination = plan.examination
        Sighting.objects.bulk_create(plan.sightings)
        recompute.request(look.face.object_id)
    return plan


def _find_examination(plan: SurveyPlan) -> None:
    look = plan.look
    plan.campaign = Campaign.objects.filter(
        object=look.face.object, title=look.campaign, withdrawn_at=None
    ).first()
    if plan.campaign:
        plan.examination = plan.campaign.examinations.filter(
            technique=look.technique, date=look.date, withdrawn_at=None
        ).first()


def _plan_sightings(plan: SurveyPlan, features: Iterable[geojson.Feature]) -> list[Problem]:
    kinds = _kinds_by_word()
    hint = cache(lambda word: nearest(word, kinds))  # one misspelling often fills a whole file
    traces = {
        trace.number: trace
        for trace in Trace.objects.filter(face=plan.look.face).select_related("kind")
    }
    standing = (
        {
            sighting.trace_id: sighting
            for sighting in plan.examination.sightings.filter(withdrawn_at=None)
        }
        if plan.examination
        else {}
    )
    shapes = {f.position: build(f.geometry) for f in features if f.geometry is not None}
    problems = [
        Problem(f"Feature {position}, geometry", words)
        for position, words in misplaced(plan.look.face, shapes).items()
    ]
    for feature in features:
        if not feature.number:
            continue
        kind = kinds.get(feature.kind.casefold())
        faults = []
        if feature.kind and kind is None:
            words = f"“{feature.kind}” is no kind of trace{hint(feature.kind)}."
            faults.append(Problem(feature.place("kind"), words))
        shape = shapes.get(feature.position)
        trace = traces.get(feature.number)
        faults += (
            _faults_of_new(feature) if trace is None else _faults_of_known(feature, trace, kind)
        )
        problems += faults
        if faults or feature.faulty:
            continue
        is_new = trace is None
        if trace is None:
            trace = Trace(
                face=plan.look.face,
                kind=kind,
                number=feature.number,
                label=feature.label,
                description=feature.description,
            )
        sighting = Sighting(
            trace=trace,
            outcome=feature.outcome,
            strength=feature.strength,
            geometry=shape,
            uncertainty_mm=feature.uncertainty_mm,
            note=feature.note,
        )
        if is_new:
            plan.traces.append(trace)
            plan.sightings.append(sighting)
        elif trace.pk not in standing:
            plan.sightings.append(sighting)
        elif _says_the_same(standing[trace.pk], sighting):
            plan.unchanged += 1
        else:
            problems.append(
                Problem(
                    feature.place("number"),
                    f"this examination speaks of trace {trace.number} already, differently. Change "
                    "that sighting on its own page, or import under another date.",
                )
            )
    return problems


def _position(problem: Problem) -> int:
    """Where in the file a problem lies; what concerns the file as a whole comes first."""
    match = re.match(r"Feature (\d+)", problem.place)
    return int(match[1]) if match else 0


def _kinds_by_word() -> dict[str, TraceKind]:
    """Every word by which a kind may be called, in small letters; codes go before labels."""
    kinds = list(TraceKind.objects.filter(withdrawn_at=None))
    words: dict[str, TraceKind] = {}
    for name in ("code", "label", "short"):
        for kind in kinds:
            words.setdefault(getattr(kind, name).casefold(), kind)
    for kind in kinds:
        for translation in kind.translations.values():
            words.setdefault(translation["label"].casefold(), kind)
    return words


def _faults_of_new(feature: geojson.Feature) -> list[Problem]:
    faults = []
    if not feature.kind and "kind" not in feature.faulty:
        faults.append(Problem(feature.place("kind"), "is missing; a new trace needs its kind."))
    if feature.outcome == Seen.NOT_SEEN:
        faults.append(
            Problem(
                feature.place("outcome"),
                f"says that trace {feature.number} was not seen, but this face has no trace of "
                "that number.",
            )
        )
    elif feature.geometry is None and "geometry" not in feature.faulty:
        faults.append(Problem(feature.geometry_place, "is missing; a new trace has a place."))
    return faults


def _faults_of_known(
    feature: geojson.Feature, trace: Trace, kind: TraceKind | None
) -> list[Problem]:
    faults = []
    if trace.is_withdrawn:
        faults.append(
            Problem(feature.place("number"), f"trace {trace.number} of this face is withdrawn.")
        )
    if kind is not None and kind.pk != trace.kind_id:
        faults.append(
            Problem(
                feature.place("kind"),
                f"trace {trace.number} of this face is recorded as “{trace.kind}”, "
                f"not as “{kind}”.",
            )
        )
    if feature.outcome == Seen.NOT_SEEN and feature.geometry is not None:
        faults.append(
            Problem(feature.geometry_place, "is given, but what was not seen has no shape.")
        )
    return faults


def _says_the_same(one: Sighting, other: Sighting) -> bool:
    def told(sighting: Sighting) -> tuple[object, ...]:
        return sighting.outcome, sighting.strength, sighting.uncertainty_mm, sighting.note

    if told(one) != told(other) or (one.geometry is None) != (other.geometry is None):
        return False
    return one.geometry is None or bool(one.geometry.equals_exact(other.geometry))
