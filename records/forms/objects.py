"""Forms of objects, their components, faces and zones, and of people."""

from typing import Any

from django import forms
from django.contrib.gis.geos import Polygon

from records.choices import Shape
from records.forms.base import RecordForm, standing
from records.forms.places import ShapeField, refuse_outside, write_shape
from records.models import Component, Face, Object, Person, Zone


class ObjectForm(RecordForm):
    """What the label of an object says, and how it is built."""

    class Meta:
        model = Object
        fields = [
            "accession_number", "title", "maker", "date", "kind", "materials", "height_mm",
            "width_mm", "depth_mm", "owner", "place", "construction", "note",
        ]  # fmt: skip
        labels = {
            "kind": "Kind of object",
            "height_mm": "Height (mm)",
            "width_mm": "Width (mm)",
            "depth_mm": "Depth (mm)",
            "place": "Where it is now",
        }
        help_texts = {
            "place": "Room, store or borrower.",
            "date": "When it was made, as exactly as you know it: 1951, 1951~, 195X, 1889/1891.",
        }
        widgets = {
            "construction": forms.Textarea(attrs={"rows": 5}),
            "note": forms.Textarea(attrs={"rows": 3}),
        }


class ComponentForm(RecordForm):
    """A part of an object."""

    class Meta:
        model = Component
        fields = ["name", "parent", "materials", "description"]
        labels = {"parent": "Part of"}
        help_texts = {
            "name": "Support, stretcher, frame, board 3 …",
            "parent": "Leave empty for a part of the object itself.",
        }

    def set_up(self) -> None:
        parts = Component.objects.filter(object_id=self.instance.object_id)
        self.fields["parent"].queryset = standing(parts, self.instance.parent)  # type: ignore[attr-defined]

    def clean_parent(self) -> Component | None:
        parent: Component | None = self.cleaned_data["parent"]
        step = parent
        while step is not None:
            if step.pk == self.instance.pk:
                raise forms.ValidationError("A component cannot be a part of itself.")
            step = step.parent
        return parent


class FaceForm(RecordForm):
    """A recordable side: a rectangle by its size, or an outline of its own."""

    width_mm = forms.FloatField(label="Width (mm)", required=False, min_value=0.1)
    height_mm = forms.FloatField(label="Height (mm)", required=False, min_value=0.1)
    outline_text = ShapeField(
        label="Outline, when it is no rectangle",
        required=False,
        shape=Shape.POLYGON,
        help_text="Corners x, y in millimetres divided by semicolons, as seen by someone looking "
        "at the face; WKT and GeoJSON are read too. Leave width and height empty then.",
    )

    class Meta:
        model = Face
        fields = ["name", "kind", "component", "mirror_of", "tolerance_mm", "position"]
        labels = {
            "mirror_of": "The other side of",
            "tolerance_mm": "Tolerance (mm)",
            "position": "Place in lists",
        }
        help_texts = {
            "name": "Recto, verso, left edge …",
            "component": "Leave empty for a side of the object as a whole.",
            "mirror_of": "Recto and verso mirror each other: what is recorded on one side is then "
            "shown behind it on the other.",
            "tolerance_mm": "How far a record may lie outside the outline.",
        }

    def set_up(self) -> None:
        face = self.instance
        own = Face.objects.filter(object_id=face.object_id).exclude(pk=face.pk)
        self.fields["mirror_of"].queryset = standing(  # type: ignore[attr-defined]
            own.filter(mirrored_by__isnull=True, mirror_of__isnull=True), face.mirror_of
        )
        parts = Component.objects.filter(object_id=face.object_id)
        self.fields["component"].queryset = standing(parts, face.component)  # type: ignore[attr-defined]
        if face.pk:
            self._show_outline(face)
        self.order_fields(
            ["name", "kind", "component", "width_mm", "height_mm", "outline_text", "mirror_of"]
        )

    def _show_outline(self, face: Face) -> None:
        width, height = face.size_mm
        if face.outline.equals(Face.rectangle(width, height)):
            self.fields["width_mm"].initial, self.fields["height_mm"].initial = width, height
        else:
            self.fields["outline_text"].initial = write_shape(face.outline)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        width, height = cleaned.get("width_mm"), cleaned.get("height_mm")
        outline = cleaned.get("outline_text")
        if self.errors:
            return cleaned
        if outline is None and not (width and height):
            self.add_error("width_mm", "Give width and height, or an outline.")
        elif outline is not None and (width or height):
            self.add_error("outline_text", "Give either width and height or an outline, not both.")
        elif outline is not None and not isinstance(outline, Polygon):
            self.add_error("outline_text", "An outline is an area: give at least three corners.")
        else:
            self._take(outline or Face.rectangle(width or 0, height or 0))
        return cleaned

    def _take(self, outline: Polygon) -> None:
        left, bottom, _, _ = outline.extent
        if (left, bottom) != (0, 0):
            if self.instance.pk:
                words = f"The lower left corner lies at {left:g}, {bottom:g}; it stays at 0, 0."
                return self.add_error("outline_text", words)
            outline = Polygon(*([(x - left, y - bottom) for x, y in ring] for ring in outline))
        self.instance.outline = outline
        mirror = self.cleaned_data.get("mirror_of")
        if mirror is not None:
            off = abs(mirror.size_mm[0] - outline.extent[2])
            if off > max(mirror.tolerance_mm, self.cleaned_data.get("tolerance_mm") or 0):
                self.add_error(
                    "mirror_of",
                    f"{mirror} is {mirror.size_mm[0]:,.0f} mm wide and this face "
                    f"{outline.extent[2]:,.0f} mm: two sides of one thing are equally wide.",
                )
        return None


class ZoneForm(RecordForm):
    """A named part of a face."""

    geometry = ShapeField(label="Outline")

    class Meta:
        model = Zone
        fields = ["name", "geometry", "note"]
        help_texts = {"name": "As people speak of it: sky, upper left corner, board 3."}

    def clean_geometry(self) -> Any:
        geometry = self.cleaned_data["geometry"]
        if "Polygon" not in geometry.geom_type:
            raise forms.ValidationError("A zone is an area: give at least three corners.")
        refuse_outside(geometry, self.instance.face)
        return geometry


class PersonForm(RecordForm):
    """A name in the records."""

    class Meta:
        model = Person
        fields = ["name", "occupation", "note"]
