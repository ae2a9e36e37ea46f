"""Handing out kept files to those who may see them: by the web server where it can, else here."""

from pathlib import PurePosixPath
from typing import Any
from urllib.parse import quote

from django.conf import settings
from django.db.models.fields.files import FieldFile
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404
from django.utils.http import content_disposition_header

from records.access import Access
from records.models import Image, Source


def hand_out(file: FieldFile) -> HttpResponseBase:
    """The file as it was kept, to be saved by the browser under its own name."""
    if not file:
        raise Http404("This record has no file.")
    name = PurePosixPath(file.name or "").name
    if settings.PROTECTED_MEDIA_PREFIX:
        response = HttpResponse(content_type="")
        response["X-Accel-Redirect"] = quote(f"{settings.PROTECTED_MEDIA_PREFIX}{file.name}")
        response["Content-Disposition"] = content_disposition_header(True, name) or ""
        return response
    try:
        return FileResponse(file.open("rb"), as_attachment=True, filename=name)
    except FileNotFoundError as error:
        raise Http404("The file is not in the store.") from error


class KeptFile(Access):
    """The file of one field of a record."""

    model: Any = None
    field: str = "file"

    def get(self, request: HttpRequest, pk: int) -> HttpResponseBase:
        return hand_out(getattr(get_object_or_404(self.model, pk=pk), self.field))


class ImageFile(KeptFile):
    model = Image


class SourceScan(KeptFile):
    model = Source
    field = "scan"
