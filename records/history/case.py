"""A case as read: events, traces and evidence, with every fault of a malformed one named.

What the evidence means for time points is `network`; nothing is solved here.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import Any

from records.history import edtf

WEIGHTS = {"firm": 9, "likely": 3, "tentative": 1}
FAMILIES = ("alteration", "intervention", "making")
RELATIONS = ("lies_over", "cuts_through", "fills")
MOST_DAYS = date.max.toordinal()

# The fields of each kind of evidence and what stands in them; '?' marks what may be left out.
KINDS: dict[str, dict[str, str]] = {
    "dated_event": {"event": "event", "date": "date"},
    "dated_made": {"trace": "trace", "date": "date"},
    "dated_gone": {"trace": "trace", "date": "date"},
    "seen": {"trace": "trace", "at": "event"},
    "not_seen": {"trace": "trace", "at": "event"},
    "made_during": {"trace": "trace", "events": "events"},
    "gone_during": {"trace": "trace", "events": "events"},
    "over": {"upper": "trace", "lower": "trace", "relation": "relation"},
    "material": {"trace": "trace", "material": "text", "not_before": "date", "not_after": "date?"},
    "precedes": {"first": "event", "second": "event", "min_days": "days?", "max_days": "days?"},
    "within": {"inner": "event", "outer": "event"},
    "lasts": {"event": "event", "min_days": "days", "max_days": "days"},
    "together": {"traces": "traces", "within_days": "days"},
}
# Pairs of fields that must not name the same thing.
DISTINCT = {
    "over": ("upper", "lower"),
    "precedes": ("first", "second"),
    "within": ("inner", "outer"),
}


class CaseError(ValueError):
    """A malformed case; `faults` holds one line per fault, naming the item and the field."""

    def __init__(self, faults: list[str]) -> None:
        self.faults = faults
        super().__init__("\n".join(faults))


@dataclass(frozen=True, slots=True)
class Event:
    id: str
    label: str
    kind: str
    instant: bool


@dataclass(frozen=True, slots=True)
class Trace:
    id: str
    label: str
    family: str


@dataclass(frozen=True, slots=True)
class Item:
    """One item of evidence; `fields` are those of its kind, `dates` as read from them."""

    id: str
    kind: str
    strength: str
    weight: Fraction
    fields: Mapping[str, Any]
    dates: Mapping[str, edtf.Edtf] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Case:
    earliest: date
    latest: date
    events: Mapping[str, Event]
    traces: Mapping[str, Trace]
    items: tuple[Item, ...]

    @classmethod
    def from_json(cls, data: Any) -> "Case":
        """Read a case from parsed JSON; raises CaseError with every fault found."""
        return _Reading(data).case()


class _Reading:
    """Reads one case, gathering faults on the way."""

    def __init__(self, data: Any) -> None:
        self.faults: list[str] = []
        self.data = data if isinstance(data, Mapping) else {}
        if not isinstance(data, Mapping):
            self.fault("case", "", "is not an object with horizon, events, traces and evidence")

    def fault(self, item: str, name: str, words: str) -> None:
        line = f"{item}: {name}: {words}" if name else f"{item}: {words}"
        self.faults.append(" ".join(line.split()))

    def case(self) -> Case:
        earliest, latest = self.horizon()
        self.events = {i: self.event(i, row) for i, row in self.rows("events", "event")}
        self.traces = {i: self.trace(i, row) for i, row in self.rows("traces", "trace")}
        for shared in self.events.keys() & self.traces.keys():
            self.fault(shared, "id", "names both an event and a trace; give each its own")
        items = tuple(self.item(i, row) for i, row in self.rows("evidence", "item"))
        if self.faults:
            raise CaseError(self.faults)
        return Case(earliest, latest, self.events, self.traces, items)

    def horizon(self) -> tuple[date, date]:
        given = self.data.get("horizon")
        days = []
        for name in ("earliest", "latest"):
            text = given.get(name) if isinstance(given, Mapping) else None
            try:
                days.append(date.fromisoformat(text) if isinstance(text, str) else None)
            except ValueError:
                days.append(None)
            if days[-1] is None:
                self.fault("horizon", name, f"{_shown(text)} is no day; write 1890-01-01")
        first, last = days
        if first and last and first > last:
            self.fault("horizon", "latest", f"{last} lies before the earliest day, {first}")
        return first or date.min, last or date.max

    def rows(self, name: str, what: str) -> Iterator[tuple[str, Mapping[str, Any]]]:
        """The rows of a list with their ids, leaving out (and naming) those without a good one."""
        listed = self.data.get(name, [])
        if not isinstance(listed, list):
            self.fault("case", name, "is not a list")
            return
        seen: set[str] = set()
        for position, row in enumerate(listed, 1):
            place = f"{name}[{position}]"
            if not isinstance(row, Mapping):
                self.fault(place, "", f"is not an object describing an {what}")
                continue
            key = row.get("id")
            if not isinstance(key, str) or not key:
                self.fault(place, "id", "is missing or no text")
            elif key in seen:
                self.fault(key, "id", f"stands twice in {name}")
            else:
                seen.add(key)
                yield key, row

    def text(self, owner: str, row: Mapping[str, Any], name: str, default: str) -> str:
        value = row.get(name, default)
        if not isinstance(value, str):
            self.fault(owner, name, f"{_shown(value)} is no text")
            return default
        return value

    def event(self, key: str, row: Mapping[str, Any]) -> Event:
        instant = row.get("instant", False)
        if not isinstance(instant, bool):
            self.fault(key, "instant", f"{_shown(instant)} is neither true nor false")
        return Event(
            key,
            self.text(key, row, "label", key),
            self.text(key, row, "kind", "occurrence"),
            instant is True,
        )

    def trace(self, key: str, row: Mapping[str, Any]) -> Trace:
        family = self.text(key, row, "family", "alteration")
        if family not in FAMILIES:
            self.fault(key, "family", f"{_shown(family)} is none of {', '.join(FAMILIES)}")
        return Trace(key, self.text(key, row, "label", key), family)

    def item(self, key: str, row: Mapping[str, Any]) -> Item:
        kind = row.get("kind")
        strength = row.get("strength")
        if not isinstance(strength, str) or strength not in WEIGHTS:
            self.fault(key, "strength", f"{_shown(strength)} is none of {', '.join(WEIGHTS)}")
            strength = "firm"
        dates: dict[str, edtf.Edtf] = {}
        if not isinstance(kind, str) or kind not in KINDS:
            self.fault(key, "kind", f"{_shown(kind)} is none of {', '.join(KINDS)}")
        else:
            for name, holds in KINDS[kind].items():
                self.value(key, row, name, holds, dates)
            self.sense(key, kind, row)
        if any(d.tentative for d in dates.values()):
            strength = "tentative"
        known = KINDS.get(kind, {}) if isinstance(kind, str) else {}
        fields = {name: row[name] for name in known if row.get(name) is not None}
        return Item(key, str(kind), strength, self.weight(key, row, strength), fields, dates)

    def weight(self, key: str, row: Mapping[str, Any], strength: str) -> Fraction:
        given = row.get("weight", WEIGHTS[strength])
        if isinstance(given, bool) or not isinstance(given, int | float) or not 0 < given < 1e9:
            self.fault(key, "weight", f"{_shown(given)} is no number greater than 0")
            return Fraction(1)
        return Fraction(str(given))

    def value(
        self,
        key: str,
        row: Mapping[str, Any],
        name: str,
        holds: str,
        dates: dict[str, edtf.Edtf],
    ) -> None:
        optional = holds.endswith("?")
        holds = holds.rstrip("?")
        value = row.get(name)
        if value is None:
            if not optional:
                self.fault(key, name, "is missing")
        elif holds in {"event", "trace"}:
            self.known(key, name, value, holds)
        elif holds in {"events", "traces"}:
            self.known_list(key, name, value, holds[:-1])
        elif holds == "date":
            try:
                dates[name] = edtf.read(value if isinstance(value, str) else str(value))
            except edtf.EdtfError as error:
                self.fault(key, name, str(error))
        elif holds == "days":
            if isinstance(value, bool) or not isinstance(value, int):
                self.fault(key, name, f"{_shown(value)} is no whole number of days")
            elif value < 0:
                self.fault(key, name, f"{_shown(value)} is less than 0 days")
            elif value > MOST_DAYS:
                self.fault(key, name, f"{_shown(value)} is more days than the calendar has")
        elif holds == "relation" and value not in RELATIONS:
            self.fault(key, name, f"{_shown(value)} is none of {', '.join(RELATIONS)}")
        elif holds == "text" and not isinstance(value, str):
            self.fault(key, name, f"{_shown(value)} is no text")

    def known(self, key: str, name: str, value: Any, what: str) -> bool:
        listed = self.events if what == "event" else self.traces
        if not isinstance(value, str) or value not in listed:
            self.fault(key, name, f"there is no {what} {_shown(value)}")
            return False
        return True

    def known_list(self, key: str, name: str, value: Any, what: str) -> None:
        if not isinstance(value, list) or not value:
            self.fault(key, name, f"needs a list of at least one {what}")
            return
        good = [v for v in value if self.known(key, name, v, what)]
        for twice in sorted({v for v in good if good.count(v) > 1}):
            self.fault(key, name, f"{_shown(twice)} stands twice")
        if what == "trace" and len(value) < 2:
            self.fault(key, name, "needs two traces or more")

    def sense(self, key: str, kind: str, row: Mapping[str, Any]) -> None:
        if kind in DISTINCT:
            one, other = DISTINCT[kind]
            if row.get(one) is not None and row.get(one) == row.get(other):
                self.fault(key, other, f"is the same as {one}: {_shown(row[one])}")
        least, most = row.get("min_days"), row.get("max_days")
        if isinstance(least, int) and isinstance(most, int) and least > most:
            self.fault(key, "max_days", f"{most} is less than min_days, {least}")


def _shown(value: Any) -> str:
    return "nothing" if value is None else f"“{str(value)[:60]}”"
