"""Controlled vocabularies and the list of materials."""

from typing import Any

from rest_framework import serializers

from records.api.base import KEPT_BY_PROGRAM, RecordSerializer, RecordViewSet
from records.filtersets import (
    MaterialDateFilterSet,
    MaterialFilterSet,
    OccurrenceKindFilterSet,
    TechniqueFilterSet,
    TraceKindFilterSet,
    TreatmentKindFilterSet,
)
from records.models import (
    Material,
    MaterialDate,
    OccurrenceKind,
    Technique,
    TraceKind,
    TreatmentKind,
)
from records.vocabulary.known import REFUSALS


class TraceKindSerializer(RecordSerializer):
    class Meta:
        model = TraceKind
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM


class TreatmentKindSerializer(RecordSerializer):
    class Meta:
        model = TreatmentKind
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM


class OccurrenceKindSerializer(RecordSerializer):
    class Meta:
        model = OccurrenceKind
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM


class TechniqueSerializer(RecordSerializer):
    class Meta:
        model = Technique
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM


class MaterialSerializer(RecordSerializer):
    dates: serializers.Field[Any, Any, Any, Any] = serializers.PrimaryKeyRelatedField(
        many=True, read_only=True
    )

    class Meta:
        model = Material
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        attrs = super().validate(attrs)
        refused = {
            name: said
            for name, refusal in REFUSALS.items()
            if (said := [words for word in attrs.get(name, []) if (words := refusal(word))])
        }
        if refused:
            raise serializers.ValidationError(refused)
        return attrs


class MaterialDateSerializer(RecordSerializer):
    class Meta:
        model = MaterialDate
        fields = "__all__"
        read_only_fields = (*KEPT_BY_PROGRAM, "date_earliest", "date_latest")


class TraceKindViewSet(RecordViewSet):
    queryset = TraceKind.objects.all()
    serializer_class = TraceKindSerializer
    filterset_class = TraceKindFilterSet


class TreatmentKindViewSet(RecordViewSet):
    queryset = TreatmentKind.objects.all()
    serializer_class = TreatmentKindSerializer
    filterset_class = TreatmentKindFilterSet


class OccurrenceKindViewSet(RecordViewSet):
    queryset = OccurrenceKind.objects.all()
    serializer_class = OccurrenceKindSerializer
    filterset_class = OccurrenceKindFilterSet


class TechniqueViewSet(RecordViewSet):
    queryset = Technique.objects.all()
    serializer_class = TechniqueSerializer
    filterset_class = TechniqueFilterSet


class MaterialViewSet(RecordViewSet):
    queryset = Material.objects.prefetch_related("dates")
    serializer_class = MaterialSerializer
    filterset_class = MaterialFilterSet


class MaterialDateViewSet(RecordViewSet):
    queryset = MaterialDate.objects.all()
    serializer_class = MaterialDateSerializer
    filterset_class = MaterialDateFilterSet
