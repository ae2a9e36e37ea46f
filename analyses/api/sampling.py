"""Sampling points, samples, preparations and layers, and how they are numbered."""

from typing import Any

from rest_framework.serializers import ValidationError

from analyses.filtersets import (
    LayerFilterSet,
    NumberingRuleFilterSet,
    PreparationFilterSet,
    SampleFilterSet,
    SamplingPointFilterSet,
)
from analyses.models import Layer, NumberingRule, Preparation, Sample, SamplingPoint
from analyses.numbering import WORDS, RuleError, check
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


class NumberingRuleSerializer(RecordSerializer):
    class Meta:
        model = NumberingRule
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        attrs, refused = super().validate(attrs), {}
        for name, words in WORDS.items():
            try:
                check(str(attrs.get(name) or getattr(self.instance, name, "#")), words)
            except RuleError as error:
                refused[name] = str(error)
        if refused:
            raise ValidationError(refused)
        return attrs


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


class NumberingRuleViewSet(RecordViewSet):
    queryset = NumberingRule.objects.all()
    serializer_class = NumberingRuleSerializer
    filterset_class = NumberingRuleFilterSet
    writers = "writes_analyses"
