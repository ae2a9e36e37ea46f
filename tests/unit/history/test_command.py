"""python -m records.history: what it prints, and how it names what is wrong with a case."""

import json
import os
import subprocess
import sys
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from records.history import Case, CaseError, solve
from tests.unit.history.planted import plant

Json = dict[str, Any]
README = Path("records/history/README.md")


def run(*arguments: str, given: str = "", hash_seed: int = 0) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "records.history", *arguments]
    around = os.environ | {"PYTHONHASHSEED": str(hash_seed)}
    return subprocess.run(
        command, input=given, capture_output=True, text=True, check=False, env=around
    )


def example(number: int = 0) -> Json:
    """A worked example of the README, as printed there."""
    blocks = README.read_text(encoding="utf-8").split("```json\n")[1:]
    case: Json = json.loads(blocks[number].split("```")[0])
    return case


def test_it_works() -> None:
    done = run("solve", "-", given=json.dumps(example()))
    assert done.returncode == 0, done.stderr
    result = json.loads(done.stdout)
    assert result["consistent"] is True
    assert result["events"]["lining"]["start"] == ["1951-03-01", "1951-03-31"]
    assert result["traces"]["tear"] == {
        "made": ["1890-01-01", "1952-12-31"],
        "gone": ["1890-01-01", None],
    }
    assert result["reasons"]["patch.made.latest"] == ["e4", "e5"]


def test_the_second_example_is_told_as_the_readme_says() -> None:
    done = run("solve", "-", given=json.dumps(example(1)))
    result = json.loads(done.stdout)
    assert done.returncode == 0, "a contradiction is a result"
    assert result["conflicts"] == [["seen", "letter", "photo"]]
    assert result["withdrawal"] == ["letter"]
    assert result["traces"]["retouching"]["made"] == ["1916-01-01", "1931-12-31"]


def test_the_order_of_two_points_and_the_state_on_a_day() -> None:
    given = json.dumps(example())
    assert json.loads(run("order", "-", "tear.made", "patch.made", given=given).stdout) == {
        "order": "before"
    }
    assert json.loads(run("state", "-", "1920-01-01", given=given).stdout) == {
        "state": {"tear": "possible", "patch": "absent"}
    }


def test_the_same_case_gives_the_same_bytes_in_every_process() -> None:
    contradictory = plant(3).case
    for item in contradictory["evidence"][::3]:
        if item["kind"] == "over":
            item["upper"], item["lower"] = item["lower"], item["upper"]
    for case in (plant(1, sightings=0.9, looks=14).case, contradictory):
        given = json.dumps(case)
        one, other = (run("solve", "-", given=given, hash_seed=seed).stdout for seed in (1, 2))
        assert one == other != ""
    assert json.loads(one)["consistent"] is False


def test_a_sequence_deeper_than_any_stack_is_followed_to_its_end() -> None:
    last = 1_500
    assert last > sys.getrecursionlimit()
    case = example() | {
        "traces": [{"id": f"t{n}", "family": "making"} for n in range(last + 1)],
        "evidence": [
            {"id": "d", "kind": "dated_made", "strength": "firm", "trace": "t0", "date": "1951"}
        ],
    }
    case["evidence"] += [
        {"kind": "over", "strength": "firm", "relation": "lies_over"}
        | {"id": f"o{n}", "upper": f"t{n + 1}", "lower": f"t{n}"}
        for n in range(last)
    ]
    made = solve(Case.from_json(case)).bounds[f"t{last}", "made"]
    assert made[0].day == date(1951, 1, 1)
    assert len(made[0].items) == last + 1


def test_dates_before_1582_are_proleptic_gregorian() -> None:
    case = example() | {"horizon": {"earliest": "0001-01-01", "latest": "9999-12-31"}}
    case["evidence"] = [
        {
            "id": "a",
            "kind": "dated_made",
            "strength": "firm",
            "trace": "tear",
            "date": "1500-02-29?",
        }
    ]
    done = run("solve", "-", given=json.dumps(case))
    assert done.returncode == 2, "1500 is no leap year of the Gregorian rule"
    case["evidence"][0]["date"] = "1500-02"
    result = json.loads(run("solve", "-", given=json.dumps(case)).stdout)
    assert result["traces"]["tear"]["made"] == ["1500-02-01", "1500-02-28"]


