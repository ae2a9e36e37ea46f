"""Bounds and contradictions told in the trade's words: a short sentence for each item.

A sentence is a row of parts, some of which open a record, so that a page, a PDF and a plain text
can each set it in their own way. What is told is the stored case; the records it came from are
linked where they still stand.
"""

import calendar
import re
from collections import defaultdict, deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from records.choices import Family, Order
from records.history import edtf
from records.reconstruction.evidence import Item, Link

Json = Mapping[str, Any]

POINTS = {"start": "started", "end": "ended", "made": "was made", "gone": "was gone"}
SIDES = {"earliest": "no earlier than", "latest": "no later than"}
SIDE_NAMES = tuple(SIDES)
ORDERS = {
    Order.LIES_OVER.value: "lies over",
    Order.CUTS_THROUGH.value: "cuts through",
    Order.FILLS.value: "fills",
}


@dataclass(frozen=True, slots=True)
class Part:
    """A piece of a sentence; `link` is the record that it opens."""

    text: str
    link: Link | None = None


@dataclass(frozen=True, slots=True)
class Sentence:
    """One thing said, with the item that says it (or '') and the traces that it speaks of."""

    parts: tuple[Part, ...]
    item: str = ""
    strength: str = ""
    record: Link | None = None
    traces: tuple[int, ...] = ()

    def __str__(self) -> str:
        return "".join(p.text for p in self.parts)


