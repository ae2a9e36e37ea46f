"""Choosing other records in a form: terms, people, traces and events of an object."""

from collections.abc import Iterable
from itertools import groupby
from typing import TYPE_CHECKING, Any

from django import forms
from django.db.models import Q, QuerySet
from django.db.models.functions import Length
from django.urls import reverse, reverse_lazy

from records.choices import ImageKind
from records.models import (
    Campaign,
    Examination,
    Image,
    Object,
    Occurrence,
    Person,
    StatementEvent,
    Trace,
    Treatment,
    User,
)

if TYPE_CHECKING:
    OneOf = forms.ModelChoiceField[Any]
    SomeOf = forms.ModelMultipleChoiceField[Any]
else:
    OneOf, SomeOf = forms.ModelChoiceField, forms.ModelMultipleChoiceField

OFFERED = 20  # traces shown at once; typing narrows them


def in_groups(field: Any, terms: QuerySet[Any], group: str, none: str = "Choose …") -> None:
    """Let a field choose a term, listed under its group; `none` is what stands for no choice."""

    def heading(term: Any) -> str:
        display = getattr(term, f"get_{group}_display", None)
        return str(display() if display else getattr(term, group)).capitalize() or "Other"

    field.queryset = terms
    sections = sorted(terms, key=lambda term: (heading(term), term.label))
    field.choices = [
        ("", none),
        *(
            (words, [(term.pk, term.label) for term in found])
            for words, found in groupby(sections, heading)
        ),
    ]


class Checks(forms.CheckboxSelectMultiple):
    """A list of boxes to tick, those ticked first; a long one can be narrowed by typing."""

    template_name = "records/forms/checks.html"

    def optgroups(self, name: str, value: list[str], attrs: dict[str, Any] | None = None) -> Any:
        groups = super().optgroups(name, value, attrs)
        if any(heading for heading, _, _ in groups):
            return groups
        return sorted(groups, key=lambda group: not group[1][0]["selected"])

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        context["long"] = sum(len(options) for _, options, _ in context["widget"]["optgroups"]) > 12
        return context


def asks_cautions() -> forms.Select:
    """The choice of a technique, which tells in the grounds what to beware of with it."""
    return forms.Select(
        attrs={
            "hx-get": reverse_lazy("technique-cautions"),
            "hx-trigger": "change",
            "hx-target": "#grounds",
            "hx-params": "technique",
            "hx-push-url": "false",
        }
    )


def new_people(user: User, names: str) -> list[Person]:
    """People by name, recorded when nobody of that name is known. Call inside a change."""
    found = []
    for name in (part.strip() for part in names.replace("\n", ",").split(",")):
        if name:
            known = Person.objects.filter(name__iexact=name, withdrawn_at__isnull=True).first()
            found.append(known or Person.objects.create(name=name))
    return found


def traces_of(item: Object) -> QuerySet[Trace]:
    """The standing traces of an object in the order of their faces and numbers."""
    return (
        Trace.objects.filter(face__object=item, withdrawn_at__isnull=True)
        .select_related("face", "kind")
        .order_by("face__position", "face", Length("number"), "number")
    )


def offer_traces(item: Object, chosen: Iterable[Any], text: str) -> list[tuple[Trace, bool]]:
    """Traces to tick: those chosen first, then the first that match every word typed."""
    keys = {int(key) for key in chosen if str(key).isdigit()}
    matching = traces_of(item).exclude(pk__in=keys)
    for word in text.split():
        matching = matching.filter(
            Q(number__iexact=word)
            | Q(label__icontains=word)
            | Q(kind__label__icontains=word)
            | Q(face__name__icontains=word)
        )
    picked = traces_of(item).filter(pk__in=keys) if keys else []
    return [(t, True) for t in picked] + [(t, False) for t in matching[:OFFERED]]


class PickTraces(forms.Widget):
    """Traces of one object, found by typing part of a number, a label or a kind."""

    template_name = "records/forms/pick_traces.html"

    def __init__(self, *, many: bool, attrs: dict[str, Any] | None = None) -> None:
        super().__init__(attrs)
        self.many = many
        self.item: Object | None = None

    def use_required_attribute(self, initial: Any) -> bool:
        return False

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        chosen = value if isinstance(value, list | tuple) else [value]
        if self.item is not None:
            context["offered"] = offer_traces(self.item, [c for c in chosen if c], "")
            context["address"] = reverse("pick-traces", args=[self.item.pk])
        context["name"], context["many"] = name, self.many
        return context

    def value_from_datadict(self, data: Any, files: Any, name: str) -> Any:
        return data.getlist(name) if self.many else data.get(name)


class TraceField(OneOf):
    """One trace of an object."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(queryset=Trace.objects.none(), widget=PickTraces(many=False), **kwargs)

    def of(self, item: Object) -> None:
        """Choose among the traces of this object."""
        self.queryset = traces_of(item)
        self.widget.item = item


class TracesField(SomeOf):
    """Several traces of an object."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(queryset=Trace.objects.none(), widget=PickTraces(many=True), **kwargs)

    def of(self, item: Object) -> None:
        """Choose among the traces of this object."""
        self.queryset = traces_of(item)
        self.widget.item = item


EVENT_GROUPS = {
    "treatment": "Treatments",
    "occurrence": "Occurrences",
    "campaign": "Campaigns",
    "examination": "Examinations",
    "image": "Dated photographs",
}
Event = Treatment | Occurrence | Campaign | Examination | Image


def events_of(item: Object) -> dict[str, QuerySet[Any]]:
    """What happened to an object, by kind of record."""
    return {
        "treatment": Treatment.objects.filter(object=item, withdrawn_at__isnull=True),
        "occurrence": Occurrence.objects.filter(object=item, withdrawn_at__isnull=True),
        "campaign": Campaign.objects.filter(object=item, withdrawn_at__isnull=True),
        "examination": Examination.objects.filter(
            campaign__object=item, withdrawn_at__isnull=True
        ).select_related("technique"),
        "image": Image.objects.filter(
            object=item, withdrawn_at__isnull=True, kind=ImageKind.HISTORICAL
        ),
    }


def _event_choices(item: Object, arcs: Iterable[str]) -> list[tuple[str, Any]]:
    found = events_of(item)
    groups = []
    for arc in arcs:
        events = [(f"{arc}:{e.pk}", _event_words(e)) for e in found[arc]]
        if events:
            groups.append((EVENT_GROUPS[arc], events))
    return groups


def _event_words(event: Any) -> str:
    words = str(event)
    return f"{words} ({event.date})" if event.date and event.date not in words else words


class EventField(forms.ChoiceField):
    """One event of an object; its value is 'treatment:5'."""

    def of(self, item: Object, arcs: Iterable[str] = StatementEvent.ARCS) -> None:
        """Choose among the events of this object."""
        self.choices = [("", "Choose …"), *_event_choices(item, arcs)]

    def clean(self, value: Any) -> tuple[str, int] | None:
        text = super().clean(value)
        return split_event(text) if text else None


class EventsField(forms.MultipleChoiceField):
    """Several events of an object."""

    widget = Checks

    def of(self, item: Object, arcs: Iterable[str] = StatementEvent.ARCS) -> None:
        """Choose among the events of this object."""
        self.choices = _event_choices(item, arcs)

    def clean(self, value: Any) -> list[tuple[str, int]]:
        return [split_event(text) for text in super().clean(value)]


def split_event(text: str) -> tuple[str, int]:
    """'treatment:5' as the name of the foreign key and the key."""
    arc, _, key = text.partition(":")
    return arc, int(key)
