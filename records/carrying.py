"""Shapes drawn on an image that was placed anew since: how far they are off, and where they belong.

What was drawn on an image belongs to a detail of it. Once the image lies elsewhere, the shape is
proposed there: out of the face by the transformation of then, back by the one of now. A person
accepts each; nothing moves by itself. Where an image lay, and when a shape was drawn, is read from
the versions that the database keeps.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime
from math import hypot, sqrt
from typing import Any

import numpy as np
import shapely
from django.contrib.gis.geos import GEOSGeometry
from django.db.models import Q, QuerySet

from records.changes import change
from records.imaging.placement import Chart, chart_of
from records.imaging.residuals import scale_at
from records.models import Image, Placement, Sighting, User
from records.models.places import SRID, outside_mm
from records.placing import LIES_BY, STANDING
from records.quantities import millimetres

LEAST_MM = 0.01  # shapes are kept to a thousandth

# What a sighting says, its shape first.
TOLD = ("geometry", "uncertainty_mm", "outcome", "strength", "note", "image_id", "examination_id")

Where = tuple[int, int]
"""The keys of an image and of a face."""


@dataclass(frozen=True, slots=True)
class LeftBehind:
    """A shape that lies where its image lay when it was drawn.

    `shape` is where the detail lies now, (`right_mm`, `up_mm`) how far the middle of the shape is
    from there, `moved_mm` how far its farthest vertex. `uncertainty_mm` joins the error of drawing
    with that of the new place, and is never less than what is stated now. `is_sure`: the sighting
    names the image itself; else it names an examination of which only this image lies on the face.
    """

    sighting: Sighting
    placement: Placement
    shape: GEOSGeometry
    moved_mm: float
    right_mm: float
    up_mm: float
    uncertainty_mm: float
    drawn_at: datetime
    is_sure: bool

    @property
    def way(self) -> str:
        """Where to the shape would move, in words."""
        parts = (
            (self.right_mm, "to the right" if self.right_mm > 0 else "to the left"),
            (self.up_mm, "up" if self.up_mm > 0 else "down"),
        )
        told = [f"{millimetres(abs(mm))} {words}" for mm, words in parts if abs(mm) >= LEAST_MM]
        return ", ".join(told) or "in its form only"

    def why_not(self) -> str:
        """Why the shape cannot be carried along; '' when it can."""
        face = self.sighting.trace.face
        if not self.shape.valid:
            return "It would cross itself: draw it anew."
        if (off := outside_mm(self.shape, face)) > face.tolerance_mm:
            return f"It would reach {off:.1f} mm beyond the face: draw it anew."
        return ""


def left_behind(sightings: QuerySet[Sighting], faces: Collection[int]) -> list[LeftBehind]:
    """The standing shapes among `sightings` of traces on `faces` that their images have left.

    Takes one query where no image was placed anew, else four.
    """
    lain = _moved_images(faces)
    if not lain:
        return []
    placed = Placement.objects.filter(STANDING, face__in=faces, image__withdrawn_at__isnull=True)
    now = {(one.image_id, one.face_id): one for one in placed.select_related("image", "face")}
    alone = _alone(now.values())
    images = {image for image, face in lain if (image, face) in now}
    looks = {look for (look, face), image in alone.items() if image in images}
    drawn = (
        sightings.filter(STANDING, geometry__isnull=False, trace__withdrawn_at__isnull=True)
        .filter(Q(image__in=images) | Q(examination__in=looks), trace__face__in=faces)
        .select_related("trace__kind", "trace__face")
    )
    pairs = []
    for sighting in drawn:
        face = sighting.trace.face_id
        image = sighting.image_id or alone.get((sighting.examination_id or 0, face), 0)
        if (image, face) in lain and (image, face) in now:
            pairs.append((sighting, (image, face)))
    drawings = _drawings([sighting.pk for sighting, _ in pairs])
    found = []
    for sighting, where in pairs:
        at, stated_mm = drawings.get(sighting.pk, (sighting.updated_at, sighting.uncertainty_mm))
        then = next((one for one in reversed(lain[where]) if one.updated_at <= at), None)
        if then is not None and then.withdrawn_at is None:
            one = _left(sighting, then, now[where], at, stated_mm or 0.0)
            if one.moved_mm >= LEAST_MM:
                found.append(one)
    return found


def left_on(image: Image) -> list[LeftBehind]:
    """The shapes that an image has left, on all faces it lies on."""
    faces = set(image.placements.filter(STANDING).values_list("face_id", flat=True))
    of_it = Q(image=image) | Q(examination__isnull=False, examination=image.examination_id)
    found = left_behind(Sighting.objects.filter(of_it), faces)
    return [one for one in found if one.placement.image_id == image.pk]


def decide(
    carried: Collection[LeftBehind], staying: Collection[LeftBehind], *, user: User, why: str
) -> None:
    """Draw shapes where their image lies now, and confirm others where they are, as one change.

    A sighting saved without a difference is a confirmation (`_drawings`). The database refuses
    (IntegrityError) what does not lie on its face.
    """
    with change(user=user, why=why):
        for one in carried:
            one.sighting.geometry = one.shape
            one.sighting.uncertainty_mm = one.uncertainty_mm
        for one in (*carried, *staying):
            one.sighting.save()


def _moved_images(faces: Collection[int]) -> dict[Where, list[Any]]:
    """The versions of the places of each image that has lain elsewhere on a face, in their order;
    of a place that was withdrawn and set again too."""
    kept: Any = Placement._meta.get_field("versions").related_model
    lain: dict[Where, list[Any]] = defaultdict(list)
    for version in kept.objects.filter(face_id__in=faces).order_by("updated_at", "pgh_id"):
        lain[version.image_id, version.face_id].append(version)
    return {
        where: versions
        for where, versions in lain.items()
        if any(_lies(one) != _lies(versions[0]) for one in versions)
    }


def _lies(version: Any) -> list[Any]:
    return [getattr(version, name) for name in LIES_BY]


def _alone(placements: Iterable[Placement]) -> dict[tuple[int, int], int]:
    """By examination and face: the image, where only one of the examination lies on the face."""
    images: dict[tuple[int, int], set[int]] = defaultdict(set)
    for one in placements:
        if one.image.examination_id:
            images[one.image.examination_id, one.face_id].add(one.image_id)
    return {key: next(iter(found)) for key, found in images.items() if len(found) == 1}


def _drawings(keys: Collection[int]) -> dict[int, tuple[datetime, float | None]]:
    """When each sighting got the shape that it has, or was last confirmed: saved without any
    difference; and the uncertainty stated then."""
    kept: Any = Sighting._meta.get_field("versions").related_model
    drawn: dict[int, tuple[datetime, float | None]] = {}
    before: dict[int, list[Any]] = {}
    for version in kept.objects.filter(pgh_obj__in=keys).order_by("pgh_id"):
        key, told = version.pgh_obj_id, [getattr(version, name) for name in TOLD]
        if key not in drawn or told[0] != before[key][0] or told == before[key]:
            drawn[key] = version.updated_at, version.uncertainty_mm
        before[key] = told
    return drawn


def _left(
    sighting: Sighting, then: Any, now: Placement, at: datetime, stated_mm: float
) -> LeftBehind:
    before, after = _chart(then), _chart(now)
    assert sighting.geometry is not None
    lay = shapely.from_wkb(bytes(sighting.geometry.wkb))
    lies = shapely.transform(lay, lambda mm: after.to_face(before.to_image(mm)).round(3))
    moves = shapely.get_coordinates(lies) - shapely.get_coordinates(lay)
    right, up = shapely.get_coordinates(lies.centroid)[0] - shapely.get_coordinates(lay.centroid)[0]
    middle = before.to_image(shapely.get_coordinates(lay.centroid))
    grown = scale_at(after, middle)[0].mm_per_px / scale_at(before, middle)[0].mm_per_px
    drawing_mm = grown * sqrt(max(0.0, stated_mm**2 - then.uncertainty_mm**2))
    return LeftBehind(
        sighting=sighting,
        placement=now,
        shape=GEOSGeometry(memoryview(shapely.to_wkb(lies)), srid=SRID),
        moved_mm=float(np.linalg.norm(moves, axis=1).max()),
        right_mm=float(right),
        up_mm=float(up),
        uncertainty_mm=max(sighting.uncertainty_mm or 0.0, hypot(drawing_mm, now.uncertainty_mm)),
        drawn_at=at,
        is_sure=sighting.image_id is not None,
    )


def _chart(placed: Any) -> Chart:
    return chart_of(placed.method, placed.matrix, placed.control_points)