FAULTS: list[tuple[str, Any, str, str]] = [
    # where in the case, what stands there, the item named, the field named
    ("horizon", {"earliest": "2000-01-01", "latest": "1900-01-01"}, "horizon", "latest"),
    ("horizon", {"earliest": "soon", "latest": "1900-01-01"}, "horizon", "earliest"),
    ("events", 3, "case", "events"),
    ("traces", [{"id": "tear"}, {"id": "tear"}], "tear", "id"),
    ("evidence.0.date", "1913-13", "e1", "date"),
    ("evidence.0.date", "1952/1951", "e1", "date"),
    ("evidence.0.kind", "rumoured", "e1", "kind"),
    ("evidence.0.strength", "sure", "e1", "strength"),
    ("evidence.0.weight", -1, "e1", "weight"),
    ("evidence.1.trace", "tera", "e2", "trace"),
    ("evidence.2.lower", "patch", "e3", "lower"),
    ("evidence.3.events", [], "e4", "events"),
    ("evidence.3.id", "e3", "e3", "id"),
]


@pytest.mark.parametrize(("where", "value", "item", "field"), FAULTS)
def test_a_malformed_case_names_the_item_and_the_field(
    where: str, value: Any, item: str, field: str
) -> None:
    case = example()
    *path, last = where.split(".")
    place: Any = case
    for step in path:
        place = place[int(step)] if step.isdigit() else place[step]
    place[last] = value
    done = run("solve", "-", given=json.dumps(case))
    assert done.returncode == 2
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    assert any(line.startswith(f"{item}: {field}: ") for line in done.stderr.splitlines())


@pytest.mark.parametrize("text", ["", "{", "[]", "null", "3", '"case"', "{}"])
def test_what_is_no_case_is_said_in_a_line(text: str) -> None:
    done = run("solve", "-", given=text)
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.strip()
    assert "Traceback" not in done.stderr


def test_a_file_that_is_not_there_is_named() -> None:
    done = run("solve", "nowhere.json")
    assert done.returncode == 2
    assert done.stderr.startswith("nowhere.json: ")


def test_a_number_or_a_nesting_beyond_reason_is_said_in_a_line() -> None:
    for text in ('{"horizon": ' + "9" * 5000 + "}", "[" * 100_000):
        done = run("solve", "-", given=text)
        assert done.returncode == 2
        assert done.stdout == ""
        assert len(done.stderr.splitlines()) == 1
        assert "Traceback" not in done.stderr


def test_every_fault_is_named_at_once_each_on_its_line() -> None:
    case = example()
    case["evidence"][0] |= {"date": "soon\nor later", "strength": "sure"}
    case["evidence"][3] |= {"events": ["lining", "lining", "relining"]}
    done = run("solve", "-", given=json.dumps(case))
    assert done.returncode == 2
    assert [line.split(": ")[:2] for line in done.stderr.splitlines()] == [
        ["e1", "strength"],
        ["e1", "date"],
        ["e4", "events"],
        ["e4", "events"],
    ]


ODD: st.SearchStrategy[Any] = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**20), 10**20),
    st.floats(),
    st.sampled_from(["", "tear", "patch", "lining", "photo-a", "e1", "1951", "\ud800", "a\nb"]),
    st.lists(st.sampled_from(["tear", "lining", 3, None, [], {}]), max_size=3),
    st.dictionaries(st.sampled_from(["id", "earliest"]), st.text(max_size=3), max_size=2),
)
KEYS = ["horizon", "events", "traces", "evidence", "id", "label", "kind", "family", "instant"]
KEYS += ["strength", "weight", "event", "date", "trace", "at", "upper", "lower", "relation"]
KEYS += ["earliest", "latest", "min_days", "max_days", "not_before", "traces", "within_days"]


@settings(max_examples=400, derandomize=True)
@given(st.data())
def test_whatever_stands_in_a_case_it_is_solved_or_its_faults_are_named(
    data: st.DataObject,
) -> None:
    case = example()
    kinds = ["material", "precedes", "lasts", "within", "together", "dated_gone", "gone_during"]
    for _ in range(data.draw(st.integers(1, 3))):
        rows = [case, case["horizon"], *case["events"], *case["traces"], *case["evidence"]]
        row = data.draw(st.sampled_from([r for r in rows if isinstance(r, dict)]))
        row[data.draw(st.sampled_from(KEYS))] = data.draw(ODD | st.sampled_from(kinds))
        if not all(isinstance(case[k], list) for k in ("events", "traces", "evidence")):
            break
        if not isinstance(case["horizon"], dict):
            break
    faults: list[str] = []
    try:
        json.dumps(solve(Case.from_json(case)).to_json())
    except CaseError as error:
        faults = error.faults or ["none is named"]
    assert all(len(fault.splitlines()) == 1 and ": " in fault for fault in faults)


def test_fields_that_no_kind_knows_are_left_alone() -> None:
    case = example(1)
    case["evidence"][1] |= {"events": 3, "event": {"page": 12}, "traces": None}
    assert solve(Case.from_json(case)).to_json() == solve(Case.from_json(example(1))).to_json()
