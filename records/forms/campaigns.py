"""Forms of campaigns, examinations and what they covered."""

from typing import Any

from django import forms

from records.choices import TechniqueGroup
from records.forms.base import RecordForm, standing
from records.forms.choosing import Checks, asks_cautions, in_groups, new_people
from records.forms.places import ShapeField, refuse_outside
from records.forms.rows import SettingsField
from records.models import Campaign, Coverage, Examination, Face, Person, Technique

NEW_PEOPLE = {
    "label": "People not in the list",
    "help_text": "Names divided by commas; they are added to the list of people.",
    "required": False,
}


class CampaignForm(RecordForm):
    """A planned piece of work."""

    new_people = forms.CharField(**NEW_PEOPLE)  # type: ignore[arg-type]

    class Meta:
        model = Campaign
        fields = ["title", "purpose", "parent", "date", "people", "note"]
        labels = {"parent": "Phase of", "date": "When"}
        help_texts = {
            "parent": "Leave empty for a campaign of its own.",
            "people": "Who takes or took part.",
        }
        widgets = {"people": Checks}

    def set_up(self) -> None:
        campaign = self.instance
        others = Campaign.objects.filter(object_id=campaign.object_id).exclude(pk=campaign.pk)
        self.fields["parent"].queryset = standing(others, campaign.parent)  # type: ignore[attr-defined]
        self.fields["people"].queryset = standing(Person.objects.all())  # type: ignore[attr-defined]
        self.order_fields(["title", "purpose", "parent", "date", "people", "new_people", "note"])

    def clean_parent(self) -> Campaign | None:
        parent: Campaign | None = self.cleaned_data["parent"]
        step = parent
        while step is not None:
            if step.pk == self.instance.pk:
                raise forms.ValidationError("A campaign cannot be a phase of itself.")
            step = step.parent
        return parent

    def store_parts(self) -> None:
        self.instance.people.add(*new_people(self.user, self.cleaned_data["new_people"]))


class ExaminationForm(RecordForm):
    """The information sheet of an examination."""

    settings = SettingsField(
        label="Settings", help_text="One row each, with units: exposure time, 2.5 s."
    )
    new_operator = forms.CharField(
        label="Operator not in the list", required=False, help_text="Added to the list of people."
    )
    faces = forms.ModelMultipleChoiceField(
        Face.objects.none(),
        label="Faces covered as a whole",
        required=False,
        widget=Checks,
        help_text="What was covered only in part is added on the page of the examination.",
    )

    class Meta:
        model = Examination
        fields = [
            "technique", "date", "operator", "new_operator", "instrument", "settings", "conditions",
            "faces", "not_covered", "note",
        ]  # fmt: skip
        labels = {"date": "When", "not_covered": "Not covered, and why"}
        help_texts = {"conditions": "Light, room, climate, access."}
        widgets = {
            "conditions": forms.Textarea(attrs={"rows": 3}),
            "not_covered": forms.Textarea(attrs={"rows": 2}),
            "note": forms.Textarea(attrs={"rows": 3}),
            "technique": asks_cautions(),
        }

    def set_up(self) -> None:
        looks = Technique.objects.exclude(group=TechniqueGroup.ANALYSIS)
        kept = self.instance.technique if self.instance.technique_id else None
        in_groups(self.fields["technique"], standing(looks, kept), "group")
        self.fields["operator"].queryset = standing(  # type: ignore[attr-defined]
            Person.objects.all(), self.instance.operator
        )
        if self.is_new:
            faces = standing(Face.objects.filter(object=self.instance.campaign.object))
            self.fields["faces"].queryset = faces  # type: ignore[attr-defined]
        else:
            del self.fields["faces"]

    def prepare(self) -> None:
        if name := self.cleaned_data["new_operator"]:
            (self.instance.operator,) = new_people(self.user, name.replace(",", " "))

    def store_parts(self) -> None:
        for face in self.cleaned_data.get("faces", ()):
            Coverage.objects.create(examination=self.instance, face=face)


class CoverageForm(RecordForm):
    """The part of a face that an examination covered."""

    geometry = ShapeField(
        label="Part covered",
        required=False,
        help_text="Leave empty for the whole face; else corners x, y in millimetres.",
    )

    class Meta:
        model = Coverage
        fields = ["face", "geometry"]

    def set_up(self) -> None:
        faces = Face.objects.filter(object=self.instance.examination.campaign.object)
        kept = self.instance.face if self.instance.face_id else None
        self.fields["face"].queryset = standing(faces, kept)  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("geometry") and cleaned.get("face"):
            try:
                refuse_outside(cleaned["geometry"], cleaned["face"])
            except forms.ValidationError as error:
                self.add_error("geometry", error)
        return cleaned