@dataclass(frozen=True, slots=True)
class Telling:
    """A bound and why: the bound in one sentence, and the sentences that prove it.

    Where the same evidence sets both bounds of a time point, one telling speaks of both.
    """

    bounds: tuple[str, ...]
    head: Sentence
    because: tuple[Sentence, ...]

    def __str__(self) -> str:
        if not self.because:
            return str(self.head)
        return " ".join([str(self.head).rstrip(".") + ":", *map(str, self.because)])


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Sentences that cannot all hold, in the order in which they hang together.

    `gives` names the items by what giving them up costs, the cheapest withdrawal first.
    """

    sentences: tuple[Sentence, ...]
    gives: tuple[Sentence, ...]
    cheapest: frozenset[str]


def day_in_words(day: date) -> str:
    """'31 December 1952'."""
    return f"{day.day} {calendar.month_name[day.month]} {day.year}"


def span_in_words(first: date | None, last: date | None) -> str:
    """When something lies between two days (inclusive), as short as it can be said."""
    if first is None and last is None:
        return "at a time not stated"
    if last is None:
        assert first is not None
        return f"on or after {day_in_words(first)}"
    if first is None:
        return f"on or before {day_in_words(last)}"
    if first == last:
        return f"on {day_in_words(first)}"
    if whole := _whole(first, last):
        return whole
    words = day_in_words(first)
    if first.year == last.year:
        words = words.removesuffix(f" {first.year}")
        if first.month == last.month:
            words = str(first.day)
    return f"between {words} and {day_in_words(last)}"


def _whole(first: date, last: date) -> str:
    """A span that is a whole month or a run of whole years; '' when it is neither."""
    following = last + timedelta(days=1) if last < date.max else last
    if first.day != 1 or following.day != 1:
        return ""
    if (first.year, first.month) == (last.year, last.month):
        return f"in {calendar.month_name[first.month]} {first.year}"
    if first.month != 1 or following.month != 1:
        return ""
    if first.year == last.year:
        return f"in {first.year}"
    return f"in the years {first.year} to {last.year}"


# A pair of quotation marks, curved or straight; an apostrophe within a word is none.
INNER = re.compile(r"(?<!\w)['‘]((?:[^'‘’]|(?<=\w)['’](?=\w))+)['’](?!\w)")


def quoted(text: str) -> str:
    """A text in quotation marks; those inside it are doubled."""
    return "‘" + INNER.sub(r"“\1”", text) + "’"


def _count(days: int) -> str:
    return "1 day" if days == 1 else f"{days:,} days".replace(",", "\u202f")


class Teller:
    """Tells one case. `items` and `entities` give the records behind it, as far as they stand."""

    def __init__(self, case: Json, items: Mapping[str, Item], records: Mapping[str, Link]) -> None:
        self.items = items
        self.records = records
        self.horizon = case["horizon"]
        self.evidence: dict[str, Json] = {e["id"]: e for e in case["evidence"]}
        self.entities: dict[str, Json] = {e["id"]: e for e in [*case["events"], *case["traces"]]}

    # What is told

    def bound(self, bound: str, result: Json) -> Telling:
        """Why a bound such as 'trace:4.made.latest' is what it is."""
        entity, point, side = bound.rsplit(".", 2)
        day = self._days(entity, point, result)[SIDE_NAMES.index(side)]
        reasons = result["reasons"].get(bound, ())
        head = self._head(entity, point, side, day, bool(reasons))
        return Telling((bound,), head, self._because(reasons, entity))

    def point(self, entity: str, point: str, result: Json) -> Sentence:
        """A time point with both its bounds: 'The patch was made between … and …'."""
        days = self._days(entity, point, result)
        said = f" {self._verb(entity, point)} {span_in_words(*days)}."
        return self._about(entity, [self.name(entity, subject=True), Part(said)])

    def entity(self, entity: str, result: Json) -> list[Telling]:
        """All bounds of an event or a trace, told."""
        points = ("made", "gone") if entity in result["traces"] else ("start", "end")
        found = []
        for point in points:
            bounds = tuple(f"{entity}.{point}.{side}" for side in SIDE_NAMES)
            earliest, latest = (set(result["reasons"].get(b, ())) for b in bounds)
            if earliest and earliest == latest:
                head = self.point(entity, point, result)
                found.append(Telling(bounds, head, self._because(earliest, entity)))
            else:
                found += [self.bound(b, result) for b in bounds]
        return found

    def _days(self, entity: str, point: str, result: Json) -> tuple[date | None, date | None]:
        kind = "events" if point in {"start", "end"} else "traces"
        earliest, latest = (
            date.fromisoformat(day) if day else None for day in result[kind][entity][point]
        )
        return earliest, latest

    def _because(self, reasons: Iterable[str], entity: str) -> tuple[Sentence, ...]:
        return tuple(self.sentence(i) for i in self._in_order(reasons, entity))

    def contradictions(self, result: Json) -> list[Contradiction]:
        """Every minimal conflict, told."""
        return [
            self._contradiction(c, frozenset(result["withdrawal"])) for c in result["conflicts"]
        ]

    def _contradiction(self, conflict: Sequence[str], withdrawal: frozenset[str]) -> Contradiction:
        cheapest = withdrawal & frozenset(conflict)
        weight = {"firm": 9, "likely": 3, "tentative": 1}
        gives = sorted(
            conflict,
            key=lambda i: (i not in cheapest, weight[self.evidence[i]["strength"]], i),
        )
        start = _entities(self.evidence[conflict[0]])[0]
        return Contradiction(
            tuple(self.sentence(i) for i in self._in_order(conflict, start)),
            tuple(self.sentence(i) for i in gives),
            cheapest,
        )

    def sentence(self, item: str) -> Sentence:
        """One item of evidence as a sentence."""
        fields = self.evidence[item]
        said = list(getattr(self, f"_{fields['kind']}")(fields))
        parts = tuple(_merge([*said, *self._grounds(item), Part(".")]))
        first = parts[0]
        origin = self.items.get(item)
        return Sentence(
            (Part(first.text[:1].upper() + first.text[1:], first.link), *parts[1:]),
            item,
            fields["strength"],
            origin.record if origin else None,
            tuple(
                self.records[e].pk
                for e in _entities(fields)
                if e in self.records and self.records[e].model == "trace"
            ),
        )

    def entities_of(self, items: Iterable[str]) -> set[str]:
        """The events and traces that these items speak of."""
        return {e for i in items for e in _entities(self.evidence[i])}

    # How entities are named

    def name(self, entity: str, *, subject: bool = False) -> Part:
        """A linked name that fits a sentence: 'the tear, lower left,' or ‘Glue-paste lining’."""
        label = self.entities[entity]["label"]
        if label[:1].islower():
            text = f"the {label}" + ("," if subject and "," in label else "")
        else:
            text = quoted(label)
        return Part(text, self.records.get(entity))

    def _names(self, entities: Sequence[str], joiner: str) -> Iterator[Part]:
        for position, entity in enumerate(entities):
            if position:
                yield Part(f" {joiner} " if position == len(entities) - 1 else ", ")
            yield self.name(entity, subject=True)

    def _came(self, trace: str) -> str:
        is_alteration = self.entities[trace]["family"] == Family.ALTERATION
        return "came about" if is_alteration else "was made"

    def _is_photograph(self, event: str) -> bool:
        return event.startswith("image:")

    def _verb(self, entity: str, point: str) -> str:
        return self._came(entity) if point == "made" else POINTS[point]

    def _head(self, entity: str, point: str, side: str, day: date | None, known: bool) -> Sentence:
        """A time point with one of its bounds; `known` tells that evidence sets it."""
        if day is None:
            said = [Part("Nothing says that "), self.name(entity, subject=True)]
            return self._about(entity, [*said, Part(" is gone: it may be there still.")])
        words = f" {self._verb(entity, point)} {SIDES[side]} {day_in_words(day)}."
        if not known:
            edge = "begins" if side == "earliest" else "ends"
            words += (
                f" No record narrows this: the time considered {edge} on that day."
                if day.isoformat() == self.horizon[side]
                else " This follows from its other bounds alone."
            )
        return self._about(entity, [self.name(entity, subject=True), Part(words)])

    def _about(self, entity: str, said: Iterable[Part]) -> Sentence:
        first, *rest = _merge(said)
        record = self.records.get(entity)
        return Sentence(
            (Part(first.text[:1].upper() + first.text[1:], first.link), *rest),
            record=record,
            traces=(record.pk,) if record and record.model == "trace" else (),
        )

    def _grounds(self, item: str) -> Iterator[Part]:
        """In brackets, the papers and looks behind an item, each linked."""
        origin = self.items.get(item)
        if origin is None:
            return
        is_statement = origin.record.model == "statement"
        # Sentences of sightings and members name their look or campaign already.
        named = {self.records.get(e) for e in _entities(self.evidence[item])}
        papers = [p for p in origin.rests_on if p not in named]
        if origin.record.model in {"sighting", "relation", "effect"} and not papers:
            yield from (Part(" ("), Part("as recorded", origin.record), Part(")"))
        elif is_statement or (papers and origin.record.model != "identification"):
            yield Part(" (")
            for position, paper in enumerate(papers):
                yield Part("; " if position else "")
                yield Part(paper.label, paper)
            if is_statement:
                yield from (Part(": "), Part(quoted(origin.says.rstrip(". ")), origin.record))
            yield Part(")")

    # Each kind of evidence

    def _dated_event(self, fields: Json) -> Iterator[Part]:
        event, read = fields["event"], edtf.read(fields["date"])
        yield self.name(event, subject=True)
        if self._is_photograph(event):
            yield Part(f" was taken {span_in_words(read.earliest, read.latest)}")
        elif not read.is_interval or self.entities[event]["instant"]:
            yield Part(f" took place {span_in_words(read.earliest, read.latest)}")
        else:
            ends = [(" started ", read.start), (" ended ", read.end)]
            stated = [f"{v}{span_in_words(*days)}" for v, days in ends if days != (None, None)]
            yield Part(" and".join(stated))
        yield self._doubt(read)

    def _dated_made(self, fields: Json) -> Iterator[Part]:
        read = edtf.read(fields["date"])
        yield self.name(fields["trace"], subject=True)
        yield Part(f" {self._came(fields['trace'])} {span_in_words(read.earliest, read.latest)}")
        yield self._doubt(read)

    def _dated_gone(self, fields: Json) -> Iterator[Part]:
        read = edtf.read(fields["date"])
        yield self.name(fields["trace"], subject=True)
        yield Part(f" disappeared {span_in_words(read.earliest, read.latest)}")
        yield self._doubt(read)

    def _doubt(self, read: edtf.Edtf) -> Part:
        return Part(", perhaps" if read.tentative else "")

    def _seen(self, fields: Json) -> Iterator[Part]:
        trace, at = fields["trace"], fields["at"]
        if fields["id"].startswith("effect:"):
            yield from (self.name(at), Part(" altered "), self.name(trace))
            yield Part(", which was there then")
            return
        yield self.name(trace, subject=True)
        if fields["id"].startswith("statement:"):
            yield from (Part(" was there at "), self.name(at))
        else:
            yield Part(" is seen on " if self._is_photograph(at) else " was seen in ")
            yield self.name(at)

    def _not_seen(self, fields: Json) -> Iterator[Part]:
        trace, at = fields["trace"], fields["at"]
        yield self.name(trace, subject=True)
        if fields["id"].startswith("statement:"):
            yield from (Part(" was not there at "), self.name(at))
        else:
            yield Part(" is not on " if self._is_photograph(at) else " was not there in ")
            yield self.name(at)
        yield Part(f": it {self._came(trace)} later, or was gone before")

    def _made_during(self, fields: Json) -> Iterator[Part]:
        yield self.name(fields["trace"], subject=True)
        yield Part(f" {self._came(fields['trace'])} during ")
        yield from self._names(fields["events"], "or")

    def _gone_during(self, fields: Json) -> Iterator[Part]:
        yield self.name(fields["trace"], subject=True)
        yield Part(" was removed during ")
        yield from self._names(fields["events"], "or")

    def _over(self, fields: Json) -> Iterator[Part]:
        origin = self.items.get(fields["id"])
        if origin and origin.record.model == "layer":
            yield from (Part("in "), Part(origin.record.label, origin.record), Part(", "))
        yield self.name(fields["upper"], subject=True)
        yield Part(f" {ORDERS[fields['relation']]} ")
        yield self.name(fields["lower"], subject=True)
        yield Part(
            " so it is the later"
            if "," in self.entities[fields["lower"]]["label"]
            else ", so it is the later"
        )

    def _material(self, fields: Json) -> Iterator[Part]:
        origin = self.items.get(fields["id"])
        material = origin.rests_on[0] if origin else None
        what = material.label if material else fields["material"].replace("_", " ")
        yield self.name(fields["trace"], subject=True)
        yield Part(" holds ")
        yield Part(what[:1].lower() + what[1:], material)
        if origin:
            yield from (Part(" ("), Part(origin.record.label, origin.record), Part(")"))
        fact = "in common use" if ":common_from:" in fields["id"] else "first attested"
        since = edtf.read(fields["not_before"])
        if "not_after" in fields:
            until = edtf.read(fields["not_after"])
            yield Part(f", last attested {span_in_words(until.earliest, until.latest)}")
        elif fact == "first attested":
            yield Part(f", first attested {span_in_words(since.earliest, since.latest)}")
        else:
            assert since.earliest is not None
            yield Part(f", in common use from {day_in_words(since.earliest)} at the earliest")
        yield self._doubt(since)

    def _precedes(self, fields: Json) -> Iterator[Part]:
        least, most = fields.get("min_days", 0), fields.get("max_days")
        first, second = self.name(fields["first"]), self.name(fields["second"], subject=True)
        if least or most is not None:
            gap = f"at least {_count(least)}" if least else ""
            if most is not None:
                gap = f"{gap} and " if gap else ""
                gap += f"at most {_count(most)}"
            yield from (second, Part(f" started {gap} after the end of "), first)
        else:
            yield from (self.name(fields["first"], subject=True), Part(" was over before "))
            yield from (self.name(fields["second"], subject=True), Part(" started"))

    def _within(self, fields: Json) -> Iterator[Part]:
        yield self.name(fields["inner"], subject=True)
        is_part = fields["id"].endswith(":within")
        yield Part(" was part of " if is_part else " took place during ")
        yield self.name(fields["outer"])

    def _lasts(self, fields: Json) -> Iterator[Part]:
        least, most = fields["min_days"], fields["max_days"]
        yield self.name(fields["event"], subject=True)
        if least == most:
            yield Part(f" lasted {_count(least)}")
        else:
            yield Part(f" lasted {least} to {_count(most)}")

    def _together(self, fields: Json) -> Iterator[Part]:
        yield from self._names(fields["traces"], "and")
        families = {self.entities[t]["family"] for t in fields["traces"]}
        came = "came about" if Family.ALTERATION in families else "were made"
        yield Part(f" {came} within {_count(fields['within_days'])} of each other")

    def _in_order(self, items: Iterable[str], start: str) -> list[str]:
        """Items along their shared entities, from the one spoken of outwards."""
        left = sorted(items)
        holding: dict[str, list[str]] = defaultdict(list)
        for item in left:
            for entity in _entities(self.evidence[item]):
                holding[entity].append(item)
        told: dict[str, None] = {}
        met = {start}
        queue = deque([start])
        while queue:
            for item in holding[queue.popleft()]:
                if item not in told:
                    told[item] = None
                    fresh = [e for e in _entities(self.evidence[item]) if e not in met]
                    met.update(fresh)
                    queue.extend(fresh)
        return [*told, *(i for i in left if i not in told)]


def _entities(fields: Json) -> list[str]:
    """The events and traces that an item speaks of."""
    single = ("trace", "event", "at", "upper", "lower", "first", "second", "inner", "outer")
    found = [fields[name] for name in single if name in fields]
    return [*found, *fields.get("events", ()), *fields.get("traces", ())]


def _merge(parts: Iterable[Part]) -> Iterator[Part]:
    """Join neighbouring parts that open nothing."""
    plain = ""
    for part in parts:
        if part.link is None:
            plain += part.text
            continue
        if plain:
            yield Part(plain)
            plain = ""
        yield part
    if plain:
        yield Part(plain)
