"""Forms of analyses, readings and identifications."""

from typing import Any

from django import forms
from django.db.models import Q
from django.utils import timezone
from django.utils.html import format_html

from analyses.choices import Decision
from analyses.curves import OVER, misplaced
from analyses.models import Analysis, Identification, Reading
from analyses.models.results import FILE, READ_AS
from analyses.spectra.readers import IN_SETTINGS, Unreadable, read
from analyses.spectra.readers.columns import FORMAT as COLUMNS_OF_TEXT
from analyses.spectra.readers.text import MOST_BYTES
from records.choices import TechniqueGroup
from records.fixity import sha256
from records.forms.base import RecordForm, standing
from records.forms.choosing import Checks, TraceField, asks_cautions, in_groups, new_people
from records.forms.rows import SettingsField
from records.models import Campaign, Material, Person, Technique


class AnalysisForm(RecordForm):
    """One technique applied once to a sampling point, sample or layer."""

    settings = SettingsField(
        label="Settings", help_text="One row each, with units: acceleration voltage, 20 kV."
    )
    new_operator = forms.CharField(
        label="Operator not in the list", required=False, help_text="Added to the list of people."
    )

    class Meta:
        model = Analysis
        fields = [
            "technique", "date", "campaign", "operator", "new_operator", "instrument", "settings",
            "raw_file", "reference_for", "note",
        ]  # fmt: skip
        labels = {"date": "When", "raw_file": "Raw data file", "reference_for": "Reference for"}
        help_texts = {
            "raw_file": "Kept as it is, with its SHA-256.",
            "reference_for": "Only when the curve is to be a reference of the department: the "
            "material that was measured. Infrared spectra are compared with it from then on.",
        }
        widgets = {"technique": asks_cautions(), "note": forms.Textarea(attrs={"rows": 2})}

    def set_up(self) -> None:
        analysis: Analysis = self.instance
        item = analysis.at_point.face.object
        fields: dict[str, Any] = self.fields
        kept = analysis.technique if analysis.technique_id else None
        means = Technique.objects.exclude(group=TechniqueGroup.IMAGING)
        in_groups(fields["technique"], standing(means, kept), "group")
        materials = standing(Material.objects.all(), analysis.reference_for)
        in_groups(fields["reference_for"], materials, "group", "no reference")
        campaigns = Campaign.objects.filter(object=item)
        fields["campaign"].queryset = standing(campaigns, analysis.campaign)
        fields["operator"].queryset = standing(Person.objects.all(), analysis.operator)

    def clean_raw_file(self) -> Any:
        """Refuse a file that is kept already, and a curve that another technique measures.

        A file that cannot be read is kept as it is, and its page says why; the columns of a table
        are asked for once it is kept.
        """
        file = self.cleaned_data["raw_file"]
        if "raw_file" not in self.changed_data or not file:
            return file
        others = Analysis.objects.filter(raw_sha256=sha256(file), withdrawn_at=None)
        if other := others.exclude(pk=self.instance.pk).first():
            words = "This very file is kept already with <a href='{}'>{}</a>: choose another."
            raise forms.ValidationError(format_html(words, other.get_absolute_url(), other))
        technique = self.cleaned_data.get("technique")
        if technique is None or technique.code not in OVER or file.size > MOST_BYTES:
            return file
        try:
            curve = read(file.read(), file.name)
        except Unreadable:
            return file
        finally:
            file.seek(0)
        if curve.format != COLUMNS_OF_TEXT and (words := misplaced(technique, curve)):
            raise forms.ValidationError(f"“{file.name}” {words}")
        return file

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("reference_for") and not cleaned.get("raw_file"):
            self.add_error("raw_file", "A reference is a curve: add its file.")
        return cleaned

    def prepare(self) -> None:
        if name := self.cleaned_data["new_operator"]:
            (self.instance.operator,) = new_people(self.user, name.replace(",", " "))
        if "raw_file" in self.changed_data and "settings" not in self.changed_data:
            # What was said of the file before this one: its columns, its name in a batch.
            of_the_file = {*IN_SETTINGS, FILE, READ_AS}
            said = self.instance.settings.items()
            self.instance.settings = {k: v for k, v in said if k not in of_the_file}


class ReadingForm(RecordForm):
    """What an analysis measured."""

    class Meta:
        model = Reading
        fields = ["kind", "label", "value", "uncertainty", "unit", "amount", "note"]
        labels = {"label": "What was read", "amount": "How much"}
        help_texts = {
            "label": "Zn; 1730 C=O stretch; calcite; orange fluorescence.",
            "unit": "Needed with a value: cm⁻¹, keV, wt%.",
            "amount": "A word where no fraction was measured.",
        }
        widgets = {"note": forms.Textarea(attrs={"rows": 2})}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("value") is not None and not cleaned.get("unit"):
            self.add_error("unit", "A value needs its unit.")
        return cleaned


class IdentificationForm(RecordForm):
    """A proposal that a material is present; a person decides on it afterwards."""

    trace = TraceField(
        label="On which trace",
        required=False,
        help_text="A layer that is tied to a trace says so itself.",
    )

    class Meta:
        model = Identification
        fields = ["material", "confidence", "grounds", "readings", "trace"]
        labels = {"readings": "Resting on these readings"}
        help_texts = {"grounds": "What speaks for it and what against."}
        widgets = {"readings": Checks, "grounds": forms.Textarea(attrs={"rows": 4})}

    def set_up(self) -> None:
        found: Identification = self.instance
        point = found.at_point
        fields: dict[str, Any] = self.fields
        kept = found.material if found.material_id else None
        in_groups(fields["material"], standing(Material.objects.all(), kept), "group")
        fields["trace"].of(point.face.object)
        near = (
            Q(analysis__point=point)
            | Q(analysis__sample__point=point)
            | Q(analysis__layer__preparation__sample__point=point)
        )
        readings = Reading.objects.filter(near).select_related("analysis__technique")
        fields["readings"].queryset = standing(readings)
        fields["readings"].label_from_instance = _told


def _told(reading: Reading) -> str:
    technique = reading.analysis.technique
    return f"{technique.abbreviation or technique}: {reading.label}"


class DecisionForm(RecordForm):
    """A person's decision on a proposal: accepted, rejected or undecided, with its grounds."""

    decision = forms.ChoiceField(
        choices=[
            (Decision.ACCEPTED, "Accepted: the material is there"),
            (Decision.REJECTED, "Rejected: it is not, or it is not shown"),
            (Decision.UNDECIDED, "Undecided: more has to be measured"),
        ],
        widget=forms.RadioSelect,
        help_text="Kept under your name, with the time.",
    )

    class Meta:
        model = Identification
        fields = ["decision", "confidence", "grounds"]
        help_texts = {"grounds": "What speaks for it and what against."}
        widgets = {"grounds": forms.Textarea(attrs={"rows": 5})}

    def set_up(self) -> None:
        self.fields["why"].label = "Why do you decide so?"
        self.fields["why"].help_text = "In a sentence, for whoever reads the history of the record."

    def prepare(self) -> None:
        self.instance.decided_by = self.user
        self.instance.decided_at = timezone.now()
