"""Forms of sampling points, samples, preparations and layers."""

import shutil
from contextlib import suppress
from pathlib import Path
from typing import Any

from django import forms
from django.core.files.storage import default_storage
from django.db.models import Max

from analyses.forms.colours import ColourField, MunsellField, draw_as_seen
from analyses.models import Layer, NumberingRule, Preparation, Sample, SamplingPoint
from analyses.numbering import WORDS, RuleError, check, propose_number
from records.arrivals import Examined, KnownError, describe, examine, keep, lay
from records.choices import ImageKind, Shape
from records.forms.base import RecordForm, standing
from records.forms.choosing import TraceField, new_people
from records.forms.places import ShapeField, read_shape, refuse_outside
from records.imaging.originals import ENDINGS, OriginalError
from records.models import Campaign, Image, Person


class Numbered(RecordForm):
    """A form whose number is proposed by the rule of the object; it can be written over."""

    def set_up(self) -> None:
        if self.is_new and not self.initial.get("number") and not self.is_bound:
            self.initial["number"] = propose_number(self.instance)


class SamplingPointForm(Numbered):
    """A place where a sample was taken or a reading was made without one."""

    geometry = ShapeField(
        shape=Shape.POINT,
        label="Place",
        help_text="x, y in millimetres from the lower left corner of the face: 120, 80.",
    )
    new_taker = forms.CharField(
        label="Somebody not in the list", required=False, help_text="Added to the list of people."
    )
    trace = TraceField(label="On which trace", required=False)

    class Meta:
        model = SamplingPoint
        fields = [
            "number", "geometry", "date", "invasive", "permission", "purpose", "campaign",
            "taken_by", "new_taker", "trace", "note",
        ]  # fmt: skip
        labels = {
            "number": "Number on this face",
            "date": "When",
            "invasive": "Material was removed",
            "permission": "Who allowed it",
            "purpose": "The question it was to answer",
        }
        help_texts = {
            "invasive": "",
            "purpose": "",
            "permission": "Name and reference; needed when material was removed.",
        }
        widgets = {
            "purpose": forms.Textarea(attrs={"rows": 2}),
            "note": forms.Textarea(attrs={"rows": 2}),
        }

    def set_up(self) -> None:
        super().set_up()
        if isinstance(set_on_map := self.initial.get("geometry"), str):
            with suppress(ValueError):
                self.initial["geometry"] = read_shape(set_on_map, Shape.POINT)
        point: SamplingPoint = self.instance
        item = point.face.object
        fields: dict[str, Any] = self.fields
        fields["campaign"].queryset = standing(Campaign.objects.filter(object=item), point.campaign)
        fields["taken_by"].queryset = standing(Person.objects.all(), point.taken_by)
        fields["trace"].of(item)

    def clean_geometry(self) -> Any:
        place = self.cleaned_data["geometry"]
        if place.geom_type != "Point":
            raise forms.ValidationError("A sampling point is one pair of numbers, such as 120, 80.")
        refuse_outside(place, self.instance.face)
        return place

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("invasive") and not cleaned.get("permission"):
            self.add_error("permission", "Say who allowed material to be removed.")
        return cleaned

    def prepare(self) -> None:
        if name := self.cleaned_data["new_taker"]:
            (self.instance.taken_by,) = new_people(self.user, name.replace(",", " "))


class SampleForm(Numbered):
    """The material taken at a sampling point."""

    class Meta:
        model = Sample
        fields = ["number", "container", "amount", "remains", "kept_at", "note"]
        labels = {"amount": "How much was taken", "remains": "What is left", "kept_at": "Kept at"}
        help_texts = {
            "number": "Of the department's whole collection of samples.",
            "amount": "Size or mass: 0.4 × 0.3 mm.",
            "remains": "",
        }
        error_messages = {
            "number": {"unique": "Another sample has this number: give the next one."}
        }
        widgets = {"note": forms.Textarea(attrs={"rows": 2})}


