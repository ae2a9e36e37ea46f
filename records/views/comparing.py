"""Comparing placed images by number: the difference of two, grey values of many along a line."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.http import content_disposition_header

from records import profiles
from records.access import Access
from records.comparison import NotYetReadError, along, compared, off_mm, pixel_mm, placements_on
from records.forms.comparing import DifferenceForm, ProfileForm, named
from records.imaging.comparing import ComparingError, Difference, picture
from records.models import Face, Image, Placement
from records.quantities import share
from records.tasks import request_pyramid
from records.trail import Crumb
from records.views.base import frame
from records.views.surface import pictures_on

Json = dict[str, Any]


class Compare(Access):
    """Choose images of a face, see where they differ, and read their grey values along a line."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        face = get_object_or_404(Face.objects.select_related("object"), pk=pk)
        placements = placements_on(face)
        asked = "first" in request.GET
        given = request.GET if asked else None
        form = DifferenceForm(given, placements=placements)
        try:
            told = _told(form) if asked else {}
        except NotYetReadError as error:
            told = {"waits": waited_for(error.image)}
        if "HX-Request" in request.headers:
            return _waiting(request, told)
        chosen = [form.cleaned_data[n].pk for n in ("first", "second")] if "found" in told else []
        context = frame(request, face) | {
            "room": "images",
            "face": face,
            "form": form,
            "many": placements.count() > 1,
            "profile_form": ProfileForm(placements=placements, initial={"bands": chosen}),
            "set_up": _set_up(face, told),
        }
        context["crumbs"] = [*context["crumbs"], Crumb("Compare images", request.path)]
        status = 422 if form.errors or "refused" in told else 200
        return render(request, "records/compare.html", context | told, status=status)


def waited_for(image: Image) -> Image:
    """An image that the task queue has not read yet: asked for, unless that is waiting already."""
    if image.pyramid_progress in (None, 100):
        request_pyramid(image.pk)
        image.refresh_from_db(fields=["pyramid_progress"])
    return image


def _waiting(request: HttpRequest, told: Json) -> HttpResponse:
    """The progress of what is waited for; once all is read, the whole page is new."""
    if "waits" in told:
        return render(request, "records/compare_waits.html", told)
    return HttpResponse(headers={"HX-Refresh": "true"})


def _told(form: DifferenceForm) -> Json:
    """What the chosen images say of one another; {} when the choice is not complete."""
    if not form.is_valid():
        return {}
    first, second = form.cleaned_data["first"], form.cleaned_data["second"]
    try:
        found = _difference(form)
    except ComparingError as error:
        return {"refused": str(error)}
    query = f"k={found.k:g}" + ("&uneven=on" if form.cleaned_data["uneven"] else "")
    address = reverse("face-difference", args=[first.face_id, first.pk, second.pk])
    return {
        "found": found,
        "first": first,
        "second": second,
        "off_mm": off_mm(first, second),
        "pixels": [pixel_mm(first), pixel_mm(second)],
        "certain": share(found.certain_mm2, found.area_mm2) or "none",
        "possible": share(found.possible_mm2, found.area_mm2) or "none",
        "address": f"{address}?{query}",
    }


def _difference(form: DifferenceForm) -> Difference:
    given = form.cleaned_data
    return compared(given["first"], given["second"], even=not given["uneven"], k=given["k"])


def _set_up(face: Face, told: Json) -> Json:
    """What the map needs to know."""
    return {
        "width": face.size_mm[0],
        "height": face.size_mm[1],
        "outline": face.outline.coords,
        "pictures": pictures_on(face),
        "difference": (
            {"address": told["address"], "box": told["found"].grid.box_mm}
            if "found" in told
            else None
        ),
        "chosen": [told[name].image_id for name in ("first", "second") if "found" in told],
    }


class DifferencePicture(Access):
    """The difference of two images as a PNG, a pixel for each cell that was compared."""

    def get(self, request: HttpRequest, pk: int, first: int, second: int) -> HttpResponse:
        face = get_object_or_404(Face, pk=pk)
        given = {"k": request.GET.get("k", "3"), "uneven": request.GET.get("uneven", "")}
        form = DifferenceForm(
            given | {"first": first, "second": second}, placements=placements_on(face)
        )
        if not form.is_valid():
            raise Http404("These two images cannot be compared on this face.")
        try:
            drawn = picture(_difference(form))
        except (ComparingError, NotYetReadError) as error:
            raise Http404(str(error)) from error
        return HttpResponse(
            drawn, content_type="image/png", headers={"Cache-Control": "private, max-age=600"}
        )


class ProfileAlong(Access):
    """Grey values along a line: a chart with its table, or all of them as CSV (`?save=csv`)."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        face = get_object_or_404(Face.objects.select_related("object"), pk=pk)
        form = ProfileForm(request.GET or None, placements=placements_on(face))
        context: Json = {"face": face, "profile_form": form}
        if not form.is_valid():
            status = 422 if form.is_bound else 200
            return render(request, "records/compare_profile.html", context, status=status)
        given = form.cleaned_data
        placements: list[Placement] = list(given["bands"])
        try:
            bands = along(placements, given["line"], given["width_mm"] or 0)
        except ComparingError as error:
            form.add_error("line", str(error))
            return render(request, "records/compare_profile.html", context, status=422)
        except NotYetReadError as error:
            context["waits"] = waited_for(error.image)
            return render(request, "records/compare_profile.html", context)
        curves = [(named(band.placement), band.profile) for band in bands]
        if request.GET.get("save") == "csv":
            return _save(face, profiles.as_csv(curves, given["line"]))
        every = profiles.rows(curves)
        distance = bands[0].profile.distance_mm
        context |= {
            "bands": bands,
            "chart": profiles.chart(curves),
            "rows": profiles.listed(every),
            "row_count": len(every),
            "length_mm": float(distance[-1]),
            "step_mm": float(distance[1] - distance[0]),
            "query": request.GET.urlencode(),
        }
        return render(request, "records/compare_profile.html", context)


def _save(face: Face, text: str) -> HttpResponse:
    name = f"{face.object.accession_number} {face} grey values.csv".replace("/", "-")
    return HttpResponse(
        text,
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": content_disposition_header(True, name) or ""},
    )
