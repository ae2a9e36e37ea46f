"""The department's reference curves: which there are, of which materials."""

from typing import Any

from django.db.models import QuerySet
from django.http import HttpRequest

from analyses.filtersets import ReferenceListFilterSet
from analyses.models import Analysis
from analyses.tables import ReferenceTable
from records.trail import Crumb
from records.views.base import ListPage


class References(ListPage):
    """Every analysis whose curve is a reference, found by its material."""

    table_class = ReferenceTable
    filter_class = ReferenceListFilterSet
    template = "analyses/references.html"

    def gather(self, request: HttpRequest, **where: Any) -> dict[str, Any]:
        return {"nav": "vocabulary", "crumbs": [Crumb("Reference curves", request.path)]}

    def rows(self, context: dict[str, Any]) -> QuerySet[Analysis]:
        found: QuerySet[Analysis] = Analysis.objects.filter(reference_for__isnull=False)
        return found.select_related(
            "reference_for", "technique", "point", "sample", "layer__preparation"
        )
