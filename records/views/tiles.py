"""Pictures made of images for looking at: tiles and small pictures, for people who have signed in.

Behind nginx the file itself is sent by nginx (X-Accel-Redirect); Django only decides who may.
"""

import mimetypes
from pathlib import Path
from urllib.parse import quote

from django.conf import settings
from django.core.exceptions import SuspiciousFileOperation
from django.http import FileResponse, Http404, HttpRequest, HttpResponseBase, JsonResponse
from django.http.response import HttpResponse
from django.shortcuts import get_object_or_404
from django.utils._os import safe_join
from django.utils.http import http_date, parse_http_date_safe

from records.access import needs
from records.imaging.pyramid import SMALL_NAME, information
from records.models import Image, Placement

YEAR_S = 365 * 24 * 3600


@needs("is_authenticated")
def image_small(request: HttpRequest, pk: int) -> HttpResponseBase:
    """The small picture of an image; committee members see it on the label of an object."""
    return send(request, f"{tiled(pk).pyramid}/{SMALL_NAME}", max_age_s=300)


@needs("sees_records")
def image_tiles(request: HttpRequest, pk: int, path: str) -> HttpResponseBase:
    """A file of an image's IIIF level 0 service.

    The address may name the stamp of the tiles first (`Image.tiles_address`): such tiles never
    change, so that a browser may keep them. Without it, it has to ask each time.
    """
    image = tiled(pk)
    stamp, _, rest = path.partition("/")
    stamped = image.pyramid.endswith(f"/{pk}-{stamp}")
    path = rest if stamped else path
    if path == "info.json":
        address = request.build_absolute_uri(request.path.removesuffix("/info.json"))
        return JsonResponse(information(Path(settings.MEDIA_ROOT) / image.pyramid, address))
    return send(request, f"{image.pyramid}/{path}", max_age_s=YEAR_S if stamped else 0)


@needs("sees_records")
def placement_tiles(request: HttpRequest, pk: int, path: str) -> HttpResponseBase:
    """A file of the IIIF level 0 service of an image as it lies on its face.

    The address names the stamp of the tiles (`records.placing.tiles_address`), as they change with
    the placement.
    """
    placement = get_object_or_404(Placement.objects.only("rectified"), pk=pk)
    stamp, _, path = path.partition("/")
    if not placement.rectified.endswith(f"/{pk}-{stamp}"):
        raise Http404("The image has been placed anew, or is being redrawn.")
    if path == "info.json":
        address = request.build_absolute_uri(request.path.removesuffix("/info.json"))
        return JsonResponse(information(Path(settings.MEDIA_ROOT) / placement.rectified, address))
    return send(request, f"{placement.rectified}/{path}", max_age_s=YEAR_S)


def tiled(pk: int) -> Image:
    """The image, if its tiles are made. Raises Http404."""
    image = get_object_or_404(Image.objects.only("pyramid"), pk=pk)
    if not image.pyramid:
        raise Http404("The tiles of this image are not made yet.")
    return image


def send(request: HttpRequest, name: str, *, max_age_s: int) -> HttpResponseBase:
    """A file under MEDIA_ROOT, kept by the browser for so long. Raises Http404."""
    try:
        path = Path(safe_join(settings.MEDIA_ROOT, name))
        changed = int(path.stat().st_mtime)
    except (OSError, SuspiciousFileOperation) as error:
        raise Http404("There is no such file.") from error
    if not path.is_file():
        raise Http404("There is no such file.")
    response: HttpResponseBase
    since = parse_http_date_safe(request.headers.get("If-Modified-Since", ""))
    kind = mimetypes.guess_type(path.name)[0] or "application/octet-stream"
    if since is not None and since >= changed:
        response = HttpResponse(status=304)
    elif settings.PROTECTED_MEDIA_PREFIX:
        response = HttpResponse(content_type=kind)
        response["X-Accel-Redirect"] = quote(f"{settings.PROTECTED_MEDIA_PREFIX}{name}")
    else:
        response = FileResponse(path.open("rb"), content_type=kind)
    response["Last-Modified"] = http_date(changed)
    response["Cache-Control"] = f"private, max-age={max_age_s}"
    return response
