"""Forms of the terms of the vocabularies and of the dates of materials."""

import re
from typing import Any

from django import forms

from analyses.proposing import COLOURS
from records.choices import ObjectKind
from records.forms.base import RecordForm, standing
from records.forms.choosing import Checks
from records.forms.rows import IdentifiersField, TranslationsField
from records.models import (
    Material,
    MaterialDate,
    OccurrenceKind,
    Technique,
    TraceKind,
    TreatmentKind,
)
from records.vocabulary.known import REFUSALS, Refusal
from records.vocabulary.settings import GROUPS, SETTINGS

TERM = ["label", "code", "definition", "broader"]
MORE = ["note", "cautions", "identifiers", "translations"]


class TermForm(RecordForm):
    """One term of a vocabulary."""

    identifiers = IdentifiersField(
        label="Identifiers in published lists", help_text="One row for each list."
    )
    translations = TranslationsField(help_text="One row for each language.")

    class Meta:
        labels = {"label": "Term", "broader": "Broader term", "uv": "Under ultraviolet"}
        help_texts = {
            "code": "Short and lasting, small letters and underscores: imports use it.",
            "definition": "What it means, so that two people use it alike.",
            "cautions": "What to beware of, shown wherever the term is used.",
        }
        error_messages = {"code": {"unique": "Another term has this code: choose another."}}
        widgets = {
            "definition": forms.Textarea(attrs={"rows": 3}),
            "note": forms.Textarea(attrs={"rows": 2}),
            "cautions": forms.Textarea(attrs={"rows": 2}),
            "uv": forms.Textarea(attrs={"rows": 2}),
            "composition": forms.Textarea(attrs={"rows": 2}),
        }

    def set_up(self) -> None:
        model = self._meta.model
        own = model._default_manager.exclude(pk=self.instance.pk)
        fields: dict[str, Any] = self.fields
        fields["broader"].queryset = standing(own, self.instance.broader)
        if not self.is_new:
            fields["code"].disabled = True


class TraceKindForm(TermForm):
    suits = forms.MultipleChoiceField(
        choices=ObjectKind.choices,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="Occurs on",
        help_text="None ticked: on anything.",
    )

    class Meta(TermForm.Meta):
        model = TraceKind
        fields = [*TERM, "family", "shape", "short", "suits", *MORE]


class TreatmentKindForm(TermForm):
    class Meta(TermForm.Meta):
        model = TreatmentKind
        fields = [*TERM, "group", *MORE]


class OccurrenceKindForm(TermForm):
    class Meta(TermForm.Meta):
        model = OccurrenceKind
        fields = [*TERM, "group", *MORE]


class TechniqueForm(TermForm):
    asks = forms.MultipleChoiceField(
        choices=[
            (heading, [(s.code, s.label) for s in SETTINGS.values() if s.group == group])
            for group, heading in GROUPS.items()
        ],
        required=False,
        widget=Checks,
        label="Its information sheet asks for",
        help_text="None ticked: for what the broader technique asks for.",
    )

    class Meta(TermForm.Meta):
        model = Technique
        fields = [*TERM, "group", "abbreviation", "invasive", "band", "asks", *MORE]


class WordsField(forms.CharField):
    """Words divided by commas, kept as a list; `refusal` says what is wrong with one, or ''."""

    def __init__(self, refusal: Refusal, label: str, help_text: str) -> None:
        super().__init__(required=False, label=label, help_text=help_text)
        self.refusal = refusal

    def prepare_value(self, value: Any) -> Any:
        return ", ".join(value) if isinstance(value, list) else value

    def has_changed(self, initial: Any, data: Any) -> bool:
        return bool((self.prepare_value(initial) or "") != (data or ""))

    def clean(self, value: Any) -> list[str]:
        words = [word for word in re.split(r"[,;\s]+", super().clean(value) or "") if word]
        problems = [said for word in words if (said := self.refusal(word))]
        if problems:
            raise forms.ValidationError(problems)
        return list(dict.fromkeys(words))


class MaterialForm(TermForm):
    elements = WordsField(REFUSALS["elements"], "Elements", "Symbols divided by commas: Pb, C, O.")
    marks = WordsField(
        REFUSALS["marks"], "Marked by", "Elements without which it is not there, of those above."
    )
    phases = WordsField(
        REFUSALS["phases"],
        "Phases",
        "Codes divided by commas: calcite, hydrocerussite.",
    )
    bands = WordsField(
        REFUSALS["bands"],
        "Bands",
        "Codes divided by commas: calcite, protein.",
    )
    colours = WordsField(
        REFUSALS["colours"],
        "Colours",
        f"Divided by commas, of these: {', '.join(sorted(COLOURS))}.",
    )
    hazards = WordsField(
        REFUSALS["hazards"], "Hazards (GHS)", "H-statements divided by commas: H302, H360D."
    )

    class Meta(TermForm.Meta):
        model = Material
        fields = [
            *TERM,
            "group",
            "composition",
            "formula",
            "elements",
            "marks",
            "phases",
            "bands",
            "colours",
            "uv",
            "hazards",
            *MORE,
        ]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        elements = cleaned.get("elements", [])
        for mark in cleaned.get("marks", []):
            if elements and mark not in elements:
                self.add_error("marks", f"{mark} is not among the elements.")
        if cleaned.get("hazards") and not cleaned.get("cautions"):
            self.add_error("cautions", "Hazards go with their cautions: say how to work with it.")
        return cleaned


class MaterialDateForm(RecordForm):
    """A dated fact about a material's use."""

    class Meta:
        model = MaterialDate
        fields = ["kind", "date", "source", "note"]
        help_texts = {
            "source": "The publication, with page. A date without a source bears no conclusion.",
        }
        widgets = {
            "source": forms.Textarea(attrs={"rows": 2}),
            "note": forms.Textarea(attrs={"rows": 2}),
        }

    def set_up(self) -> None:
        self.fields["date"].required = True
