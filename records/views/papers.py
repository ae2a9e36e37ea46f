"""The Papers room: sources, and the statements drawn from them."""

from typing import Any

from django.db.models import Count, Prefetch, Q, QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from records.access import require, signed_in
from records.choices import StatementKind
from records.filtersets import SourceListFilterSet
from records.forms.sources import SORTS, SourceForm, StatementForm
from records.models import Object, Source, Statement, StatementEvent, StatementTrace
from records.tables import SourceTable
from records.trail import Crumb, may_write
from records.views.base import ChangeRecord, ListPage, NewRecord, RecordPage, frame

STANDING = Q(withdrawn_at__isnull=True)


def told_statements() -> QuerySet[Statement]:
    """Statements with the events (`told_events`) and traces (`told_traces`) that they speak of."""
    events = StatementEvent.objects.filter(STANDING).select_related(
        "treatment", "occurrence", "campaign", "examination__technique", "image"
    )
    traces = StatementTrace.objects.filter(STANDING).select_related("trace__kind")
    return Statement.objects.select_related("source").prefetch_related(
        Prefetch("events", events, to_attr="told_events"),
        Prefetch("traces", traces, to_attr="told_traces"),
    )


class ObjectPapers(ListPage):
    table_class = SourceTable
    filter_class = SourceListFilterSet
    template = "records/object/papers.html"

    def gather(self, request: HttpRequest, **where: Any) -> dict[str, Any]:
        item = get_object_or_404(Object, pk=where["pk"])
        return frame(request, item) | {
            "room": "papers",
            "may_write": may_write(signed_in(request), Source),
        }

    def rows(self, context: dict[str, Any]) -> QuerySet[Source]:
        standing = Q(statements__withdrawn_at__isnull=True)
        sources = Source.objects.filter(object=context["object"])
        counted = sources.annotate(statement_count=Count("statements", filter=standing))
        return counted.order_by("date_earliest", "pk")  # counting drops the order of the model


class SourcePage(RecordPage):
    model = Source
    template = "records/source.html"

    def records(self) -> QuerySet[Any]:
        return Source.objects.select_related("object")

    def gather(self, record: Source) -> dict[str, Any]:
        return {
            "statements": told_statements().filter(source=record),
            "images": record.images.filter(STANDING),
            "treatments": record.treatments.filter(STANDING),
            "occurrences": record.occurrences.filter(STANDING),
        }


class StatementPage(RecordPage):
    model = Statement
    template = "records/statement.html"

    def records(self) -> QuerySet[Any]:
        return told_statements().select_related("source__object")

    def gather(self, record: Statement) -> dict[str, Any]:
        return {"sort": SORTS[record.kind]}


class NewSource(NewRecord):
    form_class = SourceForm
    parent, link = Object, "object"


class NewStatement(NewRecord):
    """First the kind of claim, each with an example; then a form that asks what the kind needs."""

    form_class = StatementForm
    parent, link = Source, "source"

    def get(self, request: HttpRequest, **where: Any) -> HttpResponse:
        if "kind" in request.GET:
            return super().get(request, **where)
        source = get_object_or_404(Source, pk=where["pk"])
        require(request, "writes_records")
        context = frame(request, source) | {"sorts": SORTS}
        context["crumbs"] = [*context["crumbs"], Crumb("New statement", request.path)]
        return render(request, "records/statement_kinds.html", context)

    def record(self, request: HttpRequest, **where: Any) -> Any:
        statement = super().record(request, **where)
        statement.kind = request.GET.get("kind")
        if statement.kind not in StatementKind.values:
            raise Http404("There is no such kind of statement.")
        statement.object = statement.source.object
        return statement

    def title(self, record: Any) -> str:
        return SORTS[record.kind].words


class ChangeSource(ChangeRecord):
    form_class = SourceForm


class ChangeStatement(ChangeRecord):
    form_class = StatementForm

    def title(self, record: Any) -> str:
        return f"Change: {SORTS[record.kind].words[0].lower()}{SORTS[record.kind].words[1:]}"
