"""Placing an image on a face by pairs of a pixel and a face point, with the error that is left.

Least squares in millimetres. Pixels are (column, row), rows counted downwards from the top; face
points are (x, y) in mm, y upwards. Transformations are 3 × 3 matrices M with
(x_mm, y_mm, 1) = M · (column_px, row_px, 1).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class PlacementError(ValueError):
    """The points do not decide a placement; says why and what to do."""


@dataclass(frozen=True, slots=True)
class Placing:
    """A fitted transformation and how far it misses each control point."""

    matrix: Array
    residuals_mm: Array
    rms_mm: float


@dataclass(frozen=True, slots=True)
class Method:
    """One kind of transformation: how it is told, and the pairs that it needs at least."""

    words: str
    least_pairs: int
    solve: Callable[[Array, Array], Array]


def similarity(px: Array, mm: Array) -> Array:
    """Shift, turn and one scale; four unknowns.

    A pixel row runs downwards and y upwards, so the image is mirrored first: the fit is
    x = a·c + b·r + tx, y = b·c − a·r + ty, linear in its unknowns.
    """
    c, r = px.T
    one, nil = np.ones_like(c), np.zeros_like(c)
    rows = np.concatenate([np.stack([c, r, one, nil], 1), np.stack([-r, c, nil, one], 1)])
    a, b, tx, ty = _least_squares(rows, mm.T.reshape(-1), 4)
    return np.array([[a, b, tx], [b, -a, ty], [0.0, 0.0, 1.0]])


def affine(px: Array, mm: Array) -> Array:
    """Shift, turn, two scales and a shear; six unknowns."""
    rows = np.column_stack([px, np.ones(len(px))])
    x, y = (_least_squares(rows, mm[:, axis], 3) for axis in (0, 1))
    return np.array([x, y, [0.0, 0.0, 1.0]])


METHODS = {
    "similarity": Method("Shift, turn and scale (2 points or more)", 2, similarity),
    "affine": Method("… also stretched and sheared (3 points or more)", 3, affine),
}


def place(
    px: Sequence[Sequence[float]], mm: Sequence[Sequence[float]], method: str = "similarity"
) -> Placing:
    """Fit a transformation to pairs of points.

    `px`: (n, 2) pixels; `mm`: (n, 2) millimetres; `method`: a name in `METHODS`. Returns the
    matrix, the residual of each pair in mm and their root mean square. Raises `PlacementError`
    when there are too few pairs, or when they coincide or lie on one line.
    """
    chosen = METHODS[method]
    pixels, points = np.asarray(px, float).reshape(-1, 2), np.asarray(mm, float).reshape(-1, 2)
    if len(pixels) != len(points):
        raise PlacementError("Each point needs a pixel and a place on the face.")
    if len(pixels) < chosen.least_pairs:
        raise PlacementError(
            f"This needs at least {chosen.least_pairs} points; there are {len(pixels)}."
        )
    if not (np.isfinite(pixels).all() and np.isfinite(points).all()):
        raise PlacementError("A pixel or a place is not a number.")
    # Centred and scaled pixels keep the equations well conditioned for images of any size.
    centre = pixels.mean(axis=0)
    scale = float(np.abs(pixels - centre).max()) or 1.0
    fitted = chosen.solve((pixels - centre) / scale, points)
    narrow = np.array(
        [[1 / scale, 0, -centre[0] / scale], [0, 1 / scale, -centre[1] / scale], [0, 0, 1]]
    )
    matrix = fitted @ narrow
    if abs(np.linalg.det(matrix[:2, :2])) < 1e-12:
        raise PlacementError("The points on the face coincide: spread them over the image.")
    missed = np.linalg.norm(project(matrix, pixels) - points, axis=1)
    return Placing(matrix, missed, float(np.sqrt(np.mean(missed**2))))


def project(matrix: Any, px: Any) -> Array:
    """Pixels (n, 2) as face points (n, 2) in mm."""
    pixels = np.asarray(px, float).reshape(-1, 2)
    homogeneous = np.column_stack([pixels, np.ones(len(pixels))]) @ np.asarray(matrix, float).T
    return np.asarray(homogeneous[:, :2] / homogeneous[:, 2:], float)


def footprint(matrix: Any, width_px: int, height_px: int) -> Array:
    """The corners of an image on the face in mm, (4, 2), anticlockwise when it is not mirrored."""
    corners = [(0, height_px), (width_px, height_px), (width_px, 0), (0, 0)]
    return project(matrix, corners)


def scale_mm(matrix: Any, width_px: int, height_px: int) -> float:
    """Size of a pixel at the middle of the image, in mm: the root of the area it covers."""
    middle = np.array([[width_px / 2, height_px / 2]])
    at, right, down = (project(matrix, middle + step)[0] for step in ((0, 0), (1, 0), (0, 1)))
    across, along = right - at, down - at
    return float(np.sqrt(abs(across[0] * along[1] - across[1] * along[0])))


def _least_squares(rows: Array, values: Array, unknowns: int) -> Array:
    solution, _, rank, _ = np.linalg.lstsq(rows, values, rcond=1e-9)
    if rank < unknowns:
        raise PlacementError(
            "The points coincide or lie on one line: add one that lies apart from the others."
        )
    return np.asarray(solution, float)
