"""The steps that a mosaic shows at the edges of its frames, beside the picture it was cut from."""

import cv2
import numpy as np
from numpy.typing import NDArray

from records.imaging import mosaic
from tests.unit.imaging.mosaic.cutting import Cut, Fit
from tests.unit.imaging.mosaic.joining import Joined

BESIDE_PX = 8


def steps_at_edges(
    cut: Cut, joined: Joined, fit: Fit, extent: mosaic.Canvas, whole: NDArray[np.float32]
) -> NDArray[np.float64]:
    """In grey levels, at the left and upper edge of each placed frame: by how much what mosaic and
    picture differ by is another on one side of the edge than on the other (the mean of bands).

    `whole`: the mosaic, (rows, columns, bands).
    """
    steps = []
    for band in range(whole.shape[2]):
        picture = cut.picture if cut.picture.ndim == 2 else cut.picture[:, :, band]
        error = _error(np.ascontiguousarray(picture), fit, extent, whole[:, :, band])
        steps.append(_steps(cut, joined, extent, error))
    return np.asarray(np.mean(steps, axis=0))


def _steps(
    cut: Cut, joined: Joined, extent: mosaic.Canvas, error: NDArray[np.float32]
) -> list[float]:
    setup, near = cut.setup, BESIDE_PX
    found = []
    for k in joined.placed:
        outline = joined.adjusted.mapping(k, setup.width, setup.height).outline()
        left, top = np.ceil(outline.min(axis=0)).astype(int) - [extent.left, extent.top]
        right, bottom = np.floor(outline.max(axis=0)).astype(int) - [extent.left, extent.top]
        for part in (
            error[top:bottom, left - near : left + near],
            error[top - near : top + near, left:right].T,
        ):
            if part.shape[1] == 2 * near:
                found.append(abs(_mean(part[:, :6]) - _mean(part[:, -6:])))
    return found


def _mean(values: NDArray[np.float32]) -> float:
    """The mean of what is a number; NaN where nothing is."""
    known = values[np.isfinite(values)]
    return float(known.mean()) if known.size else float("nan")


def _error(
    picture: NDArray[np.float32], fit: Fit, extent: mosaic.Canvas, whole: NDArray[np.float32]
) -> NDArray[np.float32]:
    """The mosaic minus the picture, both at the same mean and spread; NaN where none is."""
    true = np.empty_like(whole)
    for top in range(0, extent.height_px, mosaic.BLOCK_PX):
        bottom = min(top + mosaic.BLOCK_PX, extent.height_px)
        rows, columns = np.mgrid[top:bottom, 0 : extent.width_px]
        points = np.stack([columns + extent.left, rows + extent.top], axis=-1).astype(float)
        at = fit.to_picture(points).astype(np.float32)
        true[top:bottom] = cv2.remap(
            picture, at[..., 0], at[..., 1], cv2.INTER_CUBIC,
            borderMode=cv2.BORDER_CONSTANT, borderValue=np.nan,
        )  # fmt: skip
    shown = np.isfinite(true) & (whole > 0)
    slope, level = np.polyfit(whole[shown].astype(float), true[shown].astype(float), 1)
    return np.where(shown, slope * whole + level - true, np.nan).astype(np.float32)
