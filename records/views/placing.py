"""Placing an image on a face: the page with the two panes, the figures while one works, points that
the machine proposes, what follows a reference placed anew, the progress of redrawing."""

from collections.abc import Sequence
from math import isfinite
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.defaultfilters import pluralize
from django.template.loader import render_to_string
from django.urls import reverse

from records.access import Access, signed_in
from records.carrying import left_on
from records.changes import change
from records.forms.placing import ControlPointsField, PlacementForm
from records.imaging.placement import METHODS, PlacementError, Placing, place
from records.models import Face, Image, Placement, PointProposal
from records.placing import (
    carried_along,
    drawn,
    move_to,
    new_place_of_reference,
    proposed,
    references,
)
from records.quantities import millimetres
from records.tasks import propose_points, request_redrawing
from records.views.base import ChangeRecord, EntryPage, NewRecord
from records.views.surface import set_up

Json = dict[str, Any]
CLEARLY = 0.8  # of the error of the transformation chosen: less is told


class Panes(EntryPage):
    """What the page of the form shows beside it: the image, the face, the placed images on it."""

    template = "records/place.html"
    form_class = PlacementForm

    def around(self, form: PlacementForm) -> Json:
        face = form.face_chosen()
        if face is None:
            return {"face": None}
        return {"face": face, "set_up": panes(self.request, form.instance.image, face)}

    def next_address(self, form: PlacementForm) -> str:  # type: ignore[override]
        if count := len(left_on(form.instance.image)):
            words = f"{count} shape{pluralize(count)} drawn on it stay{pluralize(count, 's,')}"
            messages.info(self.request, f"{words} where it lay before until you decide: see below.")
        return super().next_address(form)


class NewPlacement(Panes, NewRecord):
    parent, link = Image, "image"
    crumb = "Place on a face"

    def title(self, record: Any) -> str:
        return f"Place on a face: {record.image}"


class ChangePlacement(Panes, ChangeRecord):
    crumb = "Change the place"

    def title(self, record: Any) -> str:
        return f"Change the place: {record.image}"

    def next_address(self, form: PlacementForm) -> str:  # type: ignore[override]
        if form.carried:
            messages.info(self.request, moved_too(form.carried))
        return super().next_address(form)


def moved_too(carried: Sequence[Placement]) -> str:
    names = ", ".join(f"“{one.image}” (± {millimetres(one.uncertainty_mm)})" for one in carried)
    return f"Fitted anew with it, as their points were set on it: {names}."


class FollowReference(Access):
    """Fit a placement anew on the same details of the image that its points were set on, where
    that lies now: for one whose reference was withdrawn and placed again."""

    needs = "writes_records"

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        placements = Placement.objects.select_related("image", "face", "reference__image")
        placement = get_object_or_404(placements, pk=pk, withdrawn_at__isnull=True)
        now = new_place_of_reference(placement)
        if placement.reference is None or now is None:
            messages.error(request, "There is no other place of its reference to fit it on.")
            return redirect(placement)
        try:
            move_to(placement, placement.reference, now)
            carried = carried_along(placement)
        except PlacementError as error:
            messages.error(request, str(error))
            return redirect(placement)
        why = f"“{now.image}”, on which its points were set, was placed anew."
        with change(user=signed_in(request), why=why):
            for one in [placement, *carried]:
                one.save()
                request_redrawing(one)
        told = f"“{placement.image}” is fitted anew on where “{now.image}” lies now."
        messages.success(request, told)
        if carried:
            messages.info(request, moved_too(carried))
        return redirect(placement)


def panes(request: HttpRequest, image: Image, face: Face) -> Json:
    """What the two panes need to know."""
    pictures = {}
    for placement in references(face, image):
        if shown := drawn(placement):
            pictures[placement.pk] = shown | {
                "image": placement.image_id,
                "name": str(placement.image),
                "off": placement.uncertainty_mm,
                "mirrored": placement.face_id != face.pk,
            }
    return {
        "image": {
            "tiles": image.tiles_address if image.pyramid else "",
            "width": image.width_px,
            "height": image.height_px,
        },
        "surface": set_up(face, request),
        "pictures": pictures,
        "addresses": {
            "fit": reverse("placement-fit", args=[image.pk]),
            "points": reverse("points-new", args=[image.pk]),
        },
    }


