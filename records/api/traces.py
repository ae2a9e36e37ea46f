"""Traces, their sightings and the order between them, as GeoJSON in face millimetres."""

from rest_framework import serializers

from records.api.base import KEPT_BY_PROGRAM, PlacedSerializer, RecordSerializer, RecordViewSet
from records.filtersets import RelationFilterSet, SightingFilterSet, TraceFilterSet
from records.models import Relation, Sighting, Trace


class TraceSerializer(PlacedSerializer):
    kind_code = serializers.CharField(source="kind.code", read_only=True)
    family = serializers.CharField(source="kind.family", read_only=True)

    class Meta:
        model = Trace
        geo_field = "shape"
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM


class SightingSerializer(PlacedSerializer):
    class Meta:
        model = Sighting
        geo_field = "geometry"
        fields = "__all__"
        read_only_fields = (*KEPT_BY_PROGRAM, "area_mm2", "length_mm")


class RelationSerializer(RecordSerializer):
    class Meta:
        model = Relation
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM


class TraceViewSet(RecordViewSet):
    queryset = Trace.objects.select_related("kind")
    serializer_class = TraceSerializer
    filterset_class = TraceFilterSet


class SightingViewSet(RecordViewSet):
    queryset = Sighting.objects.all()
    serializer_class = SightingSerializer
    filterset_class = SightingFilterSet


class RelationViewSet(RecordViewSet):
    queryset = Relation.objects.all()
    serializer_class = RelationSerializer
    filterset_class = RelationFilterSet
