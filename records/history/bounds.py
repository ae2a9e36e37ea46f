"""The exact earliest and latest day of every time point, with the items that prove each.

Without alternatives two passes give both; what open alternatives move is searched (`search`) and
its proof reduced (`reasons`).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from records.history.case import Case
from records.history.network import STILL_THERE, Branch, Network, build
from records.history.passes import Pass, passes
from records.history.reasons import Claim, Point, from_pass, smallest
from records.history.search import Contradiction, Labels


@dataclass(frozen=True, slots=True)
class Bound:
    """One end of what a time point can be: a day (None: no limit) and the items that prove it."""

    day: date | None
    items: tuple[int, ...]


Bounds = dict[Point, tuple[Bound, Bound]]


def exact_bounds(case: Case, only: Sequence[int] | None) -> Bounds | None:
    """Exact bounds of every point with minimal reasons; None when the items contradict."""
    network = build(case, only, [*case.events, *case.traces])
    sides = passes(network)
    if sides is None:
        return None
    earliest, latest = (
        _side(case, network, side, turn) for side, turn in zip(sides, (1, -1), strict=True)
    )
    if earliest is None or latest is None:
        return None
    return {
        point: (earliest[index], latest[index])
        for point, index in sorted(network.points.items(), key=lambda pair: pair[1])
    }


def _side(case: Case, network: Network, side: Pass, turn: int) -> list[Bound] | None:
    """The bounds of one side by point; `turn` is 1 for the earliest days, −1 for the latest."""
    # The values of a pass are the negated days of the earliest side and the days of the latest;
    # both are pushed down. The search pushes up, hence the sign.
    value = [-int(v) for v in side.value]
    proofs = side.proofs()
    if network.open:
        try:
            exact, searched = _exact(network, side, value, turn)
        except Contradiction:
            return None
    else:
        exact, searched = value, {}
    names = {index: point for point, index in network.points.items()}
    bounds: list[Bound] = []
    for index in range(network.size):
        day = turn * exact[index]
        if index in searched:
            items = smallest(case, searched[index], [_beyond(names[index], day, turn)])
        else:
            items = proofs[index]
            if _may_say_too_much(case, items):
                items = smallest(case, items, [_beyond(names[index], day, turn)])
        limited = 0 < day < STILL_THERE // 2
        bounds.append(Bound(date.fromordinal(day) if limited else None, items))
    return bounds


def _beyond(point: Point, day: int, turn: int) -> Claim:
    """What a bound refutes: that the point lies at least one day beyond it."""
    return (point, None, day - 1) if turn > 0 else (None, point, -day - 1)


def _may_say_too_much(case: Case, items: tuple[int, ...]) -> bool:
    """Whether a proof with the fewest steps may still hold an item that could be left out.

    It cannot, unless another proof of the same bound uses one of its items twice. Of all kinds only
    `within` can be used twice on a shortest way (once for each end), and only when something else
    says how long one of its events lasts; elsewhere an always-true rule is as short.
    """
    kinds = {case.items[item].kind for item in items}
    return len(items) > 2 and "within" in kinds and not kinds.isdisjoint({"lasts", "precedes"})


def _exact(
    network: Network, side: Pass, value: list[int], turn: int
) -> tuple[list[int], dict[int, Labels]]:
    """Exact values of one side, and for those that alternatives move, the labels behind them.

    Raises Contradiction.
    """
    least = from_pass(network, side, turn)
    least.leave_open(
        (label, branches if turn > 0 else tuple(_turned(branches)))
        for label, branches in network.open
    )
    reached = least.solution()
    exact = least.value.copy()
    searched: dict[int, Labels] = {}
    for point in range(1, network.size):
        if reached[point] > exact[point]:
            assignment, labels = least.least(point, reached[point])
            if assignment is not None:
                reached = list(map(min, reached, assignment))
            if reached[point] > exact[point]:
                exact[point], searched[point] = reached[point], labels
                continue
        if exact[point] > value[point]:
            searched[point] = least.proof(point)
    return exact, searched


def _turned(branches: Iterable[Branch]) -> Iterable[Branch]:
    """Branches with every constraint turned round, as the other side sees them."""
    for branch in branches:
        yield tuple((b, a, days) for a, b, days in branch)
