"""Drawing layers on the photograph of a section, and taking over what is measured."""

import re
from collections.abc import Sequence
from typing import Any

from django import forms

from analyses.measuring import Measure, boundaries_on, inside
from analyses.microscopy import MicroscopyError, um_per_px
from analyses.models import Preparation
from records.forms.base import RecordForm

NUMBER = r"[-+]?\d+(?:\.\d+)?"
PAIR = re.compile(rf"({NUMBER})\s*[,\s]\s*({NUMBER})")
Points = list[list[float]]


class LinesField(forms.CharField):
    """Lines in pixels: points 'column, row' divided by semicolons, one line of text for each."""

    widget = forms.Textarea(attrs={"rows": 6, "class": "figures", "spellcheck": "false"})

    def clean(self, value: Any) -> list[Points]:
        text = super().clean(value) or ""
        return [
            self._line(number, line)
            for number, line in enumerate(text.splitlines(), 1)
            if line.strip()
        ]

    def _line(self, number: int, text: str) -> Points:
        points = []
        for part in filter(str.strip, text.split(";")):
            found = PAIR.fullmatch(part.strip())
            if not found:
                raise forms.ValidationError(
                    f"Line {number}: “{part.strip()[:40]}” is not a pair of pixels. Write column, "
                    "row; column, row."
                )
            points.append([float(found[1]), float(found[2])])
        return points

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, list):
            return value
        return "\n".join("; ".join(f"{x:g}, {y:g}" for x, y in line) for line in value)

    def has_changed(self, initial: Any, data: Any) -> bool:
        return bool(self.prepare_value(initial or []) != (data or ""))


class SectionForm(RecordForm):
    """The scale of the photograph and the boundaries of the layers on it."""

    scale_line = LinesField(
        label="Two points of known distance",
        required=False,
        widget=forms.TextInput(attrs={"class": "figures", "spellcheck": "false"}),
        help_text="Set on the photograph, at best on the ends of its scale bar; or typed: column, "
        "row; column, row.",
    )
    length_um = forms.FloatField(label="Their distance (µm)", required=False)
    lines = LinesField(
        label="Boundaries",
        required=False,
        help_text="Drawn on the photograph, or typed: a line of text for each. Their order does "
        "not matter; the lowest edge of the lowest layer and the upper edge of the uppermost "
        "belong to them.",
    )

    class Meta:
        model = Preparation
        fields = ["um_per_px"]
        labels = {"um_per_px": "or the scale (µm per pixel)"}
        help_texts = {"um_per_px": "As the microscope states it; two points above go before it."}

    def set_up(self) -> None:
        made: Preparation = self.instance
        self.initial["lines"] = made.boundaries
        if made.scale:
            self.initial["scale_line"] = [made.scale["points"]]
            self.initial["length_um"] = made.scale["length_um"]
            self.initial["um_per_px"] = float(f"{made.um_per_px:.4g}")  # told by the points
        if not made.boundaries:
            self.fields["why"].initial = "Drawn on the photograph."

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if not self.errors:
            self._take_scale(cleaned)
            self._take_boundaries(cleaned)
        return cleaned

    def _take_scale(self, cleaned: dict[str, Any]) -> None:
        lines, length = cleaned["scale_line"], cleaned["length_um"]
        self.instance.scale = {}
        if not lines and length is None:
            return
        if not lines or length is None:
            missing = "scale_line" if not lines else "length_um"
            self.add_error(missing, "The scale needs both: two points and their distance.")
            return
        try:
            points = inside(self.instance.image, lines[0], "The scale")
            cleaned["um_per_px"] = um_per_px(points, length)
        except MicroscopyError as error:
            self.add_error("scale_line", str(error))
        else:
            self.instance.scale = {"points": points, "length_um": length}

    def _take_boundaries(self, cleaned: dict[str, Any]) -> None:
        try:
            self.instance.boundaries = boundaries_on(self.instance.image, cleaned["lines"])
        except MicroscopyError as error:
            self.add_error("lines", str(error))


class TakeForm(forms.Form):
    """Which measures are taken over into the records of the layers."""

    why = forms.CharField(
        label="Why is it changed?",
        help_text="Kept with every layer that is changed.",
        initial="Measured on the photograph.",
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, *args: Any, measures: Sequence[Measure], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.measures = measures
        for one in measures:
            if one.thickness:
                self.fields[f"thickness_{one.number}"] = self._tick(one, "Take the thickness")
            if one.colour:
                self.fields[f"colour_{one.number}"] = self._tick(one, "Take the colour")
            if one.layer is None:
                self.fields[f"description_{one.number}"] = forms.CharField(
                    label="Description",
                    max_length=200,
                    required=False,
                    help_text=f"Layer {one.number} is not recorded yet; described, it is.",
                )

    def _tick(self, one: Measure, words: str) -> forms.BooleanField:
        return forms.BooleanField(
            label=f"{words} of layer {one.number}", required=False, initial=True
        )

    @property
    def rows(self) -> list[dict[str, Any]]:
        """The measures, the uppermost first, each with its fields."""
        return [
            {
                "measure": one,
                **{
                    part: self[f"{part}_{one.number}"]
                    for part in ("thickness", "colour", "description")
                    if f"{part}_{one.number}" in self.fields
                },
            }
            for one in reversed(self.measures)
        ]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for one in self.measures:
            wanted = any(cleaned.get(f"{part}_{one.number}") for part in ("thickness", "colour"))
            if one.layer is None and wanted and not cleaned.get(f"description_{one.number}"):
                self.add_error(
                    f"description_{one.number}",
                    f"Say what layer {one.number} is, to record it, or tick nothing of it.",
                )
        return cleaned
