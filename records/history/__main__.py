"""python -m records.history solve|order|state CASE.json …: the engine on the command line.

Prints JSON and exits 0, also for a contradictory case; a malformed one exits 2 with one line per
fault on standard error.
"""

import argparse
import json
import sys
from datetime import date
from pathlib import Path
from typing import Any

from records.history import Case, CaseError, order, solve, state

POINTS = {"event": ("start", "end"), "trace": ("made", "gone")}


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m records.history", description=__doc__)
    commands = parser.add_subparsers(dest="command", required=True)
    solving = commands.add_parser("solve", help="print the reconstruction")
    ordering = commands.add_parser("order", help="print how two time points lie")
    on_a_day = commands.add_parser("state", help="print what was there on a day")
    for command in (solving, ordering, on_a_day):
        command.add_argument("case", help="the case, a JSON file; - for standard input")
    ordering.add_argument("first", help="a time point, such as tear.made or lining.start")
    ordering.add_argument("second", help="another time point")
    on_a_day.add_argument("day", help="a day, such as 1951-03-14")
    given = parser.parse_args(arguments)
    try:
        case = Case.from_json(_read(given.case))
        answer: Any
        if given.command == "solve":
            answer = solve(case).to_json()
        elif given.command == "order":
            answer = {"order": order(case, _point(case, given.first), _point(case, given.second))}
        else:
            answer = {"state": state(case, _day(given.day))}
    except CaseError as error:
        print(*error.faults, sep="\n", file=sys.stderr)
        return 2
    print(json.dumps(answer, ensure_ascii=False, indent=2))
    return 0


def _read(name: str) -> Any:
    try:
        text = sys.stdin.read() if name == "-" else Path(name).read_text(encoding="utf-8")
        return json.loads(text)
    except OSError as error:
        raise CaseError([f"{name}: cannot be read: {error.strerror}"]) from error
    except json.JSONDecodeError as error:
        place = f"line {error.lineno}, column {error.colno}"
        raise CaseError([f"{name}: {place}: is no JSON: {error.msg}"]) from error
    except UnicodeDecodeError as error:
        raise CaseError([f"{name}: is no text in UTF-8"]) from error
    except (ValueError, RecursionError) as error:
        raise CaseError([f"{name}: holds numbers too long or lists too deep for a case"]) from error


def _point(case: Case, text: str) -> tuple[str, str]:
    key, _, point = text.rpartition(".")
    known = {"event": case.events, "trace": case.traces}
    for what, points in POINTS.items():
        if key in known[what] and point in points:
            return key, point
    raise CaseError([f"{text}: is no time point of the case; write tear.made or lining.start"])


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise CaseError([f"{text}: is no day; write 1951-03-14"]) from error


if __name__ == "__main__":
    sys.exit(main())
