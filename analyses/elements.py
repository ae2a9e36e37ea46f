"""Readings on the faces of an object: where something was read, and where one looked in vain."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Count

from analyses.curves import OVER
from analyses.models import Analysis, Reading, SamplingPoint
from analyses.sampling_sheet import Sheet, Spot, sheets
from records.models import Object

READ, VAIN, UNSEEN = "read", "not_read", "not_looked"
SIZES = {"minor": 0.75, "trace": 0.5}  # of a disc, beside one that is read in major amount


@dataclass(frozen=True, slots=True)
class Look:
    """What was read at one point: whether, how much, and the analyses that looked."""

    spot: Spot
    state: str
    amount: str
    radius: float
    analyses: tuple[Analysis, ...]

    @property
    def point(self) -> SamplingPoint:
        return self.spot.point

    @property
    def curves(self) -> list[Analysis]:
        """Those of the analyses whose curve is kept."""
        return [one for one in self.analyses if one.raw_file and one.technique.code in OVER]


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


def maps(item: Object, label: str) -> list[tuple[Sheet, list[Look]]]:
    """Every face that has sampling points, with what was read at each; six queries."""
    found = list(
        Analysis.objects.of_object(item)
        .filter(withdrawn_at__isnull=True)
        .select_related("point", "sample__point", "layer__preparation__sample__point", "technique")
        .prefetch_related("readings")
    )
    shows = [(one, _amount(one.readings.all(), label)) for one in found]
    kinds = {analysis.technique_id for analysis, amount in shows if amount is not None}
    looked: dict[int, list[tuple[Analysis, str | None]]] = defaultdict(list)
    for analysis, amount in shows:
        if analysis.technique_id in kinds:
            looked[analysis.at_point.pk].append((analysis, amount))
    return [
        (sheet, [_look(spot, looked[spot.point.pk], sheet) for spot in sheet.spots])
        for sheet in sheets(item)
    ]


def _amount(readings: Iterable[Reading], label: str) -> str | None:
    """How much of it was read; None when it was not."""
    amounts = [one.amount for one in readings if one.label == label and not one.is_withdrawn]
    return None if not amounts else next(filter(None, amounts), "amount not stated")


def _look(spot: Spot, looked: list[tuple[Analysis, str | None]], sheet: Sheet) -> Look:
    amounts = [amount for _, amount in looked if amount is not None]
    state = READ if amounts else VAIN if looked else UNSEEN
    amount = min(amounts, key=_rank, default="")
    size = 0.3 if state == UNSEEN else SIZES.get(amount, 1)
    return Look(spot, state, amount, size * sheet.letter / 2, tuple(one for one, _ in looked))


def _rank(amount: str) -> int:
    return ("major", "minor", "trace").index(amount) if amount in ("major", *SIZES) else 3
