"""Mosaics and their frames; what was worked out of them is read only."""

from drf_spectacular.utils import extend_schema
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from records import mosaics
from records.api.base import KEPT_BY_PROGRAM, RecordSerializer, RecordViewSet
from records.filtersets import RecordFilterSet
from records.models import Mosaic, MosaicFrame


class MosaicSerializer(RecordSerializer):
    class Meta:
        model = Mosaic
        fields = "__all__"
        read_only_fields = (*KEPT_BY_PROGRAM, "stage", "error", "report", "result")


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
    queryset = Mosaic.objects.all()
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


class MosaicFrameViewSet(RecordViewSet):
    """Frames are images of the examination of their mosaic."""

    queryset = MosaicFrame.objects.all()
    serializer_class = MosaicFrameSerializer
    filterset_class = MosaicFrameFilterSet

    def stated_by_program(self, serializer: object) -> dict[str, object]:
        """The SHA-256 that was stated when the image came."""
        image = serializer.validated_data.get("image")  # type: ignore[attr-defined]
        return {"sha256": image.sha256} if image else {}
