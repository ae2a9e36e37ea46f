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
        # For each point the open alternatives that raising it can violate.
        self.touched: dict[int, list[int]] = {}
        self.blame: list[int] = []

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
        found: set[int] = set()
        met: set[int] = {ORIGIN, until}
        while point not in met:
            met.add(point)
            found |= self.why[point]
            point = self.source[point]
        return frozenset(found)

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
        self.blame = [0] * len(left)
        self.touched = {}
        for index, alternative in enumerate(left):
            for point in {a for branch in alternative.branches for a, _, _ in branch}:
                self.touched.setdefault(point, []).append(index)

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

    def _violated(self, indexes: Iterable[int]) -> list[int]:
        """Those of the open alternatives at these indexes that the present values violate."""
        value = self.value
        found = []
        for index in indexes:
            for branch in self.open[index].branches:
                for a, b, days in branch:
                    if value[a] - days > value[b]:
                        break
                else:
                    break
            else:
                found.append(index)
        return found

    def solution(self) -> list[int]:
        """Some assignment that satisfies everything; raises Contradiction."""
        found, why = self._search(None)
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

    def least(self, point: int, limit: int) -> tuple[list[int] | None, Labels]:
        """An assignment in which the point is least of all that satisfy everything.

        None when no assignment has it below the limit. Also returns the labels of the items that
        prove that no lesser value is possible, not yet a minimal set.
        """
        return self._search(point, limit)

    def _search(
        self, point: int | None, limit: int = 0, patience: int = PATIENCE
    ) -> tuple[list[int] | None, Labels]:
        """Depth first, jumping back: the best assignment below the limit, and the proof of no less.

        Without a point, the first assignment found. Leaves everything as it was. After more
        failures than `patience` the question goes to a solver.
        """
        best: list[int] | None = None
        bottom = len(self.trail)
        levels: list[_Level] = []
        violated = self._violated(range(len(self.open)))
        try:
            while True:
                failed: Labels | None = None
                if point is not None and self.value[point] >= limit:
                    failed = self.proof(point)
                elif violated:
                    levels.append(self._level(violated, point))
                else:
                    best = self.value.copy()
                    if point is None:
                        return best, NOTHING
                    limit = self.value[point]
                    failed = self.proof(point)
                while failed is not None or not levels[-1].branches:
                    failed = self._jump_back(levels, failed)
                    patience -= 1
                    if not levels:
                        return best, failed
                    failed = None
                if patience < 0:
                    break
                level = levels[-1]
                self._try(level.branches.pop(), frozenset((decision(level.label),)))
                violated = self._violated(self._to_check(level))
        finally:
            self.undo(bottom)
        return self._by_solver(point, limit, best)

    def _to_check(self, level: "_Level") -> Iterable[int]:
        """Alternatives that may be violated once a branch of a level has been added."""
        raised = {point for point, *_ in self.trail[level.mark :] if point >= 0}
        touched = [index for point in sorted(raised) for index in self.touched.get(point, ())]
        return dict.fromkeys((*level.violated, *touched))

    def _level(self, violated: list[int], point: int | None) -> "_Level":
        """Branch on the violated alternative that had a part in most failures.

        Of its branches the one that raises the point least, and then all points, is taken first.
        """
        index = max(violated, key=self.blame.__getitem__)
        label, branches, grounds = self.open[index]
        failures = set(grounds)
        mark = len(self.trail)
        ranked = []
        for number, branch in enumerate(branches):
            try:
                self._try(branch, frozenset((decision(label),)))
            except Contradiction as dead:
                failures |= dead.labels
            else:
                before = {p: v for p, v, *_ in reversed(self.trail[mark:]) if p >= 0}
                reach = sum(self.value[p] - v for p, v in before.items())
                ranked.append((0 if point is None else self.value[point], reach, number))
            self.undo(mark)
        ordered = [branches[number] for _, _, number in sorted(ranked, reverse=True)]
        return _Level(mark, index, label, ordered, failures - {decision(label)}, violated)

    def _jump_back(self, levels: "list[_Level]", failed: Labels | None) -> Labels:
        """Go back to the newest level that had a part in a failure; all levels go when none had.

        Without a failure the newest level itself has failed: none of its branches can hold.
        """
        if failed is None:
            level = levels.pop()
            self.undo(level.mark)
            self.blame[level.index] += 1
            failed = frozenset(level.failures | {level.label})
        while levels and decision(levels[-1].label) not in failed:
            self.undo(levels.pop().mark)
        if levels:
            level = levels[-1]
            self.undo(level.mark)
            self.blame[level.index] += 1
            level.failures |= failed - {decision(level.label)}
        return failed

    def _by_solver(
        self, point: int | None, limit: int, best: list[int] | None
    ) -> tuple[list[int] | None, Labels]:
        from records.history.solver import least_assignment  # takes a second to load

        constraints = [
            (a, b, days, labels)
            for a, pushes in enumerate(self.pushes)
            for b, days, labels in pushes
        ]
        found, why = least_assignment(len(self.value), constraints, self.open, point, limit)
        return found or best, why


class Alternative(NamedTuple):
    """An item that leaves several branches open, and what shows that it has no others."""

    label: int
    branches: tuple[Branch, ...]
    grounds: Labels


@dataclass(slots=True)
class _Level:
    """One alternative branched on in a search.

    `mark` is how long the trail was before; `branches` are still to try, the next one last;
    `failures` is what the failures of the others rest on; `violated` names what was violated then.
    """

    mark: int
    index: int
    label: int
    branches: list[Branch]
    failures: set[int]
    violated: list[int]
