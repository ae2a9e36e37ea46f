"""The engine against an independent reading of the tables, on random cases of many shapes."""

import json
from datetime import date
from functools import cache
from itertools import combinations
from typing import Any
from unittest.mock import patch

import pytest
from hypothesis import HealthCheck, given, seed, settings
from hypothesis import strategies as st

from records import history
from records.history import reasons, search
from tests.unit.history import oracle
from tests.unit.history.cases import cases, days

Json = dict[str, Any]
SEVERAL = settings(
    max_examples=200,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
FEW = settings(SEVERAL, max_examples=100)


def solved(case: Json) -> Json:
    return history.solve(history.Case.from_json(case)).to_json()


def number(day: str | None) -> int:
    return oracle.INFINITE if day is None else date.fromisoformat(day).toordinal()


def told_bounds(result: Json) -> dict[str, tuple[int, int]]:
    return {
        f"{key}.{point}": (number(low), number(high))
        for group in ("events", "traces")
        for key, spans in result[group].items()
        for point, (low, high) in spans.items()
    }


@pytest.mark.parametrize("part", range(5))
def test_what_is_told_agrees_with_the_tables(part: int) -> None:
    """1,000 cases in five parts, for two processes to share; each part draws others."""

    @seed(part)
    @SEVERAL
    @given(cases())
    def agrees(case: Json) -> None:
        check(case)

    agrees()


@FEW
@given(cases())
def test_a_case_taken_for_a_large_one_is_told_as_truly(case: Json) -> None:
    with patch.object(reasons, "MANY", 0):
        check(case)


@settings(SEVERAL, max_examples=60)
@given(cases(most_events=6, most_traces=6))
def test_what_the_search_gives_up_on_is_told_as_truly(case: Json) -> None:
    with patch.object(search, "PATIENCE", -1):
        check(case)


def check(case: Json) -> None:
    """Every bound, reason, conflict, the withdrawal and the campaigns needed of one case."""
    result = solved(case)
    by_id = {item["id"]: item for item in case["evidence"]}
    withdrawn = set(result["withdrawal"])
    held = case | {"evidence": [i for i in case["evidence"] if i["id"] not in withdrawn]}
    truth = oracle.bounds(case, held["evidence"])
    assert truth is not None
    assert told_bounds(result) == truth
    check_reasons(case, truth, result["reasons"])

    assert result["consistent"] == (oracle.bounds(case, case["evidence"]) is not None)
    if result["consistent"]:
        assert not result["conflicts"]
        assert not withdrawn
    else:
        check_conflicts(case, result, by_id)

    needed = result["campaigns_needed"]
    assert needed["undocumented"] == oracle.undocumented(held) == len(needed["groups"])


def check_conflicts(case: Json, result: Json, by_id: dict[str, Json]) -> None:
    conflicts = [[by_id[key] for key in ids] for ids in result["conflicts"]]
    assert conflicts
    for conflict in conflicts:
        assert oracle.bounds(case, conflict) is None
        for item in conflict:
            assert oracle.bounds(case, [i for i in conflict if i is not item]) is not None
    for one, other in combinations(result["conflicts"], 2):
        assert not set(one) & set(other)
    named = {key for ids in result["conflicts"] for key in ids}
    rest = [item for item in case["evidence"] if item["id"] not in named]
    assert oracle.bounds(case, rest) is not None, "a conflict that shares no item is left out"
    weight = sum(oracle.weight(by_id[key]) for key in result["withdrawal"])
    assert weight == oracle.least_withdrawal(case)


def check_reasons(
    case: Json, truth: dict[str, tuple[int, int]], reasons: dict[str, list[str]]
) -> None:
    """The items of each reason prove its bound, and without any one of them it is looser."""
    assert len(reasons) == 2 * len(truth), "every bound has its reason"

    @cache
    def bounds(ids: frozenset[str]) -> dict[str, tuple[int, int]]:
        found = oracle.bounds(case, [item for item in case["evidence"] if item["id"] in ids])
        assert found is not None
        return found

    for name, ids in reasons.items():
        point, side = name.rsplit(".", 1)
        index = ("earliest", "latest").index(side)
        told, items = truth[point][index], frozenset(ids)
        assert bounds(items)[point][index] == told, name
        for item in ids:
            assert bounds(items - {item})[point][index] != told, f"{item} is not needed for {name}"


@FEW
@given(cases(most_events=5, most_traces=5, most_open=4), st.data())
def test_order_and_state_agree_with_the_tables(case: Json, data: st.DataObject) -> None:
    read = history.Case.from_json(case)
    if oracle.bounds(case, case["evidence"]) is None:
        return
    one, other = data.draw(st.lists(st.sampled_from(oracle.points(case)), min_size=2, max_size=2))

    def can(*limits: oracle.Less) -> bool:
        return oracle.bounds(case, case["evidence"], limits) is not None

    later, earlier = can((other, one, -1)), can((one, other, -1))
    expected = {
        (False, False): "same",
        (False, True): "before",
        (True, False): "after",
        (True, True): "open",
    }[later, earlier]
    first, second = (tuple(p.rsplit(".", 1)) for p in (one, other))
    assert history.order(read, first, second) == expected  # type: ignore[arg-type]

    on = date.fromisoformat(data.draw(days(date.fromisoformat(case["horizon"]["latest"]).year)))
    told = history.state(read, on)
    n = on.toordinal()
    for key in read.traces:
        made, gone = f"{key}.made", f"{key}.gone"
        there = can((made, "", n), ("", gone, -n))
        elsewhere = can(("", made, -n - 1)) or can((gone, "", n - 1))
        assert told[key] == ("absent" if not there else "possible" if elsewhere else "present")


@FEW
@given(cases())
def test_the_same_case_gives_the_same_text(case: Json) -> None:
    assert json.dumps(solved(case)) == json.dumps(solved(json.loads(json.dumps(case))))
