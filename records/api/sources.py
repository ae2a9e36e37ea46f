"""Papers and the statements drawn from them."""

from records.api.base import KEPT_BY_PROGRAM, RecordSerializer, RecordViewSet
from records.filtersets import (
    SourceFilterSet,
    StatementEventFilterSet,
    StatementFilterSet,
    StatementTraceFilterSet,
)
from records.models import Source, Statement, StatementEvent, StatementTrace


class SourceSerializer(RecordSerializer):
    class Meta:
        model = Source
        fields = "__all__"
        read_only_fields = (*KEPT_BY_PROGRAM, "date_earliest", "date_latest", "scan_sha256")


class StatementSerializer(RecordSerializer):
    class Meta:
        model = Statement
        fields = "__all__"
        read_only_fields = (*KEPT_BY_PROGRAM, "date_earliest", "date_latest")


class StatementEventSerializer(RecordSerializer):
    class Meta:
        model = StatementEvent
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM


class StatementTraceSerializer(RecordSerializer):
    class Meta:
        model = StatementTrace
        fields = "__all__"
        read_only_fields = KEPT_BY_PROGRAM


class SourceViewSet(RecordViewSet):
    queryset = Source.objects.all()
    serializer_class = SourceSerializer
    filterset_class = SourceFilterSet


class StatementViewSet(RecordViewSet):
    queryset = Statement.objects.all()
    serializer_class = StatementSerializer
    filterset_class = StatementFilterSet


class StatementEventViewSet(RecordViewSet):
    queryset = StatementEvent.objects.all()
    serializer_class = StatementEventSerializer
    filterset_class = StatementEventFilterSet


class StatementTraceViewSet(RecordViewSet):
    queryset = StatementTrace.objects.all()
    serializer_class = StatementTraceSerializer
    filterset_class = StatementTraceFilterSet
