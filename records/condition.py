"""The latest condition of an object in numbers: how much of each kind of trace there is now.

A trace counts as there when its latest look saw it, and as possibly there when that look was
unclear or was an old photograph; what the latest look did not find does not count.
"""

from dataclasses import dataclass, field

from django.db.models import F, OuterRef, Subquery
from django.db.models.functions import Coalesce

from records.areas import Extent, Mapped, measure
from records.choices import Family, ImageKind, Seen
from records.models import Object, Sighting, Trace, TraceKind

FOREMOST = 5  # kinds of a family that are shown before the rest is asked for


@dataclass(slots=True)
class Amount:
    """Traces of one kind on an object: how many, and how far they extend."""

    kind: TraceKind
    certain: int = 0
    possible: int = 0
    extents: list[Extent] = field(default_factory=list)

    @property
    def area_mm2(self) -> float:
        return sum(e.area_mm2 for e in self.extents)

    @property
    def area_uncertainty_mm2(self) -> float:
        return sum(e.area_uncertainty_mm2 for e in self.extents)

    @property
    def length_mm(self) -> float:
        return sum(e.length_mm for e in self.extents)

    @property
    def length_uncertainty_mm(self) -> float:
        return sum(e.length_uncertainty_mm for e in self.extents)


@dataclass(frozen=True, slots=True)
class FamilyAmount:
    """The kinds of one family, the commonest first."""

    family: Family
    amounts: list[Amount]

    @property
    def count(self) -> int:
        return sum(amount.certain + amount.possible for amount in self.amounts)

    @property
    def foremost(self) -> list[Amount]:
        """The kinds to show at first; one kind more than that is shown with them."""
        return self.amounts if len(self.amounts) <= FOREMOST + 1 else self.amounts[:FOREMOST]

    @property
    def others(self) -> list[Amount]:
        return self.amounts[len(self.foremost) :]


def condition_of(item: Object) -> list[FamilyAmount]:
    """Counts, areas and lengths by kind; three queries and one measurement in the database."""
    looks = (
        Sighting.objects.filter(trace=OuterRef("pk"), withdrawn_at__isnull=True)
        .annotate(
            looked=Coalesce(
                "examination__date_latest", "image__date_latest", "image__date_earliest"
            )
        )
        .order_by(F("looked").desc(nulls_last=True), "-pk")
    )
    drawn = looks.filter(geometry__isnull=False)
    traces = (
        Trace.objects.filter(face__object=item, withdrawn_at__isnull=True)
        .annotate(
            outcome=Subquery(looks.values("outcome")[:1]),
            photographed=Subquery(looks.values("image__kind")[:1]),
            off_mm=Subquery(drawn.values("uncertainty_mm")[:1]),
        )
        .exclude(outcome=Seen.NOT_SEEN)
        .values_list("pk", "kind_id", "outcome", "photographed", "off_mm")
    )
    kinds = TraceKind.objects.in_bulk()
    amounts: dict[int, Amount] = {}
    mapped = []
    for pk, kind, outcome, photographed, off_mm in traces:
        amount = amounts.setdefault(kind, Amount(kinds[kind]))
        certain = outcome == Seen.SEEN and photographed != ImageKind.HISTORICAL
        amount.certain += certain
        amount.possible += not certain
        mapped.append(Mapped(pk, certain, off_mm))
    for extent in measure(mapped):
        if extent.kind is not None and extent.zone is None and extent.certain:
            amounts[extent.kind].extents.append(extent)
    by_family = {family: [] for family in Family}  # type: dict[Family, list[Amount]]
    for amount in sorted(amounts.values(), key=lambda a: -(a.certain + a.possible)):
        by_family[Family(amount.kind.family)].append(amount)
    return [FamilyAmount(family, found) for family, found in by_family.items() if found]
