"""Exact least values when some evidence leaves alternatives open.

The least solution of difference constraints is found by raising points until all hold. With
alternatives, a branch is tried by adding its constraints; the search branches only on alternatives
that the least solution violates, and jumps back over those that had no part in a failure. Every
failure carries an explanation: the labels of the items that it rests on.

Works on one side only, where points are pushed upwards; the other side is the same with the
constraints turned round.
"""

from collections import deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from records.history.network import ALWAYS, ORIGIN, Branch

Labels = frozenset[int]
NOTHING: Labels = frozenset()
PATIENCE = 1_000  # failures after which a search is given to a solver; few searches have a hundred


class Contradiction(Exception):  # noqa: N818 - a finding, not a fault
    """No assignment satisfies all; `labels` are the items that say so, not yet a minimal set."""

    def __init__(self, labels: Labels) -> None:
        self.labels = labels
        super().__init__(sorted(labels))


def decision(label: int) -> int:
    """The mark, among labels, of a branch that was tried rather than known."""
    return -2 - label


class Least:
    """The least solution of a growing set of constraints, with the proof of every value.

    A constraint (a, b, w, labels), x_a ≤ x_b + w, pushes b up to x_a − w.
    """

    def __init__(self, size: int) -> None:
        self.value = [0] * size
        self.source = [ORIGIN] * size
        self.why: list[Labels] = [NOTHING] * size
        self.pushes: list[list[tuple[int, int, Labels]]] = [[] for _ in range(size)]
        # What was done, newest last, so that it can be undone: a raised point with what it was
        # before, or (−1 − a): the newest push of point a.
        self.trail: list[tuple[int, int, int, Labels]] = []
        self.open: list[Alternative] = []
        # For each point the open alternatives that raising it can violate; those violated now.
        self.touched: dict[int, list[int]] = {}
        self.violated: list[int] = []
        # The branch of each alternative in the solution found last, and how that one is proved.
        self.branch_before: dict[int, int] = {}
        self.proof_before: tuple[list[int], list[Labels]] = ([], [])

    def start(self, value: Sequence[int], source: Sequence[int], label: Sequence[int]) -> None:
        """Begin from first values known to be least, each with the last step of its proof."""
        known = len(value)
        self.value[:known] = value
        self.source[:known] = source
        self.why[:known] = [NOTHING if item == ALWAYS else frozenset((item,)) for item in label]

    def know(self, a: int, b: int, days: int, labels: Labels) -> None:
        """Add a constraint that the present values satisfy already."""
        self.pushes[a].append((b, days, labels))

    def add(self, a: int, b: int, days: int, labels: Labels) -> None:
        """Add a constraint and raise what it pushes; raises Contradiction."""
        self.pushes[a].append((b, days, labels))
        self.trail.append((-1 - a, 0, 0, NOTHING))
        if a == b:
            if days < 0:
                raise Contradiction(labels)
            return
        self._raise(b, self.value[a] - days, a, labels, a)

    def _raise(self, point: int, to: int, source: int, labels: Labels, through: int) -> None:
        """Raise a point and all that follows. `through` is where the new constraint starts.

        All was satisfied before, so a push that comes back to `through`, or that would move the
        origin, closes a circle that cannot hold.
        """
        if to <= self.value[point]:
            return
        value, trail = self.value, self.trail
        if point == ORIGIN:
            raise Contradiction(labels | self.proof(source))
        trail.append((point, value[point], self.source[point], self.why[point]))
        value[point], self.source[point], self.why[point] = to, source, labels
        waiting = deque((point,))
        while waiting:
            pushing = waiting.popleft()
            height = value[pushing]
            for pushed, days, why in self.pushes[pushing]:
                if height - days <= value[pushed]:
                    continue
                if pushed == ORIGIN:
                    raise Contradiction(why | self.proof(pushing))
                if pushed == through:
                    raise Contradiction(why | self.proof(pushing, through))
                trail.append((pushed, value[pushed], self.source[pushed], self.why[pushed]))
                value[pushed] = height - days
                self.source[pushed], self.why[pushed] = pushing, why
                waiting.append(pushed)

    def proof(self, point: int, until: int = ORIGIN) -> Labels:
        """Labels along the proof of a point's value, back to the origin or to `until`.

        While a contradiction is being raised the way may come back on itself; that circle alone
        cannot hold, so its labels will do.
        """
        return _labels_on_the_way(self.source, self.why, point, until)

    def undo(self, mark: int) -> None:
        """Take back everything since the trail was `mark` long."""
        while len(self.trail) > mark:
            point, value, source, why = self.trail.pop()
            if point < 0:
                self.pushes[-1 - point].pop()
            else:
                self.value[point], self.source[point], self.why[point] = value, source, why

    # Alternatives

    def leave_open(self, alternatives: Iterable[tuple[int, tuple[Branch, ...]]]) -> None:
        """Take in alternatives; a branch that cannot hold is dropped and a last one is added.

        Raises Contradiction.
        """
        left = [Alternative(label, branches, NOTHING) for label, branches in alternatives]
        moved = True
        while moved:
            moved = False
            kept: list[Alternative] = []
            for alternative in left:
                narrowed = self._narrowed(alternative)
                if len(narrowed.branches) > 1:
                    kept.append(narrowed)
                else:
                    self._try(narrowed.branches[0], narrowed.grounds | {narrowed.label})
                moved |= len(narrowed.branches) < len(alternative.branches)
            left = kept
        self.open = left
        for index, alternative in enumerate(left):
            for point in {a for branch in alternative.branches for a, _, _ in branch}:
                self.touched.setdefault(point, []).append(index)
        self.violated = [index for index in range(len(left)) if self._is_violated(index)]

    def _narrowed(self, alternative: "Alternative") -> "Alternative":
        """The alternative without the branches that cannot hold, and why they cannot."""
        grounds = alternative.grounds
        left: list[Branch] = []
        for branch in alternative.branches:
            mark = len(self.trail)
            try:
                self._try(branch, NOTHING)
            except Contradiction as dead:
                grounds |= dead.labels
            else:
                left.append(branch)
            self.undo(mark)
        if not left:
            raise Contradiction(grounds | {alternative.label})
        return Alternative(alternative.label, tuple(left), grounds)

    def _try(self, branch: Branch, labels: Labels) -> None:
        for a, b, days in branch:
            self.add(a, b, days, labels)

    def _is_violated(self, index: int) -> bool:
        value = self.value
        for branch in self.open[index].branches:
            for a, b, days in branch:
                if value[a] - days > value[b]:
                    break
            else:
                return False
        return True

    def solution(self) -> list[int]:
        """Some assignment that satisfies everything; raises Contradiction."""
        violated = [index for index in range(len(self.open)) if self._is_violated(index)]
        try:
            found, why = self._search(violated)
        except _Lost:
            found, why = self._by_solver(None, 0)
        if found is None:
            raise Contradiction(why)
        return found

    def allows(self, constraints: Iterable[tuple[int, int, int]]) -> bool:
        """Whether some assignment satisfies these constraints too; leaves everything as it was."""
        mark = len(self.trail)
        try:
            for a, b, days in constraints:
                self.add(a, b, days, NOTHING)
            self.solution()
        except Contradiction:
            return False
        finally:
            self.undo(mark)
        return True

    def settle(self, constraints: Iterable[tuple[int, int, int]]) -> bool:
        """Add constraints, and a branch of every alternative that this violates, the cheapest.

        All alternatives must be satisfied now and are again afterwards. False, with nothing added,
        when it fails, which it may although another choice of branches would do.
        """
        mark = len(self.trail)
        try:
            for a, b, days in constraints:
                self.add(a, b, days, NOTHING)
            pending = _stacked(self._touched_since(mark, None), None)
            while pending:
                index, pending = pending
                if self._is_violated(index):
                    level = self._level(index, pending, None)
                    if not self._next_branch(level):
                        raise Contradiction(NOTHING)
                    pending = _stacked(self._touched_since(level.mark, None), pending)
        except Contradiction:
            self.undo(mark)
            return False
        return True

    def settle_all(self, constraints: Iterable[tuple[int, int, int]]) -> bool:
        """Add constraints, and the branches of a solution, so that no alternative is violated.

        False when that fails; what was added then has to be undone.
        """
        self.branch_before.clear()
        try:
            for a, b, days in constraints:
                self.add(a, b, days, NOTHING)
            self.solution()
            for index, number in self.branch_before.items():
                self._try(self.open[index].branches[number], NOTHING)
        except Contradiction:
            return False
        return not any(self._is_violated(index) for index in range(len(self.open)))

    def least(self, point: int, limit: int) -> tuple[list[int] | None, Labels]:
        """An assignment in which the point is least of all that satisfy everything.

        None when no assignment has it below the limit. Also returns the labels of the items that
        prove that no lesser value is possible, not yet a minimal set.
        """
        before = _labels_on_the_way(*self.proof_before, point) if self.proof_before[0] else NOTHING
        bearing = [i for i in self.violated if decision(self.open[i].label) in before]
        try:
            # Most often the alternatives that held the point up before can do nothing else.
            found, why = self._search(bearing, point, limit, only=frozenset(bearing))
            if found is None:
                return None, why
            others = [index for index in self.violated if index not in set(bearing)]
            return self._search([*bearing, *others], point, limit)
        except _Lost:
            return self._by_solver(point, limit)

    def _search(
        self,
        violated: Sequence[int],
        point: int | None = None,
        limit: int = 0,
        only: frozenset[int] | None = None,
    ) -> tuple[list[int] | None, Labels]:
        """Depth first, jumping back: the best assignment below the limit, and the proof of no less.

        `violated` are the alternatives violated now, the first to branch on first. With `only`, all
        others are left out of account and the first assignment below the limit will do; so it will
        without a point. Leaves everything as it was. Raises _Lost after too many failures.
        """
        best: list[int] | None = None
        bottom = len(self.trail)
        levels: list[_Level] = []
        pending = _stacked(violated, None)
        patience = PATIENCE
        try:
            while True:
                failed: Labels | None = None
                if point is not None and self.value[point] >= limit:
                    failed = self.proof(point)
                else:
                    while pending and not self._is_violated(pending[0]):
                        pending = pending[1]
                    if pending:
                        levels.append(self._level(pending[0], pending[1], point))
                    else:
                        best = self.value.copy()
                        if only is None:
                            self._remember(levels)
                        if point is None or only is not None:
                            return best, NOTHING
                        limit = self.value[point]
                        failed = self.proof(point)
                if failed is not None:
                    self._jump_back(levels, failed)
                while levels and not self._next_branch(levels[-1]):
                    level = levels.pop()
                    failed = frozenset(level.failures | {level.label})
                    self._jump_back(levels, failed)
                    if levels:
                        # What failed here is looked at first from there on.
                        levels[-1].pending = (level.index, levels[-1].pending)
                    patience -= 1
                if not levels:
                    return best, failed or NOTHING
                if patience < 0:
                    raise _Lost
                pending = _stacked(self._touched_since(levels[-1].mark, only), levels[-1].pending)
        finally:
            self.undo(bottom)

    def _touched_since(self, mark: int, only: frozenset[int] | None) -> Iterable[int]:
        """Alternatives that may be violated by what was raised since the trail was `mark` long."""
        raised = {point for point, *_ in self.trail[mark:] if point >= 0}
        touched = {index for point in raised for index in self.touched.get(point, ())}
        return sorted(touched if only is None else touched & only)

    def _level(self, index: int, pending: "_Pending", point: int | None) -> "_Level":
        """Branch on an alternative: first as in the solution before, or else as it costs least."""
        label, branches, grounds = self.open[index]
        mark = len(self.trail)
        level = _Level(mark, index, label, [], set(grounds), pending)
        ranked = []
        for number, branch in enumerate(branches):
            try:
                self._try(branch, frozenset((decision(label),)))
            except Contradiction as dead:
                level.failures |= dead.labels - {decision(label)}
            else:
                before = {p: v for p, v, *_ in reversed(self.trail[mark:]) if p >= 0}
                reach = sum(self.value[p] - v for p, v in before.items())
                held = 0 if point is None else self.value[point]
                ranked.append((held, self.branch_before.get(index) != number, reach, number))
            self.undo(mark)
        level.branches = [number for *_, number in sorted(ranked, reverse=True)]
        return level

    def _next_branch(self, level: "_Level") -> bool:
        """Add the next branch of a level that can hold; False when none is left."""
        self.undo(level.mark)
        while level.branches:
            level.taken = level.branches.pop()
            try:
                self._try(
                    self.open[level.index].branches[level.taken],
                    frozenset((decision(level.label),)),
                )
            except Contradiction as dead:
                self.undo(level.mark)
                level.failures |= dead.labels - {decision(level.label)}
            else:
                return True
        return False

    def _jump_back(self, levels: "list[_Level]", failed: Labels) -> None:
        """Go back to the newest level that had a part in a failure; all levels go when none had."""
        while levels and decision(levels[-1].label) not in failed:
            levels.pop()
        if levels:
            levels[-1].failures |= failed - {decision(levels[-1].label)}

    def _remember(self, levels: "list[_Level]") -> None:
        """Keep how a solution was found, to begin the next search with it."""
        self.branch_before.update((level.index, level.taken) for level in levels)
        self.proof_before = (self.source.copy(), self.why.copy())

    def _by_solver(self, point: int | None, limit: int) -> tuple[list[int] | None, Labels]:
        from records.history.solver import least_assignment  # takes a second to load

        constraints = [
            (a, b, days, labels)
            for a, pushes in enumerate(self.pushes)
            for b, days, labels in pushes
        ]
        return least_assignment(len(self.value), constraints, self.open, point, limit)


