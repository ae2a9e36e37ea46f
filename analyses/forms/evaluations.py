"""Settings of an evaluation: what a file does not say of itself."""

from typing import Any

import xraydb
from django import forms

from analyses.models import Analysis
from analyses.spectra.diffraction.evaluate import ANODES
from analyses.spectra.infrared import Measured


class SymbolsField(forms.CharField):
    """Symbols of elements, divided by commas or blanks."""

    def clean(self, value: Any) -> list[str]:
        symbols = str(super().clean(value) or "").replace(",", " ").split()
        for symbol in symbols:
            try:
                xraydb.atomic_number(symbol)
            except ValueError as error:
                raise forms.ValidationError(
                    f"'{symbol}' is not the symbol of an element; write them like Pb, Ca, S."
                ) from error
        return symbols


class EvaluationForm(forms.Form):
    """The fields that a person has filled in, as the settings of an evaluation."""

    def given(self) -> dict[str, Any]:
        return {key: value for key, value in self.cleaned_data.items() if value}


class XrayForm(EvaluationForm):
    """XRF and SEM-EDX."""

    voltage_kv = forms.FloatField(
        required=False,
        min_value=1,
        max_value=100,
        label="Voltage, kV",
        help_text="Empty: as the file says, else 40 kV (tube) or 20 kV (electrons).",
    )
    anode = forms.CharField(
        required=False, max_length=2, help_text="Symbol of the tube's anode. Empty: Rh."
    )
    atmosphere = forms.ChoiceField(
        required=False,
        choices=[("", "as usual"), ("air", "air"), ("helium", "helium"), ("vacuum", "vacuum")],
    )
    coating = SymbolsField(
        required=False, help_text="Elements it was coated with for the microscope: C, Au."
    )


class DiffractionForm(EvaluationForm):
    """XRD."""

    anode = forms.ChoiceField(
        required=False, choices=[("", "as the file says, else copper"), *((a, a) for a in ANODES)]
    )
    tolerance = forms.FloatField(
        required=False,
        min_value=0.02,
        max_value=0.5,
        label="Tolerance, ° 2θ",
        help_text="Empty: 0.12.",
    )
    elements = SymbolsField(
        required=False,
        label="Elements known",
        help_text="From XRF or SEM-EDX: Pb, Ca, S. Phases that need others are left out.",
    )


class InfraredForm(EvaluationForm):
    """FTIR."""

    measured = forms.ChoiceField(
        required=False,
        label="Measured",
        choices=[
            ("", "as the values tell"),
            *((way.value, way.value) for way in Measured),
        ],
    )
    depth_corrected = forms.BooleanField(
        required=False, label="Correct the depth of ATR, which grows with the wavelength"
    )
    kramers_kronig = forms.BooleanField(
        required=False, label="Turn reflection into absorption (Kramers and Kronig)"
    )


FORMS: dict[str, type[EvaluationForm]] = {
    "xrf": XrayForm,
    "sem_edx": XrayForm,
    "xrd": DiffractionForm,
    "ftir": InfraredForm,
}


def form_for(analysis: Analysis, data: Any = None) -> EvaluationForm:
    return FORMS[analysis.technique.code](data, prefix="evaluation")
