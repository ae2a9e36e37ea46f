"""Made-up lives of objects: no bound excludes what was true, and much of it is found again."""

from datetime import date

import pytest
from ortools.sat.python import cp_model

from records import history
from tests.unit.history import oracle
from tests.unit.history.planted import NEVER, RICH, SPARSE, Planted, figures, plant


def solved(planted: Planted) -> history.Reconstruction:
    return history.solve(history.Case.from_json(planted.case))


@pytest.mark.parametrize("seed", range(100, 160))
def test_no_bound_excludes_the_truth(seed: int) -> None:
    planted = plant(seed)
    result = solved(planted)
    assert result.consistent
    for truth, points in ((planted.spans, ("start", "end")), (planted.lives, ("made", "gone"))):
        for key, span in truth.items():
            for point, day in zip(points, (span.start, span.end), strict=True):
                low, high = (bound.day for bound in result.bounds[key, point])
                assert (low or date.min) <= day <= (high or NEVER), f"{key}.{point}"


@pytest.mark.parametrize("seed", range(100, 120))
def test_the_state_on_a_day_is_never_false(seed: int) -> None:
    planted = plant(seed)
    case = history.Case.from_json(planted.case)
    for day in (date(1890, 5, 1), date(1931, 7, 2), date(1988, 3, 3)):
        for trace, state in history.state(case, day).items():
            was_there = planted.lives[trace].start <= day <= planted.lives[trace].end
            assert state == "possible" or (state == "present") == was_there


def test_much_of_the_truth_is_found_again() -> None:
    """`pytest -s` prints the figures; `python -m tests.unit.history.planted` has more lives."""
    for shares in (SPARSE, RICH):
        found = figures(range(30), **shares)
        print(f"\n{found}")
        # The truth is one placement of the traces, so never more are needed than there were.
        assert 0 < found.campaigns_needed <= found.campaigns_true
        blind = sum(1 / n for n in found.candidates) / len(found.candidates)
        by_dates = sum(rank == 1 for rank in found.ranks_by_dates) / len(found.ranks)
        first = sum(rank == 1 for rank in found.ranks) / len(found.ranks)
        assert by_dates > 1.5 * blind, "dates should tell treatments apart"
        assert first > 1.1 * by_dates, "places and materials should tell more"


@pytest.mark.parametrize("seed", range(3))
def test_bounds_stay_exact_where_alternatives_abound(seed: int) -> None:
    """Lives looked at often: every bound against an optimum of CP-SAT, one by one."""
    planted = plant(seed, treatments=6, accidents=4, looks=12, sightings=0.9)
    open_items = [i for i in planted.case["evidence"] if i["kind"] == "not_seen"]
    assert len(open_items) > 40
    result = solved(planted)
    model, x, switches = oracle.model_of(planted.case)
    model.add_bool_and(list(switches.values()))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    for (key, point), bounds in result.bounds.items():
        for bound, sign in zip(bounds, (1, -1), strict=True):
            if bound.day is None:
                continue
            model.minimize(sign * x[f"{key}.{point}"])
            assert solver.solve(model) == cp_model.OPTIMAL
            assert solver.value(x[f"{key}.{point}"]) == bound.day.toordinal(), f"{key}.{point}"


@pytest.mark.parametrize("seed", range(25))
def test_no_placement_needs_fewer_undocumented_campaigns(seed: int) -> None:
    planted = plant(seed, treatments=4, accidents=2, looks=14, documented=0.3, sightings=0.9)
    result = solved(planted).to_json()["campaigns_needed"]
    assert result["undocumented"] == oracle.undocumented(planted.case) == len(result["groups"])
    placed = [trace for group in result["groups"] for trace in group["traces"]]
    assert len(placed) == len(set(placed))
    for group in result["groups"]:
        first, last = map(date.fromisoformat, group["window"])
        assert first <= last
