"""Forms of campaigns, examinations and what they covered."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.contrib.gis.geos import GEOSException, GEOSGeometry
from django.forms import BoundField
from django.http import QueryDict

from records.choices import TechniqueGroup
from records.forms.base import RecordForm, standing
from records.forms.choosing import Checks, in_groups, new_people
from records.forms.places import ShapeField, refuse_outside
from records.forms.rows import SettingsField
from records.models import Campaign, Coverage, Examination, Face, Person, Technique
from records.vocabulary.settings import GROUPS, SETTINGS, Setting

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


FIRST = ("technique", "date", "operator", "new_operator", "instrument")


class ValueField(forms.CharField):
    """The value of one setting of an information sheet."""

    def __init__(self, setting: Setting) -> None:
        self.setting = setting
        label = f"{setting.label} ({setting.unit})" if setting.unit else setting.label
        super().__init__(label=label, required=False, help_text=setting.words, max_length=500)
        if setting.kind == "choice":
            offered = [("", "not recorded"), *((one, one) for one in setting.choices)]
            self.widget = forms.Select(choices=offered)
        else:
            figures = {} if setting.kind == "text" else {"class": "figures", "inputmode": "decimal"}
            self.widget = forms.TextInput(attrs=figures)

    def clean(self, value: Any) -> Any:
        try:
            return self.setting.read(super().clean(value))
        except ValueError as error:
            raise forms.ValidationError(str(error)) from error

    def prepare_value(self, value: Any) -> Any:
        return value if value is None else self.setting.typed(value)


class ExaminationForm(RecordForm):
    """The information sheet of an examination; its technique says what is asked."""

    settings = SettingsField(
        label="Other settings", help_text="One row each, with units: exposure time, 2.5 s."
    )
    new_operator = forms.CharField(
        label="Operator not in the list", required=False, help_text="Added to the list of people."
    )
    faces = forms.ModelMultipleChoiceField(
        Face.objects.none(),
        label="Faces covered as a whole",
        required=False,
        widget=Checks,
        help_text="What was covered only in part is drawn on the page of the examination.",
    )

    class Meta:
        model = Examination
        fields = [
            "technique", "date", "operator", "new_operator", "instrument", "settings", "conditions",
            "faces", "not_covered", "note",
        ]  # fmt: skip
        labels = {"date": "When", "not_covered": "Not covered, and why"}
        help_texts = {
            "conditions": "Light, room, access, in words.",
            "not_covered": "In words; what was left out of a face is worked out from its coverage.",
        }
        widgets = {
            "conditions": forms.Textarea(attrs={"rows": 3}),
            "not_covered": forms.Textarea(attrs={"rows": 2}),
            "note": forms.Textarea(attrs={"rows": 3}),
            "technique": forms.Select(
                attrs={
                    "hx-get": "",
                    "hx-vals": '{"part": "settings"}',
                    "hx-include": "#asked",
                    "hx-target": "#asked",
                    "hx-swap": "outerHTML",
                    "hx-push-url": "false",
                }
            ),
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
        chosen = str(self.data.get("technique") or self.initial.get("technique") or "")
        self._ask(_technique(chosen) or kept, self.data)

    def choose(self, given: QueryDict) -> None:
        """Ask for what the technique given needs, keeping what has been typed so far."""
        for code in self.codes:
            del self.fields[code]
        self._ask(_technique(given.get("technique", "")), given)
        self.initial.update({code: given[code] for code in self.codes if given.get(code)})

    def _ask(self, technique: Technique | None, typed: Mapping[str, Any]) -> None:
        """Ask for what a technique needs, and for whatever else is recorded or typed already."""
        recorded = self.instance.settings
        codes = {*recorded, *(code for code in SETTINGS if typed.get(code))}
        codes.update(technique.asked() if technique else ())
        self.chosen_technique = technique
        self.codes = [code for code in SETTINGS if code in codes]
        for code in self.codes:
            self.fields[code] = ValueField(SETTINGS[code])
            if code in recorded:
                self.initial[code] = recorded[code]
        self.initial["settings"] = _own(recorded)

    @property
    def asked(self) -> list[tuple[str, list[BoundField]]]:
        """The fields that the technique asks for, under their headings."""
        return [
            (heading, fields)
            for group, heading in GROUPS.items()
            if (fields := [self[code] for code in self.codes if SETTINGS[code].group == group])
        ]

    @property
    def first(self) -> list[BoundField]:
        """The fields before those that the technique asks for."""
        return [self[name] for name in FIRST]

    @property
    def last(self) -> list[BoundField]:
        """The fields after those that the technique asks for."""
        return [self[name] for name in self.fields if name not in {*FIRST, *self.codes}]

    @property
    def doubts(self) -> list[str]:
        """What should be looked at again, once the form has been read."""
        given = {code: self.cleaned_data.get(code) for code in self.codes}
        return [
            f"{SETTINGS[code].label}: {SETTINGS[code].told(value)} is {doubt}."
            for code, value in given.items()
            if value is not None and (doubt := SETTINGS[code].doubt(value))
        ]

    def clean_settings(self) -> dict[str, str]:
        own: dict[str, str] = self.cleaned_data["settings"] or {}
        labels = {SETTINGS[code].label.casefold(): code for code in self.codes} | {
            code: code for code in self.codes
        }
        for name in own:
            if code := labels.get(name.casefold()):
                raise forms.ValidationError(
                    f"“{name}” has a field of its own above ({SETTINGS[code].label}): use that."
                )
        return own

    def prepare(self) -> None:
        if name := self.cleaned_data["new_operator"]:
            (self.instance.operator,) = new_people(self.user, name.replace(",", " "))
        given = {code: self.cleaned_data[code] for code in self.codes}
        values = {code: value for code, value in given.items() if value is not None}
        self.instance.settings = values | self.cleaned_data["settings"]

    def store_parts(self) -> None:
        for face in self.cleaned_data.get("faces", ()):
            Coverage.objects.create(examination=self.instance, face=face)


def _technique(key: str) -> Technique | None:
    return Technique.objects.filter(pk=key).first() if key.isdigit() else None


def _own(settings: dict[str, Any]) -> dict[str, Any]:
    """Settings that no vocabulary knows: those that the department named itself."""
    return {name: value for name, value in settings.items() if name not in SETTINGS}


class AreasField(ShapeField):
    """One or several areas; drawn areas that overlap are joined."""

    def clean(self, value: Any) -> GEOSGeometry | None:
        text = str(value or "").strip()
        if text[:12].upper() == "MULTIPOLYGON":
            try:
                areas: Any = GEOSGeometry(text)
                if all(area.valid for area in areas):
                    value = areas.unary_union.wkt
            except GEOSException:
                pass  # the reading below says what is wrong
        shape = super().clean(value)
        if shape is not None and not shape.area:
            raise forms.ValidationError(
                "What was covered is an area: give at least three corners that enclose one."
            )
        return shape


class CoverageForm(RecordForm):
    """The part of a face that an examination covered."""

    geometry = AreasField(
        label="Part covered",
        required=False,
        help_text="Drawn on the face, or corners x, y in millimetres from its lower left corner: "
        "0, 0; 300, 0; 300, 200; 0, 200. Empty for the whole face.",
    )

    class Meta:
        model = Coverage
        fields = ["face", "geometry", "rest_why"]
        labels = {"rest_why": "Why the rest was not covered"}
        help_texts = {
            "rest_why": "Hidden by the frame, out of reach, too fragile, no time: whoever reads "
            "that nothing was found there should know that nobody looked.",
        }
        widgets = {"rest_why": forms.Textarea(attrs={"rows": 2})}

    def set_up(self) -> None:
        faces = Face.objects.filter(object=self.instance.examination.campaign.object)
        kept = self.instance.face if self.instance.face_id else None
        self.fields["face"].queryset = standing(faces, kept)  # type: ignore[attr-defined]
        if self.is_new and not self.initial.get("face"):
            told = self.instance.examination.coverage.filter(withdrawn_at__isnull=True)
            self.initial["face"] = standing(faces).exclude(pk__in=told.values("face")).first()

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        face, geometry = cleaned.get("face"), cleaned.get("geometry")
        if geometry and face:
            try:
                refuse_outside(geometry, face)
            except forms.ValidationError as error:
                self.add_error("geometry", error)
        if face and not self.has_error("face"):
            others = Coverage.objects.filter(
                examination=self.instance.examination, face=face, withdrawn_at__isnull=True
            ).exclude(pk=self.instance.pk)
            if others.exists():
                self.add_error(
                    "face", f"What was covered of {face} is recorded already: change that instead."
                )
        return cleaned
