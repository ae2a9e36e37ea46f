"""The Laboratory room of an object: sampling points, cross-sections, analyses, identifications."""

from django.db.models import Count, Exists, OuterRef, Prefetch, Q
from django.db.models.functions import Length
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django_tables2 import RequestConfig

from analyses.models import Analysis, Identification, Layer, Preparation, SamplingPoint
from analyses.sections import Section, section_of
from analyses.tables import AnalysisTable, IdentificationTable, SamplingPointTable
from records.access import Access, signed_in
from records.models import Object
from records.trail import may_write
from records.views.base import frame

STANDING = Q(withdrawn_at__isnull=True)
TARGETS = ("point", "sample", "layer__preparation")


class ObjectLaboratory(Access):
    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        item = get_object_or_404(Object, pk=pk)
        points = SamplingPoint.objects.filter(face__object=item).select_related("face")
        points = (
            points.defer("geometry", "face__outline")
            .annotate(
                sample_count=Count("samples", distinct=True),
                analysis_count=Count("analysis_set", distinct=True)
                + Count("samples__analysis_set", distinct=True)
                + Count("samples__preparations__layers__analysis_set", distinct=True),
            )
            .order_by("face", Length("number"), "number", "pk")
        )
        analyses = Analysis.objects.of_object(item).select_related(
            "technique", "operator", *TARGETS
        )
        found = Identification.objects.of_object(item).select_related("material", *TARGETS)
        tables = {
            "points": SamplingPointTable(points, prefix="p-"),
            "analyses": AnalysisTable(analyses, prefix="a-"),
            "identifications": IdentificationTable(found, prefix="i-"),
        }
        for table in tables.values():
            RequestConfig(request, paginate={"per_page": 15, "silent": True}).configure(table)
        context = frame(request, item) | tables
        context |= {
            "room": "laboratory",
            "sections": self._sections(item),
            "faces": item.faces.filter(STANDING).defer("outline"),
            "may_write": may_write(signed_in(request), Analysis),
        }
        return render(request, "analyses/laboratory.html", context)

    def _sections(self, item: Object) -> list[Section]:
        """The preparations that have layers, each with its diagram."""
        layers = Layer.objects.filter(STANDING).order_by("number")
        preparations = (
            Preparation.objects.filter(STANDING, sample__point__face__object=item)
            .filter(Exists(layers.filter(preparation=OuterRef("pk"))))
            .select_related("sample__point")
            .prefetch_related(Prefetch("layers", layers, to_attr="stack"))
        )
        return [section_of(preparation) for preparation in preparations]
