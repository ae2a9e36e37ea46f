"""Contradictions: which items cannot all hold, and the cheapest ones to withdraw."""

from collections.abc import Sequence
from math import lcm

from records.history.case import Case
from records.history.reasons import contradiction, smallest

Conflict = tuple[int, ...]


def disjoint_conflicts(case: Case) -> list[Conflict]:
    """Minimal conflicts that share no item, as many as leave the rest without one."""
    left = set(range(len(case.items)))
    found: list[Conflict] = []
    while (labels := contradiction(case, left)) is not None:
        found.append(smallest(case, labels))
        left.difference_update(found[-1])
    return found


def cheapest_withdrawal(case: Case, conflicts: Sequence[Conflict]) -> Conflict:
    """Items of the least total weight without which the case holds.

    Every conflict known must lose an item; whenever the cheapest way to do that leaves another
    conflict, that one is known too (implicit hitting sets: E. Moreno-Centeno, R. M. Karp,
    Operations Research 61 (2013), from memory).
    """
    known = list(conflicts)
    everything = set(range(len(case.items)))
    while True:
        withdrawn = _hitting_set(case, known)
        labels = contradiction(case, everything.difference(withdrawn))
        if labels is None:
            return withdrawn
        known.append(smallest(case, labels))


def _hitting_set(case: Case, conflicts: Sequence[Conflict]) -> Conflict:
    """Items of the least weight that meet every conflict; among equals the fewest, then the last.

    The order of the items in the case decides what is left, so that the result is always the same.
    """
    from ortools.sat.python import cp_model  # takes a second to load; few cases need it

    labels = sorted({label for conflict in conflicts for label in conflict})
    scale = lcm(1, *(case.items[label].weight.denominator for label in labels))
    model = cp_model.CpModel()
    taken = {label: model.new_bool_var(str(label)) for label in labels}
    for conflict in conflicts:
        model.add_bool_or([taken[label] for label in conflict])
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 0
    weight = sum(
        int(case.items[label].weight * scale) * variable for label, variable in taken.items()
    )
    for goal in (weight, sum(taken.values())):
        model.minimize(goal)
        solver.solve(model)
        model.add(goal <= round(solver.objective_value))
    for label in labels:
        model.minimize(taken[label])
        solver.solve(model)
        model.add(taken[label] == solver.value(taken[label]))
    solver.solve(model)
    return tuple(label for label in labels if solver.value(taken[label]))
