"""How many undocumented campaigns the untied intervention traces need at least.

Each intervention trace that no item says was made during an event is placed in a documented
treatment or in an undocumented campaign of at most a year; CP-SAT finds a placement with as few
undocumented ones as can be, all the evidence holding.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from records.history.bounds import Bounds, exact_bounds
from records.history.case import Case, Item
from records.history.network import ORIGIN, STILL_THERE, Network, build

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

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
    labels = [label for label in range(len(case.items)) if label not in set(withdrawal)]
    loose = untied(case, labels)
    if not loose:
        return Campaigns()
    placement = _Placement(case, build(case, labels, [*case.events, *case.traces]), bounds, loose)
    for count in range(len(loose) + 1):
        found = placement.with_groups(count)
        if found is not None:
            return _windows(case, labels, *found)
    raise AssertionError("every trace in a campaign of its own is a placement")


class _Placement:
    """The case as a CP-SAT model, to which placements are added."""

    def __init__(self, case: Case, network: Network, bounds: Bounds, loose: list[str]) -> None:
        self.case, self.network, self.bounds, self.loose = case, network, bounds, loose
        self.treatments = [key for key, event in case.events.items() if event.kind == "treatment"]

    def with_groups(self, count: int) -> tuple[dict[str, str], list[list[str]]] | None:
        """Traces placed in treatments, and groups of traces; None when so few groups cannot do.

        As many traces as can be are placed in documented treatments.
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
        for position, key in enumerate(self.loose):
            made = day[self.network.points[key, "made"]]
            for treatment in self.treatments:
                if self._can_be_during(key, treatment):
                    inside = documented[key, treatment] = model.new_bool_var("")
                    start, end = (day[self.network.points[treatment, s]] for s in ("start", "end"))
                    model.add(start <= made).only_enforce_if(inside)
                    model.add(made <= end).only_enforce_if(inside)
            # The first trace goes into the first group or none, and so on: groups have no names.
            for group in range(min(count, position + 1)):
                inside = grouped[key, group] = model.new_bool_var("")
                model.add(starts[group] <= made).only_enforce_if(inside)
                model.add(made <= starts[group] + YEAR).only_enforce_if(inside)
            model.add_exactly_one(
                [v for (k, _), v in documented.items() if k == key]
                + [v for (k, _), v in grouped.items() if k == key]
            )
        model.minimize(sum(grouped.values()))
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 0
        if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None
        return (
            {key: treatment for (key, treatment), v in documented.items() if solver.value(v)},
            [
                members
                for group in range(count)
                if (
                    members := [
                        k for (k, g), v in grouped.items() if g == group and solver.value(v)
                    ]
                )
            ],
        )

    def _days(self, model: "cp_model.CpModel") -> "list[cp_model.IntVar]":
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

    def _can_be_during(self, key: str, treatment: str) -> bool:
        made_first, made_last = (bound.day for bound in self.bounds[key, "made"])
        start, end = self.bounds[treatment, "start"][0].day, self.bounds[treatment, "end"][1].day
        return bool(made_first and made_last and start and end) and (
            made_first <= end and start <= made_last  # type: ignore[operator]
        )


def _windows(
    case: Case, labels: Sequence[int], placed: dict[str, str], groups: list[list[str]]
) -> Campaigns:
    """The groups with the days between which each can lie, given the placement."""
    extra = [
        _item(f"placed {key}", "made_during", {"trace": key, "events": [treatment]})
        for key, treatment in placed.items()
    ] + [
        _item(f"group {number}", "together", {"traces": members, "within_days": YEAR})
        for number, members in enumerate(groups)
        if len(members) > 1
    ]
    placing = replace(case, items=(*case.items, *extra))
    last = len(case.items)
    bounds = exact_bounds(placing, [*labels, *range(last, last + len(extra))])
    assert bounds is not None, "a placement found must hold"
    made = [[bounds[key, "made"] for key in members] for members in groups]
    found = [
        Group(
            tuple(members),
            min(low.day or date.min for low, _ in days),
            max(high.day or date.max for _, high in days),
        )
        for members, days in zip(groups, made, strict=True)
    ]
    return Campaigns(sorted(found, key=lambda group: (group.earliest, group.latest, group.traces)))


def _item(key: str, kind: str, fields: dict[str, Any]) -> Item:
    return Item(key, kind, "firm", Fraction(1), fields)
