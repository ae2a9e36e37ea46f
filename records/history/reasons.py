"""Whether a part of the evidence proves a claim, and the smallest part that does.

A claim is a constraint that must not hold: evidence proves it when both together contradict.
"""

from collections.abc import Iterable, Sequence

from records.history.case import Case
from records.history.network import ALWAYS, Network, build
from records.history.passes import Pass, circle, passes
from records.history.search import NOTHING, Contradiction, Labels, Least

MANY = 5_000  # constraints from which on a pass is quicker than raising point by point, measured
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


def grounded(network: Network, spare: int = 0) -> Least:
    """The least solution of a network's fixed part, with room for `spare` further points.

    Built one constraint after the other, or, for a large network, on what one pass finds for all.
    Raises Contradiction.
    """
    if len(network.fixed) > MANY:
        sides = passes(network)
        if sides is None:
            raise Contradiction(circle(network))
        return from_pass(network, sides[0], 1, spare)
    least = Least(network.size + spare)
    for a, b, days, label in network.fixed:
        least.add(a, b, days, _only(label))
    return least


def from_pass(network: Network, side: Pass, turn: int, spare: int = 0) -> Least:
    """The least solution of one side of a network's fixed part, as a pass found it.

    `turn` is 1 for the earliest side and −1 for the latest, whose constraints are turned round.
    """
    least = Least(network.size + spare)
    # A pass measures downwards and the search pushes upwards, hence the sign.
    least.start((-side.value).tolist(), side.source.tolist(), side.label.tolist())
    for a, b, days, label in network.fixed:
        least.know(*((a, b) if turn > 0 else (b, a)), days, _only(label))
    return least


def _only(label: int) -> Labels:
    return NOTHING if label == ALWAYS else frozenset((label,))


def proves(case: Case, labels: Iterable[int], claims: Sequence[Claim]) -> bool:
    return contradiction(case, labels, claims) is not None


def smallest(case: Case, labels: Iterable[int], claims: Sequence[Claim] = ()) -> tuple[int, ...]:
    """A part of the labels from which nothing can be left out and that still proves the claim.

    Tries to do without the later items first, so the result is always the same.
    """
    needed = frozenset(labels)
    for label in sorted(needed, reverse=True):
        if label in needed:
            found = contradiction(case, needed - {label}, claims)
            if found is not None:
                needed = found
    return tuple(sorted(needed))


def _index(network: Network, point: Point | None) -> int:
    return 0 if point is None else network.points[point]
