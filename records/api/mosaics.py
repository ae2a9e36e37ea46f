"""Mosaics and their frames; what was worked out of them is read only."""

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from records import mosaics
from records.api.base import KEPT_BY_PROGRAM, RecordSerializer, RecordViewSet
from records.filtersets import RecordFilterSet
from records.forms.mosaics import MosaicForm
from records.models import Image, Mosaic, MosaicFrame


class Images(serializers.PrimaryKeyRelatedField[Image]):
    """Images by their numbers."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(queryset=Image.objects.all(), **kwargs)


class MosaicSerializer(RecordSerializer):
    """A new mosaic may come with its frames: images of the examination in `frames`, or a `folder`
    of the ingest folder; without either, frames are added one by one as mosaic-frames. What is
    left in the overlaps is read from `report/`."""

    frames = Images(many=True, write_only=True, required=False)
    darks = Images(many=True, write_only=True, required=False)
    flats = Images(many=True, write_only=True, required=False)
    folder = serializers.CharField(write_only=True, required=False)
    positions = serializers.DictField(
        child=serializers.ListField(child=serializers.FloatField(), min_length=2, max_length=2),
        write_only=True,
        required=False,
        help_text="x, y by the name of each frame, for a layout by a table",
    )
    laid: MosaicForm | None = None

    class Meta:
        model = Mosaic
        exclude = ("report",)
        read_only_fields = (*KEPT_BY_PROGRAM, "stage", "error", "result")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        checked = super().validate(attrs)
        parts = {name: checked.pop(name, None) for name in ("folder", *PARTS, "positions")}
        given = {name: value for name, value in parts.items() if value}
        if self.instance is not None and given:
            raise ValidationError(
                dict.fromkeys(given, "Frames of a mosaic that is there are mosaic-frames.")
            )
        if given:
            self.laid = self._laid(checked, given)
        return checked

    def _laid(self, checked: dict[str, Any], given: dict[str, Any]) -> MosaicForm:
        """The frames checked as those of the page are."""
        told = {name: getattr(value, "pk", value) for name, value in checked.items()}
        told |= {name: [image.pk for image in given.get(name, ())] for name in PARTS}
        told["folder"] = given.get("folder", "")
        places = given.get("positions", {}).items()
        told["positions"] = "\n".join(f"{name}\t{x}\t{y}" for name, (x, y) in places)
        item = Mosaic(examination=checked["examination"])
        for name in MosaicForm.Meta.fields:
            told.setdefault(name, getattr(item, name))
        form = MosaicForm(told, instance=item, user=self.context["request"].user)
        if not form.is_valid():
            raise ValidationError(form.errors.get_json_data())
        return form

    def create(self, validated_data: dict[str, Any]) -> Any:
        made = super().create(validated_data)
        if self.laid is not None:
            self.laid.instance = made
            self.laid.store_parts()
        return made


PARTS = ("frames", "darks", "flats")


class MosaicFrameSerializer(RecordSerializer):
    class Meta:
        model = MosaicFrame
        fields = "__all__"
        read_only_fields = (*KEPT_BY_PROGRAM, "file", "sha256", "place", "unplaced_why")


class MosaicFilterSet(RecordFilterSet):
    class Meta:
        model = Mosaic
        fields = ["examination", "stage"]


class MosaicFrameFilterSet(RecordFilterSet):
    class Meta:
        model = MosaicFrame
        fields = ["mosaic", "role", "image"]


class MosaicViewSet(RecordViewSet):
    queryset = Mosaic.objects.defer("report")
    serializer_class = MosaicSerializer
    filterset_class = MosaicFilterSet

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def join(self, request: Request, pk: str | None = None) -> Response:
        """Begin to join the frames, or go on after an interruption."""
        item = self.get_object()
        mosaics.begin(item)
        item.refresh_from_db()
        return Response(self.get_serializer(item).data)

    @extend_schema(responses=OpenApiTypes.OBJECT)
    @action(detail=True)
    def report(self, request: Request, pk: str | None = None) -> Response:
        """Stage, steps done of it, and once frames are adjusted: places, residuals, exposures."""
        item = self.get_object()
        done, total = mosaics.progress(item)
        told = {"stage": item.stage, "error": item.error, "done": done, "total": total}
        return Response(told | (item.report or {}))


class MosaicFrameViewSet(RecordViewSet):
    """Frames are images of the examination of their mosaic."""

    queryset = MosaicFrame.objects.all()
    serializer_class = MosaicFrameSerializer
    filterset_class = MosaicFrameFilterSet

    def stated_by_program(self, serializer: object) -> dict[str, object]:
        """The SHA-256 that was stated when the image came."""
        image = serializer.validated_data.get("image")  # type: ignore[attr-defined]
        return {"sha256": image.sha256} if image else {}
