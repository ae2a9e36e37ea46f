"""Which treatment may have made an intervention that no record ties to one.

A candidate is weighed by four questions, each answered between 0 and 1, or not at all:

- time: how much of the time in which the treatment can have been lies within the time in which the
  trace can have been made;
- place: how much of the trace lies within what the treatment is recorded to have treated;
- material: how many of the materials identified in the trace it is recorded to have used;
- technique: how often, in all records, traces of this kind whose treatment is known came from
  treatments of that kind (with one imagined success and failure, so that little experience counts
  little).

`weighing` makes one number of the answers. Only dates rule a candidate out, because only they are
proofs. The weights only order the list: a person decides.
"""

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db import connection
from django.db.models import Count

from records.choices import EffectKind, Family
from records.models import Effect, Object, Trace, Treatment
from records.reconstruction.evidence import Evidence, Link
from records.reconstruction.gather import accepted_identifications
from records.reconstruction.telling import Part, Sentence, Teller, span_in_words
from records.reconstruction.weighing import open_share, weight

# How much of each trace lies within what each treatment treated on that face: by area, by length,
# or, for points, at all. An area without a shape is the whole face.
SHARES = """
    WITH treated AS (
        SELECT a.treatment_id, a.face_id, bool_or(a.geometry IS NULL) AS whole,
            ST_Union(a.geometry) AS shape
        FROM records_treatmentarea a
        JOIN records_treatment r ON r.id = a.treatment_id
        WHERE r.object_id = %(object)s AND a.withdrawn_at IS NULL AND r.withdrawn_at IS NULL
        GROUP BY a.treatment_id, a.face_id
    )
    SELECT t.id, treated.treatment_id,
        CASE
            WHEN treated.whole THEN 1.0
            WHEN t.shape IS NULL THEN NULL
            WHEN ST_Dimension(t.shape) = 2
                THEN ST_Area(ST_Intersection(t.shape, treated.shape)) / ST_Area(t.shape)
            WHEN ST_Dimension(t.shape) = 1
                THEN ST_Length(ST_Intersection(t.shape, treated.shape)) / ST_Length(t.shape)
            ELSE ST_Intersects(t.shape, treated.shape)::int::float
        END
    FROM records_trace t
    JOIN treated ON treated.face_id = t.face_id
    WHERE t.id = ANY(%(traces)s)
"""


@dataclass(frozen=True, slots=True)
class Ground:
    """What speaks for a candidate (`speaks` is 'for'), against it ('against'), or is not known."""

    speaks: str
    said: Sentence


@dataclass(frozen=True, slots=True)
class Candidate:
    """A treatment that may have made a trace; `proof` says by which records it is ruled out."""

    treatment: Link
    weight: float
    grounds: tuple[Ground, ...]
    proof: tuple[Sentence, ...] = ()


@dataclass(frozen=True, slots=True)
class Question:
    """A trace without a treatment, and the treatments that may have made it, likeliest first."""

    entity: str
    trace: Link
    made: str
    candidates: tuple[Candidate, ...]
    ruled_out: tuple[Candidate, ...]


@dataclass(frozen=True)
class Known:
    """What the records know of traces and treatments besides their dates, by key."""

    traces: Mapping[int, Trace]
    treatments: Mapping[int, Treatment]
    shares: Mapping[tuple[int, int], float | None]
    treated: frozenset[int]
    found: Mapping[int, Mapping[int, str]]
    used: Mapping[int, frozenset[int]]
    made_by_kind: Mapping[int, Mapping[int, int]]


def unattributed(case: Mapping[str, Any]) -> list[str]:
    """Interventions that no item of a case ties to the event that made them."""
    tied = {item["trace"] for item in case["evidence"] if item["kind"] == "made_during"}
    return [
        trace["id"]
        for trace in case["traces"]
        if trace["family"] == Family.INTERVENTION and trace["id"] not in tied
    ]


def questions(
    evidence: Evidence, teller: Teller, result: Mapping[str, Any], traces: Sequence[str]
) -> list[Question]:
    """Each of these traces with all treatments of the object, ranked. A few queries for all."""
    keys = [evidence.entities[t].record.pk for t in traces if t in evidence.entities]
    known = _known(evidence.object_pk, keys)
    weighing = _Weighing(evidence, teller, result, known)
    return [weighing.question(f"trace:{key}") for key in keys]


def _known(object_pk: int, traces: Sequence[int]) -> Known:
    treatments = (
        Treatment.objects.filter(object_id=object_pk, withdrawn_at__isnull=True)
        .select_related("kind")
        .prefetch_related("materials")
    )
    with connection.cursor() as cursor:
        cursor.execute(SHARES, {"object": object_pk, "traces": list(traces)})
        shares = {(trace, treatment): share for trace, treatment, share in cursor.fetchall()}
    found: dict[int, dict[int, str]] = defaultdict(dict)
    identifications = accepted_identifications(Object(pk=object_pk)).filter(on_trace__in=traces)
    for trace, material, label in identifications.values_list(
        "on_trace", "material_id", "material__label"
    ):
        found[trace][material] = label
    kinds = Trace.objects.filter(pk__in=traces).values("kind_id")
    experience = (
        Effect.objects.filter(
            kind=EffectKind.PRODUCED,
            withdrawn_at__isnull=True,
            treatment__isnull=False,
            treatment__withdrawn_at__isnull=True,
            trace__kind_id__in=kinds,
        )
        .values_list("trace__kind_id", "treatment__kind_id")
        .annotate(Count("pk"))
    )
    made_by_kind: dict[int, Counter[int]] = defaultdict(Counter)
    for trace_kind, treatment_kind, count in experience:
        made_by_kind[trace_kind][treatment_kind] = count
    by_key = {t.pk: t for t in treatments}
    areas = Treatment.objects.filter(pk__in=by_key, areas__withdrawn_at__isnull=True)
    return Known(
        traces=Trace.objects.select_related("kind").in_bulk(traces),
        treatments=by_key,
        shares=shares,
        treated=frozenset(areas.filter(areas__isnull=False).values_list("pk", flat=True)),
        found=found,
        used={pk: frozenset(m.pk for m in t.materials.all()) for pk, t in by_key.items()},
        made_by_kind=made_by_kind,
    )


