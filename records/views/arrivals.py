"""Image files coming in: with a form, in pieces that survive a broken line, from the ingest folder.

Uploads in pieces speak tus 1.0.0 (https://tus.io/protocols/resumable-upload): the core protocol
with its extensions `creation` and `termination`. What is gathered lies in a file of its own; its
size is how much has arrived, whatever became of the connection or of the server meanwhile.
"""

import base64
import binascii
import fcntl
import shutil
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.db import transaction
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from records.access import Access, signed_in
from records.arrivals import SETTLED, discard, in_ingest_folder, sweep
from records.choices import ArrivalState
from records.forms.images import DescribedForm, IngestForm, UploadForm
from records.models import Arrival, Object, User
from records.tasks import settle_arrival
from records.trail import Crumb
from records.views.base import frame

VERSION = "1.0.0"
PIECE = 256 * 1024
OFFSET_STREAM = "application/offset+octet-stream"


class AddImages(Access):
    """Take one or many image files into the records of an object."""

    needs = "writes_analyses"

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        item = get_object_or_404(Object, pk=pk)
        initial = {
            name: request.GET[name] for name in ("examination", "kind") if name in request.GET
        }
        form = UploadForm(item=item, user=signed_in(request), initial=initial)
        return self._show(request, item, form)

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        item = get_object_or_404(Object, pk=pk)
        form = UploadForm(request.POST, request.FILES, item=item, user=signed_in(request))
        valid = form.is_valid()
        images = form.store() if valid else []
        form.clear()
        if not images:
            return self._show(request, item, form, status=422)
        count = len(images)
        messages.success(request, f"{count} image{'s' if count > 1 else ''} kept, with SHA-256.")
        if count == 1:
            return redirect(images[0])
        return redirect("object-images", item.pk)

    def _show(
        self, request: HttpRequest, item: Object, form: UploadForm, status: int = 200
    ) -> HttpResponse:
        back = reverse("object-images", args=[item.pk])
        context = frame(request, item) | {
            "room": "images",
            "form": form,
            "title": "Add images",
            "button": "Keep the files",
            "back": back,
            "arrivals": coming(item, signed_in(request)),
            "in_folder": len(in_ingest_folder()),
        }
        context["crumbs"] += [Crumb("Images", back), Crumb("Add images", request.path)]
        return render(request, "records/image_add.html", context, status=status)


class TakeFromFolder(Access):
    """Take image files that lie in the ingest folder."""

    needs = "writes_records"

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        item = get_object_or_404(Object, pk=pk)
        form = IngestForm(item=item, user=signed_in(request), found=untaken())
        return self._show(request, item, form)

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        item = get_object_or_404(Object, pk=pk)
        form = IngestForm(request.POST, item=item, user=signed_in(request), found=untaken())
        if not form.is_valid():
            return self._show(request, item, form, status=422)
        with transaction.atomic():
            for arrival in form.pick_up():
                settle_arrival.defer(arrival_id=str(arrival.pk))
        return redirect("image-ingest-new", item.pk)

    def _show(
        self, request: HttpRequest, item: Object, form: IngestForm, status: int = 200
    ) -> HttpResponse:
        back = reverse("image-new", args=[item.pk])
        root = Path(settings.INGEST_ROOT)
        context = frame(request, item) | {
            "room": "images",
            "form": form,
            "title": "Take images from the ingest folder",
            "button": "Take the files",
            "back": back,
            "root": root,
            "found": [_told(root, path) for path in untaken()],
            "chosen": form["chosen"].value() or [],
            "arrivals": coming(item, signed_in(request)),
        }
        images = reverse("object-images", args=[item.pk])
        context["crumbs"] += [
            Crumb("Images", images),
            Crumb("Add images", back),
            Crumb("Ingest folder", request.path),
        ]
        return render(request, "records/image_ingest.html", context, status=status)


def untaken() -> list[Path]:
    """What lies in the ingest folder and is not on its way already."""
    unsettled = Arrival.objects.exclude(in_folder="").exclude(state__in=SETTLED)
    on_the_way = set(unsettled.values_list("in_folder", flat=True))
    return [path for path in in_ingest_folder() if str(path) not in on_the_way]


def _told(root: Path, path: Path) -> dict[str, Any]:
    stat = (root / path).stat()
    changed = datetime.fromtimestamp(stat.st_mtime, UTC)
    return {"name": str(path), "byte_size": stat.st_size, "changed": changed}


def coming(item: Object, user: User) -> QuerySet[Arrival]:
    """What somebody has on the way to an object, and what became of it in the last week."""
    return Arrival.objects.filter(object=item, user=user).select_related("image")


