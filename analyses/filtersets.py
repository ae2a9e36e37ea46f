"""How lists of the laboratory are narrowed, by pages and programs alike."""

from typing import Any

import django_filters as filters

from analyses.models import (
    Analysis,
    Identification,
    Layer,
    NumberingRule,
    Preparation,
    Reading,
    Sample,
    SamplingPoint,
)
from records.filtersets import PlacedFilterSet, RecordFilterSet
from records.models import Object


def of_object(path: str) -> Any:
    """A filter by object along a path of foreign keys."""
    return filters.ModelChoiceFilter(queryset=Object.objects.all(), field_name=path, label="Object")


class AtTargetFilterSet(RecordFilterSet):
    """Records of a sampling point, a sample or a layer, found by the object they go back to."""

    object = filters.ModelChoiceFilter(
        queryset=Object.objects.all(), method="of_object", label="Object"
    )

    def of_object(self, queryset: Any, name: str, value: Object) -> Any:
        return queryset.of_object(value)


class SamplingPointFilterSet(PlacedFilterSet):
    object = of_object("face__object")

    class Meta:
        model = SamplingPoint
        fields = ["object", "face", "campaign", "invasive", "trace", "number"]


class SampleFilterSet(RecordFilterSet):
    object = of_object("point__face__object")

    class Meta:
        model = Sample
        fields = ["object", "point", "number"]


class PreparationFilterSet(RecordFilterSet):
    object = of_object("sample__point__face__object")

    class Meta:
        model = Preparation
        fields = ["object", "sample", "kind"]


class LayerFilterSet(RecordFilterSet):
    object = of_object("preparation__sample__point__face__object")

    class Meta:
        model = Layer
        fields = ["object", "preparation", "trace"]


class NumberingRuleFilterSet(RecordFilterSet):
    object = of_object("object")

    class Meta:
        model = NumberingRule
        fields = ["object"]


class AnalysisFilterSet(AtTargetFilterSet):
    technique = filters.CharFilter(field_name="technique__code", label="Technique (code)")

    class Meta:
        model = Analysis
        fields = ["object", "technique", "campaign", "point", "sample", "layer"]


class ReadingFilterSet(RecordFilterSet):
    label = filters.CharFilter(lookup_expr="iexact", label="What was read")

    class Meta:
        model = Reading
        fields = ["analysis", "kind", "label", "amount"]


class IdentificationFilterSet(AtTargetFilterSet):
    material = filters.CharFilter(field_name="material__code", label="Material (code)")

    class Meta:
        model = Identification
        fields = [
            "object",
            "material",
            "decision",
            "confidence",
            "trace",
            "point",
            "sample",
            "layer",
        ]
