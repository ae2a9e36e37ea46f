"""Images with their fixity, and their places on faces."""

from records.api.base import KEPT_BY_PROGRAM, PlacedSerializer, RecordSerializer, RecordViewSet
from records.filtersets import ImageFilterSet, PlacementFilterSet
from records.models import Image, Placement

READ_FROM_FILE = ("sha256", "byte_size", "width_px", "height_px")


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
    class Meta:
        model = Placement
        geo_field = "footprint"
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM


class ImageViewSet(RecordViewSet):
    """Files arrive through the images room, where they are checked; here they are described."""

    http_method_names = ["get", "put", "patch", "post", "head", "options"]
    queryset = Image.objects.all()
    serializer_class = ImageSerializer
    filterset_class = ImageFilterSet


class PlacementViewSet(RecordViewSet):
    queryset = Placement.objects.all()
    serializer_class = PlacementSerializer
    filterset_class = PlacementFilterSet
