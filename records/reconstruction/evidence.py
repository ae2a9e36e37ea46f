"""What is gathered from an object's records: entities, items of evidence, and the case they make.

Plain data. Reading the records is `gather`; solving, storing and telling are their own modules.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.urls import reverse

from records.choices import Strength, Trust

ADMITS: Mapping[str, frozenset[str]] = {
    Trust.FIRM: frozenset({Strength.FIRM}),
    Trust.LIKELY: frozenset({Strength.FIRM, Strength.LIKELY}),
    Trust.ALL: frozenset(Strength.values),
}


@dataclass(frozen=True, slots=True)
class Link:
    """A record as something to open: what it is called, which it is, and whose page shows it.

    `model` is the name of its page's address as well.
    """

    model: str
    pk: int
    label: str
    shown_on: tuple[str, int] | None = None

    @property
    def url(self) -> str:
        """Where the record is read: its own page, or its place on the page that shows it."""
        if self.shown_on:
            model, pk = self.shown_on
            return f"{reverse(model, args=[pk])}#{self.model}-{self.pk}"
        return reverse(self.model, args=[self.pk])


@dataclass(frozen=True, slots=True)
class Entity:
    """An event or a trace of the case, and the record that it stands for."""

    id: str
    kind: str
    label: str
    record: Link
    type: str = ""
    family: str = ""
    face: int | None = None
    instant: bool = False

    @property
    def is_trace(self) -> bool:
        return self.kind == "trace"

    def as_json(self) -> dict[str, Any]:
        """The entity as it stands in a case."""
        if self.is_trace:
            return {"id": self.id, "label": self.label, "family": self.family}
        # A dated photograph is to the engine an examination that took no time.
        kind = "examination" if self.kind == "image" else self.kind
        return {"id": self.id, "label": self.label, "kind": kind, "instant": self.instant}


@dataclass(frozen=True, slots=True)
class Item:
    """One item of evidence and the record that it comes from.

    `fields` are those of its kind in the case format; `rests_on` are the papers and looks that a
    person would go back to.
    """

    id: str
    kind: str
    strength: str
    fields: dict[str, Any]
    record: Link
    rests_on: tuple[Link, ...] = ()
    says: str = ""

    def as_json(self) -> dict[str, Any]:
        """The item as it stands in a case."""
        return {"id": self.id, "kind": self.kind, "strength": self.strength, **self.fields}


@dataclass(frozen=True, slots=True)
class Aside:
    """A standing decision not to use an item, or all items of one record."""

    pk: int
    item: str
    why: str
    by: str
    on: date

    def covers(self, item: str) -> bool:
        return item == self.item or item.startswith(f"{self.item}:")


@dataclass(frozen=True, slots=True)
class Unused:
    """A record that should bear on dates but names too little to do so."""

    record: Link
    lacks: str


@dataclass(frozen=True)
class Evidence:
    """Everything gathered for one object. `items` leaves out what is set aside."""

    object_pk: int
    horizon: tuple[date, date]
    entities: dict[str, Entity]
    items: dict[str, Item]
    set_aside: tuple[tuple[Aside, tuple[Item, ...]], ...]
    unused: tuple[Unused, ...]

    def case(self, trust: str = Trust.ALL) -> dict[str, Any]:
        """The case as the engine reads it, with the evidence that this degree of trust admits."""
        admitted = ADMITS[trust]
        entities = self.entities.values()
        return {
            "horizon": {
                "earliest": self.horizon[0].isoformat(),
                "latest": self.horizon[1].isoformat(),
            },
            "events": [e.as_json() for e in entities if not e.is_trace],
            "traces": [e.as_json() for e in entities if e.is_trace],
            "evidence": [i.as_json() for i in self.items.values() if i.strength in admitted],
        }

    def case_with(self, more: Iterable[Item]) -> dict[str, Any]:
        """The case of all evidence with some of what is set aside put back, to be told."""
        case = self.case()
        put_back = {i.id: i.as_json() for i in more}
        return case | {
            "evidence": [
                *(i for i in case["evidence"] if i["id"] not in put_back),
                *put_back.values(),
            ]
        }


def sha256(case: Mapping[str, Any]) -> str:
    """SHA-256 of a case in canonical JSON (keys sorted, no blanks), as hex digits."""
    canonical = json.dumps(case, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(canonical.encode()).hexdigest()