def _labels_on_the_way(
    source: Sequence[int], why: Sequence[Labels], point: int, until: int = ORIGIN
) -> Labels:
    found: set[int] = set()
    met: set[int] = {ORIGIN, until}
    while point not in met:
        met.add(point)
        found |= why[point]
        point = source[point]
    return frozenset(found)


def _stacked(indexes: Iterable[int], pending: "_Pending") -> "_Pending":
    """Alternatives put on top of those pending already, the first on top."""
    for index in reversed(list(indexes)):
        pending = (index, pending)
    return pending


class _Lost(Exception):  # noqa: N818 - a turn of the search, not a fault
    """Too many failures: the question is one for a solver."""


class Alternative(NamedTuple):
    """An item that leaves several branches open, and what shows that it has no others."""

    label: int
    branches: tuple[Branch, ...]
    grounds: Labels


# Alternatives that may be violated, as a stack whose lower part levels share.
_Pending = tuple[int, "_Pending"] | None


@dataclass(slots=True)
class _Level:
    """One alternative branched on in a search.

    `mark` is how long the trail was before; `branches` numbers those still to try, the next one
    last; `failures` is what the failures of the others rest on; `pending` is what else may be
    violated once a branch holds.
    """

    mark: int
    index: int
    label: int
    branches: list[int]
    failures: set[int]
    pending: _Pending
    taken: int = -1
