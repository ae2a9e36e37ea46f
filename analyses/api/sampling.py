"""Sampling points, samples, preparations and layers, and how they are numbered."""

from typing import Any

from rest_framework.serializers import FloatField, ListField, Serializer, ValidationError

from analyses.filtersets import (
    LayerFilterSet,
    NumberingRuleFilterSet,
    PreparationFilterSet,
    SampleFilterSet,
    SamplingPointFilterSet,
)
from analyses.measuring import boundaries_on, inside
from analyses.microscopy import MicroscopyError, munsell, um_per_px
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


def points(least: int, most: int | None = None) -> ListField:
    """Pixels as [[column, row], …]."""
    pair = ListField(child=FloatField(), min_length=2, max_length=2)
    return ListField(child=pair, min_length=least, max_length=most)


class ScaleSerializer(Serializer[Any]):
    """Two points of a photograph and how far they are apart."""

    points = points(2, 2)
    length_um = FloatField()


class PreparationSerializer(RecordSerializer):
    boundaries = ListField(child=points(2), required=False)

    class Meta:
        model = Preparation
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """What is drawn lies on the photograph, and the scale is what the two points tell."""
        attrs = super().validate(attrs)
        image = attrs.get("image", getattr(self.instance, "image", None))
        name = "boundaries"
        try:
            if attrs.get("boundaries"):
                attrs["boundaries"] = boundaries_on(image, attrs["boundaries"])
            name = "scale"
            if attrs.get("scale"):
                scale = ScaleSerializer(data=attrs["scale"])
                if not scale.is_valid():
                    raise ValidationError({"scale": scale.errors})
                said = scale.validated_data
                line = inside(image, said["points"], "The scale")
                attrs |= {"scale": dict(said), "um_per_px": um_per_px(line, said["length_um"])}
        except MicroscopyError as error:
            raise ValidationError({name: [str(error)]}) from error
        return attrs


class LayerSerializer(RecordSerializer):
    class Meta:
        model = Layer
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM

    def validate_munsell(self, text: str) -> str:
        try:
            return munsell(text) if text else ""
        except MicroscopyError as error:
            raise ValidationError(str(error)) from error


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


class SampleViewSet(RecordViewSet):
    queryset = Sample.objects.all()
    serializer_class = SampleSerializer
    filterset_class = SampleFilterSet


class PreparationViewSet(RecordViewSet):
    queryset = Preparation.objects.all()
    serializer_class = PreparationSerializer
    filterset_class = PreparationFilterSet


class LayerViewSet(RecordViewSet):
    queryset = Layer.objects.all()
    serializer_class = LayerSerializer
    filterset_class = LayerFilterSet


class NumberingRuleViewSet(RecordViewSet):
    queryset = NumberingRule.objects.all()
    serializer_class = NumberingRuleSerializer
    filterset_class = NumberingRuleFilterSet
