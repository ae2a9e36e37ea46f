"""The time points of a case and what the evidence demands of them, as difference constraints.

A constraint (a, b, w) says: point a lies at most w days after point b. Point 0 is the origin, day 0
of the proleptic Gregorian day count, so that a plain date is a constraint as well. An item of
evidence is one branch of constraints, or several of which at least one must hold.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from itertools import permutations

from records.history.case import Case, Item
from records.history.edtf import Edtf

ORIGIN = 0
ALWAYS = -1  # the label of a constraint that is always true, whatever the evidence
STILL_THERE = 10**9  # days: where an end without an upper limit is put; far beyond any calendar

Constraint = tuple[int, int, int]
Branch = tuple[Constraint, ...]


@dataclass(slots=True)
class Network:
    """Points and constraints of a case or a part of it.

    `fixed` holds (a, b, w, label): constraints that hold whatever alternative is true; a label is
    the position of an item in the case, or ALWAYS. `open` holds (label, branches).
    """

    case: Case
    points: dict[tuple[str, str], int]
    size: int
    fixed: list[tuple[int, int, int, int]] = field(default_factory=list)
    open: list[tuple[int, tuple[Branch, ...]]] = field(default_factory=list)


def build(case: Case, only: Iterable[int] | None = None, also: Iterable[str] = ()) -> Network:
    """The network of a case.

    With `only`, that of the items at these positions, with no points but those of the events and
    traces that they name and of those whose ids stand in `also`.
    """
    labels = range(len(case.items)) if only is None else sorted(set(only))
    points: dict[tuple[str, str], int] = {}
    network = Network(case, points, 1)
    low, high = case.earliest.toordinal(), case.latest.toordinal()
    always = network.fixed.append

    def event(key: str) -> None:
        start = end = network.size
        network.size += 1
        always((ORIGIN, start, -low, ALWAYS))
        if not case.events[key].instant:
            end = network.size
            network.size += 1
            always((start, end, 0, ALWAYS))
        always((end, ORIGIN, high, ALWAYS))
        points[key, "start"], points[key, "end"] = start, end

    def trace(key: str) -> None:
        made = network.size
        network.size += 2
        always((ORIGIN, made, -low, ALWAYS))
        always((made, ORIGIN, high, ALWAYS))
        always((made, made + 1, 0, ALWAYS))
        always((made + 1, ORIGIN, STILL_THERE, ALWAYS))
        points[key, "made"], points[key, "gone"] = made, made + 1

    if only is None:
        touched_events: Iterable[str] = case.events
        touched_traces: Iterable[str] = case.traces
    else:
        named = [name for label in labels for name in _named(case.items[label])]
        named.extend(also)
        touched_events = dict.fromkeys(n for n in named if n in case.events)
        touched_traces = dict.fromkeys(n for n in named if n in case.traces)
    for key in touched_events:
        event(key)
    for key in touched_traces:
        trace(key)
    for label in labels:
        branches = demands(case, case.items[label], points)
        if len(branches) == 1:
            network.fixed.extend((a, b, w, label) for a, b, w in branches[0])
        else:
            network.open.append((label, branches))
    return network


def _named(item: Item) -> Iterator[str]:
    """The ids of events and traces that an item names."""
    for name in ("event", "trace", "at", "upper", "lower", "first", "second", "inner", "outer"):
        if name in item.fields:
            yield item.fields[name]
    yield from item.fields.get("events", ())
    yield from item.fields.get("traces", ())


def demands(case: Case, item: Item, points: dict[tuple[str, str], int]) -> tuple[Branch, ...]:
    """What an item says of the points: one branch, or several of which one at least holds."""
    fields, kind = item.fields, item.kind

    def at(key: str, point: str) -> int:
        return points[key, point]

    if kind == "dated_event":
        key, when = fields["event"], item.dates["date"]
        start, end = at(key, "start"), at(key, "end")
        if when.is_interval and not case.events[key].instant:
            return ((*_between(start, when.start), *_between(end, when.end)),)
        return (_within(start, end, when),)
    if kind in {"dated_made", "dated_gone"}:
        point = at(fields["trace"], kind.removeprefix("dated_"))
        return (_within(point, point, item.dates["date"]),)
    if kind in {"seen", "not_seen"}:
        made, gone = at(fields["trace"], "made"), at(fields["trace"], "gone")
        start, end = at(fields["at"], "start"), at(fields["at"], "end")
        if kind == "seen":
            return (((made, end, 0), (start, gone, 0)),)
        return (((start, made, 0),), ((gone, end, 0),))
    if kind in {"made_during", "gone_during"}:
        point = at(fields["trace"], kind.removesuffix("_during"))
        return tuple(
            ((at(key, "start"), point, 0), (point, at(key, "end"), 0)) for key in fields["events"]
        )
    if kind == "over":
        return (((at(fields["lower"], "made"), at(fields["upper"], "made"), 0),),)
    if kind == "material":
        made = at(fields["trace"], "made")
        before, after = item.dates["not_before"].earliest, item.dates.get("not_after")
        branch: list[Constraint] = []
        if before:
            branch.append((ORIGIN, made, -before.toordinal()))
        if after and after.latest:
            branch.append((made, ORIGIN, after.latest.toordinal()))
        return (tuple(branch),)
    if kind == "precedes":
        first, second = at(fields["first"], "end"), at(fields["second"], "start")
        branch = [(first, second, -(fields.get("min_days") or 0))]
        if fields.get("max_days") is not None:
            branch.append((second, first, fields["max_days"]))
        return (tuple(branch),)
    if kind == "within":
        inner, outer = fields["inner"], fields["outer"]
        return (
            (
                (at(outer, "start"), at(inner, "start"), 0),
                (at(inner, "end"), at(outer, "end"), 0),
            ),
        )
    if kind == "lasts":
        start, end = at(fields["event"], "start"), at(fields["event"], "end")
        return (((start, end, -fields["min_days"]), (end, start, fields["max_days"])),)
    made_of = [at(key, "made") for key in fields["traces"]]
    return (tuple((a, b, fields["within_days"]) for a, b in permutations(made_of, 2)),)


def _within(first: int, last: int, when: Edtf) -> Branch:
    """The span from point `first` to point `last` lies within the days of a date."""
    branch: list[Constraint] = []
    if when.earliest:
        branch.append((ORIGIN, first, -when.earliest.toordinal()))
    if when.latest:
        branch.append((last, ORIGIN, when.latest.toordinal()))
    return tuple(branch)


def _between(point: int, days: tuple[date | None, date | None]) -> Branch:
    """A point lies between two days, either of which may be open."""
    first, last = days
    branch: list[Constraint] = []
    if first is not None:
        branch.append((ORIGIN, point, -first.toordinal()))
    if last is not None:
        branch.append((point, ORIGIN, last.toordinal()))
    return tuple(branch)
