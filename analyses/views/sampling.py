"""Pages of sampling points, samples, preparations and layers, and the layer editor."""

from typing import Any

from django.contrib import messages
from django.db.models import Prefetch, Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from analyses.forms.layers import LayerRows, Why, store_layers
from analyses.forms.sampling import LayerForm, PreparationForm, SampleForm, SamplingPointForm
from analyses.models import Analysis, Identification, Layer, Preparation, Sample, SamplingPoint
from analyses.sections import photograph_of, section_of
from records.access import Access, signed_in
from records.models import Face
from records.trail import Crumb, address_of
from records.views.base import ChangeRecord, NewRecord, RecordPage, frame

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
        return {"samples": record.samples.all()} | results(record, "point")


class SamplePage(RecordPage):
    model = Sample
    template = "analyses/sample.html"

    def records(self) -> QuerySet[Any]:
        return Sample.objects.select_related("point__face__object").defer("point__face__outline")

    def gather(self, record: Sample) -> dict[str, Any]:
        return {"preparations": record.preparations.all()} | results(record, "sample")


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


class NewSamplingPoint(NewRecord):
    form_class = SamplingPointForm
    parent, link = Face, "face"

    def title(self, record: Any) -> str:
        return f"New sampling point on {record.face}"


class NewSample(NewRecord):
    form_class = SampleForm
    parent, link = SamplingPoint, "point"


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
