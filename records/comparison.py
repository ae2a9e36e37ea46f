"""Comparing the images placed on a face: read at one resolution, laid over one another, told.

The numbers come from `records.imaging.comparing`; here they meet the records.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import hypot
from pathlib import Path
from typing import Any

import numpy as np
from django.conf import settings
from django.db.models import QuerySet

from records.imaging.comparing import (
    Array,
    ComparingError,
    Difference,
    Grey,
    Grid,
    Profile,
    difference,
    profile,
    read_grey,
    read_kept,
)
from records.imaging.placement import Chart, chart_of, scale_mm
from records.kept import at_hand
from records.models import Face, Image, Placement

MOST_VALUES = 800  # along a line
KEPT = 6  # comparisons and images that a web server keeps at hand


class NotYetReadError(Exception):
    """The image is long to read, and the task queue has not done so yet."""

    def __init__(self, image: Image) -> None:
        super().__init__(f"“{image}” is still being read.")
        self.image = image


def placements_on(face: Face) -> QuerySet[Placement]:
    """The standing images placed on a face, the oldest first."""
    return (
        Placement.objects.filter(
            face=face, withdrawn_at__isnull=True, image__withdrawn_at__isnull=True
        )
        .select_related("image__examination__technique", "face")
        .order_by("image__date_earliest", "image__examination__date_earliest", "pk")
    )


def pixel_mm(placement: Placement) -> float:
    """The size of a pixel on the face, at the middle of the image."""
    return scale_mm(placement.matrix, placement.image.width_px, placement.image.height_px)


def off_mm(first: Placement, second: Placement) -> float:
    """How far two images may lie off one another: their errors are taken as independent."""
    return hypot(first.uncertainty_mm, second.uncertainty_mm)


def compared(first: Placement, second: Placement, *, even: bool, k: float) -> Difference:
    """The second image less the first, over the part of the face that both show.

    Raises ComparingError, in words, when they cannot be compared, NotYetReadError when one of them
    has to be waited for.
    """
    return _compared(_Placed(first), _Placed(second), even, k)


class _Placed:
    """A placement as it stands, so that what was worked out of it can be found again."""

    def __init__(self, placement: Placement) -> None:
        self.placement = placement
        self.key = (placement.pk, placement.updated_at)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Placed) and self.key == other.key

    def __hash__(self) -> int:
        return hash(self.key)


@lru_cache(KEPT)
def _compared(one: _Placed, two: _Placed, even: bool, k: float) -> Difference:
    first, second = one.placement, two.placement
    face = first.face
    grid = Grid.over(
        _common(first.footprint.extent, second.footprint.extent, face.outline.extent),
        max(pixel_mm(first), pixel_mm(second)),
    )
    outside = ~grid.holds(face.outline.exterior_ring.coords)
    laid = [_laid(placed, grid) for placed in (first, second)]
    for values in laid:
        values[outside] = np.nan
    return difference(laid[0], laid[1], grid, off_mm(first, second), k=k, even=even)


def _common(*boxes: Sequence[float]) -> tuple[float, float, float, float]:
    left, bottom, right, top = zip(*boxes, strict=True)
    return max(left), max(bottom), min(right), min(top)


def _laid(placement: Placement, grid: Grid) -> Array:
    chart = _chart(placement)
    points = chart.to_image(grid.centres())
    box = (*points.min(axis=0), *points.max(axis=0))
    grey = _grey(placement, pixel_mm(placement) / grid.step_mm, box)
    return grey.at(points).reshape(grid.shape)


def _chart(placement: Placement) -> Chart:
    return chart_of(placement.method, placement.matrix, placement.control_points)


def _grey(placement: Placement, reduce_by: float, box_px: Sequence[float]) -> Grey:
    image, reduce_by = placement.image, min(1.0, reduce_by)
    try:
        if kept := _kept(image):
            grey = read_kept(kept, (image.width_px, image.height_px), reduce_by, box_px)
            if grey:
                return grey
        with at_hand(image.file) as path:
            return read_grey(path, reduce_by, box_px)
    except (OSError, ComparingError) as error:
        raise ComparingError(f"“{image}”: {error}") from error


def _kept(image: Image) -> Path | None:
    """Its values as the task queue has kept them; None for an image that is soon read itself."""
    if not image.kept_values:
        return None
    path = Path(settings.MEDIA_ROOT) / image.kept_values
    if path.exists():
        return path
    if image.pyramid_error:
        raise ComparingError(image.pyramid_error)
    raise NotYetReadError(image)


# Along a line


@dataclass(frozen=True, slots=True)
class Band:
    """The grey values of one image along the line."""

    placement: Placement
    profile: Profile

    @property
    def mean(self) -> float | None:
        return self._told(np.nanmean)

    @property
    def sd(self) -> float | None:
        return self._told(np.nanstd)

    def _told(self, measure: Any) -> float | None:
        if not np.isfinite(self.profile.values).any():
            return None
        return float(measure(self.profile.values))


def along(
    placements: Sequence[Placement], line_mm: Sequence[Sequence[float]], width_mm: float
) -> list[Band]:
    """The grey values of each image along a line, all at the same places.

    The step is the finest pixel, or the line's length over `MOST_VALUES`. An image that does not
    reach the line has no values. Raises ComparingError for a line without length, NotYetReadError
    when an image has to be waited for.
    """
    corners = np.asarray(line_mm, float)
    length = float(np.linalg.norm(np.diff(corners, axis=0), axis=1).sum())
    step = max(min(pixel_mm(one) for one in placements), length / MOST_VALUES)
    bands = []
    for placement in placements:
        chart = _chart(placement)
        box = _around(chart.to_image(_beside(corners, width_mm)))
        try:
            grey = _grey(placement, pixel_mm(placement) / step, box)
        except ComparingError:
            grey = Grey(np.full((1, 1), np.nan))
        bands.append(Band(placement, profile(grey, chart.to_image, corners, step, width_mm)))
    return bands


def _beside(corners: Array, width_mm: float) -> Array:
    """Points that hold the line with its width, between its corners too: splines bend."""
    parts = np.linspace(0, 1, 24)[:, None]
    line = np.concatenate([a + parts * (b - a) for a, b in pairwise(corners)])
    shifts = np.array([[x, y] for x in (-1, 0, 1) for y in (-1, 0, 1)]) * width_mm / 2
    return np.concatenate([line + shift for shift in shifts])


def _around(points: Array) -> tuple[float, float, float, float]:
    (left, top), (right, bottom) = points.min(axis=0), points.max(axis=0)
    return left - 4, top - 4, right + 4, bottom + 4
