"""What the pages of an object's history ask: what to show, and why evidence is set aside."""

from datetime import date
from typing import Any

from django import forms
from django.db.models import QuerySet

from records.choices import Family, Trust
from records.models import Object, TraceKind, Zone

NARROWEST_PX, WIDEST_PX, USUAL_PX = 300, 2400, 1000

SHOW = [
    ("", "Everything"),
    ("events", "Events only"),
    *(
        (family.value, f"{family.label}s only" if family != Family.MAKING else "Making only")
        for family in Family
    ),
]


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
