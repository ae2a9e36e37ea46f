"""Placing an image on a face by pairs of a pixel and a face point, with the error to be expected.

This is the door to `fits` (the transformations) and `residuals` (how far to trust them). Pixels are
(column, row), rows counted downwards from the top; face points are (x, y) in mm, y upwards.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, isfinite
from typing import Any

import numpy as np

from records.imaging import residuals
from records.imaging.fits import (
    METHODS,
    VERSION,
    Array,
    Chart,
    Method,
    PlacementError,
    apply,
    fit,
)
from records.imaging.residuals import Doubt, Scale

__all__ = [
    "METHODS",
    "Chart",
    "Method",
    "PlacementError",
    "Placing",
    "chart_of",
    "footprint",
    "outline_px",
    "place",
    "project",
    "scale_mm",
]

# Nothing is seen in an image more finely than this share of a pixel; common practice.
FINEST_PX = 0.5


@dataclass(frozen=True, slots=True)
class Placing:
    """A fitted transformation, and how far it is to be trusted.

    `residuals_mm` is how far it misses each point, `left_out_mm` how far it would if that point had
    not been used (nan where the others do not decide it), both with their root mean square.
    """

    method: str
    chart: Chart
    residuals_mm: Array
    rms_mm: float
    left_out_mm: Array
    left_out_rms_mm: float
    doubts: tuple[Doubt, ...] = ()

    @property
    def matrix(self) -> Array:
        return self.chart.matrix

    @property
    def is_checked(self) -> bool:
        """Whether there are points to spare, so that the error shows."""
        return isfinite(self.left_out_rms_mm)

    def uncertainty_mm(self, width_px: int, height_px: int, reference_mm: float = 0.0) -> float:
        """How far what is drawn on the image may lie from its true place; nan when not known.

        The error of points that the others foretell, at least half a pixel; joined with that of the
        placed image on which the points were set (root of the sum of squares: the two are
        independent).
        """
        half_px = FINEST_PX * self.scale(width_px, height_px).mm_per_px
        own = max(self.left_out_rms_mm, half_px) if self.is_checked else float("nan")
        return hypot(own, reference_mm)

    def scale(self, width_px: int, height_px: int) -> Scale:
        """The size of a pixel in the middle of the image."""
        return residuals.scale_at(self.chart, [width_px / 2, height_px / 2])[0]

    def kept(self, width_px: int, height_px: int) -> dict[str, Any]:
        """The figures that are kept with a placement."""
        grid = [one for row in residuals.scales(self.chart, width_px, height_px) for one in row]
        middle = self.scale(width_px, height_px)
        return {
            "version": VERSION,
            "left_out_rms_mm": _rounded(self.left_out_rms_mm),
            "left_out_mm": [_rounded(error) for error in self.left_out_mm],
            "mm_per_px": _rounded(middle.mm_per_px),
            "anisotropy": _rounded(middle.anisotropy),
            "mm_per_px_from_to": [
                _rounded(min(one.mm_per_px for one in grid)),
                _rounded(max(one.mm_per_px for one in grid)),
            ],
            "anisotropy_to": _rounded(max(one.anisotropy for one in grid)),
        }


def _rounded(value: float) -> float | None:
    return float(f"{value:.6g}") if isfinite(value) else None


def place(
    px: Sequence[Sequence[float]],
    mm: Sequence[Sequence[float]],
    method: str = "similarity",
    size_px: tuple[int, int] | None = None,
) -> Placing:
    """Fit a transformation to pairs of points.

    `px`: (n, 2) pixels; `mm`: (n, 2) millimetres; `method`: a name in `METHODS`; `size_px`: width
    and height of the image, to judge how the points are spread. Raises `PlacementError` when there
    are too few pairs, or when they coincide or lie on one line.
    """
    pixels, points = np.asarray(px, float).reshape(-1, 2), np.asarray(mm, float).reshape(-1, 2)
    chart = fit(pixels, points, method)
    missed = residuals.missed(chart, pixels, points)
    left = residuals.leave_out(pixels, points, method)
    left_out = np.array([one.error_mm for one in left])
    doubts = residuals.doubts(pixels, points, method, left, size_px)
    if size_px and residuals.folds(chart, *size_px):
        words = "The transformation folds the image over itself: one of the points is far off."
        doubts.append(Doubt((), words))
    # A few points that the others do foretell say nothing of the rest.
    checked = residuals.rms(left_out) if np.isfinite(left_out).all() else float("nan")
    return Placing(method, chart, missed, residuals.rms(missed), left_out, checked, tuple(doubts))


def chart_of(method: str, matrix: Any, points: Sequence[dict[str, Any]]) -> Chart:
    """The transformation of a placement as it is kept: a matrix, or the points of a spline."""
    if method != "spline":
        return Chart(np.asarray(matrix, float))
    return fit([p["px"] for p in points], [p["mm"] for p in points], method)


def project(matrix: Any, px: Any) -> Array:
    """Pixels (n, 2) as face points (n, 2) in mm."""
    return apply(matrix, px)


def footprint(matrix: Any, width_px: int, height_px: int) -> Array:
    """The corners of an image on the face in mm, (4, 2), anticlockwise when it is not mirrored."""
    return project(matrix, outline_px(width_px, height_px))


def outline_px(width_px: int, height_px: int, steps: int = 1) -> Array:
    """The edge of an image in pixels from the lower left corner anticlockwise, `steps` a side."""
    corners = np.array([(0, height_px), (width_px, height_px), (width_px, 0), (0, 0)], float)
    along = np.arange(steps)[:, None] / steps
    sides = zip(corners, np.roll(corners, -1, axis=0), strict=True)
    return np.concatenate([start + along * (end - start) for start, end in sides])


def scale_mm(matrix: Any, width_px: int, height_px: int) -> float:
    """Size of a pixel at the middle of the image, in mm: the root of the area it covers."""
    chart = Chart(np.asarray(matrix, float))
    return residuals.scale_at(chart, [width_px / 2, height_px / 2])[0].mm_per_px
