"""Stored reconstructions (read only), evidence set aside, and signed amendments."""

from typing import Any

from django.contrib.contenttypes.models import ContentType
from django.db.models import Model
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.viewsets import ReadOnlyModelViewSet

from records.api.base import KEPT_BY_PROGRAM, RecordSerializer, RecordViewSet
from records.filtersets import AmendmentFilterSet, ReconstructionFilterSet, SetAsideFilterSet
from records.models import Amendment, Reconstruction, SetAside


class ReconstructionSerializer(serializers.ModelSerializer[Any]):
    class Meta:
        model = Reconstruction
        fields = "__all__"


class SetAsideSerializer(RecordSerializer):
    class Meta:
        model = SetAside
        fields = "__all__"
        read_only_fields = (*KEPT_BY_PROGRAM, "by")


class AmendmentSerializer(RecordSerializer):
    class Meta:
        model = Amendment
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM


class ReconstructionViewSet(ReadOnlyModelViewSet[Any]):
    """Computed histories with the case that each rests on."""

    queryset = Reconstruction.objects.all()
    serializer_class = ReconstructionSerializer
    filterset_class = ReconstructionFilterSet


class SetAsideViewSet(RecordViewSet):
    queryset = SetAside.objects.all()
    serializer_class = SetAsideSerializer
    filterset_class = SetAsideFilterSet
    recorded_as = "by"


class AmendmentViewSet(RecordViewSet):
    queryset = Amendment.objects.all()
    serializer_class = AmendmentSerializer
    filterset_class = AmendmentFilterSet
    http_method_names = ["get", "post", "head", "options"]
    recorded_as = "signed_by"

    def about(self, request: Request) -> type[Model]:
        """Whoever may write the amended record may amend it."""
        given = request.data if isinstance(request.data, dict) else {}
        key = str(given.get("content_type", ""))
        kind = ContentType.objects.filter(pk=key).first() if key.isdecimal() else None
        return (kind and kind.model_class()) or Amendment
