"""The information sheet of an examination, to take away."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils.http import content_disposition_header

from records.access import needs
from records.models import Examination
from reports import sheets


@needs("sees_records")
def examination_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """One page as PDF, made from the record as it stands."""
    looks = Examination.objects.select_related(
        "campaign__object", "technique", "operator", "signed_by"
    )
    found = get_object_or_404(looks, pk=pk)
    item = found.campaign.object
    name = f"{item.accession_number} {found.technique} {found.date}.pdf".replace("/", "-")
    return HttpResponse(
        sheets.render(sheets.gather(found)),
        content_type="application/pdf",
        headers={"Content-Disposition": content_disposition_header(False, name) or ""},
    )
