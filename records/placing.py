"""Placements with the records around them: fitted and kept, redrawn, given points by the machine.

The numbers come from `records.imaging`; here they meet the database. What takes long is called by
the task queue (`records.tasks`).
"""

import hashlib
import json
import shutil
from collections.abc import Callable
from math import isfinite
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.gis.geos import GEOSGeometry, Polygon
from django.db.models import Min, Q, QuerySet
from django.urls import reverse

from records.choices import UncertaintyBasis
from records.imaging import matching
from records.imaging.fits import Array
from records.imaging.placement import Chart, PlacementError, Placing, chart_of, outline_px, place
from records.imaging.pyramid import PyramidError, ready_to_show
from records.imaging.rectifying import Frame, frame_of, rectify
from records.models import Face, Image, Placement, PointProposal
from records.models.places import SRID
from records.spatial import Intersects, literal

STANDING = Q(withdrawn_at__isnull=True)
FOLDER = "rectified"
# What a browser can only show after the image is redrawn, or shows better so.
REDRAWN = ("projective", "spline")
EDGE_STEPS = {"spline": 16}  # points a side of the footprint, where a side may bend


class UncheckedError(PlacementError):
    """The points decide a place but show nothing of its error."""


def settle(placement: Placement, stated_mm: float | None = None) -> Placing:
    """Fit the points of a placement and set all that follows from them; nothing is saved.

    `stated_mm` is an uncertainty stated by hand; the larger one counts. Raises PlacementError when
    the points do not decide a place, UncheckedError when nothing shows its error.
    """
    image, points = placement.image, placement.control_points
    size = (image.width_px, image.height_px)
    placing = place([p["px"] for p in points], [p["mm"] for p in points], placement.method, size)
    rests_on = placement.reference.uncertainty_mm if placement.reference else 0.0
    shown = placing.uncertainty_mm(*size, rests_on)
    if not isfinite(shown) and stated_mm is None:
        raise UncheckedError(
            "With so few points nothing shows the error: add one, or say how far what is drawn on "
            "the image may be off."
        )
    if stated_mm is not None and not (isfinite(shown) and shown >= stated_mm):
        placement.uncertainty_mm, basis = stated_mm, UncertaintyBasis.STATED
    else:
        placement.uncertainty_mm, basis = shown, UncertaintyBasis.LEFT_OUT
    placement.uncertainty_basis = basis
    placement.matrix = placing.matrix.tolist()
    placement.rms_mm = placing.rms_mm
    placement.fit = placing.kept(*size) | {"reference_mm": rests_on}
    edge = placing.chart.to_face(outline_px(*size, EDGE_STEPS.get(placement.method, 1)))
    placement.footprint = _outline(edge)
    placement.rectified, placement.rectified_frame = "", None
    placement.rectified_progress = 0 if placement.method in REDRAWN else None
    placement.rectified_error = ""
    return placing


def _outline(edge: Array) -> Any:
    corners = edge.tolist()
    polygon = Polygon([*corners, corners[0]], srid=SRID)
    return polygon if polygon.valid else polygon.convex_hull


def chart(placement: Placement) -> Chart:
    """The transformation of a placement as it is kept."""
    return chart_of(placement.method, placement.matrix, placement.control_points)


def onto(placement: Placement, face: Face) -> Callable[[Any], Array]:
    """Carries pixels of a placed image to `face`: the one it lies on, or that one's other side."""
    own = chart(placement)
    if placement.face_id == face.pk:
        return own.to_face
    width = face.size_mm[0]

    def seen_through(px: Any) -> Array:
        points = own.to_face(px)
        points[:, 0] = width - points[:, 0]
        return points

    return seen_through


def references(face: Face, image: Image) -> QuerySet[Placement]:
    """Placed images on which points of `image` may be set: on the face or on its other side.

    Not those whose own place rests on the image: an error would then vouch for itself.
    """
    sides = [face.pk, *([face.other_side.pk] if face.other_side else [])]
    placed = Placement.objects.filter(STANDING, face__in=sides, image__withdrawn_at__isnull=True)
    above = list(placed.filter(image=image).values_list("pk", flat=True))
    resting = set(above)
    while above:
        above = list(placed.filter(reference__in=above).values_list("pk", flat=True))
        above = [key for key in above if key not in resting]
        resting |= set(above)
    placed = placed.exclude(pk__in=resting).exclude(image__pyramid="")
    return placed.select_related("image__examination", "face").order_by("face_id", "uncertainty_mm")


