"""Entry of the colour in which a layer is drawn."""

from typing import Any

from django import forms

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
