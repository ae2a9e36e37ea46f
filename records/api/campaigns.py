"""Campaigns, examinations and what they covered."""

from typing import Any

from rest_framework.serializers import ValidationError

from records.api.base import KEPT_BY_PROGRAM, PlacedSerializer, RecordSerializer, RecordViewSet
from records.filtersets import CampaignFilterSet, CoverageFilterSet, ExaminationFilterSet
from records.models import Campaign, Coverage, Examination
from records.vocabulary.settings import SETTINGS


class CampaignSerializer(RecordSerializer):
    class Meta:
        model = Campaign
        fields = "__all__"
        read_only_fields = (*KEPT_BY_PROGRAM, "date_earliest", "date_latest")


class ExaminationSerializer(RecordSerializer):
    class Meta:
        model = Examination
        fields = "__all__"
        read_only_fields = (*KEPT_BY_PROGRAM, "date_earliest", "date_latest")

    def validate_settings(self, value: Any) -> Any:
        if not isinstance(value, dict):
            raise ValidationError('Settings are named values: {"voltage_kv": 28}.')
        faults = [
            f"{code}: {fault}"
            for code, part in value.items()
            if code in SETTINGS and (fault := SETTINGS[code].fault(part))
        ]
        if faults:
            raise ValidationError(faults)
        return value


class CoverageSerializer(PlacedSerializer):
    class Meta:
        model = Coverage
        geo_field = "geometry"
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM


class CampaignViewSet(RecordViewSet):
    queryset = Campaign.objects.prefetch_related("people")
    serializer_class = CampaignSerializer
    filterset_class = CampaignFilterSet


class ExaminationViewSet(RecordViewSet):
    queryset = Examination.objects.all()
    serializer_class = ExaminationSerializer
    filterset_class = ExaminationFilterSet


class CoverageViewSet(RecordViewSet):
    queryset = Coverage.objects.all()
    serializer_class = CoverageSerializer
    filterset_class = CoverageFilterSet
