"""The desk: what waits for a person, what is being worked on, what was changed lately."""

from typing import Any

from django.db.models import Max
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from records.access import needs, signed_in
from records.desk import dossier_matters, matters, running
from records.models import Object
from records.recent import recent_changes
from reports.models import Dossier


@needs("is_authenticated")
def desk(request: HttpRequest) -> HttpResponse:
    """The first page after signing in; a committee member's shows objects and dossiers."""
    context: dict[str, Any] = {"nav": "desk"}
    if signed_in(request).sees_records:
        context |= {
            "matters": matters(),
            "running": running(),
            "changes": recent_changes(),
            "has_objects": Object.objects.exists(),
        }
        return render(request, "records/desk.html", context)
    context |= {
        "matters": dossier_matters(),
        "dossiers": Dossier.objects.select_related("object", "signed_by")[:20],
        "objects": Object.objects.filter(withdrawn_at__isnull=True, dossiers__isnull=False)
        .annotate(last_asked=Max("dossiers__requested_at"))
        .order_by("-last_asked")[:20],
    }
    return render(request, "records/desk_committee.html", context)
