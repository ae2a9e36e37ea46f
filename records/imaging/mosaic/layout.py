"""Where frames lie before anything is measured, and which of them ought to overlap."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def grid(rows: int, columns: int, step_px: tuple[float, float], order: str = "rows") -> Array:
    """Middles of frames laid in rows and columns, (rows · columns, 2) mosaic pixels.

    `step_px`: from one frame to the next across and down. `order`: 'rows', 'rows_back' (there and
    back), 'columns' or 'cols_back', from the upper left corner.
    """
    places = np.empty((rows * columns, 2))
    for index in range(len(places)):
        if order.startswith("rows"):
            row, column = divmod(index, columns)
            if order == "rows_back" and row % 2:
                column = columns - 1 - column
        else:
            column, row = divmod(index, rows)
            if order == "cols_back" and column % 2:
                row = rows - 1 - row
        places[index] = column * step_px[0], row * step_px[1]
    return places


def expected(nominal: Array, found: Array) -> Array:
    """Where every frame ought to lie by its layout, (n, 2), once some have been `found`: the best
    affine transformation of the layout, or with fewer than three found ones the best shift.

    `found`: middles (n, 2), NaN for frames without a place; at least one has one.
    """
    there = np.isfinite(found).all(axis=1)
    if there.sum() < 3:
        return np.asarray(nominal + (found - nominal)[there].mean(axis=0), float)
    with_one = np.column_stack([nominal, np.ones(len(nominal))])
    matrix = np.linalg.lstsq(with_one[there], found[there], rcond=None)[0]
    return np.asarray(with_one @ matrix, float)


@dataclass(frozen=True, slots=True)
class Pair:
    """Two frames that ought to overlap, and how far the middle of the second lies from that of the
    first, in pixels."""

    first: int
    second: int
    dx: float
    dy: float


def pairs(places: Array, sizes: Array, least_px: float = 16) -> list[Pair]:
    """Frames whose rectangles overlap enough to be measured.

    At least `least_px` both ways; and at least two fifths of what either frame shares with another
    one, which leaves out the corners that frames of a grid share diagonally. `places`: middles
    (n, 2); `sizes`: width and height (n, 2), all in pixels; frames without a place are NaN.
    """
    found: list[tuple[Pair, float]] = []
    best = np.zeros(len(places))
    for i in range(len(places)):
        delta = places[i + 1 :] - places[i]
        reach = (sizes[i + 1 :] + sizes[i]) / 2
        across = np.minimum(reach - np.abs(delta), np.minimum(sizes[i + 1 :], sizes[i]))
        smaller = np.minimum(sizes[i + 1 :].prod(axis=1), sizes[i].prod())
        for k in np.flatnonzero((across >= least_px).all(axis=1)):
            j, share = i + 1 + int(k), float(across[k].prod() / smaller[k])
            found.append((Pair(i, j, float(delta[k, 0]), float(delta[k, 1])), share))
            best[i], best[j] = max(best[i], share), max(best[j], share)
    return [
        pair for pair, share in found if share >= 0.4 * min(best[pair.first], best[pair.second])
    ]


def overlap(
    size_first: Sequence[float], size_second: Sequence[float], dx: float, dy: float
) -> tuple[float, float, float, float]:
    """The overlap of two frames in pixels of the first: left, top, right, bottom (may be empty).

    Sizes are (width, height); (dx, dy) is the way between the middles.
    """
    left = (size_first[0] - size_second[0]) / 2 + dx
    top = (size_first[1] - size_second[1]) / 2 + dy
    return (
        max(0.0, left),
        max(0.0, top),
        min(size_first[0], left + size_second[0]),
        min(size_first[1], top + size_second[1]),
    )
