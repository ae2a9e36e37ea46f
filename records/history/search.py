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

from records.history.network import ALWAYS, ORIGIN, Branch

Labels = frozenset[int]
NOTHING: Labels = frozenset()


class Contradiction(Exception):  # noqa: N818 - a finding, not a fault
    """No assignment satisfies all; `labels` are the items that say so, not yet a minimal set."""

    def __init__(self, labels: Labels) -> None:
        self.labels = labels
        super().__init__(sorted(labels))


def decision(label: int) -> int:
    """The mark, among labels, of a branch that was tried rather than known."""
    return -2 - label


def undecided(labels: Iterable[int]) -> Labels:
    """Labels with every mark of a tried branch turned back into its item."""
    return frozenset(-2 - label if label < ALWAYS else label for label in labels)


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
        self.open: list[tuple[int, tuple[Branch, ...]]] = []
        self.looked = 0

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
        """Labels along the proof of a point's value, back to the origin or to `until`."""
        found: set[int] = set()
        while point not in (ORIGIN, until):
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
        """Take in alternatives and draw what follows whichever branch is true.

        Raises Contradiction. A branch that cannot hold is dropped; a last branch is added; a point
        that every branch raises is raised to the least of them.
        """
        left = list(alternatives)
        moved = True
        while moved:
            moved = False
            kept: list[tuple[int, tuple[Branch, ...]]] = []
            for label, branches in left:
                if not self._satisfied(branches):
                    branches, raised = self._narrow(label, branches)
                    moved |= raised
                if branches:
                    kept.append((label, branches))
            left = kept
        self.open = left

    def _narrow(self, label: int, branches: tuple[Branch, ...]) -> tuple[tuple[Branch, ...], bool]:
        """What is left of an alternative (nothing: it is settled), and whether a point was raised.

        The explanation of a branch that was dropped goes with what is drawn from the others.
        """
        own: Labels = frozenset((label,))
        left: list[Branch] = []
        heights: list[dict[int, int]] = []
        for branch in branches:
            mark = len(self.trail)
            try:
                self._try(branch, own)
            except Contradiction as dead:
                own |= dead.labels
            else:
                left.append(branch)
                heights.append({p: self.value[p] for p, *_ in self.trail[mark:] if p >= 0})
            self.undo(mark)
        if not left:
            raise Contradiction(own)
        if len(left) == 1:
            self._try(left[0], own)
            return (), True
        common = set(heights[0]).intersection(*heights[1:])
        if not common:
            return branches, False
        grounds: dict[int, Labels] = dict.fromkeys(common, own)
        for branch in left:
            mark = len(self.trail)
            self._try(branch, own)
            for point in common:
                grounds[point] |= self.proof(point)
            self.undo(mark)
        for point in sorted(common):
            to = min(height[point] for height in heights)
            self.add(ORIGIN, point, -to, grounds[point])
        return branches, True

    def _try(self, branch: Branch, labels: Labels) -> None:
        for a, b, days in branch:
            self.add(a, b, days, labels)

    def _satisfied(self, branches: tuple[Branch, ...]) -> bool:
        value = self.value
        for branch in branches:
            for a, b, days in branch:
                if value[a] - days > value[b]:
                    break
            else:
                return True
        return False

    def solution(self) -> list[int]:
        """Some assignment that satisfies everything; raises Contradiction."""
        found, _, why = self._search(None, None)
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

    def least(self, point: int, known: list[int]) -> tuple[int, list[int], Labels]:
        """The least value that the point takes in any assignment that satisfies everything.

        `known` is one such assignment. Returns the value, an assignment that has it, and the labels
        of the items that prove it, not yet a minimal set.
        """
        better, value, why = self._search(point, known[point])
        return (value, better or known, why) if value is not None else (known[point], known, why)

    def _search(
        self, point: int | None, limit: int | None
    ) -> tuple[list[int] | None, int | None, Labels]:
        """Depth first, jumping back: the best assignment below the limit, and the proof of no less.

        Without a point, the first assignment found. Leaves everything as it was.
        """
        best: list[int] | None = None
        self.looked = 0
        bottom = len(self.trail)
        # One level a branched alternative: how long the trail was before it, its label, the
        # branches still to try, and what the failures of those tried rest on.
        levels: list[tuple[int, int, list[Branch], set[int]]] = []
        try:
            while True:
                failed: Labels | None = None
                if point is not None and limit is not None and self.value[point] >= limit:
                    failed = self.proof(point)
                elif (violated := self._next_violated()) is not None:
                    label, branches = violated
                    ordered = self._by_effect(branches, point)
                    levels.append((len(self.trail), label, ordered, set()))
                else:
                    best = self.value.copy()
                    if point is None:
                        return best, None, NOTHING
                    limit = self.value[point]
                    failed = self.proof(point)
                while failed is not None or not self._next_branch(levels):
                    failed = self._jump_back(levels, failed)
                    if not levels:
                        return best, None if best is None else limit, undecided(failed or NOTHING)
                    failed = None
        finally:
            self.undo(bottom)

    def _next_branch(self, levels: list[tuple[int, int, list[Branch], set[int]]]) -> bool:
        """Try the branches left at the newest level until one can hold; False when none is left."""
        mark, label, ordered, grounds = levels[-1]
        while ordered:
            try:
                self._try(ordered.pop(), frozenset((decision(label),)))
            except Contradiction as dead:
                self.undo(mark)
                grounds.update(dead.labels - {decision(label)})
            else:
                return True
        return False

    def _jump_back(
        self, levels: list[tuple[int, int, list[Branch], set[int]]], failed: Labels | None
    ) -> Labels:
        """Go back to the newest level that had a part in a failure; all levels go when none had.

        Without a failure the newest level itself has failed: none of its branches can hold.
        """
        if failed is None:
            mark, label, _, grounds = levels.pop()
            self.undo(mark)
            failed = frozenset(grounds | {label})
        while levels and decision(levels[-1][1]) not in failed:
            self.undo(levels.pop()[0])
        if levels:
            mark, label, _, grounds = levels[-1]
            self.undo(mark)
            grounds.update(failed - {decision(label)})
        return failed

    def _next_violated(self) -> tuple[int, tuple[Branch, ...]] | None:
        """The next violated alternative after the one found last, going round."""
        count = len(self.open)
        for step in range(count):
            index = (self.looked + step) % count
            if not self._satisfied(self.open[index][1]):
                self.looked = index
                return self.open[index]
        return None

    def _by_effect(self, branches: tuple[Branch, ...], point: int | None) -> list[Branch]:
        """Branches with the one that raises least last, where it is taken first."""
        effects = []
        for index, branch in enumerate(branches):
            mark = len(self.trail)
            try:
                self._try(branch, NOTHING)
            except Contradiction:
                effects.append((0, 0, -index))
            else:
                before = {p: v for p, v, *_ in reversed(self.trail[mark:]) if p >= 0}
                reach = sum(self.value[p] - v for p, v in before.items())
                effects.append((self.value[point] if point is not None else 0, reach, -index))
            self.undo(mark)
        order = sorted(range(len(branches)), key=lambda i: effects[i], reverse=True)
        return [branches[i] for i in order]
