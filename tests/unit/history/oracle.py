"""An independent reading of the evidence tables, slow and plain, to hold the engine against.

Bounds: every choice among the alternatives, and for each the closure of all pairs of points
(Floyd-Warshall). Withdrawal and campaigns: one CP-SAT model each, written from the definitions.
Shares no code with the engine but the reading of dates, which has checks of its own.
"""

from collections.abc import Iterable
from datetime import date
from itertools import combinations, product
from typing import Any

import numpy as np
from ortools.sat.python import cp_model

from records.history import edtf

Json = dict[str, Any]
Less = tuple[str, str, int]  # x lies at most so many days after y; "" is day 0
INFINITE = 10**7
WEIGHT = {"firm": 9, "likely": 3, "tentative": 1}


def day(text: str) -> int:
    return date.fromisoformat(text).toordinal()


def always(case: Json) -> list[Less]:
    low, high = day(case["horizon"]["earliest"]), day(case["horizon"]["latest"])
    found: list[Less] = []
    for event in case["events"]:
        start, end = f"{event['id']}.start", f"{event['id']}.end"
        found += [("", start, -low), (start, end, 0), (end, "", high)]
        if event["instant"]:
            found.append((end, start, 0))
    for trace in case["traces"]:
        made, gone = f"{trace['id']}.made", f"{trace['id']}.gone"
        found += [("", made, -low), (made, "", high), (made, gone, 0)]
    return found


def not_before(point: str, bound: date | None) -> list[Less]:
    return [] if bound is None else [("", point, -bound.toordinal())]


def not_after(point: str, bound: date | None) -> list[Less]:
    return [] if bound is None else [(point, "", bound.toordinal())]


def meaning(case: Json, item: Json) -> list[list[Less]]:
    """The alternatives of an item, each a list of constraints; straight from the table."""
    kind = item["kind"]
    instant = {e["id"]: e["instant"] for e in case["events"]}
    match kind:
        case "dated_event":
            start, end = f"{item['event']}.start", f"{item['event']}.end"
            when = edtf.read(item["date"])
            if "/" in item["date"] and not instant[item["event"]]:
                return [
                    not_before(start, when.start[0])
                    + not_after(start, when.start[1])
                    + not_before(end, when.end[0])
                    + not_after(end, when.end[1])
                ]
            return [not_before(start, when.earliest) + not_after(end, when.latest)]
        case "dated_made" | "dated_gone":
            point = f"{item['trace']}.{kind[6:]}"
            when = edtf.read(item["date"])
            return [not_before(point, when.earliest) + not_after(point, when.latest)]
        case "seen":
            return [
                [
                    (f"{item['trace']}.made", f"{item['at']}.end", 0),
                    (f"{item['at']}.start", f"{item['trace']}.gone", 0),
                ]
            ]
        case "not_seen":
            return [
                [(f"{item['at']}.start", f"{item['trace']}.made", 0)],
                [(f"{item['trace']}.gone", f"{item['at']}.end", 0)],
            ]
        case "made_during" | "gone_during":
            point = f"{item['trace']}.{kind[:4]}"
            return [[(f"{e}.start", point, 0), (point, f"{e}.end", 0)] for e in item["events"]]
        case "over":
            return [[(f"{item['lower']}.made", f"{item['upper']}.made", 0)]]
        case "material":
            made = f"{item['trace']}.made"
            found = not_before(made, edtf.read(item["not_before"]).earliest)
            if "not_after" in item:
                found += not_after(made, edtf.read(item["not_after"]).latest)
            return [found]
        case "precedes":
            first, second = f"{item['first']}.end", f"{item['second']}.start"
            found = [(first, second, -item.get("min_days", 0))]
            if "max_days" in item:
                found.append((second, first, item["max_days"]))
            return [found]
        case "within":
            inner, outer = item["inner"], item["outer"]
            return [[(f"{outer}.start", f"{inner}.start", 0), (f"{inner}.end", f"{outer}.end", 0)]]
        case "lasts":
            start, end = f"{item['event']}.start", f"{item['event']}.end"
            return [[(start, end, -item["min_days"]), (end, start, item["max_days"])]]
        case "together":
            return [
                [
                    limit
                    for a, b in combinations(item["traces"], 2)
                    for limit in (
                        (f"{a}.made", f"{b}.made", item["within_days"]),
                        (f"{b}.made", f"{a}.made", item["within_days"]),
                    )
                ]
            ]
    raise AssertionError(kind)


def points(case: Json) -> list[str]:
    return [f"{e['id']}.{s}" for e in case["events"] for s in ("start", "end")] + [
        f"{t['id']}.{s}" for t in case["traces"] for s in ("made", "gone")
    ]


