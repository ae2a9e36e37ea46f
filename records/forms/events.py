"""Forms of treatments, other occurrences, what they did to traces, and where treatments worked."""

from typing import Any

from django import forms

from records.forms.base import RecordForm, standing
from records.forms.campaigns import NEW_PEOPLE
from records.forms.choosing import Checks, TraceField, in_groups, new_people
from records.forms.places import ShapeField, refuse_outside
from records.models import (
    Campaign,
    Effect,
    Face,
    Material,
    Occurrence,
    OccurrenceKind,
    Person,
    Source,
    Treatment,
    TreatmentArea,
    TreatmentKind,
    Zone,
)


class TreatmentForm(RecordForm):
    """An intervention on the object."""

    new_people = forms.CharField(**NEW_PEOPLE)  # type: ignore[arg-type]

    class Meta:
        model = Treatment
        fields = [
            "kind", "title", "standing", "date", "campaign", "people", "new_people", "reason",
            "method", "materials", "outcome", "sources",
        ]  # fmt: skip
        labels = {
            "standing": "How do we know of it?",
            "date": "When",
            "people": "By whom",
            "reason": "Why it was done",
            "method": "How it was done",
            "materials": "Materials used",
            "sources": "Papers that speak of it",
        }
        help_texts = {
            "title": "A few words that tell it from others: glue-paste lining.",
            "date": "An interval for a start and an end: 1951-03/1952. Leave empty when unknown.",
            "campaign": "When it was part of a planned piece of work.",
        }
        widgets = {
            "people": Checks,
            "materials": Checks,
            "sources": Checks,
            "reason": forms.Textarea(attrs={"rows": 2}),
            "method": forms.Textarea(attrs={"rows": 4}),
            "outcome": forms.Textarea(attrs={"rows": 2}),
        }

    def set_up(self) -> None:
        treatment: Treatment = self.instance
        kind = treatment.kind if treatment.kind_id else None
        in_groups(self.fields["kind"], standing(TreatmentKind.objects.all(), kind), "group")
        fields: dict[str, Any] = self.fields
        campaigns = Campaign.objects.filter(object_id=treatment.object_id)
        fields["campaign"].queryset = standing(campaigns, treatment.campaign)
        fields["people"].queryset = standing(Person.objects.all())
        fields["materials"].queryset = standing(Material.objects.all())
        fields["sources"].queryset = standing(Source.objects.filter(object=treatment.object))

    def store_parts(self) -> None:
        self.instance.people.add(*new_people(self.user, self.cleaned_data["new_people"]))


class OccurrenceForm(RecordForm):
    """Anything else that matters in the object's life."""

    class Meta:
        model = Occurrence
        fields = [
            "kind", "title", "date", "instant", "place_from", "place_to", "description", "sources",
        ]  # fmt: skip
        labels = {
            "date": "When",
            "instant": "It happened on one day",
            "place_from": "From",
            "place_to": "To, or simply where",
            "sources": "Papers that speak of it",
        }
        help_texts = {
            "date": "An interval for a start and an end: 1936-05/1936-09.",
            "instant": "An accident, a sale; not an exhibition or a time in store.",
            "place_to": "",
        }
        widgets = {"sources": Checks, "description": forms.Textarea(attrs={"rows": 4})}

    def set_up(self) -> None:
        occurrence: Occurrence = self.instance
        kind = occurrence.kind if occurrence.kind_id else None
        in_groups(self.fields["kind"], standing(OccurrenceKind.objects.all(), kind), "group")
        fields: dict[str, Any] = self.fields
        fields["sources"].queryset = standing(Source.objects.filter(object=occurrence.object))


class EffectForm(RecordForm):
    """What a treatment or an occurrence did to a trace."""

    trace = TraceField(label="Trace")

    class Meta:
        model = Effect
        fields = ["kind", "trace", "strength", "note"]
        labels = {"kind": "It", "strength": "How sure is that?"}
        widgets = {"note": forms.Textarea(attrs={"rows": 2})}

    def set_up(self) -> None:
        event = self.instance.treatment or self.instance.occurrence
        self.fields["trace"].of(event.object)  # type: ignore[attr-defined]


class AreaForm(RecordForm):
    """Where a treatment worked on a face: the whole of it, a zone, or a part of its own."""

    zone = forms.ModelChoiceField(
        Zone.objects.none(),
        required=False,
        label="A zone of that face",
        empty_label="No zone",
        help_text="Leave both this and the outline empty for the whole face.",
    )
    geometry = ShapeField(label="Or an outline of its own", required=False)

    class Meta:
        model = TreatmentArea
        fields = ["face", "zone", "geometry", "note"]
        widgets = {"note": forms.Textarea(attrs={"rows": 2})}

    def set_up(self) -> None:
        item = self.instance.treatment.object
        fields: dict[str, Any] = self.fields
        kept = self.instance.face if self.instance.face_id else None
        fields["face"].queryset = standing(Face.objects.filter(object=item), kept)
        zones = Zone.objects.filter(face__object=item).select_related("face")
        fields["zone"].queryset = standing(zones)
        fields["zone"].label_from_instance = lambda zone: f"{zone.face}: {zone}"

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        face, zone, shape = (cleaned.get(name) for name in ("face", "zone", "geometry"))
        if face is None:
            return cleaned
        if zone is not None and zone.face_id != face.pk:
            self.add_error("zone", f"{zone} is a zone of {zone.face}, not of {face}.")
        elif zone is not None and shape is not None and not shape.equals(zone.geometry):
            self.add_error("geometry", "Choose a zone or give an outline, not both.")
        elif zone is not None:
            cleaned["geometry"] = zone.geometry
        elif shape is not None:
            try:
                refuse_outside(shape, face)
            except forms.ValidationError as error:
                self.add_error("geometry", error)
        return cleaned