class ArrivalsOfObject(Access):
    """Begin an upload in pieces (POST, tus `creation`); list those begun (GET)."""

    needs = "writes_analyses"

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        item = get_object_or_404(Object, pk=pk)
        context = {"arrivals": coming(item, signed_in(request)), "object": item, "polled": True}
        return render(request, "records/image_arrivals.html", context)

    def options(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        return tus(
            HttpResponse(status=204),
            Tus_Version=VERSION,
            Tus_Extension="creation,termination",
            Tus_Max_Size=settings.MOST_UPLOAD_BYTES,
        )

    def post(self, request: HttpRequest, pk: int) -> HttpResponseBase:
        if refused := other_version(request):
            return refused
        item = get_object_or_404(Object, pk=pk)
        try:
            size = int(request.headers["Upload-Length"])
            told = metadata(request.headers.get("Upload-Metadata", ""))
        except (KeyError, ValueError):
            return says(400, "An upload states its length in bytes, and its metadata in base64.")
        name = Path(told.pop("filename", "")).name[-255:]
        if size < 0 or not name:
            return says(400, "An upload states its length in bytes and the name of its file.")
        if size > settings.MOST_UPLOAD_BYTES:
            return says(413, f"“{name}” is larger than this installation takes.")
        sweep()
        Path(settings.MEDIA_ROOT).mkdir(parents=True, exist_ok=True)
        if shutil.disk_usage(settings.MEDIA_ROOT).free < 2 * size:
            return says(507, f"There is no room on the server's disk for “{name}”.")
        form = DescribedForm(told, item=item, user=signed_in(request))
        if not form.is_valid():
            return says(422, " ".join(str(e) for errors in form.errors.values() for e in errors))
        arrival = Arrival(
            object=item,
            user=signed_in(request),
            filename=name,
            byte_size=size,
            described=form.described(name, many=told.get("many") == "yes"),
        )
        arrival.path.parent.mkdir(parents=True)
        arrival.path.touch()
        arrival.save()
        if size == 0:
            complete(arrival)
        return tus(HttpResponse(status=201), Location=arrival.get_absolute_url(), Upload_Offset=0)


class OneArrival(Access):
    """An upload in pieces: how far it is (HEAD), more of it (PATCH), giving it up (DELETE).

    GET says in JSON what has become of it, after the last byte too.
    """

    needs = "writes_analyses"
    http_method_names = ["get", "head", "patch", "delete", "options"]

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if request.method in ("HEAD", "PATCH", "DELETE") and (refused := other_version(request)):
            return refused
        return super().dispatch(request, *args, **kwargs)

    def get(self, request: HttpRequest, key: str) -> HttpResponse:
        return JsonResponse(told_of(mine(request, key)))

    def head(self, request: HttpRequest, key: str) -> HttpResponse:
        arrival = mine(request, key)
        gathering = arrival.state == ArrivalState.ARRIVING
        offset = arrival.arrived if gathering else arrival.byte_size
        response = tus(HttpResponse(), Upload_Offset=offset, Upload_Length=arrival.byte_size)
        response["Cache-Control"] = "no-store"
        return response

    def patch(self, request: HttpRequest, key: str) -> HttpResponse:
        arrival = mine(request, key)
        if request.content_type != OFFSET_STREAM:
            return says(415, f"Pieces come as {OFFSET_STREAM}.")
        if arrival.state != ArrivalState.ARRIVING or not arrival.path.exists():
            return says(410, "This upload is at its end already.")
        with arrival.path.open("ab") as file:
            try:
                fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                return says(423, "Another connection is sending this file.")
            offset = file.seek(0, 2)
            if request.headers.get("Upload-Offset") != str(offset):
                return says(409, f"{offset} bytes are here: go on from there.")
            offset += take_in(request, file, arrival.byte_size - offset)
        Arrival.objects.filter(pk=arrival.pk).update(changed_at=timezone.now())
        if offset == arrival.byte_size:
            complete(arrival)
        return tus(HttpResponse(status=204), Upload_Offset=offset)

    def delete(self, request: HttpRequest, key: str) -> HttpResponse:
        arrival = mine(request, key)
        if arrival.state in (ArrivalState.WAITING, ArrivalState.CHECKING):
            return says(423, "The file is being checked: wait a moment.")
        discard(arrival)
        return tus(HttpResponse(status=204))


def mine(request: HttpRequest, key: str) -> Arrival:
    arrivals = Arrival.objects.filter(user=signed_in(request)).select_related("image", "object")
    return get_object_or_404(arrivals, pk=key)


def take_in(request: HttpRequest, file: Any, most: int) -> int:
    """Append what comes, as it comes, up to `most` bytes; returns how many came.

    A line that breaks ends the piece: what has come by then is kept.
    """
    came = 0
    while came < most:
        try:
            piece = request.read(min(PIECE, most - came))
        except OSError:
            break
        if not piece:
            break
        file.write(piece)
        came += len(piece)
    file.flush()
    return came


def complete(arrival: Arrival) -> None:
    """After the last byte: have the file checked, once."""
    with transaction.atomic():
        here = Arrival.objects.filter(pk=arrival.pk, state=ArrivalState.ARRIVING)
        if here.update(state=ArrivalState.WAITING):
            settle_arrival.defer(arrival_id=str(arrival.pk))


def told_of(arrival: Arrival) -> dict[str, Any]:
    """The state of an arrival for the page that waits for it."""
    return {
        "state": arrival.state,
        "words": arrival.get_state_display(),
        "settled": arrival.state in SETTLED,
        "problem": arrival.problem,
        "image": arrival.image.get_absolute_url() if arrival.image else "",
        "title": str(arrival.image or ""),
    }


def metadata(text: str) -> dict[str, str]:
    """`Upload-Metadata`: pairs of a name and a base64 value. Raises ValueError."""
    told: dict[str, str] = {}
    for pair in text.split(",") if text else []:
        name, _, value = pair.strip().partition(" ")
        try:
            told[name] = base64.b64decode(value, validate=True).decode()
        except (binascii.Error, UnicodeDecodeError) as error:
            raise ValueError(name) from error
    return told


def other_version(request: HttpRequest) -> HttpResponse | None:
    """The refusal of a client that speaks another version of the protocol."""
    if request.headers.get("Tus-Resumable") == VERSION:
        return None
    return tus(HttpResponse(status=412), Tus_Version=VERSION)


def says(status: int, words: str) -> HttpResponse:
    return tus(HttpResponse(words, status=status, content_type="text/plain; charset=utf-8"))


def tus(response: HttpResponse, **headers: Any) -> HttpResponse:
    """The answer with the protocol's headers, their underscores as hyphens."""
    for name, value in {"Tus_Resumable": VERSION, **headers}.items():
        response[name.replace("_", "-")] = str(value)
    return response