class PreparationForm(Numbered):
    """What was made of a sample; a photograph of it may come with the form."""

    new_image = forms.FileField(
        label="Photograph not in the list",
        required=False,
        help_text="TIFF, JPEG, PNG or JPEG 2000; kept unaltered, with its SHA-256, among the "
        "images of the object.",
        widget=forms.FileInput(attrs={"accept": ",".join(ENDINGS)}),
    )
    _examined: Examined | None = None

    class Meta:
        model = Preparation
        fields = ["kind", "number", "medium", "image", "new_image", "note"]
        labels = {"medium": "Embedded or mounted in", "image": "Photograph"}
        help_texts = {"medium": "Resin, mounting medium, stub."}
        error_messages = {
            "number": {"unique": "Another preparation has this number: give the next one."}
        }
        widgets = {"note": forms.Textarea(attrs={"rows": 2})}

    def set_up(self) -> None:
        super().set_up()
        item = self.instance.sample.point.face.object
        pictures = Image.objects.filter(object=item, kind=ImageKind.SECTION)
        self.fields["image"].queryset = standing(pictures, self.instance.image)  # type: ignore[attr-defined]

    def store(self) -> bool:
        """Keep the photograph and the preparation, both or neither."""
        if not (file := self.cleaned_data["new_image"]):
            return super().store()
        path = lay(file)
        try:
            return self._store_with(path, str(file.name))
        finally:
            shutil.rmtree(path.parent, ignore_errors=True)

    def _store_with(self, path: Path, name: str) -> bool:
        before, stored = self.instance.image, False
        try:
            self._examined = examine(path, name, self.instance.sample.point.face.object)
        except KnownError as known:
            self.instance.image = known.image
        except OriginalError as error:
            self.add_error("new_image", f"“{name}” {error}")
            return False
        try:
            stored = super().store()
        finally:
            image = self.instance.image
            if not stored and self._examined and image != before:
                default_storage.delete(image.file.name)
        return stored

    def prepare(self) -> None:
        if self._examined:
            item = self.instance.sample.point.face.object
            words = {"kind": ImageKind.SECTION, "title": f"Photograph of {self.instance.number}"}
            described = describe(words, self._examined.filename, many=False)
            self.instance.image = keep(self._examined, item, described)


class NumberingForm(RecordForm):
    """How an object's points, samples and preparations are numbered."""

    intro = (
        "The next number is proposed by these rules wherever one is asked for, and can be written "
        "over there. # stands for a counter that goes on from the highest number given (## for two "
        "digits: 01); {object}, {point} and {sample} stand for their numbers. Without a counter a "
        "second one gets -2. Numbers given already stay as they are."
    )

    class Meta:
        model = NumberingRule
        fields = ["points", "samples", "preparations"]
        labels = {"points": "Sampling points"}
        help_texts = {
            "points": "Counted over all faces of the object: P#.",
            "samples": "Unique in the department: {object}-{point}.",
            "preparations": "Unique in the department: {object}-X#, or {sample}-X#.",
        }

    def _rule(self, name: str) -> str:
        rule = str(self.cleaned_data[name]).strip()
        try:
            check(rule, WORDS[name])
        except RuleError as error:
            raise forms.ValidationError(str(error)) from error
        return rule

    def clean_points(self) -> str:
        return self._rule("points")

    def clean_samples(self) -> str:
        return self._rule("samples")

    def clean_preparations(self) -> str:
        return self._rule("preparations")


class LayerForm(RecordForm):
    """One stratum of a cross-section."""

    colour_hex = ColourField()
    munsell = MunsellField(help_text="Hue, value and chroma: 2.5YR 5/6; for a grey N 7.")
    trace = TraceField(
        label="Part of which trace",
        required=False,
        help_text="Ties the layer to what is seen on the surface: the order of the layers then "
        "bears on the history.",
    )

    class Meta:
        model = Layer
        fields = [
            "number", "description", "thickness_min_um", "thickness_max_um", "colour", "munsell",
            "colour_hex", "fluorescence", "particles", "interpretation", "trace",
        ]  # fmt: skip
        labels = {
            "number": "Number, from the bottom",
            "thickness_min_um": "Thickness from (µm)",
            "thickness_max_um": "to (µm)",
            "colour": "Colour in words",
            "interpretation": "What it is taken for",
        }
        help_texts = {
            "number": "1 is the lowest.",
            "particles": "Colour, shape, size in µm, how many.",
            "interpretation": "First paint, retouching, varnish …, and what speaks for it.",
        }
        widgets = {
            "particles": forms.Textarea(attrs={"rows": 2}),
            "interpretation": forms.Textarea(attrs={"rows": 2}),
        }

    def set_up(self) -> None:
        layer: Layer = self.instance
        self.fields["trace"].of(layer.preparation.sample.point.face.object)  # type: ignore[attr-defined]
        if self.is_new:
            above = layer.preparation.layers.filter(withdrawn_at=None).aggregate(n=Max("number"))
            self.initial["number"] = (above["n"] or 0) + 1

    def prepare(self) -> None:
        draw_as_seen(self.instance)
