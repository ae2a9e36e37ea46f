"""Entry of the colour of a layer: the one in which it is drawn, and the one seen by eye."""

from typing import Any

from django import forms

from analyses.microscopy import MicroscopyError, munsell, munsell_colour
from analyses.models import Layer

UNPAINTED = "#e7e3d8"  # a layer without a colour of its own is drawn in this


class ColourField(forms.CharField):
    """A colour as #rrggbb, or '' for none.

    A browser's colour input always holds a colour: the pale one that stands for none is read as
    none again, so that a row left alone stays as it is.
    """

    widget = forms.TextInput(attrs={"type": "color"})

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"required": False, "label": "Colour in drawings", **kwargs})

    def prepare_value(self, value: Any) -> Any:
        return value or UNPAINTED

    def to_python(self, value: Any) -> str:
        text = super().to_python(value) or ""
        return "" if text.lower() == UNPAINTED else text


class MunsellField(forms.CharField):
    """A Munsell notation that the published colours hold, or '' for none."""

    def __init__(self, **kwargs: Any) -> None:
        given = {"required": False, "label": "Munsell, by eye", "max_length": 24, **kwargs}
        super().__init__(**given)

    def clean(self, value: Any) -> str:
        if not (text := super().clean(value)):
            return ""
        try:
            notation = munsell(text)
            munsell_colour(notation)
        except MicroscopyError as error:
            raise forms.ValidationError(str(error)) from error
        return notation


def draw_as_seen(layer: Layer) -> None:
    """A layer without a colour for drawings is drawn in the one seen by eye."""
    if layer.munsell and not layer.colour_hex:
        layer.colour_hex = munsell_colour(layer.munsell).hex
