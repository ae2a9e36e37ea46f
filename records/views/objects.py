"""The list of objects; an object's own page; its faces and zones."""

from dataclasses import dataclass, field
from typing import Any

from django.db.models import Count, Prefetch, Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from records.access import Access, signed_in
from records.condition import condition_of
from records.filtersets import ObjectListFilterSet
from records.forms.objects import ComponentForm, FaceForm, ObjectForm, ZoneForm
from records.models import Campaign, Component, Face, Object, Zone
from records.tables import ObjectTable
from records.trail import may_write
from records.versions import versions_of
from records.views.base import (
    ChangeRecord,
    ListPage,
    NewRecord,
    RecordPage,
    deeds_on,
    frame,
)


class Objects(ListPage):
    """All objects in the department's care."""

    needs = "is_authenticated"
    table_class = ObjectTable
    filter_class = ObjectListFilterSet
    template = "records/objects.html"

    def gather(self, request: HttpRequest, **where: Any) -> dict[str, Any]:
        return {"nav": "objects", "may_write": may_write(signed_in(request), Object)}

    def rows(self, context: dict[str, Any]) -> QuerySet[Object]:
        return Object.objects.all()


@dataclass(slots=True)
class Part:
    """A component with the parts it is made of."""

    component: Component
    parts: list["Part"] = field(default_factory=list)


def tree(components: list[Component]) -> list[Part]:
    """Components as a tree; those whose parent is not among them stand at the top."""
    nodes = {component.pk: Part(component) for component in components}
    roots: list[Part] = []
    for component in components:
        above = nodes.get(component.parent_id or 0)
        (above.parts if above else roots).append(nodes[component.pk])
    return roots


class ObjectPage(Access):
    """What an object is and how it is built; for a committee member, its label and dossiers."""

    needs = "is_authenticated"

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        item = get_object_or_404(Object, pk=pk)
        context = frame(request, item) | {"nav": "objects"}
        context["dossiers"] = item.dossiers.select_related("requested_by", "signed_by")
        if signed_in(request).sees_records:
            context |= self._records(item)
        if context["may_write"]:
            context["deeds"] = deeds_on(item)
        return render(request, "records/object/page.html", context)

    def _records(self, item: Object) -> dict[str, Any]:
        standing = Q(traces__withdrawn_at__isnull=True)
        faces = (
            Face.objects.filter(object=item)
            .select_related("component", "mirror_of", "mirrored_by")
            .annotate(trace_count=Count("traces", filter=standing))
            .order_by("position", "pk")
            .prefetch_related(Prefetch("zones", Zone.objects.filter(withdrawn_at__isnull=True)))
        )
        return {
            "versions": versions_of(item),
            "components": tree(list(item.components.filter(withdrawn_at__isnull=True))),
            "faces": faces,
            "campaigns": Campaign.objects.filter(
                object=item, parent__isnull=True, withdrawn_at__isnull=True
            ),
        }


class Condition(Access):
    """The latest condition of an object in numbers; a part of its page that is fetched after it."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        item = get_object_or_404(Object, pk=pk)
        context = {"object": item, "condition": condition_of(item)}
        return render(request, "records/object/condition.html", context)


class NewObject(NewRecord):
    form_class = ObjectForm


class NewComponent(NewRecord):
    form_class = ComponentForm
    parent, link = Object, "object"


class NewFace(NewRecord):
    form_class = FaceForm
    parent, link = Object, "object"


class NewZone(NewRecord):
    form_class = ZoneForm
    parent, link = Face, "face"


class ChangeObject(ChangeRecord):
    form_class = ObjectForm


class ChangeComponent(ChangeRecord):
    form_class = ComponentForm


class ChangeFace(ChangeRecord):
    form_class = FaceForm


class ChangeZone(ChangeRecord):
    form_class = ZoneForm


class FacePage(RecordPage):
    model = Face
    template = "records/face.html"

    def records(self) -> QuerySet[Any]:
        return Face.objects.select_related("object", "component", "mirror_of", "mirrored_by")

    def gather(self, record: Face) -> dict[str, Any]:
        return {
            "zones": record.zones.all(),
            "trace_count": record.traces.filter(withdrawn_at__isnull=True).count(),
            "point_count": record.sampling_points.filter(withdrawn_at__isnull=True).count(),
        }


class ZonePage(RecordPage):
    model = Zone
    template = "records/zone.html"

    def records(self) -> QuerySet[Any]:
        return Zone.objects.select_related("face__object")
