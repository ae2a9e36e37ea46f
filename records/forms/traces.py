"""Forms of traces, of their sightings, and of the order observed between two of them."""

from typing import Any

from django import forms
from django.db import models
from django.db.models import Max
from django.db.models.functions import Cast

from records.choices import Seen, Shape, Strength
from records.forms.base import RecordForm, standing
from records.forms.choosing import EventField, TraceField, in_groups
from records.forms.places import ShapeField, refuse_outside
from records.models import Examination, Image, Relation, Sighting, Trace, TraceKind
from records.placing import least_uncertainty_mm
from records.quantities import millimetres

LOOKS = ("examination", "image")
UNCERTAINTY_HELP = (
    "How far the drawn edge may be off. Left empty, it is that of the place of the image."
)


def look_of(sighting: Sighting) -> str | None:
    """The value of a field that chooses the examination or image of a sighting."""
    if sighting.examination_id:
        return f"examination:{sighting.examination_id}"
    return f"image:{sighting.image_id}" if sighting.image_id else None


def hold_to_image(form: RecordForm, face_id: int) -> None:
    """Refuse an uncertainty smaller than that of the place of the image that was drawn on."""
    given = form.cleaned_data
    shape, stated = given.get("geometry"), given.get("uncertainty_mm")
    if not (look := given.get("look")) or shape is None or stated is None:
        return
    arc, key = look
    least = least_uncertainty_mm(face_id, arc, key, shape)
    if least is not None and stated < least:
        form.add_error(
            "uncertainty_mm",
            f"The image is placed to ± {millimetres(least)}: what is drawn on it is no surer. "
            "State more, or leave this empty.",
        )


def next_number(face_id: int) -> str:
    """The next free whole number of a trace on a face."""
    numbers = Trace.objects.filter(face_id=face_id, number__regex=r"^[0-9]{1,9}$")
    top = numbers.aggregate(top=Max(Cast("number", models.IntegerField())))["top"]
    return str((top or 0) + 1)


class TraceForm(RecordForm):
    """A trace; a new one with its first sighting."""

    look = EventField(
        label="Seen in", help_text="The examination or the photograph in which it was seen."
    )
    geometry = ShapeField(
        label="Its shape",
        required=False,
        help_text="Pairs x, y in millimetres divided by semicolons, or WKT or GeoJSON: how they "
        "are joined follows from the kind of trace. It is easier to draw it in the room Surface.",
    )
    uncertainty_mm = forms.FloatField(
        label="Uncertainty of the edge (mm)",
        required=False,
        min_value=0,
        help_text=UNCERTAINTY_HELP,
    )

    class Meta:
        model = Trace
        fields = ["kind", "number", "label", "description"]
        labels = {"number": "Number on this face"}
        help_texts = {"label": "Words that tell it from others: tear, lower left."}
        widgets = {"description": forms.Textarea(attrs={"rows": 3})}

    def set_up(self) -> None:
        trace: Trace = self.instance
        kinds = standing(TraceKind.objects.all(), trace.kind if trace.kind_id else None)
        in_groups(self.fields["kind"], kinds, "family")
        if self.is_new:
            self.initial["number"] = self.initial.get("number") or next_number(trace.face_id)
            self.fields["look"].of(trace.face.object, LOOKS)  # type: ignore[attr-defined]
        else:
            for name in ("look", "geometry", "uncertainty_mm"):
                del self.fields[name]

    def _clean_fields(self) -> None:
        if "geometry" in self.fields:
            key = self.data.get(self.add_prefix("kind"), "")
            kind = TraceKind.objects.filter(pk=key).first() if str(key).isdigit() else None
            if kind is not None:
                self.fields["geometry"].shape = Shape(kind.shape)  # type: ignore[attr-defined]
        super()._clean_fields()  # type: ignore[misc]

    def clean_geometry(self) -> Any:
        refuse_outside(self.cleaned_data["geometry"], self.instance.face)
        return self.cleaned_data["geometry"]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        hold_to_image(self, self.instance.face_id)
        return cleaned

    def store_parts(self) -> None:
        if look := self.cleaned_data.get("look"):
            arc, key = look
            Sighting.objects.create(
                trace=self.instance,
                outcome=Seen.SEEN,
                geometry=self.cleaned_data["geometry"],
                uncertainty_mm=self.cleaned_data["uncertainty_mm"],
                **{f"{arc}_id": key},
            )


class SightingForm(RecordForm):
    """What one examination or one image says about a trace."""

    look = EventField(label="Looked at in")
    geometry = ShapeField(label="Its shape then", required=False)

    class Meta:
        model = Sighting
        fields = ["look", "outcome", "geometry", "uncertainty_mm", "strength", "note"]
        labels = {
            "outcome": "What was found",
            "uncertainty_mm": "Uncertainty of the edge (mm)",
            "strength": "How sure is that?",
        }
        help_texts = {
            "uncertainty_mm": UNCERTAINTY_HELP,
            "outcome": "Not seen says that it was looked for where it lies and was not there.",
        }
        widgets = {"note": forms.Textarea(attrs={"rows": 2})}

    def set_up(self) -> None:
        sighting: Sighting = self.instance
        trace = sighting.trace
        fields: dict[str, Any] = self.fields
        fields["look"].of(trace.face.object, LOOKS)
        fields["look"].initial = look_of(sighting)
        fields["geometry"].shape = Shape(trace.kind.shape)

    def clean_geometry(self) -> Any:
        refuse_outside(self.cleaned_data["geometry"], self.instance.trace.face)
        return self.cleaned_data["geometry"]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if look := cleaned.get("look"):
            self.instance.examination_id = self.instance.image_id = None
            arc, key = look
            model = {"examination": Examination, "image": Image}[arc]
            setattr(self.instance, arc, model._default_manager.get(pk=key))
        hold_to_image(self, self.instance.trace.face_id)
        if cleaned.get("outcome") == Seen.NOT_SEEN and cleaned.get("geometry"):
            self.add_error("geometry", "What was not seen has no shape: leave it empty.")
        return cleaned


class RelationForm(RecordForm):
    """The order observed between a trace and another."""

    side = forms.ChoiceField(
        label="This trace is",
        choices=[("upper", "the upper, later one"), ("lower", "the lower, earlier one")],
        widget=forms.RadioSelect,
        initial="upper",
    )
    other = TraceField(label="The other trace")

    class Meta:
        model = Relation
        fields = ["side", "order", "other", "strength", "examination", "note"]
        labels = {
            "order": "The upper one",
            "strength": "How sure is that?",
            "examination": "Observed in",
        }
        widgets = {"note": forms.Textarea(attrs={"rows": 2})}

    def set_up(self) -> None:
        relation: Relation = self.instance
        fields: dict[str, Any] = self.fields
        item = relation.upper.face.object
        fields["other"].of(item)
        fields["strength"].initial = Strength.FIRM
        looks = Examination.objects.filter(campaign__object=item).select_related("technique")
        fields["examination"].queryset = standing(looks, relation.examination)
        if not self.is_new:
            del fields["side"]
            fields["other"].initial = relation.lower_id
            fields["other"].label = "The lower, earlier one"

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        other = cleaned.get("other")
        if other is None:
            return cleaned
        here = self.instance.upper
        if other == here:
            self.add_error("other", "A trace cannot lie over itself: choose another.")
        elif cleaned.get("side") == "lower":
            self.instance.upper, self.instance.lower = other, here
        else:
            self.instance.lower = other
        return cleaned
