"""The Images room: campaigns with their examinations, images, and placing images on faces."""

from typing import Any

import numpy as np
from django.contrib import messages
from django.db.models import Prefetch, Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from records.access import Access, signed_in
from records.forms.images import ImageForm, PlacementForm, UploadForm
from records.imaging.placement import project, scale_mm
from records.models import Campaign, Examination, Image, Object, Placement
from records.tasks import make_image_pyramid
from records.trail import Crumb, may_write
from records.views.base import ChangeRecord, NewRecord, RecordPage, frame

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


class AddImages(Access):
    """Take one or many image files into the records of an object."""

    needs = "writes_records"

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
        images = form.store() if form.is_valid() else []
        if not images:
            return self._show(request, item, form, status=422)
        for image in images:
            make_image_pyramid.defer(image_id=image.pk)
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
        }
        context["crumbs"] += [Crumb("Images", back), Crumb("Add images", request.path)]
        return render(request, "records/form.html", context, status=status)


class ImagePage(RecordPage):
    model = Image
    template = "records/image.html"

    def records(self) -> QuerySet[Any]:
        return Image.objects.select_related("object", "examination__technique", "source")

    def gather(self, record: Image) -> dict[str, Any]:
        placements = record.placements.filter(STANDING).select_related("face")
        return {
            "placements": [_told(placement, record) for placement in placements],
            "sightings": record.sightings.filter(STANDING)
            .select_related("trace__kind", "trace__face")
            .defer("geometry", "trace__shape"),
        }


def _told(placement: Placement, image: Image) -> dict[str, Any]:
    """A placement with what it leaves: the residual of each control point, the size of a pixel."""
    points = placement.control_points
    residuals: list[float] = []
    if points:
        at = project(placement.matrix, [point["px"] for point in points])
        missed = np.linalg.norm(at - np.asarray([point["mm"] for point in points]), axis=1)
        residuals = [float(miss) for miss in missed]
    return {
        "placement": placement,
        "pixel_mm": scale_mm(placement.matrix, image.width_px, image.height_px),
        "points": list(zip(points, residuals, strict=True)),
    }


class ChangeImage(ChangeRecord):
    form_class = ImageForm


class NewPlacement(NewRecord):
    form_class = PlacementForm
    parent, link = Image, "image"
    template = "records/place.html"

    def title(self, record: Any) -> str:
        return "Place on a face"


class ChangePlacement(ChangeRecord):
    form_class = PlacementForm
    template = "records/place.html"

    def title(self, record: Any) -> str:
        return "Change the placement"
