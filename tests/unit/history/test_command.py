"""python -m records.history: what it prints, and how it names what is wrong with a case."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

Json = dict[str, Any]
README = Path("records/history/README.md")


def run(*arguments: str, given: str = "") -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "records.history", *arguments]
    return subprocess.run(command, input=given, capture_output=True, text=True, check=False)


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
