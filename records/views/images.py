"""The Images room: campaigns with their examinations, images, and placing images on faces."""

from collections import Counter
from typing import Any

from django.db.models import Prefetch, Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from records.access import Access, signed_in
from records.carrying import left_on
from records.forms.images import DisplayWindowForm, ImageForm
from records.models import Campaign, Examination, FileCheck, Image, Object, Placement
from records.tasks import request_pyramid
from records.trail import may_write
from records.views.base import ChangeRecord, RecordPage, frame
from records.views.placing import told

STANDING = Q(withdrawn_at__isnull=True)


def placed_images() -> QuerySet[Image]:
    """Standing images with their standing placements as `placed`."""
    placements = Placement.objects.filter(STANDING).select_related("face")
    return Image.objects.filter(STANDING).prefetch_related(
        Prefetch("placements", placements, to_attr="placed")
    )


class ObjectImages(Access):
    """All campaigns, examinations and images of an object."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        item = get_object_or_404(Object, pk=pk)
        looks = (
            Examination.objects.filter(STANDING)
            .select_related("technique", "operator")
            .prefetch_related(Prefetch("images", placed_images(), to_attr="shown"))
        )
        campaigns = (
            Campaign.objects.filter(STANDING, object=item)
            .select_related("parent")
            .prefetch_related(Prefetch("examinations", looks, to_attr="looks"))
        )
        others = placed_images().filter(object=item, examination__isnull=True)
        context = frame(request, item) | {
            "room": "images",
            "campaigns": campaigns,
            "others": others.select_related("source"),
            "may_write": may_write(signed_in(request), Image),
        }
        return render(request, "records/object/images.html", context)


class ImagePage(RecordPage):
    model = Image
    template = "records/image.html"

    def records(self) -> QuerySet[Any]:
        return Image.objects.select_related("object", "examination__technique", "source")

    def gather(self, record: Image) -> dict[str, Any]:
        placements = record.placements.filter(STANDING).select_related("face", "reference__image")
        sightings = (
            record.sightings.filter(STANDING)
            .select_related("trace__kind", "trace__face")
            .defer("geometry", "trace__shape")
        )
        counts: Counter[str] = Counter(one.get_outcome_display() for one in sightings)
        left = left_on(record)
        same = Image.objects.filter(STANDING, sha256=record.sha256).exclude(pk=record.pk)
        return {
            "viewer": viewer(record),
            "check": FileCheck.objects.filter(name=str(record.file.name)).first(),
            "same": same.select_related("object"),
            "mosaics": record.made_as_mosaic.all(),
            "placements": [told(placement, record) for placement in placements],
            "sightings": sightings,
            "outcomes": counts.most_common(),
            "left": left,
            "left_mm": max((one.moved_mm for one in left), default=0.0),
        }


def viewer(image: Image) -> dict[str, Any]:
    """What the viewer of an image needs to know."""
    window = image.window
    return {
        "tiles": image.tiles_address if image.pyramid else "",
        "takesWindow": image.takes_window,
        "histogram": image.histogram,
        "window": window and list(window),
        "whole": bool(image.sample_type) and image.sample_type[:3] in ("uin", "int"),
    }


class ImageProgress(Access):
    """How far the tiles of an image are, for a page that waits for them."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        context = {"record": get_object_or_404(Image, pk=pk), "asked": True}
        return render(request, "records/image_progress.html", context)


class ChangeImage(ChangeRecord):
    form_class = ImageForm


class ChangeWindow(ChangeRecord):
    """Set which values are shown as black and white; the tiles are then made anew."""

    form_class = DisplayWindowForm

    def title(self, record: Any) -> str:
        return f"How {record} is shown"

    def next_address(self, form: Any) -> str:
        request_pyramid(form.instance.pk)
        return super().next_address(form)
