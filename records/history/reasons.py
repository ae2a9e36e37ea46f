"""Whether a part of the evidence proves a claim, and the smallest part that does.

A claim is a constraint that must not hold: evidence proves it when both together contradict.
"""

from collections.abc import Iterable, Sequence

from records.history.case import Case
from records.history.network import Network, build
from records.history.search import Contradiction, Labels, Least

CLAIM = 1 << 40  # the label of the constraint that is to be refuted; no item has it

Point = tuple[str, str]
Claim = tuple[Point | None, Point | None, int]


def contradiction(
    case: Case, labels: Iterable[int] | None = None, claims: Sequence[Claim] = ()
) -> Labels | None:
    """Labels of items that contradict each other and the claims together; None: all can hold.

    Each claim (a, b, days) says that point a lies at most so many days after point b; None stands
    for day 0. The labels found are not yet a minimal set.
    """
    also = [point[0] for claim in claims for point in claim[:2] if point is not None]
    network = build(case, labels, also)
    try:
        least = grounded(network)
        for a, b, days in claims:
            least.add(_index(network, a), _index(network, b), days, frozenset((CLAIM,)))
        least.leave_open(network.open)
        least.solution()
    except Contradiction as found:
        return found.labels - {CLAIM}
    return None


def grounded(network: Network) -> Least:
    """The least solution of a network's fixed part, built one constraint after the other.

    Raises Contradiction.
    """
    least = Least(network.size)
    for a, b, days, label in network.fixed:
        least.add(a, b, days, frozenset((label,)) if label >= 0 else frozenset())
    return least


def proves(case: Case, labels: Iterable[int], claims: Sequence[Claim]) -> bool:
    return contradiction(case, labels, claims) is not None


def smallest(case: Case, labels: Iterable[int], claims: Sequence[Claim] = ()) -> tuple[int, ...]:
    """A part of the labels from which nothing can be left out and that still proves the claim.

    Tries to do without the later items first, so the result is always the same.
    """
    needed = sorted(labels)
    for label in reversed(needed.copy()):
        without = [other for other in needed if other != label]
        found = contradiction(case, without, claims)
        if found is not None:
            needed = without
    return tuple(needed)


def _index(network: Network, point: Point | None) -> int:
    return 0 if point is None else network.points[point]
