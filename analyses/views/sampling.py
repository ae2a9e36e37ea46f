"""Pages of sampling points, samples, preparations and layers, and the layer editor."""

from typing import Any

from django.contrib import messages
from django.db.models import Prefetch, Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import content_disposition_header

from analyses.curves import with_curves
from analyses.forms.layers import LayerRows, Why, store_layers
from analyses.forms.sampling import (
    LayerForm,
    NumberingForm,
    PreparationForm,
    SampleForm,
    SamplingPointForm,
)
from analyses.models import Analysis, Identification, Layer, Preparation, Sample, SamplingPoint
from analyses.numbering import department_rule, rule_for
from analyses.sample_tree import tree_of
from analyses.sampling_sheet import as_csv, poisons_known, sheets
from analyses.sections import photograph_of, section_of
from records.access import Access, signed_in
from records.models import Face, Object
from records.trail import Crumb, address_of
from records.views.base import ChangeRecord, EntryPage, NewRecord, RecordPage, closed, frame

STANDING = Q(withdrawn_at__isnull=True)


def results(record: Any, field: str) -> dict[str, Any]:
    """The analyses and identifications of a sampling point, sample or layer itself."""
    target = {field: record}
    return {
        "analyses": Analysis.objects.filter(**target).select_related("technique", "operator"),
        "identifications": Identification.objects.filter(**target).select_related("material"),
    }


class SamplingPointPage(RecordPage):
    model = SamplingPoint
    template = "analyses/sampling_point.html"

    def records(self) -> QuerySet[Any]:
        return SamplingPoint.objects.select_related(
            "face__object", "campaign", "taken_by", "trace__kind"
        ).defer("face__outline")

    def gather(self, record: SamplingPoint) -> dict[str, Any]:
        curves = with_curves(Analysis.objects.at_point(record)).filter(point=None)
        shown = {
            "samples": record.samples.all(),
            "curves": curves.select_related("technique", "sample", "layer__preparation"),
        } | results(record, "point")
        if record.invasive:
            shown["poisons"] = poisons_known(record.face.object)
        return shown


class SamplePage(RecordPage):
    model = Sample
    template = "analyses/sample.html"

    def records(self) -> QuerySet[Any]:
        return Sample.objects.select_related("point__face__object").defer("point__face__outline")

    def gather(self, record: Sample) -> dict[str, Any]:
        shown = {"preparations": record.preparations.all(), "tree": tree_of(record)}
        return shown | results(record, "sample")


class PreparationPage(RecordPage):
    model = Preparation
    template = "analyses/preparation.html"

    def records(self) -> QuerySet[Any]:
        layers = Layer.objects.filter(STANDING).select_related("trace__kind").order_by("number")
        return (
            Preparation.objects.select_related("sample__point__face__object", "image")
            .defer("sample__point__face__outline")
            .prefetch_related(Prefetch("layers", layers, to_attr="stack"))
        )

    def gather(self, record: Any) -> dict[str, Any]:
        shown = {"photograph": photograph_of(record)}
        if not record.stack:
            return shown
        found = Identification.objects.filter(STANDING, layer__in=record.stack)
        by_layer: dict[int, list[Identification]] = {}
        for identification in found.select_related("material"):
            by_layer.setdefault(identification.layer_id or 0, []).append(identification)
        for layer in record.stack:
            layer.found = by_layer.get(layer.pk, [])
        return shown | {"section": section_of(record)}


class LayerPage(RecordPage):
    model = Layer
    template = "analyses/layer.html"

    def records(self) -> QuerySet[Any]:
        return Layer.objects.select_related(
            "preparation__sample__point__face__object", "trace__kind"
        ).defer("preparation__sample__point__face__outline")

    def gather(self, record: Layer) -> dict[str, Any]:
        return results(record, "layer")


