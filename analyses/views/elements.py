"""Where an element, a phase or a group of bands was read on an object, point by point."""

from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from analyses.elements import kinds_read, maps
from records.access import Access
from records.models import Object
from records.views.base import frame

STANDING = Q(withdrawn_at__isnull=True)


class ReadingMap(Access):
    """Sampling points of every face: read here, looked for in vain, not looked for."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        item = get_object_or_404(Object, pk=pk)
        offered = kinds_read(item)
        wanted = request.GET.get("read", "")
        if wanted not in {code for code, _ in offered}:
            wanted = offered[0][0] if offered else ""
        context = frame(request, item) | {
            "room": "laboratory",
            "offered": offered,
            "wanted": wanted,
            "maps": maps(item, wanted) if wanted else [],
        }
        return render(request, "analyses/reading_map.html", context)
