"""Objects, components, faces, zones."""

from records.api.base import KEPT_BY_PROGRAM, PlacedSerializer, RecordSerializer, RecordViewSet
from records.filtersets import (
    ComponentFilterSet,
    FaceFilterSet,
    ObjectFilterSet,
    PersonFilterSet,
    ZoneFilterSet,
)
from records.models import Component, Face, Object, Person, Zone


class ObjectSerializer(RecordSerializer):
    class Meta:
        model = Object
        fields = "__all__"
        read_only_fields = (*KEPT_BY_PROGRAM, "date_earliest", "date_latest")


class ComponentSerializer(RecordSerializer):
    class Meta:
        model = Component
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM


class FaceSerializer(PlacedSerializer):
    class Meta:
        model = Face
        geo_field = "outline"
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM


class ZoneSerializer(PlacedSerializer):
    class Meta:
        model = Zone
        geo_field = "geometry"
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM


class PersonSerializer(RecordSerializer):
    class Meta:
        model = Person
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM


class ObjectViewSet(RecordViewSet):
    queryset = Object.objects.all()
    serializer_class = ObjectSerializer
    filterset_class = ObjectFilterSet
    committee_reads = True


class ComponentViewSet(RecordViewSet):
    queryset = Component.objects.all()
    serializer_class = ComponentSerializer
    filterset_class = ComponentFilterSet


class FaceViewSet(RecordViewSet):
    queryset = Face.objects.all()
    serializer_class = FaceSerializer
    filterset_class = FaceFilterSet


class ZoneViewSet(RecordViewSet):
    queryset = Zone.objects.all()
    serializer_class = ZoneSerializer
    filterset_class = ZoneFilterSet


class PersonViewSet(RecordViewSet):
    queryset = Person.objects.all()
    serializer_class = PersonSerializer
    filterset_class = PersonFilterSet
