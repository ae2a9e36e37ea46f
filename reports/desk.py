"""What the desk shows: matters that wait for a person, each a count and the first few records."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.db.models import Exists, F, OuterRef, Q, QuerySet, Subquery
from procrastinate.contrib.django.models import ProcrastinateJob

from analyses.choices import Decision
from analyses.models import Identification
from records.choices import EffectKind, Family, ImageKind, Seen, StatementKind
from records.models import (
    Effect,
    Examination,
    Image,
    Object,
    Placement,
    Reconstruction,
    Sighting,
    StatementTrace,
    Trace,
)
from records.reconstruction.recompute import outdated
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

    slug: str
    title: str
    words: str
    count: int
    lines: list[Line]


@dataclass(frozen=True, slots=True)
class Waiting:
    """How one kind of matter is found and told."""

    title: str
    words: str
    rows: Callable[[], QuerySet[Any]]
    line: Callable[[Any], Line]

    def matter(self, slug: str, first: int = 0, shown: int = SHOWN) -> Matter:
        """The matter with the lines from `first` on, at most `shown` of them."""
        rows = self.rows()
        lines = [self.line(row) for row in rows[first : first + shown]]
        count = len(lines) if first == 0 and len(lines) < shown else rows.count()
        return Matter(slug, self.title, self.words, count, lines)


def matters(*slugs: str) -> list[Matter]:
    """What waits, of the kinds named or of all, the gravest first; nothing waiting is left out."""
    found = [WAITING[slug].matter(slug) for slug in slugs or WAITING]
    return [matter for matter in found if matter.count]


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


def _latest() -> QuerySet[Reconstruction]:
    """The latest stored history of each object."""
    of_object = Reconstruction.objects.filter(object=OuterRef("object"))
    newest = of_object.order_by("-computed_at", "-pk").values("pk")[:1]
    latest = Reconstruction.objects.filter(pk=Subquery(newest))
    return latest.select_related("object").defer("case", "result")


def _contradictory() -> QuerySet[Any]:
    return _latest().filter(result__consistent=False)


def _outdated() -> QuerySet[Any]:
    return outdated(_latest())


def _undecided() -> QuerySet[Any]:
    proposed = Identification.objects.filter(STANDING, decision=Decision.PROPOSED)
    return proposed.select_related(
        "material",
        "point__face__object",
        "sample__point__face__object",
        "layer__preparation__sample__point__face__object",
    ).order_by("pk")


def _unsigned() -> QuerySet[Any]:
    sheets = Examination.objects.filter(STANDING, signed_at__isnull=True)
    return sheets.select_related("technique", "campaign__object").order_by(
        F("date_latest").desc(nulls_last=True), "-pk"
    )


def _unplaced() -> QuerySet[Any]:
    placed = Placement.objects.filter(STANDING, image=OuterRef("pk"))
    images = Image.objects.filter(STANDING, kind__in=[ImageKind.TECHNICAL, ImageKind.HISTORICAL])
    return images.exclude(Exists(placed)).select_related("object").order_by("-pk")


def _untied() -> QuerySet[Any]:
    """Interventions that were seen but that no treatment, occurrence or statement accounts for."""
    made = Effect.objects.filter(STANDING, trace=OuterRef("pk"), kind=EffectKind.PRODUCED)
    told = StatementTrace.objects.filter(
        STANDING,
        trace=OuterRef("pk"),
        statement__kind=StatementKind.MADE_DURING,
        statement__withdrawn_at__isnull=True,
    )
    seen = Sighting.objects.filter(STANDING, trace=OuterRef("pk"), outcome=Seen.SEEN)
    return (
        Trace.objects.filter(STANDING, Exists(seen), kind__family=Family.INTERVENTION)
        .exclude(Exists(made))
        .exclude(Exists(told))
        .select_related("kind", "face__object")
        .defer("shape", "face__outline")
        .order_by("pk")
    )


def _unsigned_dossiers() -> QuerySet[Any]:
    ready = Dossier.objects.filter(state=DossierState.READY, signed_at__isnull=True)
    return ready.select_related("object")


def _of(item_of: Callable[[Any], Object]) -> Callable[[Any], Line]:
    """Lines that name the record, then the object it belongs to."""
    return lambda row: Line(str(row), row.get_absolute_url(), item_of(row))


def _history(row: Reconstruction) -> Line:
    return Line(row.object.title, row.get_absolute_url(), None)


WAITING = {
    "contradictions": Waiting(
        "Contradictions",
        "Evidence that cannot all hold; the history names the records.",
        _contradictory,
        _history,
    ),
    "identifications": Waiting(
        "Identifications to decide",
        "Proposed; only a person accepts or rejects.",
        _undecided,
        _of(lambda found: found.at_point.face.object),
    ),
    "dossiers": Waiting(
        "Dossiers to be signed",
        "Ready and frozen; the signature makes one official.",
        _unsigned_dossiers,
        _of(lambda dossier: dossier.object),
    ),
    "sheets": Waiting(
        "Information sheets to be signed",
        "Read the sheet once more, then sign: it is locked from then on.",
        _unsigned,
        _of(lambda look: look.campaign.object),
    ),
    "images": Waiting(
        "Images without a place",
        "Not yet placed on a face: nothing can be measured on them.",
        _unplaced,
        _of(lambda image: image.object),
    ),
    "interventions": Waiting(
        "Interventions tied to no treatment",
        "Somebody did this, and no record says when. Tie it to a treatment, or leave it to the "
        "history to say what is possible.",
        _untied,
        _of(lambda trace: trace.face.object),
    ),
    "histories": Waiting(
        "Histories to be worked out again",
        "Records have changed since the history was computed.",
        _outdated,
        _history,
    ),
}
