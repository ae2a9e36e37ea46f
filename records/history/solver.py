"""What the search gives up on, decided by CP-SAT.

Slower than the search on the questions that records usually ask, but never lost in a maze of
alternatives.
"""

from collections.abc import Iterable, Sequence
from typing import Any

from ortools.sat.python import cp_model

from records.history.network import ORIGIN, STILL_THERE
from records.history.search import NOTHING, Alternative, Labels

Constraint = tuple[int, int, int, Labels]


def least_assignment(
    size: int,
    constraints: Sequence[Constraint],
    alternatives: Sequence[Alternative],
    point: int | None,
    limit: int,
) -> tuple[list[int] | None, Labels]:
    """An assignment in which a point is least, and labels of the items that prove it.

    The assignment is None when none has the point below the limit. Without a point, any assignment
    will do, or None when there is none.
    """
    model = _Model(size, constraints, alternatives)
    if point is not None:
        model.add(model.value[point] < limit)
        model.minimize(model.value[point])
    solver = _solver()
    found: list[int] | None = None
    if solver.solve(model) == cp_model.OPTIMAL:
        found = [solver.value(value) for value in model.value]
        if point is None:
            return found, NOTHING
        limit = found[point]
    return found, _proof(size, constraints, alternatives, point, limit)


def _proof(
    size: int,
    constraints: Sequence[Constraint],
    alternatives: Sequence[Alternative],
    point: int | None,
    limit: int,
) -> Labels:
    """Labels of items that contradict each other, or a point's lying below the limit."""
    labels = {label for *_, of in constraints for label in of}
    labels.update(label for one in alternatives for label in (one.label, *one.grounds))
    while True:
        model = _Model(size, constraints, alternatives, sorted(labels))
        if point is not None:
            model.add(model.value[point] < limit)
        solver = _solver()
        if solver.solve(model) != cp_model.INFEASIBLE:
            raise AssertionError("what is to be proved must be so")
        core = {model.label_of[i] for i in solver.sufficient_assumptions_for_infeasibility()}
        if len(core) >= len(labels):
            return frozenset(labels)
        labels = core


class _Model(cp_model.CpModel):
    """Points as integers with their constraints; with `labels`, only those of these items hold."""

    def __init__(
        self,
        size: int,
        constraints: Iterable[Constraint],
        alternatives: Iterable[Alternative],
        labels: Sequence[int] | None = None,
    ) -> None:
        super().__init__()
        far = 2 * STILL_THERE
        self.value = [self.new_int_var(-far, far, "") for _ in range(size)]
        self.add(self.value[ORIGIN] == 0)
        self.switches: dict[int, Any] = {label: self.new_bool_var("") for label in labels or ()}
        self.label_of = {switch.index: label for label, switch in self.switches.items()}
        for a, b, days, needs in constraints:
            if labels is None:
                self.add(self.value[a] <= self.value[b] + days)
            elif needs <= self.switches.keys():
                on = [self.switches[label] for label in needs]
                self.add(self.value[a] <= self.value[b] + days).only_enforce_if(on)
        for label, branches, grounds in alternatives:
            needs = grounds | {label}
            if labels is not None and not needs <= self.switches.keys():
                continue
            chosen = [self.new_bool_var("") for _ in branches]
            off = [] if labels is None else [~self.switches[one] for one in sorted(needs)]
            self.add_bool_or([*chosen, *off])
            for branch, taken in zip(branches, chosen, strict=True):
                for a, b, days in branch:
                    self.add(self.value[a] <= self.value[b] + days).only_enforce_if(taken)
        self.add_assumptions(list(self.switches.values()))


def _solver() -> cp_model.CpSolver:
    """One thread and a fixed seed: the same question has the same answer."""
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 0
    return solver
