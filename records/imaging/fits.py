"""Transformations that carry pixels of an image to millimetres of a face, fitted to points.

Pixels are (column, row), rows counted downwards from the top edge, (0, 0) the corner of the image
and not the middle of its first pixel; face points are (x, y) in mm, y upwards.

All but the spline minimise the sum of squared distances on the face. A thin-plate spline passes
through every point, so its residuals say nothing: what it is worth is told by leaving points out
(`records.imaging.residuals`).
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares
from skimage.transform import (
    ProjectiveTransform,
    SimilarityTransform,
    ThinPlateSplineTransform,
)

Array = NDArray[np.float64]

# Raised whenever the same points would be fitted differently; kept with each placement.
VERSION = "2"


class PlacementError(ValueError):
    """The points do not decide a placement; says why and what to do."""


@dataclass(frozen=True)
class Chart:
    """Where each pixel of an image lies on the face, and the other way round.

    `matrix` is 3 × 3 with (x_mm, y_mm, 1) ~ matrix · (column_px, row_px, 1); beside a `spline` it
    is the nearest affine transformation. `spline` carries pixels less `origin`, over `unit`.
    """

    matrix: Array
    spline: Any = None
    origin: Array = field(default_factory=lambda: np.zeros(2))
    unit: float = 1.0

    def to_face(self, px: Any) -> Array:
        """Pixels (n, 2) as face points (n, 2) in mm."""
        if self.spline is None:
            return apply(self.matrix, px)
        pixels = np.asarray(px, float).reshape(-1, 2)
        return np.asarray(self.spline((pixels - self.origin) / self.unit), float)

    def to_image(self, mm: Any) -> Array:
        """Face points (n, 2) in mm as pixels (n, 2).

        The spline has no inverse in closed form: Newton's steps find it to 1/1000 of a pixel
        where the spline does not fold; elsewhere the last step stands.
        """
        points = np.asarray(mm, float).reshape(-1, 2)
        pixels = apply(np.linalg.inv(self.matrix), points)
        if self.spline is None:
            return pixels
        moving = np.arange(len(points))
        for turn in range(24):
            here = pixels[moving]
            if turn % 4 == 0:  # the slopes change little from step to step
                back = np.linalg.inv(_unfolded(self.slopes(here)))
            step = np.einsum("nij,nj->ni", back, self.to_face(here) - points[moving])
            pixels[moving] = here - step
            on = np.abs(step).max(axis=1) > 1e-3
            moving, back = moving[on], back[on]
            if not len(moving):
                break
        return pixels

    def slopes(self, px: Any) -> Array:
        """Derivatives of the face point by column and row, mm per px, at pixels (n, 2)."""
        pixels = np.asarray(px, float).reshape(-1, 2)
        across, down = np.array([0.5, 0.0]), np.array([0.0, 0.5])
        by_column = self.to_face(pixels + across) - self.to_face(pixels - across)
        by_row = self.to_face(pixels + down) - self.to_face(pixels - down)
        return np.stack([by_column, by_row], axis=2)


def _unfolded(slopes: Array) -> Array:
    flat = np.abs(np.linalg.det(slopes)) < 1e-12
    return np.where(flat[:, None, None], np.eye(2), slopes)


@dataclass(frozen=True, slots=True)
class Method:
    """One kind of transformation: how it is told, its unknowns, the pairs it needs at least."""

    words: str
    name: str
    unknowns: int
    least_pairs: int
    solve: Callable[[Array, Array], Chart]


def similarity(px: Array, mm: Array) -> Chart:
    """Shift, turn and one scale.

    Rows run downwards and y upwards, so the image is turned over first: this never fits an image
    that shows the face mirrored. Source: Umeyama 1991 (doi:10.1109/34.88573), by scikit-image.
    """
    over = np.diag([1.0, -1.0, 1.0])
    found = SimilarityTransform.from_estimate(apply(over, px), mm)
    if not found:
        raise PlacementError("The points coincide: add one that lies apart from the others.")
    return Chart(np.asarray(found.params, float) @ over)


def affine(px: Array, mm: Array) -> Chart:
    """Shift, turn, two scales and a shear, by linear least squares.

    scikit-image's estimate minimises another, algebraic error; the two agree on exact points.
    """
    rows = np.column_stack([px, np.ones(len(px))])
    solution = np.linalg.lstsq(rows, mm, rcond=None)[0]
    return Chart(np.vstack([solution.T, [0.0, 0.0, 1.0]]))


def projective(px: Array, mm: Array) -> Chart:
    """A flat face seen aslant.

    scikit-image's direct linear transformation (Hartley and Zisserman 2004, 4.1) is the start,
    from which the distances on the face are made least (Levenberg–Marquardt).
    """
    start = ProjectiveTransform.from_estimate(px, mm)  # type: ignore[no-untyped-call]
    if not start:
        raise PlacementError(_LINE)
    matrix = np.asarray(start.params, float)
    matrix /= matrix[2, 2]

    def missed(unknowns: Array) -> Array:
        return (apply(np.append(unknowns, 1.0).reshape(3, 3), px) - mm).reshape(-1)

    if len(px) > 4:
        found = least_squares(missed, matrix.reshape(-1)[:8], x_scale="jac", method="lm")
        matrix = np.append(found.x, 1.0).reshape(3, 3)
    return Chart(matrix)


def spline(px: Array, mm: Array) -> Chart:
    """A thin-plate spline through every point (Bookstein 1989, doi:10.1109/34.24792)."""
    found = ThinPlateSplineTransform.from_estimate(px, mm)
    if not found:
        raise PlacementError(_LINE)
    return Chart(affine(px, mm).matrix, found)


METHODS = {
    "similarity": Method(
        "Shift, turn and scale (2 points or more)", "similarity", 4, 2, similarity
    ),
    "affine": Method("… also stretched and sheared (3 points or more)", "affine", 6, 3, affine),
    "projective": Method("… also seen aslant (4 points or more)", "projective", 8, 4, projective),
    "spline": Method(
        "Bent through every point: thin-plate spline (4 points or more)",
        "thin-plate spline",
        8,
        4,
        spline,
    ),
}

_LINE = "The points coincide or lie on one line: add one that lies apart from the others."
THIN = 1e-4  # narrower than this share of their length, points are taken to lie on one line


def fit(px: Any, mm: Any, method: str) -> Chart:
    """Fit `method`, a name in `METHODS`, to pixels (n, 2) and face points (n, 2) in mm.

    Raises PlacementError when there are too few pairs, or when they coincide or lie on one line.
    """
    pixels, points = np.asarray(px, float).reshape(-1, 2), np.asarray(mm, float).reshape(-1, 2)
    refuse_poor(pixels, points, METHODS[method])
    # Centred pixels in a box of size 1 keep the equations well conditioned for any image.
    origin = pixels.mean(axis=0)
    unit = float(np.abs(pixels - origin).max())
    centre = points.mean(axis=0)
    span = float(np.abs(points - centre).max())
    found = METHODS[method].solve((pixels - origin) / unit, (points - centre) / span)
    narrow = np.array(
        [[1 / unit, 0, -origin[0] / unit], [0, 1 / unit, -origin[1] / unit], [0, 0, 1]]
    )
    widen = np.array([[span, 0, centre[0]], [0, span, centre[1]], [0, 0, 1.0]])
    matrix = widen @ found.matrix @ narrow
    matrix /= matrix[2, 2]
    if not np.isfinite(matrix).all() or abs(np.linalg.det(matrix[:2, :2])) < 1e-12:
        raise PlacementError(_LINE)
    if found.spline is None:
        return Chart(matrix)
    bent = found.spline
    return Chart(matrix, lambda at: bent(at) * span + centre, origin, unit)


def refuse_poor(px: Array, mm: Array, method: Method) -> None:
    """Raise PlacementError, in words, when the pairs cannot decide the transformation."""
    if len(px) != len(mm):
        raise PlacementError("Each point needs a pixel and a place on the face.")
    if len(px) < method.least_pairs:
        raise PlacementError(
            f"This needs at least {method.least_pairs} points; there are {len(px)}."
        )
    if not (np.isfinite(px).all() and np.isfinite(mm).all()):
        raise PlacementError("A pixel or a place is not a number.")
    for points, where in ((px, "in the image"), (mm, "on the face")):
        length, breadth = spread(points)
        if length < 1e-9:
            raise PlacementError(f"The points coincide {where}: spread them over the image.")
        if method.least_pairs > 2 and breadth < THIN * length:
            raise PlacementError(
                f"The points lie on one line {where}: add one that lies apart from it."
            )
    if method.least_pairs == 4:
        _refuse_folded(px, mm, method)


def _refuse_folded(px: Array, mm: Array, method: Method) -> None:
    if method.solve is projective and not _four_apart(px):
        raise PlacementError(
            "All points but one lie on one line: a view aslant needs four of which no three do. "
            "Add one that lies apart, or choose a simpler transformation."
        )
    if method.solve is spline:
        for i, j in zip(*np.triu_indices(len(px), 1), strict=True):
            if np.linalg.norm(px[i] - px[j]) < 1e-6 and np.linalg.norm(mm[i] - mm[j]) > 1e-6:
                raise PlacementError(
                    f"Points {i + 1} and {j + 1} are the same pixel at two places on the face: "
                    "a spline cannot pass through both. Remove one of them."
                )


def _four_apart(px: Array) -> bool:
    """Whether no point can be left out such that all others lie on one line."""
    for left in range(len(px)):
        length, breadth = spread(np.delete(px, left, axis=0))
        if breadth < THIN * length or length < 1e-9:
            return False
    return True


def spread(points: Array) -> tuple[float, float]:
    """How far points (n, 2) reach along their longest direction and across it, as deviations."""
    deviations = np.linalg.svd(points - points.mean(axis=0), compute_uv=False)
    longest, *rest = deviations / np.sqrt(len(points))
    return float(longest), float(rest[0]) if rest else 0.0


def apply(matrix: Any, px: Any) -> Array:
    """Points (n, 2) carried by a 3 × 3 matrix."""
    pixels = np.asarray(px, float).reshape(-1, 2)
    homogeneous = np.column_stack([pixels, np.ones(len(pixels))]) @ np.asarray(matrix, float).T
    return np.asarray(homogeneous[:, :2] / homogeneous[:, 2:], float)
