"""Images with their fixity, and their places on faces."""

from typing import Any

from rest_framework import serializers
from rest_framework.exceptions import ValidationError

from records.api.base import KEPT_BY_PROGRAM, PlacedSerializer, RecordSerializer, RecordViewSet
from records.filtersets import ImageFilterSet, PlacementFilterSet
from records.imaging.placement import METHODS, PlacementError
from records.models import Image, Placement
from records.placing import REDRAWN, references, settle
from records.tasks import redraw_placement

FOLLOWS_FROM_POINTS = (
    "matrix",
    "rms_mm",
    "uncertainty_mm",
    "uncertainty_basis",
    "fit",
    "footprint",
    "rectified",
    "rectified_frame",
    "rectified_progress",
    "rectified_error",
)
READ_FROM_FILE = ("sha256", "byte_size", "width_px", "height_px")


class ControlPoint(serializers.Serializer[Any]):
    """A pixel of the image and its place on the face."""

    px = serializers.ListField(child=serializers.FloatField(), min_length=2, max_length=2)
    mm = serializers.ListField(child=serializers.FloatField(), min_length=2, max_length=2)
    found = serializers.ChoiceField(["machine"], required=False)


class ImageSerializer(RecordSerializer):
    class Meta:
        model = Image
        fields = "__all__"
        read_only_fields = (
            *KEPT_BY_PROGRAM,
            *READ_FROM_FILE,
            "date_earliest",
            "date_latest",
            "pyramid",
            "pyramid_progress",
            "pyramid_error",
        )


class PlacementSerializer(PlacedSerializer):
    """Pairs of points come in; the transformation, its error and the footprint follow from them."""

    method = serializers.ChoiceField([*METHODS], default="similarity")
    control_points = ControlPoint(
        many=True, help_text="px: column and row; mm: x and y on the face"
    )
    stated_mm = serializers.FloatField(
        write_only=True,
        required=False,
        min_value=0,
        help_text="An uncertainty stated by hand, for points that show none or too little",
    )

    class Meta:
        model = Placement
        geo_field = "footprint"
        fields = "__all__"
        read_only_fields = (*KEPT_BY_PROGRAM, *FOLLOWS_FROM_POINTS)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        attrs = super().validate(attrs)
        stated_mm = attrs.pop("stated_mm", None)
        kept = self.instance
        placement = Placement(
            **{
                name: attrs.get(name, getattr(kept, name, None))
                for name in ("image", "face", "reference", "method", "control_points")
            }
        )
        if placement.face.object_id != placement.image.object_id:
            raise ValidationError({"face": "The face is one of another object."})
        if placement.reference and not (
            references(placement.face, placement.image).filter(pk=placement.reference.pk).exists()
        ):
            raise ValidationError(
                {"reference": "Points are set on an image placed on this face, or behind it."}
            )
        try:
            settle(placement, stated_mm)
        except PlacementError as error:
            raise ValidationError({"control_points": str(error)}) from error
        return attrs | {name: getattr(placement, name) for name in FOLLOWS_FROM_POINTS}


class ImageViewSet(RecordViewSet):
    """Files arrive through the images room, where they are checked; here they are described."""

    http_method_names = ["get", "put", "patch", "post", "head", "options"]
    queryset = Image.objects.all()
    serializer_class = ImageSerializer
    filterset_class = ImageFilterSet


class PlacementViewSet(RecordViewSet):
    queryset = Placement.objects.select_related("image", "face", "reference")
    serializer_class = PlacementSerializer
    filterset_class = PlacementFilterSet

    def _save(self, serializer: serializers.BaseSerializer[Any], default: str) -> None:
        super()._save(serializer, default)
        placement: Any = serializer.instance
        if placement.method in REDRAWN:
            redraw_placement.defer(placement_id=placement.pk)
