"""Stored reconstructions (read only), evidence set aside, and signed amendments."""

from typing import Any

from rest_framework import serializers
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
    writers = "writes_analyses"
    recorded_as = "signed_by"
