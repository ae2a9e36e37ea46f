"""The desk: what waits for a person, what is being worked on, what was changed lately."""

from typing import Any

from django.core.paginator import Paginator
from django.db.models import Max
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from records.access import needs, signed_in
from records.models import Object
from records.recent import recent_changes
from reports.desk import WAITING, matters, running
from reports.models import Dossier

PER_PAGE = 50


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
        return render(request, "reports/desk.html", context)
    asked_about = Object.objects.filter(withdrawn_at__isnull=True, dossiers__isnull=False)
    context |= {
        "matters": matters("dossiers"),
        "dossiers": Dossier.objects.select_related("object", "signed_by")[:20],
        "objects": asked_about.annotate(last=Max("dossiers__requested_at")).order_by("-last")[:20],
    }
    return render(request, "reports/desk_committee.html", context)


@needs("sees_records")
def waiting(request: HttpRequest, slug: str) -> HttpResponse:
    """Everything of one kind that waits, page by page."""
    if slug not in WAITING:
        raise Http404("Nothing of that kind waits on the desk.")
    count = WAITING[slug].rows().count()
    page = Paginator(range(count), PER_PAGE).get_page(request.GET.get("page"))
    matter = WAITING[slug].matter(slug, max(page.start_index() - 1, 0), PER_PAGE)
    context = {"nav": "desk", "matter": matter, "page_obj": page}
    return render(request, "reports/waiting.html", context)
