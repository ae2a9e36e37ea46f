"""Forms of papers and of the statements drawn from them."""

from dataclasses import dataclass
from typing import Any

from django import forms

from records.choices import StatementKind, Strength
from records.forms.base import RecordForm
from records.forms.choosing import EventField, EventsField, TraceField, TracesField
from records.models import Source, Statement, StatementEvent, StatementTrace


class SourceForm(RecordForm):
    """A document, image or spoken account."""

    class Meta:
        model = Source
        fields = [
            "title", "kind", "reference", "author", "date", "reliability", "extract", "scan",
        ]  # fmt: skip
        labels = {"date": "When it was written or made", "scan": "Scan (PDF or image)"}
        help_texts = {
            "title": "Letter of the framer to the owner; exhibition catalogue, no. 17.",
            "reliability": "By closeness to what it tells.",
            "extract": "Quoted word for word.",
        }
        widgets = {"extract": forms.Textarea(attrs={"rows": 5})}


@dataclass(frozen=True, slots=True)
class Sort:
    """What a kind of statement asks for, and an example that teaches it."""

    words: str
    example: str
    fields: tuple[str, ...]


# How each kind of statement is told to a person who chooses one.
SORTS: dict[str, Sort] = {
    StatementKind.DATED_EVENT: Sort(
        "Something happened at a certain time",
        "‘Lined by the framer in spring 1924.’",
        ("event", "date"),
    ),
    StatementKind.PRECEDES: Sort(
        "One thing happened before another",
        "‘Cleaned before it went to the autumn exhibition.’",
        ("first", "second", "min_days", "max_days"),
    ),
    StatementKind.WITHIN: Sort(
        "One thing happened in the course of another",
        "‘The tear was mended while it was on loan.’",
        ("first", "second"),
    ),
    StatementKind.LASTS: Sort(
        "Something took so long",
        "‘The lining took six to eight weeks.’",
        ("event", "min_days", "max_days"),
    ),
    StatementKind.DATED_MADE: Sort(
        "A trace came about at a certain time",
        "‘The label was stuck on in 1931.’",
        ("trace", "date"),
    ),
    StatementKind.DATED_GONE: Sort(
        "A trace vanished at a certain time",
        "‘The old varnish was taken off in 1968.’",
        ("trace", "date"),
    ),
    StatementKind.SEEN: Sort(
        "A trace was there at the time of something",
        "‘At the exhibition of 1936 the crack was noted.’",
        ("trace", "event"),
    ),
    StatementKind.NOT_SEEN: Sort(
        "A trace was not there at the time of something",
        "‘On arrival the surface was without loss.’",
        ("trace", "event"),
    ),
    StatementKind.MADE_DURING: Sort(
        "A trace came about during one of some things",
        "‘Scratched on one of the two journeys.’",
        ("trace", "one_of"),
    ),
    StatementKind.GONE_DURING: Sort(
        "A trace was removed during one of some things",
        "‘The overpaint went at one of the two cleanings.’",
        ("trace", "one_of"),
    ),
    StatementKind.TOGETHER: Sort(
        "Traces came about at about the same time",
        "‘All the fills are of one campaign.’",
        ("several", "within_days"),
    ),
}
LABELS = {
    StatementKind.PRECEDES: ("The earlier", "The later"),
    StatementKind.WITHIN: ("The shorter, inside", "The longer, around it"),
}


class StatementForm(RecordForm):
    """A claim of a paper in the form that the history engine reads; its kind decides the fields."""

    event = EventField(label="What happened")
    first = EventField(label="The earlier")
    second = EventField(label="The later")
    one_of = EventsField(label="One of these", help_text="Tick each that it may have been.")
    trace = TraceField(label="Trace")
    several = TracesField(label="Traces", help_text="Two or more.")

    class Meta:
        model = Statement
        fields = ["text", "strength", "date", "min_days", "max_days", "within_days"]
        labels = {
            "text": "The claim in your words",
            "min_days": "At least so many days",
            "max_days": "At most so many days",
            "within_days": "Within so many days of each other",
            "strength": "How far can it be relied on?",
        }
        help_texts = {
            "text": "",
            "strength": "Firm: it would take a better paper to doubt it. Likely: the usual case. "
            "Tentative: a hint. In a contradiction the weaker claim gives way.",
            "min_days": "0 for nothing said.",
            "within_days": "30 for a month, 365 for a year.",
        }
        widgets = {"text": forms.Textarea(attrs={"rows": 2})}

    def set_up(self) -> None:
        sort = SORTS[self.instance.kind]
        item = self.instance.source.object
        self.fields["strength"].initial = Strength.LIKELY
        for name in set(self.fields) - {"text", "strength", "why", "opened", *sort.fields}:
            del self.fields[name]
        for name, field in self.fields.items():
            if isinstance(field, EventField | EventsField | TraceField | TracesField):
                field.of(item)
            elif name in ("date", "within_days"):
                field.required = True
            elif name in ("min_days", "max_days"):
                field.required = self.instance.kind == StatementKind.LASTS
        if self.instance.kind in LABELS:
            self.fields["first"].label, self.fields["second"].label = LABELS[self.instance.kind]
        if not self.is_new:
            self._show_participants()
        self.order_fields(["text", *sort.fields, "strength"])

    def _show_participants(self) -> None:
        events = [f"{arc}:{pk}" for arc, pk in map(_named, self._events())]
        traces = [mention.trace_id for mention in self._traces()]
        filled: dict[str, list[Any]] = {
            "event": events[:1],
            "first": events[:1],
            "second": events[1:2],
            "trace": traces[:1],
        }
        for name, values in filled.items():
            if name in self.fields and values:
                self.fields[name].initial = values[0]
        for name, many in (("one_of", events), ("several", traces)):
            if name in self.fields:
                self.fields[name].initial = many

    def clean_several(self) -> Any:
        several = self.cleaned_data["several"]
        if len(several) < 2:
            raise forms.ValidationError("Tick at least two traces.")
        return several

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        first, second = cleaned.get("first"), cleaned.get("second")
        if first is not None and first == second:
            self.add_error("second", "Name two different things.")
        return cleaned

    def store_parts(self) -> None:
        given = self.cleaned_data
        events = [given.get(name) for name in ("event", "first", "second")]
        events = [e for e in events if e] + list(given.get("one_of", ()))
        traces = [given["trace"]] if given.get("trace") else list(given.get("several", ()))
        if [_named(e) for e in self._events()] != events:
            for event in self._events():
                event.withdraw(user=self.user, why=given.get("why") or "replaced")
            for position, (arc, pk) in enumerate(events):
                StatementEvent.objects.create(
                    statement=self.instance, position=position, **{f"{arc}_id": pk}
                )
        kept = {mention.trace_id: mention for mention in self._traces()}
        for trace in traces:
            if kept.pop(trace.pk, None) is None:
                StatementTrace.objects.create(statement=self.instance, trace=trace)
        for mention in kept.values():
            mention.withdraw(user=self.user, why=given.get("why") or "replaced")

    def _events(self) -> list[StatementEvent]:
        found = StatementEvent.objects.filter(statement=self.instance, withdrawn_at__isnull=True)
        return list(found.order_by("position"))

    def _traces(self) -> list[StatementTrace]:
        return list(
            StatementTrace.objects.filter(statement=self.instance, withdrawn_at__isnull=True)
        )


def _named(event: StatementEvent) -> tuple[str, int]:
    """The foreign key that names the event, and its key."""
    for arc in StatementEvent.ARCS:
        if (key := getattr(event, f"{arc}_id")) is not None:
            return arc, key
    raise ValueError("A statement's event names no record.")
