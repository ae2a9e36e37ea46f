"""How lists of the laboratory are narrowed, by pages and programs alike."""

from typing import Any

import django_filters as filters
from django.db.models import Q

from analyses.models import (
    Analysis,
    Evaluation,
    Identification,
    Layer,
    NumberingRule,
    Preparation,
    Reading,
    Sample,
    SamplingPoint,
)
from records.filtersets import ListFilterSet, PlacedFilterSet, RecordFilterSet
from records.models import Object, Technique


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
        fields = ["object", "technique", "campaign", "point", "sample", "layer", "reference_for"]


class ReferenceListFilterSet(ListFilterSet):
    """Reference curves on their page, found by words of the material."""

    technique = filters.ModelChoiceFilter(
        queryset=Technique.objects.filter(analyses__reference_for__isnull=False).distinct(),
        label="Technique",
        empty_label="Any",
    )

    class Meta:
        model = Analysis
        fields = ["q", "technique"]

    def search(self, queryset: Any, name: str, value: str) -> Any:
        for word in value.split():
            queryset = queryset.filter(
                Q(reference_for__label__icontains=word) | Q(reference_for__code__icontains=word)
            )
        return queryset


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


class EvaluationFilterSet(filters.FilterSet):
    """Evaluations, found by the analysis, its object and technique, and by what was found."""

    object = filters.ModelChoiceFilter(
        queryset=Object.objects.all(), method="of_object", label="Object"
    )
    technique = filters.CharFilter(field_name="analysis__technique__code", label="Technique (code)")
    found = filters.CharFilter(
        method="with_finding", label="Code of a finding: an element, a phase, a group of bands"
    )
    done = filters.BooleanFilter(
        field_name="done_at", lookup_expr="isnull", exclude=True, label="Computed, or in vain"
    )

    class Meta:
        model = Evaluation
        fields = ["object", "analysis", "technique", "found", "done"]

    def of_object(self, queryset: Any, name: str, value: Object) -> Any:
        return queryset.filter(analysis__in=Analysis.objects.of_object(value))

    def with_finding(self, queryset: Any, name: str, value: str) -> Any:
        return queryset.filter(result__findings__contains=[{"code": value}])