class _Weighing:
    """Weighs candidates and says why, from one reconstruction and what else is known."""

    def __init__(
        self, evidence: Evidence, teller: Teller, result: Mapping[str, Any], known: Known
    ) -> None:
        self.evidence, self.teller, self.result, self.known = evidence, teller, result, known

    def question(self, trace: str) -> Question:
        candidates = [
            self._candidate(trace, f"treatment:{pk}")
            for pk in self.known.treatments
            if f"treatment:{pk}" in self.result["events"]
        ]
        ranked = sorted(candidates, key=lambda c: (-c.weight, c.treatment.pk))
        made = span_in_words(*self._days("traces", trace, "made", "made"))
        return Question(
            trace,
            self.evidence.entities[trace].record,
            made,
            tuple(c for c in ranked if not c.proof),
            tuple(c for c in ranked if c.proof),
        )

    def _days(self, group: str, entity: str, first: str, last: str) -> tuple[date, date]:
        bounds = self.result[group][entity]
        return date.fromisoformat(bounds[first][0]), date.fromisoformat(bounds[last][1])

    def _candidate(self, trace: str, treatment: str) -> Candidate:
        record = self.evidence.entities[treatment].record
        made = self._days("traces", trace, "made", "made")
        work = self._days("events", treatment, "start", "end")
        if made[1] < work[0]:
            return Candidate(
                record, 0, (), self._proof(f"{trace}.made.latest", treatment, "start.earliest")
            )
        if work[1] < made[0]:
            return Candidate(
                record, 0, (), self._proof(f"{trace}.made.earliest", treatment, "end.latest")
            )
        time = open_share(made, work)
        key, pk = self.evidence.entities[trace].record.pk, record.pk
        asked = self._place(key, pk), self._material(key, pk), self._kind(key, pk)
        return Candidate(
            record,
            weight(time, *(answer for answer, _ in asked)),
            (self._time(time, made, work), *(ground for _, ground in asked)),
        )

    def _proof(self, bound: str, treatment: str, other: str) -> tuple[Sentence, ...]:
        tellings = (
            self.teller.bound(bound, self.result),
            self.teller.bound(f"{treatment}.{other}", self.result),
        )
        return tuple(s for t in tellings for s in (t.head, *t.because))

    def _time(self, share: float, made: tuple[date, date], work: tuple[date, date]) -> Ground:
        if share == 1:
            words = "All of its time lies within that in which the trace can have been made"
        else:
            words = f"{_per_cent(share)} of its possible time is open to the trace"
        return _ground(
            "for" if share >= 0.5 else "against", f"{words}: it was {span_in_words(*work)}."
        )

    def _place(self, trace: int, treatment: int) -> tuple[float | None, Ground]:
        if treatment not in self.known.treated:
            return None, _ground("unknown", "Where it was done is not recorded.")
        share = self.known.shares.get((trace, treatment), 0.0)
        if share is None:
            return None, _ground(
                "unknown", "The trace has not been drawn, so its place is not known."
            )
        if share == 0:
            return share, _ground("against", "The trace lies outside what was treated.")
        words = "The trace lies" if share > 0.995 else f"{_per_cent(share)} of the trace lies"
        return share, _ground(
            "for" if share >= 0.5 else "against", f"{words} within what was treated."
        )

    def _material(self, trace: int, treatment: int) -> tuple[float | None, Ground]:
        found, used = self.known.found.get(trace, {}), self.known.used[treatment]
        if not found:
            return None, _ground("unknown", "No material of the trace has been identified.")
        if not used:
            return None, _ground("unknown", "Its materials are not recorded.")
        both = sorted(label for pk, label in found.items() if pk in used)
        if both:
            return len(both) / len(found), _ground("for", f"Both have {_listed(both)}.")
        held = _listed(sorted(found.values()))
        return 0.0, _ground(
            "against", f"The trace holds {held}, which it is not recorded to have used."
        )

    def _kind(self, trace: int, treatment: int) -> tuple[float | None, Ground]:
        kind, done = self.known.traces[trace].kind, self.known.treatments[treatment].kind
        counts = self.known.made_by_kind.get(kind.pk, {})
        total, here = sum(counts.values()), counts.get(done.pk, 0)
        if not total:
            return None, _ground("unknown", f"No {kind.label.lower()} has a known treatment yet.")
        words = (
            f"Of {total} traces of this kind whose treatment is known, {here or 'none'} came from"
            f" {done.label.lower()}."
        )
        return (here + 1) / (total + 2), _ground("for" if here / total >= 0.2 else "against", words)


def _ground(speaks: str, words: str) -> Ground:
    return Ground(speaks, Sentence((Part(words),)))


def _per_cent(share: float) -> str:
    return f"{max(share * 100, 1):.0f} %"


def _listed(words: Sequence[str]) -> str:
    lowered = [w[:1].lower() + w[1:] for w in words]
    return " and ".join(filter(None, [", ".join(lowered[:-1]), lowered[-1]]))
