"""How many undocumented campaigns the untied intervention traces need at least.

Each intervention trace that no item says was made during an event is placed in a documented
treatment or in an undocumented campaign of at most a year. A quick placement, one trace after the
other, gives a number that will do, and the traces that fit no treatment give one that cannot be
undercut; where the two differ, CP-SAT decides, for as few traces as settle it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction
from typing import Any

from records.history.bounds import Bounds, exact_bounds
from records.history.case import Case, Item
from records.history.network import ORIGIN, STILL_THERE, Network, build
from records.history.reasons import grounded
from records.history.search import NOTHING, Contradiction

YEAR = 365  # days within which the traces of one undocumented campaign are made


@dataclass(frozen=True, slots=True)
class Group:
    """An undocumented campaign: its traces and the days between which it can lie."""

    traces: tuple[str, ...]
    earliest: date
    latest: date


@dataclass(frozen=True, slots=True)
class Campaigns:
    groups: list[Group] = field(default_factory=list)

    def to_json(self) -> dict[str, Any]:
        return {
            "undocumented": len(self.groups),
            "groups": [
                {
                    "traces": list(group.traces),
                    "window": [group.earliest.isoformat(), group.latest.isoformat()],
                }
                for group in self.groups
            ],
        }


@dataclass(slots=True)
class _Placement:
    """Which treatment holds which trace, and which traces go together in undocumented campaigns."""

    documented: dict[str, str] = field(default_factory=dict)
    groups: list[list[str]] = field(default_factory=list)


def untied(case: Case, labels: Sequence[int]) -> list[str]:
    """Intervention traces that none of the items says were made during an event."""
    tied = {
        case.items[label].fields["trace"]
        for label in labels
        if case.items[label].kind == "made_during"
    }
    return [k for k, t in case.traces.items() if t.family == "intervention" and k not in tied]


def campaigns_needed(case: Case, bounds: Bounds, withdrawal: Sequence[int] = ()) -> Campaigns:
    """The least number of undocumented campaigns, with one placement that reaches it."""
    withdrawn = set(withdrawal)
    labels = [label for label in range(len(case.items)) if label not in withdrawn]
    loose = untied(case, labels)
    if not loose:
        return Campaigns()
    placing = _Placing(case, build(case, labels, [*case.events, *case.traces]), bounds, loose)
    placement = placing.fewest()
    return _windows(case, labels, placement) if placement.groups else Campaigns()


class _Placing:
    """Finds placements of the loose traces of one case."""

    def __init__(self, case: Case, network: Network, bounds: Bounds, loose: list[str]) -> None:
        self.case, self.network, self.bounds, self.loose = case, network, bounds, loose
        self.treatments = [key for key, event in case.events.items() if event.kind == "treatment"]
        # After the points of the case one more for the first day of each campaign.
        self.least = grounded(network, spare=len(loose))
        self.least.leave_open(network.open)

    def fewest(self) -> _Placement:
        """A placement with as few undocumented campaigns as can be."""
        quick, failed = self.extended(_Placement(), len(self.loose))
        if failed:
            quick = _Placement(groups=[[trace] for trace in self.loose])
        else:
            failed = [trace for members in quick.groups for trace in members]
        count = self._least_count(failed)
        # What cannot be done for some traces cannot be done for all. So only those that stand in
        # the way are put to the solver, and the others are placed around what it finds.
        hard = set(failed)
        while count < len(quick.groups):
            decided = self.decided(count, [trace for trace in self.loose if trace in hard])
            if decided is None:
                count += 1
                continue
            placement, failed = self.extended(decided, count)
            if not failed:
                return placement
            hard |= set(failed) if hard.isdisjoint(failed) else set(self.loose)
            if len(decided.documented) + sum(map(len, decided.groups)) == len(self.loose):
                return decided
        return quick

    def _candidates(self, trace: str) -> Iterator[str]:
        """Treatments whose bounds meet those of the trace."""
        made_first, made_last = (bound.day for bound in self.bounds[trace, "made"])
        for treatment in self.treatments:
            start, end = (
                self.bounds[treatment, "start"][0].day,
                self.bounds[treatment, "end"][1].day,
            )
            if made_first <= end and start <= made_last:  # type: ignore[operator]
                yield treatment

    def extended(self, fixed: _Placement, most: int) -> tuple[_Placement, list[str]]:
        """A placement of all traces around one of some, and the traces that found no place.

        One trace is placed after the other, in a treatment if it can be, with no second thoughts.
        """
        least, points, size = self.least, self.network.points, self.network.size

        def during(trace: str, treatment: str) -> list[tuple[int, int, int]]:
            made = points[trace, "made"]
            return [
                (points[treatment, "start"], made, 0),
                (made, points[treatment, "end"], 0),
            ]

        def grouped(trace: str, number: int) -> list[tuple[int, int, int]]:
            made, start = points[trace, "made"], size + number
            return [(start, made, 0), (made, start, YEAR)]

        bottom = len(least.trail)
        placement = _Placement(dict(fixed.documented), [list(m) for m in fixed.groups])
        demands = [c for trace, place in fixed.documented.items() for c in during(trace, place)]
        for number, members in enumerate(fixed.groups):
            demands += [c for trace in members for c in grouped(trace, number)]
        failed = [] if least.settle_all(demands) else list(self.loose)
        placed = {*fixed.documented, *(t for members in fixed.groups for t in members)}
        left: list[str] = []
        for trace in self.loose:
            if trace not in placed and not failed:
                place = next(
                    (t for t in self._candidates(trace) if least.settle(during(trace, t))), None
                )
                if place is None:
                    left.append(trace)
                else:
                    placement.documented[trace] = place
        for trace in sorted(left, key=self._last_day):
            if len(placement.groups) < most:
                placement.groups.append([])
            for number, members in enumerate(placement.groups):
                if least.settle(grouped(trace, number)):
                    members.append(trace)
                    break
            else:
                failed.append(trace)
            if placement.groups and not placement.groups[-1]:
                placement.groups.pop()
        least.undo(bottom)
        return placement, failed

    def _last_day(self, trace: str) -> date:
        return self.bounds[trace, "made"][1].day or date.max

    def _least_count(self, traces: list[str]) -> int:
        """What no placement can undercut: years to meet those that fit no treatment at all."""

        def fits(trace: str, treatment: str) -> bool:
            made = self.network.points[trace, "made"]
            start, end = (self.network.points[treatment, s] for s in ("start", "end"))
            mark = len(self.least.trail)
            try:
                self.least.add(start, made, 0, NOTHING)
                self.least.add(made, end, 0, NOTHING)
            except Contradiction:
                return False
            finally:
                self.least.undo(mark)
            return True

        homeless = [t for t in traces if not any(fits(t, e) for e in self._candidates(t))]
        return self._windows_to_meet(sorted(homeless, key=self._last_day))

    def _windows_to_meet(self, traces: list[str]) -> int:
        """How many years it takes to meet the bounds of all these traces, sorted by last day."""
        count = 0
        reach = date.min.toordinal() - 1
        for trace in traces:
            first, last = (bound.day for bound in self.bounds[trace, "made"])
            assert first is not None
            assert last is not None
            if first.toordinal() > reach:
                count, reach = count + 1, last.toordinal() + YEAR
        return count

    def decided(self, count: int, traces: list[str]) -> _Placement | None:
        """A placement of some traces with at most so many undocumented campaigns, by CP-SAT.

        None when there is none.
        """
        from ortools.sat.python import cp_model  # takes a second to load; few cases need it

        model = cp_model.CpModel()
        day = self._days(model)
        starts = [
            model.new_int_var(self.case.earliest.toordinal(), self.case.latest.toordinal(), "")
            for _ in range(count)
        ]
        documented: dict[tuple[str, str], Any] = {}
        grouped: dict[tuple[str, int], Any] = {}
        for position, trace in enumerate(traces):
            made = day[self.network.points[trace, "made"]]
            places = []
            for treatment in self._candidates(trace):
                inside = documented[trace, treatment] = model.new_bool_var("")
                start, end = (day[self.network.points[treatment, s]] for s in ("start", "end"))
                model.add(start <= made).only_enforce_if(inside)
                model.add(made <= end).only_enforce_if(inside)
                places.append(inside)
            # The first trace goes into the first group or none, and so on: groups have no names.
            for group in range(min(count, position + 1)):
                inside = grouped[trace, group] = model.new_bool_var("")
                model.add(starts[group] <= made).only_enforce_if(inside)
                model.add(made <= starts[group] + YEAR).only_enforce_if(inside)
                places.append(inside)
            model.add_exactly_one(places)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 0
        if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None
        members = [
            [trace for (trace, g), inside in grouped.items() if g == group and solver.value(inside)]
            for group in range(count)
        ]
        return _Placement(
            {trace: place for (trace, place), inside in documented.items() if solver.value(inside)},
            [traces for traces in members if traces],
        )

    def _days(self, model: Any) -> list[Any]:
        """One variable a point, with all the evidence as constraints."""
        last = self.case.latest.toordinal() + 1
        last = max([last, *(low.day.toordinal() + 1 for low, _ in self.bounds.values() if low.day)])
        day = [model.new_int_var(0, 0, "origin")] * self.network.size
        for point, index in self.network.points.items():
            low, high = self.bounds[point]
            day[index] = model.new_int_var(
                low.day.toordinal() if low.day else 1,
                high.day.toordinal() if high.day else last,
                "",
            )
        for a, b, days, _ in self.network.fixed:
            if days < STILL_THERE and ORIGIN not in (a, b):
                model.add(day[a] <= day[b] + days)
        for _, branches in self.network.open:
            chosen = [model.new_bool_var("") for _ in branches]
            model.add_bool_or(chosen)
            for branch, taken in zip(branches, chosen, strict=True):
                for a, b, days in branch:
                    model.add(day[a] <= day[b] + days).only_enforce_if(taken)
        return day


def _windows(case: Case, labels: Sequence[int], placement: _Placement) -> Campaigns:
    """The groups with the days between which each can lie, given the placement."""
    extra = [
        _item(f"placed {key}", "made_during", {"trace": key, "events": [treatment]})
        for key, treatment in placement.documented.items()
    ] + [
        _item(f"group {number}", "together", {"traces": members, "within_days": YEAR})
        for number, members in enumerate(placement.groups)
        if len(members) > 1
    ]
    placing = replace(case, items=(*case.items, *extra))
    last = len(case.items)
    bounds = exact_bounds(placing, [*labels, *range(last, last + len(extra))])
    assert bounds is not None, "a placement found must hold"
    made = [[bounds[key, "made"] for key in members] for members in placement.groups]
    found = [
        Group(
            tuple(sorted(members, key=list(case.traces).index)),
            min(low.day or date.min for low, _ in days),
            max(high.day or date.max for _, high in days),
        )
        for members, days in zip(placement.groups, made, strict=True)
    ]
    return Campaigns(sorted(found, key=lambda group: (group.earliest, group.latest, group.traces)))


def _item(key: str, kind: str, fields: dict[str, Any]) -> Item:
    return Item(key, kind, "firm", Fraction(1), fields)
