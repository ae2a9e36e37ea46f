"""Analyses, readings and identifications."""

from typing import Any

from django.utils import timezone
from rest_framework.serializers import BaseSerializer

from analyses.choices import Decision
from analyses.filtersets import AnalysisFilterSet, IdentificationFilterSet, ReadingFilterSet
from analyses.models import Analysis, Identification, Reading
from records.api.base import KEPT_BY_PROGRAM, RecordSerializer, RecordViewSet


class AnalysisSerializer(RecordSerializer):
    class Meta:
        model = Analysis
        fields = "__all__"
        read_only_fields = (*KEPT_BY_PROGRAM, "raw_sha256", "date_earliest", "date_latest")


class ReadingSerializer(RecordSerializer):
    class Meta:
        model = Reading
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM


class IdentificationSerializer(RecordSerializer):
    class Meta:
        model = Identification
        fields = "__all__"
        read_only_fields = (*KEPT_BY_PROGRAM, "decided_by", "decided_at")


class AnalysisViewSet(RecordViewSet):
    queryset = Analysis.objects.all()
    serializer_class = AnalysisSerializer
    filterset_class = AnalysisFilterSet


class ReadingViewSet(RecordViewSet):
    queryset = Reading.objects.all()
    serializer_class = ReadingSerializer
    filterset_class = ReadingFilterSet


class IdentificationViewSet(RecordViewSet):
    """A decision other than 'proposed' is recorded as that of the person whose token it is."""

    queryset = Identification.objects.prefetch_related("readings")
    serializer_class = IdentificationSerializer
    filterset_class = IdentificationFilterSet

    def stated_by_program(self, serializer: BaseSerializer[Any]) -> dict[str, Any]:
        if serializer.validated_data.get("decision", Decision.PROPOSED) == Decision.PROPOSED:
            return {}
        return {"decided_by": self.request.user, "decided_at": timezone.now()}
