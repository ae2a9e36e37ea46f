"""The column chooser: which columns of a table of numbers are the curve of an analysis."""

from collections.abc import Callable
from typing import Any

from django import forms

from analyses.curves import OVER, CurveError, misplaced, table_of
from analyses.models import Analysis
from analyses.spectra.curve import Axis
from analyses.spectra.readers import (
    IN_SETTINGS,
    ColumnChoice,
    Preview,
    Unreadable,
    axes,
    read,
)
from records.forms.base import RecordForm

PLACES = [
    ("keV", "energy in keV"),
    ("eV", "energy in eV"),
    ("° 2θ", "angle in ° 2θ"),
    ("Å", "spacing d in Å"),
    ("cm⁻¹", "wavenumber in cm⁻¹"),
    ("nm", "wavelength in nm"),
    ("µm", "wavelength in µm"),
]
VALUES = [
    ("counts", "counts"),
    ("counts/s", "counts per second"),
    ("intensity", "intensity, no unit"),
    ("absorbance", "absorbance"),
    ("transmittance", "transmittance, 0 to 1"),
    ("% transmittance", "transmittance in %"),
    ("reflectance", "reflectance, 0 to 1"),
    ("% reflectance", "reflectance in %"),
    ("log 1/R", "log 1/R"),
    ("Kubelka–Munk units", "Kubelka–Munk units"),
]
SEPARATORS = [("", "as found"), ("tab", "tabs"), ("semicolon", "semicolons"), ("comma", "commas"),
              ("blanks", "blanks")]  # fmt: skip
DECIMALS = [("", "as found"), (".", "a point"), (",", "a comma")]
USUAL = {Axis.TWO_THETA: "° 2θ"}  # of two axes that a technique has, the one that files hold


class LookForm(forms.Form):
    """How the cells of a table are divided, where the program has taken it wrongly."""

    separator = forms.ChoiceField(
        choices=SEPARATORS, required=False, label="Between the cells stand"
    )
    decimal = forms.ChoiceField(choices=DECIMALS, required=False, label="Decimals follow")


class ColumnsForm(RecordForm):
    """Which column holds the places, which the values, and what they are."""

    x = forms.ChoiceField(label="Column of the places", help_text="Energy, angle, wavenumber …")
    x_unit = forms.ChoiceField(label="What the places are")
    y = forms.ChoiceField(label="Column of the values", help_text="Counts, absorbance …")
    y_unit = forms.ChoiceField(label="What the values are")
    start = forms.FloatField(
        required=False,
        label="First place",
        help_text="Where no column holds the places: where they begin …",
    )
    step = forms.FloatField(
        required=False, label="Step", help_text="… and by how much they go on from row to row."
    )
    separator = forms.ChoiceField(choices=SEPARATORS, required=False, widget=forms.HiddenInput)
    decimal = forms.ChoiceField(choices=DECIMALS, required=False, widget=forms.HiddenInput)

    table: Preview | None = None
    trouble = ""

    class Meta:
        model = Analysis
        fields: list[str] = []

    def set_up(self) -> None:
        """Offer the columns of the table, as it was chosen before or as its headings say."""
        chosen = ColumnChoice.from_settings(self.instance.settings)
        if chosen is None:
            self.initial["why"] = "To say which columns of the file are meant."
        kept = chosen or ColumnChoice()
        asked = self.data if self.is_bound else self.initial
        self.look = ColumnChoice(
            separator=self._one_of(SEPARATORS, asked.get("separator", kept.separator)),
            decimal=self._one_of(DECIMALS, asked.get("decimal", kept.decimal)),
        )
        try:
            self.table = table_of(self.instance, self.look)
        except CurveError as error:
            self.trouble = str(error)
        if self.table:
            self._offer(self.table, kept)

    @staticmethod
    def _one_of(choices: list[tuple[str, str]], given: str) -> str:
        return given if given in dict(choices) else ""

    def _offer(self, table: Preview, kept: ColumnChoice) -> None:
        headings = table.headings or ("",) * table.columns
        columns = [
            (str(n), f"{n}: {heading}" if heading else str(n))
            for n, heading in enumerate(headings, 1)
        ]
        fields: dict[str, Any] = self.fields
        choose = ("", "Choose …")
        fields["x"].choices = [choose, *columns, ("0", "none: from a first place and a step")]
        fields["y"].choices = [choose, *columns]
        fields["x_unit"].choices = [choose, *PLACES]
        fields["y_unit"].choices = [choose, *VALUES]
        guess = table.guess or ColumnChoice()
        over = OVER.get(self.instance.technique.code, set())
        usual = next((u for u in USUAL if u in over), next(iter(over), ""))
        x = kept.x if kept.x is not None else guess.x
        y = kept.y if kept.y is not None else guess.y
        self.initial.update(
            {
                "x": "0" if kept.start is not None else "" if x is None else str(x + 1),
                "y": "" if y is None else str(y + 1),
                "x_unit": self._one_of(PLACES, kept.x_unit)
                or _same(PLACES, guess.x_unit, axes.x_unit)
                or self._one_of(PLACES, usual),
                "y_unit": self._one_of(VALUES, kept.y_unit)
                or _same(VALUES, guess.y_unit, axes.y_unit),
                "start": kept.start,
                "step": kept.step,
                "separator": self.look.separator,
                "decimal": self.look.decimal,
            }
        )

    def clean(self) -> dict[str, Any]:
        """Refuse a choice by which the file cannot be read, or is no curve of the technique."""
        cleaned = super().clean()
        if self.errors or self.table is None:
            return cleaned
        if cleaned["x"] == cleaned["y"]:
            self.add_error("y", "Places and values stand in two columns: choose another.")
        if cleaned["x"] == "0" and (cleaned["start"] is None or not cleaned["step"]):
            self.add_error("start", "Give the first place and the step, or choose a column.")
        if self.errors:
            return cleaned
        with self.instance.raw_file.open("rb") as file:
            data = file.read()
        try:
            curve = read(data, str(self.instance.raw_file.name), self.choice)
        except Unreadable as error:
            raise forms.ValidationError(f"So the file cannot be read: {error}") from error
        if words := misplaced(self.instance.technique, curve):
            self.add_error("x_unit", f"This {words}")
        return cleaned

    @property
    def choice(self) -> ColumnChoice:
        """What the person has chosen; columns counted from 0."""
        said = self.cleaned_data
        none = said["x"] == "0"
        return ColumnChoice(
            None if none else int(said["x"]) - 1,
            int(said["y"]) - 1,
            said["x_unit"],
            said["y_unit"],
            said["separator"],
            said["decimal"],
            said["start"] if none else None,
            said["step"] if none else None,
        )

    def prepare(self) -> None:
        others = {k: v for k, v in self.instance.settings.items() if k not in IN_SETTINGS}
        self.instance.settings = others | self.choice.to_settings()


def _same(choices: list[tuple[str, str]], heading: str, meaning: Callable[[str], object]) -> str:
    """The choice that means what a heading means; '' when it means nothing that is known."""
    if not (meant := meaning(heading)):
        return ""
    return next((value for value, _ in choices if meaning(value) == meant), "")
