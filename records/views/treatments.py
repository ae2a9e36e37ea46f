"""The Treatments room: treatments, other occurrences, and what they did to traces."""

from typing import Any, ClassVar

from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django_tables2 import RequestConfig

from records.access import Access, signed_in
from records.forms.events import AreaForm, EffectForm, OccurrenceForm, TreatmentForm
from records.models import Object, Occurrence, Record, StatementEvent, Treatment
from records.spatial import AreaMm2
from records.tables import OccurrenceTable, TreatmentTable
from records.trail import may_write
from records.views.base import ChangeRecord, NewRecord, RecordPage, frame

STANDING = Q(withdrawn_at__isnull=True)


class ObjectTreatments(Access):
    """What was done to an object, and what else happened to it."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        item = get_object_or_404(Object, pk=pk)
        treatments = TreatmentTable(item.treatments.select_related("kind"), prefix="t-")
        occurrences = OccurrenceTable(item.occurrences.select_related("kind"), prefix="o-")
        for table in (treatments, occurrences):
            RequestConfig(request, paginate={"per_page": 50, "silent": True}).configure(table)
        context = frame(request, item) | {
            "room": "treatments",
            "treatments": treatments,
            "occurrences": occurrences,
            "may_write": may_write(signed_in(request), Treatment),
        }
        return render(request, "records/object/treatments.html", context)


def _effects(event: Treatment | Occurrence) -> QuerySet[Any]:
    return (
        event.effects.select_related("trace__kind", "trace__face")
        .defer("trace__shape", "trace__face__outline")
        .order_by("withdrawn_at", "kind", "trace__face", "trace__number")
    )


def _mentions(**event: Any) -> QuerySet[StatementEvent]:
    """Statements that speak of an event."""
    found = StatementEvent.objects.filter(STANDING, statement__withdrawn_at__isnull=True, **event)
    return found.select_related("statement__source")


class TreatmentPage(RecordPage):
    model = Treatment
    template = "records/treatment.html"

    def records(self) -> QuerySet[Any]:
        return Treatment.objects.select_related(
            "object", "campaign", "kind", "signed_by"
        ).prefetch_related("people", "materials", "sources")

    def gather(self, record: Treatment) -> dict[str, Any]:
        areas = record.areas.select_related("face").annotate(area_mm2=AreaMm2("geometry"))
        return {
            "effects": _effects(record),
            "areas": areas.defer("geometry", "face__outline"),
            "mentions": _mentions(treatment=record),
        }


class OccurrencePage(RecordPage):
    model = Occurrence
    template = "records/occurrence.html"

    def records(self) -> QuerySet[Any]:
        return Occurrence.objects.select_related("object", "kind").prefetch_related("sources")

    def gather(self, record: Occurrence) -> dict[str, Any]:
        return {"effects": _effects(record), "mentions": _mentions(occurrence=record)}


class NewTreatment(NewRecord):
    form_class = TreatmentForm
    parent, link = Object, "object"


class NewOccurrence(NewRecord):
    form_class = OccurrenceForm
    parent, link = Object, "object"


class NewEffectOfTreatment(NewRecord):
    form_class = EffectForm
    parent: ClassVar[type[Record] | None] = Treatment
    link = "treatment"

    def title(self, record: Any) -> str:
        return "What it did to a trace"


class NewEffectOfOccurrence(NewEffectOfTreatment):
    parent, link = Occurrence, "occurrence"


class NewArea(NewRecord):
    form_class = AreaForm
    parent, link = Treatment, "treatment"

    def title(self, record: Any) -> str:
        return "Where it worked"


class ChangeTreatment(ChangeRecord):
    form_class = TreatmentForm


class ChangeOccurrence(ChangeRecord):
    form_class = OccurrenceForm


class ChangeEffect(ChangeRecord):
    form_class = EffectForm


class ChangeArea(ChangeRecord):
    form_class = AreaForm
