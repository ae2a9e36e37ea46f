"""Placements with the records around them: fitted and kept, redrawn, given points by the machine.

The numbers come from `records.imaging`; here they meet the database. What takes long is called by
the task queue (`records.tasks`).
"""

import hashlib
import json
import shutil
from collections.abc import Callable
from math import hypot, isfinite, sqrt
from pathlib import Path
from typing import Any

import numpy as np
from django.conf import settings
from django.contrib.gis.geos import GEOSGeometry, Polygon
from django.db.models import Min, Q, QuerySet
from django.urls import reverse
from django.utils import timezone

from records.choices import UncertaintyBasis
from records.imaging import matching
from records.imaging.fits import Array
from records.imaging.placement import Chart, PlacementError, Placing, chart_of, outline_px, place
from records.imaging.pyramid import PyramidError, ready_to_show
from records.imaging.rectifying import Frame, frame_of, lies_square, rectify
from records.models import Face, Image, Placement, PointProposal
from records.models.places import SRID
from records.quantities import millimetres
from records.spatial import Intersects, literal

STANDING = Q(withdrawn_at__isnull=True)
FOLDER = "rectified"
# What decides where a placed image lies, and how surely.
LIES_BY = ("face_id", "method", "matrix", "control_points", "uncertainty_mm")
EDGE_STEPS = {"spline": 16}  # points a side of the footprint, where a side may bend


class UncheckedError(PlacementError):
    """The points decide a place but show nothing of its error."""


def settle(placement: Placement, stated_mm: float | None = None) -> Placing:
    """Fit the points of a placement and set all that follows from them; nothing is saved.

    `stated_mm` is an uncertainty stated by hand; the larger one counts. Raises PlacementError when
    the points do not decide a place, UncheckedError when nothing shows its error, or less is stated
    than that of the image on which the points were set.
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
    if not isfinite(shown) and stated_mm is not None and stated_mm < rests_on:
        raise UncheckedError(
            f"“{placement.reference.image}”, on which the points are set, may itself be off by "  # type: ignore[union-attr]
            f"{millimetres(rests_on)}: state that or more."
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
    placement.rectified_progress = None if lies_square(placing.chart, size) else 0
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
    placed = Placement.objects.filter(
        STANDING, face__in=sides(face), image__withdrawn_at__isnull=True
    )
    above = list(placed.filter(image=image).values_list("pk", flat=True))
    resting = set(above)
    while above:
        above = list(placed.filter(reference__in=above).values_list("pk", flat=True))
        above = [key for key in above if key not in resting]
        resting |= set(above)
    placed = placed.exclude(pk__in=resting).exclude(image__pyramid="")
    return placed.select_related("image__examination", "face").order_by("face_id", "uncertainty_mm")


def carried_along(placement: Placement) -> list[Placement]:
    """Placements whose points were set on this one, fitted to where it is about to lie; unsaved.

    `placement` is as it will be; where it lies until now, the database knows. A point set on it
    stays on the same detail, and so moves on the face; what rests on such a placement follows in
    turn. Raises PlacementError, naming the image, for one that cannot follow.
    """
    if not placement.pk:
        return []  # it is new: nothing rests on it yet
    before = Placement.objects.select_related("image", "face").get(pk=placement.pk)
    resting = Placement.objects.filter(STANDING, reference=before).select_related("image", "face")
    if all(getattr(before, name) == getattr(placement, name) for name in LIES_BY):
        return []
    carried: list[Placement] = []
    for one in resting:
        move_to(one, before, placement)
        carried += [one, *carried_along(one)]
    return carried


def move_to(placement: Placement, before: Placement, now: Placement) -> None:
    """Fit a placement whose points were set on `before` anew, on the same details of `now`.

    Both are places of one image. Raises PlacementError when `now` lies on another face.
    """
    face = placement.face
    if now.face_id not in sides(face):
        raise PlacementError(
            f"Points of “{placement.image}” on {face} were set on this image: it has to lie on "
            "that face or behind it. Place the other image by other points first."
        )
    points = np.array([point["mm"] for point in placement.control_points])
    if before.face_id != face.pk:
        points[:, 0] = face.size_mm[0] - points[:, 0]
    places = onto(now, face)(chart(before).to_image(points)).round(3).tolist()
    stated_mm = None
    if placement.uncertainty_basis == UncertaintyBasis.STATED:
        own = sqrt(max(0.0, placement.uncertainty_mm**2 - before.uncertainty_mm**2))
        stated_mm = max(placement.uncertainty_mm, hypot(own, now.uncertainty_mm))
    placement.reference = now
    placement.control_points = [
        point | {"mm": mm} for point, mm in zip(placement.control_points, places, strict=True)
    ]
    try:
        settle(placement, stated_mm)
    except PlacementError as error:
        raise PlacementError(
            f"Points of “{placement.image}” were set on this image, and it cannot follow: {error}"
        ) from error
    placement.fit["followed_on"] = timezone.now().date().isoformat()


def new_place_of_reference(placement: Placement) -> Placement | None:
    """Where the image lies now on which points of a placement were set, once its place then is
    withdrawn; None when that place stands, or there is no other."""
    then = placement.reference
    if then is None or not then.is_withdrawn:
        return None
    return references(placement.face, placement.image).filter(image=then.image_id).first()


def sides(face: Face) -> list[int]:
    """The keys of a face and of its other side, if it has one."""
    return [face.pk, *([face.other_side.pk] if face.other_side else [])]


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
    # Placed anew meanwhile, it is redrawn by the next; what is made here is then not of this place.
    mine = Placement.objects.filter(pk=placement.pk, updated_at=placement.updated_at)
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
