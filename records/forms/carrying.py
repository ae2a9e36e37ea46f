"""Deciding on shapes that their image has left: each is carried along, stays, or waits."""

from collections.abc import Iterator, Sequence
from typing import Any

from django import forms

from records.carrying import LeftBehind

LATER, CARRY, STAY = "", "carry", "stay"


class CarryForm(forms.Form):
    """One choice for each shape, and why."""

    why = forms.CharField(
        label="Why?",
        help_text="Kept with each shape decided on: what shows that it belongs there.",
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    opened = forms.CharField(widget=forms.HiddenInput)

    def __init__(self, sent: Any, *, found: Sequence[LeftBehind], opened: str) -> None:
        super().__init__(sent, initial={"opened": opened})
        self.found, self.now = found, opened
        self.refusals = {one.sighting.pk: one.why_not() for one in found}
        for one in found:
            choices = [(LATER, "decide later"), (CARRY, "carry it along"), (STAY, "it stays")]
            if self.refusals[one.sighting.pk]:
                choices.pop(1)
            self.fields[self._name(one)] = forms.ChoiceField(
                label=str(one.sighting.trace), choices=choices, required=False
            )

    def rows(self) -> Iterator[tuple[LeftBehind, forms.BoundField, str]]:
        """Each shape with its choice, and why it cannot be carried along."""
        for one in self.found:
            yield one, self[self._name(one)], self.refusals[one.sighting.pk]

    def chosen(self, choice: str) -> list[LeftBehind]:
        return [one for one in self.found if self.cleaned_data[self._name(one)] == choice]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("opened") != self.now:
            raise forms.ValidationError(
                "The image has been placed anew meanwhile: look at the shapes as they lie now."
            )
        if not any(cleaned.get(self._name(one)) for one in self.found):
            raise forms.ValidationError("Decide on one shape at least.")
        return cleaned

    @staticmethod
    def _name(one: LeftBehind) -> str:
        return f"shape_{one.sighting.pk}"
