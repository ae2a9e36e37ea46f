"""What the desk shows: matters that wait for a person, each a count and the first few records."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import Exists, F, Model, OuterRef, Q, QuerySet, Subquery
from procrastinate.contrib.django.models import ProcrastinateJob

from analyses.choices import Decision
from analyses.models import Identification
from records.choices import EffectKind, Family, ImageKind, Seen, StatementKind
from records.models import (
    Effect,
    Examination,
    Image,
    Object,
    Occurrence,
    Placement,
    Reconstruction,
    Relation,
    Sighting,
    Statement,
    StatementTrace,
    Trace,
    Treatment,
)
from reports.choices import DossierState
from reports.models import Dossier

SHOWN = 5
STANDING = Q(withdrawn_at__isnull=True)


@dataclass(frozen=True, slots=True)
class Line:
    """One record that waits: its name, its address and the object it belongs to."""

    words: str
    address: str
    item: Object | None


@dataclass(frozen=True, slots=True)
class Matter:
    """One kind of thing that waits for a person."""

    title: str
    words: str
    tone: str
    count: int
    lines: list[Line]


def matters() -> list[Matter]:
    """Everything that waits, what is gravest first; matters with nothing waiting are left out."""
    found = [
        _contradictions(),
        _decisions(),
        _unsigned(),
        _unplaced(),
        _untied(),
        _stale(),
        *dossier_matters(),
    ]
    return [matter for matter in found if matter.count]


def dossier_matters() -> list[Matter]:
    """Dossiers that wait for a signature."""
    waiting = Dossier.objects.filter(
        state=DossierState.READY, signed_at__isnull=True
    ).select_related("object")
    matter = _matter(
        "Dossiers to be signed",
        "Ready and frozen; the signature makes one official.",
        "waiting",
        waiting,
        lambda dossier: dossier.object,
    )
    return [matter] if matter.count else []


def running() -> dict[str, Any]:
    """What the task queue is working on."""
    return {
        "dossiers": list(
            Dossier.objects.filter(
                state__in=[DossierState.QUEUED, DossierState.BUILDING]
            ).select_related("object")
        ),
        "jobs": ProcrastinateJob.objects.filter(status__in=["todo", "doing"]).count(),
    }


def _matter(title: str, words: str, tone: str, rows: QuerySet[Any], item_of: Any) -> Matter:
    lines = _lines(rows[:SHOWN], item_of)
    count = len(lines) if len(lines) < SHOWN else rows.count()
    return Matter(title, words, tone, count, lines)


def _lines(rows: Iterable[Model], item_of: Any) -> list[Line]:
    return [Line(str(row), row.get_absolute_url(), item_of(row)) for row in rows]  # type: ignore[attr-defined]


def _latest() -> QuerySet[Reconstruction]:
    """The latest stored history of each object."""
    of_object = Reconstruction.objects.filter(object=OuterRef("object"))
    newest = of_object.order_by("-computed_at", "-pk").values("pk")[:1]
    latest = Reconstruction.objects.filter(pk=Subquery(newest))
    return latest.select_related("object").defer("case", "result")


def _contradictions() -> Matter:
    return _matter(
        "Contradictions",
        "Evidence that cannot all hold. The History of the object names the records.",
        "conflict",
        _latest().filter(result__consistent=False),
        lambda history: history.object,
    )


def _stale() -> Matter:
    """Histories older than some evidence of their object."""
    paths = {
        Sighting: "trace__face__object",
        Relation: "upper__face__object",
        Effect: "trace__face__object",
        Treatment: "object",
        Occurrence: "object",
        Examination: "campaign__object",
        Statement: "object",
    }
    newer = Q()
    for model, path in paths.items():
        changed = model._default_manager.filter(
            **{path: OuterRef("object"), "updated_at__gt": OuterRef("computed_at")}
        )
        newer |= Q(Exists(changed))
    return _matter(
        "Histories to be worked out again",
        "Records have changed since the history was computed.",
        "waiting",
        _latest().filter(newer),
        lambda history: history.object,
    )


def _decisions() -> Matter:
    proposed = (
        Identification.objects.filter(STANDING, decision=Decision.PROPOSED)
        .select_related(
            "material",
            "point__face__object",
            "sample__point__face__object",
            "layer__preparation__sample__point__face__object",
        )
        .order_by("pk")
    )
    return _matter(
        "Identifications to decide",
        "Proposed; only a person accepts or rejects.",
        "proposed",
        proposed,
        lambda found: found.at_point.face.object,
    )


def _unsigned() -> Matter:
    unsigned = (
        Examination.objects.filter(STANDING, signed_at__isnull=True)
        .select_related("technique", "campaign__object")
        .order_by(F("date_latest").desc(nulls_last=True), "-pk")
    )
    return _matter(
        "Information sheets to be signed",
        "Read the sheet once more, then sign: it is locked from then on.",
        "waiting",
        unsigned,
        lambda look: look.campaign.object,
    )


def _unplaced() -> Matter:
    placed = Placement.objects.filter(STANDING, image=OuterRef("pk"))
    images = (
        Image.objects.filter(STANDING, kind__in=[ImageKind.TECHNICAL, ImageKind.HISTORICAL])
        .exclude(Exists(placed))
        .select_related("object")
        .order_by("-pk")
    )
    return _matter(
        "Images without a place",
        "Not yet placed on a face: nothing can be measured on them.",
        "waiting",
        images,
        lambda image: image.object,
    )


def _untied() -> Matter:
    """Interventions that were seen but that no treatment, occurrence or statement accounts for."""
    made = Effect.objects.filter(STANDING, trace=OuterRef("pk"), kind=EffectKind.PRODUCED)
    told = StatementTrace.objects.filter(
        STANDING,
        trace=OuterRef("pk"),
        statement__kind=StatementKind.MADE_DURING,
        statement__withdrawn_at__isnull=True,
    )
    seen = Sighting.objects.filter(STANDING, trace=OuterRef("pk"), outcome=Seen.SEEN)
    traces = (
        Trace.objects.filter(STANDING, Exists(seen), kind__family=Family.INTERVENTION)
        .exclude(Exists(made))
        .exclude(Exists(told))
        .select_related("kind", "face__object")
        .defer("shape", "face__outline")
        .order_by("pk")
    )
    return _matter(
        "Interventions tied to no treatment",
        "Somebody did this, and no record says when. Tie it to a treatment, or leave it to the "
        "history to say what is possible.",
        "possible",
        traces,
        lambda trace: trace.face.object,
    )
