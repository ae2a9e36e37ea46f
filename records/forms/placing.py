"""The form that places an image on a face by pairs of a pixel and a face point."""

from typing import Any

from django import forms

from records.forms.base import RecordForm, standing
from records.forms.rows import RowsField
from records.imaging.placement import METHODS, PlacementError, Placing
from records.models import Face, Placement
from records.placing import UncheckedError, carried_along, references, settle
from records.quantities import millimetres
from records.tasks import request_redrawing

FOUND = "machine"  # how a point is marked that the program proposed and a person accepted


class ControlPointsField(RowsField):
    """Pairs of a pixel and a place on the face."""

    columns = {
        "column": "Pixel from the left",
        "row": "Pixel from the top",
        "x": "x on the face (mm)",
        "y": "y on the face (mm)",
        "found": "Found by",
    }
    numbers = ("column", "row", "x", "y")

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.widget.template_name = "records/forms/points.html"

    def clean(self, value: Any) -> list[dict[str, Any]]:
        points = []
        for number, row in enumerate(value or [], 1):
            try:
                column, down, x, y = (float(row[key].replace(",", ".")) for key in self.numbers)
            except ValueError as error:
                raise forms.ValidationError(
                    f"Row {number} needs four numbers: pixel from the left and from the top, "
                    "x and y in millimetres."
                ) from error
            point: dict[str, Any] = {"px": [column, down], "mm": [x, y]}
            if row.get("found") == FOUND:
                point["found"] = FOUND
            points.append(point)
        if self.required and not points:
            raise forms.ValidationError("Set at least two points.")
        return points

    def unpack(self, value: Any) -> list[dict[str, str]]:
        return [
            {
                "column": _plain(point["px"][0]),
                "row": _plain(point["px"][1]),
                "x": _plain(point["mm"][0]),
                "y": _plain(point["mm"][1]),
                "found": point.get("found", ""),
            }
            for point in value
        ]


def _plain(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


class ReferenceField(forms.ModelChoiceField):  # type: ignore[type-arg]
    def label_from_instance(self, placement: Placement) -> str:
        words = f"{placement.image}, ± {millimetres(placement.uncertainty_mm)}"
        behind = placement.face_id != self.here
        return f"{words}, {placement.face} seen through" if behind else words

    here: int | None = None


class PlacementForm(RecordForm):
    """Places an image on a face by pairs of a pixel and a face point."""

    reference = ReferenceField(
        Placement.objects.none(),
        required=False,
        label="Points are set on",
        empty_label="the face itself, measured on it",
        help_text="Set on a placed image, they carry its uncertainty too.",
    )
    method = forms.ChoiceField(
        label="Transformation",
        choices=[(name, method.words) for name, method in METHODS.items()],
        help_text="The simplest that fits: more freedom hides measuring errors.",
    )
    control_points = ControlPointsField(
        required=True,
        help_text="Points that can be found in the image and measured on the face, spread to its "
        "edges. One more than the method needs lets the error be seen.",
    )
    stated_mm = forms.FloatField(
        label="Uncertainty stated by hand (mm)",
        required=False,
        min_value=0,
        help_text="Only where the points cannot show it, or show too little of it.",
    )

    class Meta:
        model = Placement
        fields = ["face", "reference", "method", "control_points"]

    def set_up(self) -> None:
        placement: Placement = self.instance
        fields: dict[str, Any] = self.fields
        faces = Face.objects.filter(object=placement.image.object)
        fields["face"].queryset = standing(faces, placement.face if placement.face_id else None)
        face = self.face_chosen()
        if face is not None:
            self.initial["face"] = face.pk
            fields["reference"].here = face.pk
            fields["reference"].queryset = references(face, placement.image)
        fields["control_points"].widget.spare = 2 if placement.control_points else 4
        if not self.is_new and placement.uncertainty_basis == "stated":
            fields["stated_mm"].initial = placement.uncertainty_mm

    def face_chosen(self) -> Face | None:
        """The face that the form speaks of: as sent, asked for, kept, or the object's first."""
        faces = self.fields["face"].queryset  # type: ignore[attr-defined]
        sent = self.data.get("face") or self.initial.get("face") or self.instance.face_id
        if str(sent or "").isdigit():
            found: Face | None = faces.filter(pk=sent).first()
            if found:
                return found
        first: Face | None = faces.first()
        return first

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        self.placing: Placing | None = None
        self.carried: list[Placement] = []
        if self.errors:
            return cleaned
        for name in ("face", "reference", "method", "control_points"):
            setattr(self.instance, name, cleaned[name])
        try:
            self.placing = settle(self.instance, cleaned["stated_mm"])
            self.carried = carried_along(self.instance)
        except UncheckedError as error:
            self.add_error("stated_mm", str(error))
        except PlacementError as error:
            self.add_error("control_points", str(error))
        return cleaned

    def store_parts(self) -> None:
        for placement in self.carried:
            placement.save()
        for placement in [self.instance, *self.carried]:
            request_redrawing(placement)
