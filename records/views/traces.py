"""Traces: the list of an object's, the page of each with its sightings, and their forms."""

from typing import Any

from django.db.models import F, FloatField, Func, Q, QuerySet
from django.db.models.functions import Coalesce
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from records.access import Access, signed_in
from records.carrying import left_behind
from records.filtersets import TraceListFilterSet
from records.forms.choosing import offer_traces
from records.forms.traces import RelationForm, SightingForm, TraceForm
from records.models import (
    Effect,
    Face,
    Object,
    Relation,
    Sighting,
    StatementTrace,
    Trace,
)
from records.tables import TraceTable
from records.trail import Crumb, may_write
from records.views.base import ChangeRecord, ListPage, NewRecord, RecordPage, frame

STANDING = Q(withdrawn_at__isnull=True)


class ObjectTraces(ListPage):
    """All traces of an object as a table, found by words."""

    table_class = TraceTable
    filter_class = TraceListFilterSet
    template = "records/object/traces.html"

    def gather(self, request: HttpRequest, **where: Any) -> dict[str, Any]:
        item = get_object_or_404(Object, pk=where["pk"])
        context = frame(request, item)
        context["crumbs"] += [
            Crumb("Surface", reverse("object-surface", args=[item.pk])),
            Crumb("List of traces", request.path),
        ]
        return context | {"room": "surface", "may_write": may_write(signed_in(request), Trace)}

    def rows(self, context: dict[str, Any]) -> QuerySet[Trace]:
        traces = Trace.objects.filter(face__object=context["object"])
        return traces.select_related("kind", "face").defer("shape", "face__outline")

    def narrowed(self, request: HttpRequest, context: dict[str, Any]) -> Any:
        rows = self.rows(context)
        return self.filter_class(request.GET, queryset=rows, item=context["object"])


class PickTraces(Access):
    """The traces offered in a form while one types: those ticked first, then those that match."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        item = get_object_or_404(Object, pk=pk)
        name = request.GET.get("name", "trace")
        chosen = request.GET.getlist(name)
        text = request.GET.get(f"{name}.search", "")
        context = {
            "offered": offer_traces(item, chosen, text),
            "name": name,
            "many": "many" in request.GET,
            "text": text,
        }
        return render(request, "records/forms/offered_traces.html", context)


class Perimeter(Func):
    """Length of the edge of an area, in mm."""

    function = "ST_Perimeter"
    output_field = FloatField()


class TracePage(RecordPage):
    model = Trace
    template = "records/trace.html"

    def records(self) -> QuerySet[Any]:
        return Trace.objects.select_related("face__object", "kind").defer("face__outline")

    def gather(self, record: Trace) -> dict[str, Any]:
        return {
            "sightings": sightings_of(record),
            "over": _relations(record.relations_down, "lower"),
            "under": _relations(record.relations_up, "upper"),
            "effects": Effect.objects.filter(STANDING, trace=record).select_related(
                "treatment", "occurrence"
            ),
            "mentions": StatementTrace.objects.filter(
                STANDING, trace=record, statement__withdrawn_at__isnull=True
            ).select_related("statement__source"),
            "layers": record.layers.filter(STANDING).select_related("preparation"),
            "identifications": record.identifications.filter(STANDING).select_related(
                "material", "point", "sample", "layer__preparation"
            ),
            "points": record.sampling_points.filter(STANDING).defer("geometry"),
        }


def sightings_of(trace: Trace) -> list[Sighting]:
    """The sightings of a trace in the order of their dates, each with what it measured.

    `off_mm` is how far the drawn edge may be off, which the database keeps at least as large as the
    uncertainty of the image's place; `area_off_mm2` is that times the length of the edge, so it
    assumes no error to cancel; `length_off_mm` is it at both ends of a line. `left` tells of a
    shape that its image has left.
    """
    found = (
        trace.sightings.select_related("examination__technique", "image__examination")
        .annotate(
            looked=Coalesce(
                "examination__date_latest", "image__date_latest", "image__date_earliest"
            ),
            edge_mm=Perimeter("geometry"),
        )
        .order_by(F("looked").asc(nulls_last=True), "pk")
        .defer("geometry")
    )
    sightings: list[Any] = list(found)
    left = {one.sighting.pk: one for one in left_behind(trace.sightings.all(), [trace.face_id])}
    for sighting in sightings:
        sighting.left = left.get(sighting.pk)
        off = sighting.off_mm = sighting.uncertainty_mm
        sighting.area_off_mm2 = None if off is None else off * (sighting.edge_mm or 0)
        sighting.length_off_mm = None if off is None else 2 * off
    return sightings


def _relations(relations: Any, other: str) -> QuerySet[Relation]:
    found: QuerySet[Relation] = relations.filter(STANDING)
    return found.select_related(f"{other}__kind", f"{other}__face", "examination__technique")


class NewTrace(NewRecord):
    form_class = TraceForm
    parent, link = Face, "face"

    def title(self, record: Any) -> str:
        return f"New trace on {record.face}"


class NewSighting(NewRecord):
    form_class = SightingForm
    parent, link = Trace, "trace"


class NewRelation(NewRecord):
    form_class = RelationForm
    parent, link = Trace, "upper"

    def title(self, record: Any) -> str:
        return "New order between two traces"

    def next_address(self, form: Any) -> str:
        return reverse("trace", args=[self.kwargs["pk"]])


class ChangeTrace(ChangeRecord):
    form_class = TraceForm


class ChangeSighting(ChangeRecord):
    form_class = SightingForm


class ChangeRelation(ChangeRecord):
    form_class = RelationForm