def bounds(
    case: Json, items: Iterable[Json], more: Iterable[Less] = ()
) -> dict[str, tuple[int, int]] | None:
    """Day numbers of the exact bounds (INFINITE: none); None when nothing satisfies the items."""
    names = ["", *points(case)]
    place = {name: index for index, name in enumerate(names)}
    ground = [*always(case), *more]
    found: dict[str, tuple[int, int]] | None = None
    meanings = [meaning(case, item) for item in items]
    ground += [limit for m in meanings if len(m) == 1 for limit in m[0]]
    base = closure(ground, place)
    if base is None:
        return None
    for choice in product(*(m for m in meanings if len(m) > 1)):
        chosen = [limit for branch in choice for limit in branch]
        reach = closure(ground + chosen, place) if chosen else base
        if reach is None:
            continue
        here = {n: (int(-reach[place[n], 0]), int(reach[0, place[n]])) for n in names[1:]}
        if found is None:
            found = here
        else:
            found = {
                n: (min(found[n][0], here[n][0]), max(found[n][1], here[n][1])) for n in names[1:]
            }
    return found


def closure(limits: Iterable[Less], place: dict[str, int]) -> Any:
    """The least upper bound of x_j − x_i at [i, j], or None when the limits contradict."""
    reach = np.full((len(place), len(place)), INFINITE, dtype=np.int64)
    np.fill_diagonal(reach, 0)
    for x, y, days in limits:
        i, j = place[y], place[x]
        reach[i, j] = min(reach[i, j], days)
    for k in range(len(place)):
        np.minimum(reach, reach[:, k, None] + reach[k], out=reach)
    reach[reach > INFINITE // 2] = INFINITE
    return None if (np.diag(reach) < 0).any() else reach


def weight(item: Json) -> int:
    if "weight" in item:
        return int(item["weight"])
    doubtful = any(
        any(mark in str(item.get(name, "")) for mark in "?%")
        for name in ("date", "not_before", "not_after")
    )
    return WEIGHT["tentative"] if doubtful else WEIGHT[item["strength"]]


def model_of(case: Json) -> tuple[cp_model.CpModel, dict[str, Any], dict[str, Any]]:
    """All points as integers, all items as constraints that hold when their switch is on."""
    model = cp_model.CpModel()
    low, high = day(case["horizon"]["earliest"]), day(case["horizon"]["latest"])
    x = {name: model.new_int_var(low - 1, high + 400, name) for name in points(case)}
    x[""] = model.new_constant(0)
    for a, b, days in always(case):
        model.add(x[a] <= x[b] + days)
    switches = {}
    for item in case["evidence"]:
        on = switches[item["id"]] = model.new_bool_var(item["id"])
        branches = []
        for branch in meaning(case, item):
            taken = model.new_bool_var("")
            branches.append(taken)
            for a, b, days in branch:
                model.add(x[a] <= x[b] + days).only_enforce_if(taken)
        model.add_bool_or(branches).only_enforce_if(on)
    return model, x, switches


def least_withdrawal(case: Json) -> int:
    """The least total weight of items without which the case holds."""
    model, _, switches = model_of(case)
    model.minimize(sum(weight(i) * (1 - switches[i["id"]]) for i in case["evidence"]))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model) == cp_model.OPTIMAL
    return round(solver.objective_value)


def undocumented(case: Json) -> int:
    """The least number of undocumented campaigns that any placement needs; the case must hold."""
    tied = {i["trace"] for i in case["evidence"] if i["kind"] == "made_during"}
    loose = [
        t["id"] for t in case["traces"] if t["family"] == "intervention" and t["id"] not in tied
    ]
    treatments = [e["id"] for e in case["events"] if e["kind"] == "treatment"]
    model, x, switches = model_of(case)
    model.add_bool_and(list(switches.values()))
    used = [model.new_bool_var("") for _ in loose]
    inside: dict[tuple[int, int], Any] = {}
    for n, trace in enumerate(loose):
        made = x[f"{trace}.made"]
        places = []
        for treatment in treatments:
            taken = model.new_bool_var("")
            model.add(x[f"{treatment}.start"] <= made).only_enforce_if(taken)
            model.add(made <= x[f"{treatment}.end"]).only_enforce_if(taken)
            places.append(taken)
        for group in range(len(loose)):
            taken = inside[n, group] = model.new_bool_var("")
            model.add_implication(taken, used[group])
            places.append(taken)
        model.add_bool_or(places)
    for (n, group), taken in inside.items():
        for m in range(n):
            apart = x[f"{loose[n]}.made"] - x[f"{loose[m]}.made"]
            model.add(apart <= 365).only_enforce_if([taken, inside[m, group]])
            model.add(apart >= -365).only_enforce_if([taken, inside[m, group]])
    model.minimize(sum(used))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model) == cp_model.OPTIMAL
    return round(solver.objective_value)
