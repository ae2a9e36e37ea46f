"""Sampling points, samples, preparations and layers."""

from analyses.filtersets import (
    LayerFilterSet,
    PreparationFilterSet,
    SampleFilterSet,
    SamplingPointFilterSet,
)
from analyses.models import Layer, Preparation, Sample, SamplingPoint
from records.api.base import KEPT_BY_PROGRAM, PlacedSerializer, RecordSerializer, RecordViewSet


class SamplingPointSerializer(PlacedSerializer):
    class Meta:
        model = SamplingPoint
        geo_field = "geometry"
        fields = "__all__"
        read_only_fields = (*KEPT_BY_PROGRAM, "date_earliest", "date_latest")


class SampleSerializer(RecordSerializer):
    class Meta:
        model = Sample
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM


class PreparationSerializer(RecordSerializer):
    class Meta:
        model = Preparation
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM


class LayerSerializer(RecordSerializer):
    class Meta:
        model = Layer
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM


class SamplingPointViewSet(RecordViewSet):
    queryset = SamplingPoint.objects.all()
    serializer_class = SamplingPointSerializer
    filterset_class = SamplingPointFilterSet
    writers = "writes_analyses"


class SampleViewSet(RecordViewSet):
    queryset = Sample.objects.all()
    serializer_class = SampleSerializer
    filterset_class = SampleFilterSet
    writers = "writes_analyses"


class PreparationViewSet(RecordViewSet):
    queryset = Preparation.objects.all()
    serializer_class = PreparationSerializer
    filterset_class = PreparationFilterSet
    writers = "writes_analyses"


class LayerViewSet(RecordViewSet):
    queryset = Layer.objects.all()
    serializer_class = LayerSerializer
    filterset_class = LayerFilterSet
    writers = "writes_analyses"
