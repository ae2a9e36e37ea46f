"""The engine on a large case: against bare shortest paths, and against one solve of CP-SAT a bound.

10,000 traces, 500 events, 60,000 items, then 2,000 items more that leave alternatives open. Only
durations of the same run are compared. What was measured is printed with `pytest -s`.
"""

import json
import random
import subprocess
import sys
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from itertools import chain
from time import perf_counter
from typing import Any

import rustworkx as rx
from ortools.sat.python import cp_model

from records.history import Case
from records.history.bounds import exact_bounds
from records.history.network import ORIGIN, Network, build
from tests.benchmarks.history_cases import large_case
from tests.unit.history import oracle

ROUNDS = 3
SAMPLE = 40
MOST_BYTES = 10**9


def least_seconds(work: Callable[[], object]) -> float:
    """The shortest of a few rounds: the one that other work on the machine disturbed least."""
    found = []
    for _ in range(ROUNDS):
        began = perf_counter()
        work()
        found.append(perf_counter() - began)
    return min(found)


def bare_passes(network: Network) -> Callable[[], None]:
    """Two shortest-path passes on the network's graph, from and to the origin, and nothing else."""
    graphs = []
    for forwards in (True, False):
        graph: rx.PyDiGraph[int, float] = rx.PyDiGraph()
        graph.add_nodes_from(range(network.size))
        ends = ((a, b) if forwards else (b, a) for a, b, _, _ in network.fixed)
        days = (float(days) for _, _, days, _ in network.fixed)
        graph.add_edges_from([(*pair, cost) for pair, cost in zip(ends, days, strict=True)])
        graphs.append(graph)

    def run() -> None:
        for graph in graphs:
            rx.digraph_bellman_ford_shortest_path_lengths(graph, ORIGIN, float)

    return run


def test_all_bounds_and_reasons_cost_at_most_five_times_reading_and_bare_passes() -> None:
    text = json.dumps(large_case())

    def read() -> Case:
        return Case.from_json(json.loads(text))

    reading = least_seconds(read)
    passes = least_seconds(bare_passes(build(read())))
    whole = least_seconds(lambda: exact_bounds(read(), None))
    ratio = whole / (reading + passes)
    print(
        f"\nreading {reading:.2f} s, bare passes {passes:.3f} s, all bounds and reasons from text"
        f" {whole:.2f} s: {ratio:.1f} times"
    )
    assert ratio <= 5


def by_cp_sat(case: dict[str, Any], wanted: Sequence[tuple[str, int]]) -> list[int]:
    """The least (1) or greatest (−1) day of some points, one solve each."""
    model = cp_model.CpModel()
    low, high = (oracle.day(case["horizon"][side]) for side in ("earliest", "latest"))
    # Only `gone` may lie beyond the horizon; no item of these cases asks for more.
    x = {
        name: model.new_int_var(low, high + high * name.endswith("gone"), name)
        for name in oracle.points(case)
    }
    x[""] = model.new_constant(0)
    for a, b, days in oracle.always(case):
        model.add(x[a] <= x[b] + days)
    for item in case["evidence"]:
        branches = oracle.meaning(case, item)
        if len(branches) == 1:
            for a, b, days in branches[0]:
                model.add(x[a] <= x[b] + days)
            continue
        taken = [model.new_bool_var("") for _ in branches]
        model.add_bool_or(taken)
        for branch, chosen in zip(branches, taken, strict=True):
            for a, b, days in branch:
                model.add(x[a] <= x[b] + days).only_enforce_if(chosen)
    solver = cp_model.CpSolver()
    # What makes these models twice as quick as the default settings do, measured.
    solver.parameters.num_workers = 1
    solver.parameters.linearization_level = 0
    solver.parameters.max_presolve_iterations = 1
    found = []
    for name, sign in wanted:
        model.minimize(sign * x[name])
        assert solver.solve(model) == cp_model.OPTIMAL
        found.append(solver.value(x[name]))
    return found


def test_alternatives_cost_a_fiftieth_of_one_solve_a_bound_at_most() -> None:
    """CP-SAT may use two cores, a half of the sample each; the engine has one."""
    data = large_case(alternatives=2_000)
    case = Case.from_json(data)
    began = perf_counter()
    bounds = exact_bounds(case, None)
    ours = perf_counter() - began
    assert bounds is not None
    sides: list[tuple[str, int, date]] = [
        (f"{key}.{point}", sign, bound.day)
        for (key, point), pair in bounds.items()
        for bound, sign in zip(pair, (1, -1), strict=True)
        if bound.day is not None
    ]
    sample = random.Random(1).sample(sides, SAMPLE)
    wanted = [(name, sign) for name, sign, _ in sample]
    began = perf_counter()
    with ThreadPoolExecutor(2) as pool:
        halves = pool.map(by_cp_sat, (data, data), (wanted[::2], wanted[1::2]))
        exact = dict(zip(wanted[::2] + wanted[1::2], chain(*halves), strict=True))
    each = (perf_counter() - began) / SAMPLE
    ratio = each * len(sides) / ours
    print(
        f"\n{len(sides):,} bounds with reasons in {ours:.1f} s; CP-SAT {each:.2f} s a bound:"
        f" {ratio:,.0f} times as long"
    )
    for name, sign, day in sample:
        assert exact[name, sign] == day.toordinal(), name
    assert ratio >= 50


def test_alternatives_need_less_than_a_gigabyte() -> None:
    """In a process of its own, so that nothing else counts."""
    work = (
        "from records.history import Case, solve\n"
        "from tests.benchmarks.history_cases import large_case\n"
        "solve(Case.from_json(large_case(alternatives=2_000))).to_json()\n"
        "import resource\n"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)\n"
    )
    done = subprocess.run([sys.executable, "-c", work], check=True, capture_output=True, text=True)
    kibibytes = int(done.stdout)
    print(f"\nsolving takes {kibibytes / 1024:,.0f} MiB at most")
    assert kibibytes * 1024 < MOST_BYTES
