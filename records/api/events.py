"""Treatments, other occurrences, and what they did to traces."""

from records.api.base import KEPT_BY_PROGRAM, PlacedSerializer, RecordSerializer, RecordViewSet
from records.filtersets import (
    EffectFilterSet,
    OccurrenceFilterSet,
    TreatmentAreaFilterSet,
    TreatmentFilterSet,
)
from records.models import Effect, Occurrence, Treatment, TreatmentArea


class TreatmentSerializer(RecordSerializer):
    class Meta:
        model = Treatment
        fields = "__all__"
        read_only_fields = (*KEPT_BY_PROGRAM, "date_earliest", "date_latest")


class TreatmentAreaSerializer(PlacedSerializer):
    class Meta:
        model = TreatmentArea
        geo_field = "geometry"
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM


class OccurrenceSerializer(RecordSerializer):
    class Meta:
        model = Occurrence
        fields = "__all__"
        read_only_fields = (*KEPT_BY_PROGRAM, "date_earliest", "date_latest")


class EffectSerializer(RecordSerializer):
    class Meta:
        model = Effect
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM


class TreatmentViewSet(RecordViewSet):
    queryset = Treatment.objects.prefetch_related("people", "sources", "materials")
    serializer_class = TreatmentSerializer
    filterset_class = TreatmentFilterSet


class TreatmentAreaViewSet(RecordViewSet):
    queryset = TreatmentArea.objects.all()
    serializer_class = TreatmentAreaSerializer
    filterset_class = TreatmentAreaFilterSet


class OccurrenceViewSet(RecordViewSet):
    queryset = Occurrence.objects.prefetch_related("sources")
    serializer_class = OccurrenceSerializer
    filterset_class = OccurrenceFilterSet


class EffectViewSet(RecordViewSet):
    queryset = Effect.objects.all()
    serializer_class = EffectSerializer
    filterset_class = EffectFilterSet
