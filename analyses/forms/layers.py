"""The layer editor: all layers of a cross-section in one table, saved as one change."""

from typing import TYPE_CHECKING, Any

from django import forms
from django.db import IntegrityError

from analyses.forms.colours import ColourField, MunsellField, draw_as_seen
from analyses.models import Layer, Preparation
from records.changes import change
from records.forms.base import ModelForm
from records.models import User
from records.refusals import explain

if TYPE_CHECKING:
    FormSet = forms.BaseModelFormSet[Any, Any]
else:
    FormSet = forms.BaseModelFormSet


class LayerRow(ModelForm):
    """One layer as a row of the table."""

    colour_hex = ColourField(label="Drawn")
    munsell = MunsellField(label="Munsell")

    class Meta:
        model = Layer
        fields = [
            "number", "description", "thickness_min_um", "thickness_max_um", "colour", "munsell",
            "colour_hex", "fluorescence",
        ]  # fmt: skip
        labels = {
            "number": "No.",
            "thickness_min_um": "From (µm)",
            "thickness_max_um": "To (µm)",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            field.help_text = ""
            field.widget.attrs["aria-label"] = field.label


class Rows(FormSet):
    """The layers of one preparation, with empty rows for new ones at the end."""

    def clean(self) -> None:
        numbers = [
            form.cleaned_data["number"]
            for form in self.forms
            if form.cleaned_data.get("number") and (form.has_changed() or form.instance.pk)
        ]
        for number in {n for n in numbers if numbers.count(n) > 1}:
            raise forms.ValidationError(f"Two layers have the number {number}: count from 1 up.")


LayerRows = forms.modelformset_factory(Layer, form=LayerRow, formset=Rows, extra=3)


class Why(forms.Form):
    """One reason for all changed rows."""

    why = forms.CharField(
        label="Why is it changed?",
        required=False,
        help_text="Needed when a layer that is kept already is changed.",
        widget=forms.Textarea(attrs={"rows": 2}),
    )


def store_layers(rows: Any, preparation: Preparation, *, user: User, why: str) -> bool:
    """Save the checked rows as one change; False, with the refusal told, if the database says no.

    Layers that move up are saved from the top and those that move down from the bottom, so that a
    number is free before another layer takes it.
    """
    changed = [form for form in rows.forms if form.has_changed()]
    for form in changed:
        form.instance.preparation = preparation
    up = [f for f in changed if f.instance.number >= (f.initial.get("number") or 0)]
    down = [f for f in changed if f not in up]
    ordered = [
        *sorted(up, key=lambda f: -f.instance.number),
        *sorted(down, key=lambda f: f.instance.number),
    ]
    try:
        with change(user=user, why=why or "recorded"):
            for form in ordered:
                draw_as_seen(form.instance)
                form.save()
    except IntegrityError as error:
        words = " ".join(explain(error, Layer).values())
        if "number" in explain(error, Layer):
            words = (
                "Two layers trade their numbers: give one a free number first, save, then trade."
            )
        rows._non_form_errors = rows.error_class([words], error_class="nonform")
        return False
    return True
