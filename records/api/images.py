"""Images with their fixity, and their places on faces."""

import shutil
from typing import Any

from django.db import IntegrityError
from rest_framework import serializers
from rest_framework.exceptions import ValidationError

from records.api.base import (
    KEPT_BY_PROGRAM,
    PlacedSerializer,
    RecordSerializer,
    RecordViewSet,
    refusal,
)
from records.arrivals import KnownError, examine, keep, lay
from records.changes import change
from records.filtersets import ImageFilterSet, PlacementFilterSet
from records.imaging.originals import OriginalError
from records.imaging.placement import METHODS, PlacementError
from records.models import Image, Placement
from records.placing import carried_along, references, settle
from records.tasks import request_pyramid, request_redrawing

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
READ_FROM_FILE = (
    "sha256",
    "byte_size",
    "width_px",
    "height_px",
    "media_type",
    "bands",
    "sample_type",
    "metadata",
    "histogram",
)


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

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if self.instance is not None and "file" in attrs:
            raise ValidationError({"file": "The original is never altered. Add another image."})
        return super().validate(attrs)


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
        self.carried: list[Placement] = []
        try:
            settle(placement, stated_mm)
            placement.pk = kept.pk if kept is not None else None
            self.carried = carried_along(placement)
        except PlacementError as error:
            raise ValidationError({"control_points": str(error)}) from error
        return attrs | {name: getattr(placement, name) for name in FOLLOWS_FROM_POINTS}

    def save(self, **kwargs: Any) -> Any:
        placement = super().save(**kwargs)
        for one in self.carried:
            one.save()
        for one in [placement, *self.carried]:
            request_redrawing(one)
        return placement


class ImageViewSet(RecordViewSet):
    """Images of objects. A file comes with POST as `multipart/form-data` and is checked as any."""

    http_method_names = ["get", "put", "patch", "post", "head", "options"]
    queryset = Image.objects.all()
    serializer_class = ImageSerializer
    filterset_class = ImageFilterSet

    def perform_create(self, serializer: serializers.BaseSerializer[Any]) -> None:
        described = serializer.validated_data
        file, item = described.pop("file"), described.pop("object")
        why = described.pop("why", "") or "recorded"
        path = lay(file)
        try:
            found = examine(path, str(file.name), item)
            with change(user=self._user(), why=why):
                serializer.instance = keep(found, item, described)
        except (OriginalError, KnownError) as error:
            raise ValidationError({"file": [f"“{file.name}” {error}"]}) from error
        except IntegrityError as error:
            raise refusal(error, Image) from error
        finally:
            shutil.rmtree(path.parent, ignore_errors=True)

    def perform_update(self, serializer: serializers.BaseSerializer[Any]) -> None:
        before = serializer.instance.window if serializer.instance else None
        super().perform_update(serializer)
        if serializer.instance and serializer.instance.window != before:
            request_pyramid(serializer.instance.pk)


class PlacementViewSet(RecordViewSet):
    queryset = Placement.objects.select_related("image", "face", "reference")
    serializer_class = PlacementSerializer
    filterset_class = PlacementFilterSet
