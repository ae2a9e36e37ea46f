"""The reconstruction of a case: bounds, reasons, conflicts, campaigns, order, states."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from records.history.bounds import Bounds, exact_bounds
from records.history.campaigns import Campaigns, campaigns_needed
from records.history.case import Case
from records.history.conflicts import Conflict, cheapest_withdrawal, disjoint_conflicts
from records.history.network import ORIGIN, build
from records.history.reasons import Point, contradiction, grounded
from records.history.search import Least

EARLIEST, LATEST = "earliest", "latest"


@dataclass(frozen=True, slots=True)
class Reconstruction:
    case: Case
    bounds: Bounds
    conflicts: list[Conflict]
    withdrawal: Conflict
    campaigns: Campaigns = field(default_factory=Campaigns)

    @property
    def consistent(self) -> bool:
        return not self.conflicts

    def to_json(self) -> dict[str, Any]:
        """The reconstruction as parsed JSON, always in the same order."""

        def ids(labels: Iterable[int]) -> list[str]:
            return [self.case.items[label].id for label in labels]

        def span(key: str, point: str) -> list[str | None]:
            return [b.day.isoformat() if b.day else None for b in self.bounds[key, point]]

        return {
            "consistent": self.consistent,
            "events": {
                key: {"start": span(key, "start"), "end": span(key, "end")}
                for key in self.case.events
            },
            "traces": {
                key: {"made": span(key, "made"), "gone": span(key, "gone")}
                for key in self.case.traces
            },
            "reasons": {
                f"{key}.{point}.{side}": ids(bound.items)
                for (key, point), sides in self.bounds.items()
                for side, bound in zip((EARLIEST, LATEST), sides, strict=True)
            },
            "conflicts": [ids(conflict) for conflict in self.conflicts],
            "withdrawal": ids(self.withdrawal),
            "campaigns_needed": self.campaigns.to_json(),
        }


def solve(case: Case) -> Reconstruction:
    """Reconstruct a case. A contradiction is a result: bounds then hold without the withdrawal."""
    found = exact_bounds(case, None)
    conflicts: list[Conflict] = []
    withdrawal: Conflict = ()
    if found is None:
        conflicts = disjoint_conflicts(case)
        withdrawal = cheapest_withdrawal(case, conflicts)
        found = exact_bounds(case, [i for i in range(len(case.items)) if i not in set(withdrawal)])
    assert found is not None, "the case without the withdrawal must hold"
    return Reconstruction(
        case, found, conflicts, withdrawal, campaigns_needed(case, found, withdrawal)
    )


def _held(case: Case) -> list[int] | None:
    """The items that hold together: all, or those left by the cheapest withdrawal."""
    if contradiction(case) is None:
        return None
    withdrawn = set(cheapest_withdrawal(case, disjoint_conflicts(case)))
    return [label for label in range(len(case.items)) if label not in withdrawn]


def order(case: Case, first: Point, second: Point) -> str:
    """How two points lie: `before` (never later), `after` (never earlier), `same`, or `open`."""
    held = _held(case)
    labels = range(len(case.items)) if held is None else held
    everything = list(labels)
    before = contradiction(case, everything, [(second, first, -1)]) is not None
    after = contradiction(case, everything, [(first, second, -1)]) is not None
    if before and after:
        return "same"
    return "before" if before else "after" if after else "open"


def state(case: Case, day: date) -> dict[str, str]:
    """For every trace whether it is `present`, `absent` or `possible` on a day."""
    held = _held(case)
    bounds = exact_bounds(case, held)
    assert bounds is not None, "what is held must hold together"
    network = build(case, held, [*case.events, *case.traces])
    least: Least | None = None
    found: dict[str, str] = {}
    number = day.toordinal()
    for key in case.traces:
        (made_first, made_last), (gone_first, gone_last) = bounds[key, "made"], bounds[key, "gone"]
        if _until(made_last.day, day) and _from(gone_first.day, day):
            found[key] = "present"
        elif not _until(made_first.day, day) or not _from(gone_last.day, day, unlimited=True):
            found[key] = "absent"
        elif not network.open:
            # Each can hold alone, and nothing but made ≤ gone ties them the other way round.
            found[key] = "possible"
        else:
            if least is None:
                least = grounded(network)
                least.leave_open(network.open)
            made, gone = network.points[key, "made"], network.points[key, "gone"]
            together = [(made, ORIGIN, number), (ORIGIN, gone, -number)]
            found[key] = "possible" if least.allows(together) else "absent"
    return found


def _until(point: date | None, day: date) -> bool:
    return point is not None and point <= day


def _from(point: date | None, day: date, *, unlimited: bool = False) -> bool:
    return unlimited if point is None else point >= day