class Fit(Access):
    """The figures of the points set so far; nothing is kept."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        return self._told(pk, request.GET)

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        return self._told(pk, request.POST)

    def _told(self, pk: int, sent: Any) -> HttpResponse:
        image = get_object_or_404(Image, pk=pk)
        size = (image.width_px, image.height_px)
        numbers, points = _points(sent)
        method = sent.get("method") if sent.get("method") in METHODS else "similarity"
        key = sent.get("reference", "")
        reference = Placement.objects.filter(pk=key).first() if key.isdigit() else None
        rests_on = reference.uncertainty_mm if reference else 0.0
        px, mm = [p["px"] for p in points], [p["mm"] for p in points]
        told: Json = {"count": len(points), "reference": reference, "method": METHODS[method]}
        rows: Json = {}
        matrix = None
        short = ""
        try:
            placing = place(px, mm, method, size)
        except PlacementError as error:
            told["refused"] = str(error)
        else:
            off = placing.uncertainty_mm(*size, rests_on)
            told |= figures(placing, size) | {"off": off if isfinite(off) else None}
            told["doubts"] = _renumbered(placing, numbers)
            told["others"] = compared(px, mm, method)
            told["better"] = _better(told["others"])
            short = f"± {millimetres(off)}" if isfinite(off) else "error not shown yet"
            rows = _by_row(placing, numbers)
            matrix = placing.matrix.tolist()
        said = render_to_string("records/placing_said.html", told)
        return JsonResponse({"said": said, "short": short, "rows": rows, "matrix": matrix})


def _points(sent: Any) -> tuple[list[int], list[Json]]:
    """The rows that hold four numbers: their positions in the table, from 0, and their points."""
    typed = [sent.getlist(f"control_points.{name}") for name in ControlPointsField.numbers]
    numbers, points = [], []
    for number, cells in enumerate(zip(*typed, strict=False)):
        try:
            column, row, x, y = (float(cell.replace(",", ".")) for cell in cells)
        except ValueError:
            continue
        numbers.append(number)
        points.append({"px": [column, row], "mm": [x, y]})
    return numbers, points


def figures(placing: Placing, size: tuple[int, int]) -> Json:
    """How well a transformation fits, for people."""
    kept = placing.kept(*size)
    finest, coarsest = kept["mm_per_px_from_to"]
    return {
        "rms": placing.rms_mm,
        "left_out_rms": kept["left_out_rms_mm"],
        "interpolates": placing.method == "spline",
        "mm_per_px": kept["mm_per_px"],
        "finest": finest,
        "coarsest": coarsest,
        "anisotropy": kept["anisotropy"],
        "anisotropy_to": kept["anisotropy_to"],
    }


def _renumbered(placing: Placing, numbers: list[int]) -> list[Json]:
    """The doubts, with the number of the row in the table where rows before it are not filled."""
    whole_table = numbers == list(range(len(numbers)))
    return [
        {
            "words": doubt.words,
            "rows": "" if whole_table else ", ".join(str(numbers[i] + 1) for i in doubt.points),
        }
        for doubt in placing.doubts
    ]


def _by_row(placing: Placing, numbers: list[int]) -> Json:
    doubtful = {index for doubt in placing.doubts for index in doubt.points}
    return {
        str(number): {
            "missed": round(float(placing.residuals_mm[index]), 3),
            "left": _finite(placing.left_out_mm[index]),
            "doubtful": index in doubtful,
        }
        for index, number in enumerate(numbers)
    }


def _finite(value: float) -> float | None:
    return round(float(value), 3) if isfinite(value) else None


def compared(px: Any, mm: Any, chosen: str) -> list[Json]:
    """The same points under every transformation that they decide."""
    told = []
    for name, method in METHODS.items():
        try:
            placing = place(px, mm, name)
        except PlacementError:
            continue
        told.append(
            {
                "name": method.name,
                "chosen": name == chosen,
                "rms": None if name == "spline" else placing.rms_mm,
                "left_out_rms": _finite(placing.left_out_rms_mm),
            }
        )
    return told


def _better(told: Sequence[Json]) -> Json | None:
    """Another transformation that foretells the points clearly better than the one chosen."""
    chosen = next((one["left_out_rms"] for one in told if one["chosen"]), None)
    shown = [one for one in told if one["left_out_rms"] is not None]
    best = min(shown, key=lambda one: one["left_out_rms"], default=None)
    clearly = chosen and best and best["left_out_rms"] < CLEARLY * chosen
    return best if clearly else None


class ProposePoints(Access):
    """Points that the machine finds in an image and in a placed one; asked for, then waited for."""

    needs = "writes_records"

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        image, face, reference = self._asked(pk, request.GET)
        proposal = PointProposal.objects.filter(image=image, reference=reference).first()
        return self._show(request, image, face, reference, proposal)

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        image, face, reference = self._asked(pk, request.POST)
        proposal = None
        if reference is not None:
            proposal, _ = PointProposal.objects.update_or_create(
                image=image,
                reference=reference,
                defaults={"progress": 0, "points": [], "words": "", "found": {}},
            )
            propose_points.defer(proposal_id=proposal.pk)
        return self._show(request, image, face, reference, proposal)

    def _asked(self, pk: int, sent: Any) -> tuple[Image, Face | None, Placement | None]:
        image = get_object_or_404(Image, pk=pk)
        face_key, key = sent.get("face", ""), sent.get("reference", "")
        face = None
        if face_key.isdigit():
            face = Face.objects.filter(object=image.object_id, pk=face_key).first()
        if face is None or not key.isdigit():
            return image, face, None
        return image, face, references(face, image).filter(pk=key).first()

    def _show(
        self,
        request: HttpRequest,
        image: Image,
        face: Face | None,
        reference: Placement | None,
        proposal: PointProposal | None,
    ) -> HttpResponse:
        context = {
            "image": image,
            "face": face,
            "reference": reference,
            "proposal": proposal,
            "working": proposal is not None and proposal.progress < 100,
            "points": proposed(proposal, face) if proposal and face else [],
        }
        return render(request, "records/placing_points.html", context)


class Redrawing(Access):
    """How far the redrawing of a placed image is."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        placement = get_object_or_404(Placement.objects.select_related("image", "face"), pk=pk)
        return render(request, "records/placing_progress.html", {"placement": placement})


def told(placement: Placement, image: Image) -> Json:
    """A placement as it is read on the page of its image: its points with what they leave."""
    size = (image.width_px, image.height_px)
    points = placement.control_points
    shown: Json = {
        "placement": placement,
        "method": placement.method,
        "points": [],
        "reference_now": new_place_of_reference(placement),
    }
    if placement.method in METHODS:
        shown["method"] = METHODS[placement.method].name
    try:
        placing = place(
            [p["px"] for p in points], [p["mm"] for p in points], placement.method, size
        )
    except (PlacementError, KeyError):
        return shown
    left = [_finite(error) for error in placing.left_out_mm]
    missed = [float(miss) for miss in placing.residuals_mm]
    return (
        shown
        | figures(placing, size)
        | {
            "points": list(zip(points, missed, left, strict=True)),
            "doubts": [doubt.words for doubt in placing.doubts],
        }
    )
