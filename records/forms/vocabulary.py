"""Forms of the terms of the vocabularies and of the dates of materials."""

from typing import Any

from django import forms

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
            "code": "Short and lasting, small letters and hyphens: imports and programs use it.",
            "definition": "What it means, so that two people use it alike.",
            "cautions": "What to beware of, shown wherever the term is used.",
            "elements": "Symbols divided by commas: Pb, C, O.",
            "marks": "Symbols divided by commas; each must be among the elements.",
            "phases": "Codes divided by commas: calcite, hydrocerussite.",
            "bands": "Codes divided by commas: carbonate, protein.",
            "colours": "Divided by commas: white, red, metallic.",
            "hazards": "H-statements divided by commas: H302, H360.",
        }
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


class MaterialForm(TermForm):
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