class EditLayers(Access):
    """All layers of a cross-section in one table."""

    needs = "writes_analyses"

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        preparation = get_object_or_404(Preparation, pk=pk)
        return self._show(request, preparation, LayerRows(queryset=_layers(preparation)), Why())

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        preparation = get_object_or_404(Preparation, pk=pk)
        if words := closed(preparation):
            messages.error(request, words)
            return redirect(preparation)
        rows = LayerRows(request.POST, queryset=_layers(preparation))
        reason = Why(request.POST)
        if rows.is_valid() and reason.is_valid():
            why = reason.cleaned_data["why"]
            if any(form.has_changed() and form.instance.pk for form in rows.forms) and not why:
                reason.add_error("why", "Say why a layer is changed.")
            elif store_layers(rows, preparation, user=signed_in(request), why=why):
                messages.success(request, f"Layers of {preparation}: saved.")
                return redirect(preparation)
        return self._show(request, preparation, rows, reason, status=422)

    def _show(
        self, request: HttpRequest, preparation: Preparation, rows: Any, why: Why, status: int = 200
    ) -> HttpResponse:
        context = frame(request, preparation) | {
            "rows": rows,
            "form": why,
            "back": address_of(preparation),
        }
        context["crumbs"] = [*context["crumbs"], Crumb("Layers", request.path)]
        return render(request, "analyses/layers.html", context, status=status)


def _layers(preparation: Preparation) -> QuerySet[Layer]:
    return preparation.layers.filter(STANDING).order_by("number")


class Sampling(Access):
    """Points, samples and preparations of an object: a map and a list for print, or CSV."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        item = get_object_or_404(Object, pk=pk)
        found = sheets(item)
        if request.GET.get("save") == "csv":
            return _saved(as_csv(found), f"{item.accession_number} sampling.csv")
        context = frame(request, item) | {"room": "laboratory", "sheets": found}
        context["may_write"] = signed_in(request).writes_analyses
        if any(point.invasive for sheet in found for point in sheet.points):
            context |= {"takes_material": True, "poisons": poisons_known(item)}
        return render(request, "analyses/sampling_sheet.html", context)


def _saved(text: str, name: str) -> HttpResponse:
    answer = HttpResponse(text, content_type="text/csv; charset=utf-8")
    header = content_disposition_header(True, name.replace("/", "-"))
    answer["Content-Disposition"] = header or "attachment"
    return answer


class ChangeNumbering(EntryPage):
    """The rule by which an object's points, samples and preparations are numbered."""

    form_class = NumberingForm
    template = "analyses/numbering_form.html"

    def record(self, request: HttpRequest, **where: Any) -> Any:
        return rule_for(get_object_or_404(Object, pk=where["pk"]))

    def title(self, record: Any) -> str:
        return "How samples are numbered"

    def back(self, record: Any) -> str:
        return reverse("object-sampling", args=[record.object_id])

    def around(self, form: Any) -> dict[str, Any]:
        return {"rule": department_rule()}

    def next_address(self, form: Any) -> str:
        return self.back(form.instance)


class DepartmentNumbering(ChangeNumbering):
    """The rule of every object that has none of its own."""

    def record(self, request: HttpRequest, **where: Any) -> Any:
        return department_rule()

    def title(self, record: Any) -> str:
        return "How samples are numbered in the department"

    def back(self, record: Any) -> str:
        return reverse("vocabulary")


class NewSamplingPoint(NewRecord):
    form_class = SamplingPointForm
    parent, link = Face, "face"
    template = "analyses/sampling_form.html"

    def around(self, form: Any) -> dict[str, Any]:
        face = form.instance.face
        surface = reverse("object-surface", args=[face.object_id])
        return {
            "poisons": poisons_known(face.object),
            "map": f"{surface}?face={face.pk}#place-point",
        }

    def title(self, record: Any) -> str:
        return f"New sampling point on {record.face}"


class NewSample(NewRecord):
    form_class = SampleForm
    parent, link = SamplingPoint, "point"
    template = "analyses/sampling_form.html"

    def around(self, form: Any) -> dict[str, Any]:
        return {"poisons": poisons_known(form.instance.point.face.object)}


class NewPreparation(NewRecord):
    form_class = PreparationForm
    parent, link = Sample, "sample"


class NewLayer(NewRecord):
    form_class = LayerForm
    parent, link = Preparation, "preparation"


class ChangeSamplingPoint(ChangeRecord):
    form_class = SamplingPointForm


class ChangeSample(ChangeRecord):
    form_class = SampleForm


class ChangePreparation(ChangeRecord):
    form_class = PreparationForm


class ChangeLayer(ChangeRecord):
    form_class = LayerForm