def least_uncertainty_mm(face_id: int, arc: str, key: int, shape: GEOSGeometry) -> float | None:
    """How far a shape drawn on an image, or on one of an examination, may be off at least.

    The database holds every sighting to the same (`records.models.traces`); None when no image is
    placed there. `arc` is 'image' or 'examination', `key` the key of it.
    """
    placed = Placement.objects.filter(STANDING, face=face_id, image__withdrawn_at__isnull=True)
    if arc == "image":
        placed = placed.filter(image=key)
    else:
        placed = placed.filter(Intersects("footprint", literal(shape)), image__examination=key)
    least: float | None = placed.aggregate(least=Min("uncertainty_mm"))["least"]
    return least


# Showing

Json = dict[str, Any]


def drawn(placement: Placement) -> Json | None:
    """What a map needs to show a placed image; None while only a redrawn one could be shown.

    Redrawn, it is a picture square to the face, shown as far as the image reaches (`edge`).
    """
    image = placement.image
    if placement.rectified and placement.rectified_frame:
        frame = Frame(**placement.rectified_frame)
        return {
            "width": frame.width_px,
            "height": frame.height_px,
            "matrix": frame.matrix,
            "tiles": tiles_address(placement),
            "edge": [list(corner) for corner in placement.footprint.coords[0]],
        }
    if not image.pyramid or placement.method == "spline":
        return None
    return {
        "width": image.width_px,
        "height": image.height_px,
        "matrix": placement.matrix,
        "tiles": image.tiles_address,
        "edge": None,
    }


def tiles_address(placement: Placement) -> str:
    """Where the tiles of the redrawn image are served from, without a slash at its end."""
    made = placement.rectified.partition(f"/{placement.pk}-")[2]
    return reverse("placement-tiles", args=[placement.pk, made])


# Redrawing


def stamp(placement: Placement) -> str:
    """Changes with everything that the redrawn image shows."""
    rests_on = [placement.method, placement.matrix, placement.control_points]
    told = json.dumps([placement.image.tiles_stamp, *rests_on])
    return hashlib.sha256(told.encode()).hexdigest()[:12]


def redraw(placement: Placement, original: Path) -> None:
    """Make the tiles of a placed image as it lies on its face; a failure is told with it.

    They can be made again at any time; killed and run again, the work starts anew.
    """
    mine = Placement.objects.filter(pk=placement.pk)
    name = f"{FOLDER}/{placement.pk}-{stamp(placement)}"
    image = placement.image
    own = chart(placement)
    size = (image.width_px, image.height_px)

    def told(percent: int) -> None:
        if percent % 5 == 0:
            mine.update(rectified_progress=percent)

    try:
        frame = frame_of(own, own.to_face(outline_px(*size, 16)), placement.face.size_mm, size)
        rectify(
            original,
            own,
            frame,
            Path(settings.MEDIA_ROOT) / name,
            told,
            lambda opened: ready_to_show(opened, image.window),
        )
    except (PyramidError, ValueError) as error:
        mine.update(rectified_progress=None, rectified_error=str(error))
        return
    mine.update(
        rectified=name, rectified_frame=frame.told(), rectified_progress=100, rectified_error=""
    )
    for old in (Path(settings.MEDIA_ROOT) / FOLDER).glob(f"{placement.pk}-*"):
        if old.name != Path(name).name:
            shutil.rmtree(old, ignore_errors=True)


# Points by the machine


def propose(proposal: PointProposal, image: Path, reference: Path) -> None:
    """Look for points that an image shares with a placed one, and keep what is found."""
    mine = PointProposal.objects.filter(pk=proposal.pk)
    try:
        here, there = matching.small_copy(image), matching.small_copy(reference)
    except matching.UnreadableError as error:
        mine.update(progress=100, points=[], words=str(error), found={})
        return
    mine.update(progress=10)

    def told(percent: int) -> None:
        mine.update(progress=percent)

    found = matching.match(here, there, told)
    points = [{"px": list(p.px), "on": list(p.on)} for p in found.pairs]
    mine.update(progress=100, points=points, words=found.words, found=found.told())


def proposed(proposal: PointProposal, face: Face) -> list[dict[str, Any]]:
    """The proposed points with their places on `face` in mm."""
    if not proposal.points:
        return []
    places = onto(proposal.reference, face)([point["on"] for point in proposal.points])
    return [
        {"px": point["px"], "mm": [round(x, 2), round(y, 2)]}
        for point, (x, y) in zip(proposal.points, places.tolist(), strict=True)
    ]
