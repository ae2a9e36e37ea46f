"""What to compare: two images for their difference, any number along a line."""

from typing import Any

from django import forms
from django.db.models import QuerySet

from records.choices import Shape
from records.forms.choosing import Checks
from records.forms.places import ShapeField
from records.models import Placement
from records.templatetags.records import edtf_short


class ImageChoice(forms.ModelChoiceField):  # type: ignore[type-arg]
    def label_from_instance(self, obj: Any) -> str:
        return named(obj)


class ImageChoices(forms.ModelMultipleChoiceField):  # type: ignore[type-arg]
    def label_from_instance(self, obj: Any) -> str:
        return named(obj)


def named(placement: Placement) -> str:
    """An image with its date, and how far it may lie off."""
    words = edtf_short(placement.image.dated) or "no date"
    return f"{placement.image.title} ({words}), ± {placement.uncertainty_mm:.1f} mm"


class DifferenceForm(forms.Form):
    """Two images of one face, and how strictly they are compared."""

    first = ImageChoice(Placement.objects.none(), label="First image", empty_label="Choose …")
    second = ImageChoice(
        Placement.objects.none(), label="less from the second", empty_label="Choose …"
    )
    k = forms.FloatField(
        label="Counts as different beyond",
        min_value=1,
        max_value=20,
        initial=3,
        help_text="Times the robust standard deviation σ of the difference.",
    )
    uneven = forms.BooleanField(
        label="Compare grey values as they are, without evening out brightness and contrast first",
        required=False,
    )

    def __init__(self, *args: Any, placements: QuerySet[Placement], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["first"].label = "First image"
        self.fields["second"].label = "Second image, from which the first is taken away"
        for name in ("first", "second"):
            self.fields[name].queryset = placements  # type: ignore[attr-defined]
        self.fields["k"].widget.attrs["step"] = "0.5"

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("first") and cleaned["first"] == cleaned.get("second"):
            self.add_error("second", "Choose another image than the first.")
        return cleaned


class ProfileForm(forms.Form):
    """A line on the face, and the images whose grey values are read along it."""

    line = ShapeField(
        shape=Shape.LINE,
        label="Line",
        help_text="Drawn on the map, or points x, y in millimetres: 10, 10; 240, 25.",
        widget=forms.TextInput(attrs={"class": "figures", "spellcheck": "false"}),
    )
    width_mm = forms.FloatField(
        label="Averaged across (mm)",
        required=False,
        min_value=0,
        max_value=500,
        help_text="0 for the bare line.",
    )
    bands = ImageChoices(Placement.objects.none(), label="Images", widget=Checks)

    def __init__(self, *args: Any, placements: QuerySet[Placement], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["bands"].queryset = placements  # type: ignore[attr-defined]

    def clean_line(self) -> list[tuple[float, float]]:
        shape = self.cleaned_data["line"]
        if shape.geom_type != "LineString":
            raise forms.ValidationError("Give one line: at least two points, x and y each.")
        return [(x, y) for x, y in shape.coords]
