"""What the pages of an object's history ask: what to show, and why evidence is set aside."""

from datetime import date, timedelta
from typing import Any

from django import forms
from django.db.models import QuerySet

from analyses.choices import PreparationKind
from analyses.models import Preparation
from records.choices import Family, Strength, Trust
from records.forms.dates import EdtfFormField
from records.models import Object, Trace, TraceKind, TreatmentKind, Zone
from records.models.dates import validate_edtf

NARROWEST_PX, WIDEST_PX, USUAL_PX = 300, 2400, 1000

SHOW_TRACES = [
    ("", "Everything"),
    (Family.ALTERATION.value, "Alterations only"),
    (Family.INTERVENTION.value, "Interventions only"),
    (Family.MAKING.value, "Making only"),
]
SHOW = [*SHOW_TRACES, ("events", "Events only")]


class HistoryFilter(forms.Form):
    """Which part of a history is shown; every field may be left empty."""

    trust = forms.ChoiceField(label="Evidence", choices=Trust, required=False)
    show = forms.ChoiceField(label="Show", choices=SHOW, required=False)
    kind: "forms.ModelChoiceField[TraceKind]" = forms.ModelChoiceField(
        label="Kind of trace", queryset=None, required=False, empty_label="Any kind"
    )
    zone: "forms.ModelChoiceField[Zone]" = forms.ModelChoiceField(
        label="Zone", queryset=None, required=False, empty_label="The whole object"
    )
    first = forms.DateField(required=False, widget=forms.HiddenInput)
    last = forms.DateField(required=False, widget=forms.HiddenInput)
    width = forms.IntegerField(required=False, widget=forms.HiddenInput)
    whole = forms.BooleanField(required=False, widget=forms.HiddenInput)

    def __init__(self, data: Any, item: Object) -> None:
        super().__init__({"trust": Trust.ALL, **data.dict()})
        kinds: QuerySet[Any] = TraceKind.objects.filter(traces__face__object=item).distinct()
        self.fields["kind"].queryset = kinds  # type: ignore[attr-defined]
        zones: QuerySet[Any] = Zone.objects.filter(face__object=item, withdrawn_at=None)
        self.fields["zone"].queryset = zones.select_related("face")  # type: ignore[attr-defined]
        self.is_valid()

    def chosen(self, name: str) -> Any:
        """What was chosen, or None; an unusable value counts as none."""
        return self.cleaned_data.get(name) or None

    @property
    def degree(self) -> str:
        """The degree of trust, as its code."""
        return self.chosen("trust") or Trust.ALL.value

    @property
    def width_px(self) -> int:
        return min(max(self.chosen("width") or USUAL_PX, NARROWEST_PX), WIDEST_PX)

    def window(self, whole: tuple[date, date]) -> tuple[date, date]:
        """The days to show, within those that the history covers."""
        first, last = self.chosen("first") or whole[0], self.chosen("last") or whole[1]
        return (first, last) if first < last else whole


class SequenceFilter(forms.Form):
    """Of what the order is drawn."""

    section: "forms.ModelChoiceField[Preparation]" = forms.ModelChoiceField(
        label="Section", queryset=None, required=False, empty_label="All sections and relations"
    )
    zone: "forms.ModelChoiceField[Zone]" = forms.ModelChoiceField(
        label="Zone", queryset=None, required=False, empty_label="The whole object"
    )
    dates = forms.BooleanField(label="Order by dates as well", required=False)

    def __init__(self, data: Any, item: Object) -> None:
        super().__init__(data)
        sections = Preparation.objects.filter(
            sample__point__face__object=item,
            kind__in=[PreparationKind.CROSS_SECTION, PreparationKind.THIN_SECTION],
            layers__trace__isnull=False,
            withdrawn_at=None,
        )
        zones = Zone.objects.filter(face__object=item, withdrawn_at=None)
        self.fields["section"].queryset = sections.distinct()  # type: ignore[attr-defined]
        self.fields["zone"].queryset = zones  # type: ignore[attr-defined]
        self.is_valid()

    def chosen(self, name: str) -> Any:
        """What was chosen, or None; an unusable value counts as none."""
        return self.cleaned_data.get(name) or None


class DayFilter(forms.Form):
    """Which day, and what of the surface is drawn; `at` counts days from the first."""

    at = forms.IntegerField(required=False)
    day_given = forms.DateField(required=False)
    show = forms.ChoiceField(label="Show", choices=SHOW_TRACES, required=False)

    def __init__(self, data: Any) -> None:
        super().__init__({"day_given": data.get("day"), **data.dict()})
        self.is_valid()

    def day(self, first: date, last: date, usual: date | None) -> date:
        """The day asked for, kept within [first, last]; when none is, the usual or the last."""
        at, given = self.cleaned_data.get("at"), self.cleaned_data.get("day_given")
        if given is None and at is not None:
            given = first + timedelta(days=min(max(at, 0), (last - first).days))
        return min(max(given or usual or last, first), last)

    def families(self) -> list[str]:
        """The families of traces to draw."""
        chosen = self.cleaned_data.get("show")
        return [chosen] if chosen else list(Family.values)


class WhySetAside(forms.Form):
    why = forms.CharField(
        label="Why is it set aside?",
        help_text="Kept with your name and the day. Dossiers list what is set aside and why.",
        widget=forms.Textarea(attrs={"rows": 3}),
    )


class WhyBroughtBack(forms.Form):
    why = forms.CharField(
        label="Why is it brought back?",
        help_text="Kept with your name and the day.",
        widget=forms.Textarea(attrs={"rows": 3}),
    )


class WhyAccepted(forms.Form):
    strength = forms.ChoiceField(label="How sure is it?", choices=Strength, initial=Strength.LIKELY)
    why = forms.CharField(
        label="What decides it?",
        help_text="Kept with your name and the day, as evidence of its own.",
        widget=forms.Textarea(attrs={"rows": 3}),
    )


class InferredTreatment(forms.Form):
    """A treatment that no paper mentions."""

    title = forms.CharField(max_length=200, help_text="‘Retouchings in the sky (no record)’")
    kind = forms.ModelChoiceField(
        label="Kind of treatment", queryset=TreatmentKind.objects.filter(withdrawn_at=None)
    )
    date = EdtfFormField(
        max_length=80,
        validators=[validate_edtf],
        help_text="As narrow as the traces allow; change it where you know better.",
    )
    traces: "forms.ModelMultipleChoiceField[Trace]" = forms.ModelMultipleChoiceField(
        label="Traces that it made", queryset=None, widget=forms.CheckboxSelectMultiple
    )
    why = forms.CharField(
        label="Why must it have been?",
        help_text="Kept as the treatment's reason, with your name and the day.",
        widget=forms.Textarea(attrs={"rows": 3}),
    )

    def __init__(self, data: Any, traces: "QuerySet[Trace]", window: list[str]) -> None:
        first, last = window
        if first.endswith("-01-01") and last.endswith("-12-31"):
            first, last = first[:4], last[:4]
        chosen = list(traces.values_list("pk", flat=True))
        span = first if first == last else f"[{first}..{last}]"
        super().__init__(data, initial={"date": span, "traces": chosen})
        self.fields["traces"].queryset = traces  # type: ignore[attr-defined]
