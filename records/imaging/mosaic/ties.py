"""Points that two overlapping frames share, to a few hundredths of a pixel, each with its weight.

Each patch of the overlap is searched by correlation and refined by least-squares matching (A. W.
Gruen, South African Journal of Photogrammetry 14 (1985) 175). Its information matrix tells in
which direction the patch holds fast: a patch of parallel lines, or one nearly without texture,
counts for little, and in one direction only.
"""

from dataclasses import dataclass, field
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from records.imaging.mosaic.layout import overlap
from records.imaging.mosaic.offsets import detail

Array = NDArray[np.float64]

PATCH_PX = 64
LEAST_PATCH_PX = 12
ENOUGH_PX2 = 700
ALONG = 6  # patches along the longer side of an overlap, at most
SEARCH_PX = 12
SMOOTHED_PX = 1.0
ALIKE_PX2 = 4 * np.pi * SMOOTHED_PX**2
FLOOR_PX = 0.03  # what interpolation and the turn of a patch leave even without noise
SIGNIFICANT = 4.5
LOOSE_PX = 1.5  # a patch that holds no better than this in its best direction is not used


@dataclass(frozen=True, slots=True)
class Ties:
    """Shared points of two frames.

    `first`, `second`: (n, 2) pixels; `information`: (n, 3), the elements xx, xy, yy of the inverse
    covariance in px⁻² ; `quality`: (n,) correlation coefficients; `levels`: (m, 2, bands) mean grey
    values of all patches laid over each other, textured or not, at `level_at`: (m, 2, 2) pixels.
    """

    first: Array = field(default_factory=lambda: np.empty((0, 2)))
    second: Array = field(default_factory=lambda: np.empty((0, 2)))
    information: Array = field(default_factory=lambda: np.empty((0, 3)))
    quality: Array = field(default_factory=lambda: np.empty(0))
    level_at: Array = field(default_factory=lambda: np.empty((0, 2, 2)))
    levels: Array = field(default_factory=lambda: np.empty((0, 2, 1)))

    def __len__(self) -> int:
        return len(self.first)

    def to_json(self) -> dict[str, Any]:
        return {
            "first": self.first.round(4).tolist(),
            "second": self.second.round(4).tolist(),
            "information": [[float(f"{v:.5g}") for v in row] for row in self.information],
            "quality": self.quality.round(3).tolist(),
            "level_at": self.level_at.round(2).tolist(),
            "levels": [
                [[float(f"{v:.7g}") for v in bands] for bands in both] for both in self.levels
            ],
        }

    @classmethod
    def from_json(cls, told: dict[str, Any]) -> "Ties":
        bands = len(told["levels"][0][0]) if told["levels"] else 1
        return cls(
            np.asarray(told["first"], float).reshape(-1, 2),
            np.asarray(told["second"], float).reshape(-1, 2),
            np.asarray(told["information"], float).reshape(-1, 3),
            np.asarray(told["quality"], float),
            np.asarray(told["level_at"], float).reshape(-1, 2, 2),
            np.asarray(told["levels"], float).reshape(-1, 2, bands),
        )


def find_ties(
    first: NDArray[np.float32], second: NDArray[np.float32], dx: float, dy: float
) -> Ties:
    """Measure the overlap of two corrected frames (rows, columns, bands).

    (dx, dy), the way between the middles, has to be right within about `SEARCH_PX`.
    """
    (h1, w1), (h2, w2) = first.shape[:2], second.shape[:2]
    left, top, right, bottom = overlap((w1, h1), (w2, h2), dx, dy)
    patch = _patch(right - left, bottom - top)
    if min(patch) < LEAST_PATCH_PX:
        return Ties()
    grey1, grey2 = first.mean(axis=2), second.mean(axis=2)
    sharp1, sharp2 = (detail(g, SMOOTHED_PX, max(6.0, min(patch) / 3)) for g in (grey1, grey2))
    shift = np.array([(w1 - w2) / 2 + dx, (h1 - h2) / 2 + dy])
    at = _grid(left, top, right, bottom, patch)
    seeds, quality = [], []
    for x, y in at:
        found, fits = _search(sharp1, sharp2, (x, y), shift, patch)
        seeds.append(found)
        quality.append(fits)
    moved = np.array(seeds)
    times = np.sqrt(patch[0] * patch[1] / ALIKE_PX2)
    good_seed = np.array(quality) * times >= SIGNIFICANT
    # Patches that found nothing are laid over by the shift of the rest, for their grey values.
    usual = np.median((moved - at)[good_seed], axis=0) if good_seed.any() else -shift
    moved[~good_seed] = at[~good_seed] + usual
    level_at, levels = _levels(first, second, at, moved, patch)
    index = np.flatnonzero(good_seed)
    if not len(index):
        return Ties(level_at=level_at, levels=levels)
    to, information, ncc = match(sharp1, sharp2, at[index], moved[index], patch)
    strayed = np.linalg.norm(to - moved[index], axis=1) > 1.5
    best = _largest(information)
    good = (ncc * times >= SIGNIFICANT) & ~strayed
    good &= best > 1 / LOOSE_PX**2
    return Ties(at[index][good], to[good], information[good], ncc[good], level_at, levels)


def _patch(width: float, height: float) -> tuple[int, int]:
    """Width and height of a patch that fits into the overlap; in a narrow one it is longer, so that
    it holds enough to be recognised."""
    across, down = (int(min(PATCH_PX, 0.75 * side)) // 2 * 2 for side in (width, height))
    short = max(2, min(across, down))
    long = max(short, int(ENOUGH_PX2 / short) // 2 * 2)
    return min(across, long), min(down, long)


def _grid(left: float, top: float, right: float, bottom: float, patch: tuple[int, int]) -> Array:
    """Middles of patches spread over the overlap, whole pixels, each well within it."""
    sides = []
    for low, high, side in ((left, right, patch[0]), (top, bottom, patch[1])):
        room = high - low - side - 2
        count = int(np.clip(room // (0.8 * side) + 1, 1, ALONG))
        inner = np.linspace(0, 1, count) if count > 1 else np.array([0.5])
        sides.append(np.floor(low + 1 + side / 2 + inner * max(room, 0)))
    x, y = np.meshgrid(*sides)
    return np.column_stack([x.ravel(), y.ravel()]).astype(float)


def _search(
    a: NDArray[np.float32],
    b: NDArray[np.float32],
    at: Any,
    shift: Array,
    patch: tuple[int, int],
) -> tuple[Array, float]:
    """Where the patch of `a` around `at` lies in `b`, to a pixel, and how well it fits there."""
    x, y = int(at[0]), int(at[1])
    x0, y0 = max(0, x - patch[0] // 2), max(0, y - patch[1] // 2)
    template = a[y0 : y + patch[1] // 2 + 1, x0 : x + patch[0] // 2 + 1]
    expected = np.array([x0, y0]) - np.round(shift).astype(int)
    lx, ly = (max(0, int(v) - SEARCH_PX) for v in expected)
    h, w = template.shape
    field = b[ly : int(expected[1]) + h + SEARCH_PX, lx : int(expected[0]) + w + SEARCH_PX]
    if field.shape[0] < h or field.shape[1] < w or min(h, w) < 8:
        return np.asarray(at, float) - shift, 0.0
    fits = cv2.matchTemplate(np.ascontiguousarray(field), template, cv2.TM_CCOEFF_NORMED)
    _, best, _, (bx, by) = cv2.minMaxLoc(fits)
    found = np.array([lx + bx + x - x0, ly + by + y - y0], float)
    return found, float(best) if np.isfinite(best) else 0.0


def match(
    a: NDArray[np.float32],
    b: NDArray[np.float32],
    at: Array,
    seed: Array,
    patch: tuple[int, int],
) -> tuple[Array, Array, Array]:
    """Least-squares matching of patches of `a` around `at` with `b` around `seed`, (n, 2) pixels.

    Unknown are the shift, a gain and an offset; gradients are means of both patches, so that noise
    of either weighs alike. Returns places in `b` (n, 2), information (n, 3), coefficients (n,).
    """
    across, down = (side // 2 - 1 for side in patch)
    gy, gx = np.meshgrid(
        np.arange(-down, down + 1, dtype=float),
        np.arange(-across, across + 1, dtype=float),
        indexing="ij",
    )
    hat = np.cos(np.pi * gx / (2 * across + 2)) * np.cos(np.pi * gy / (2 * down + 2))
    weight = hat**2
    weight /= weight.sum()
    first = _sample(a, at, gx, gy)
    first = _normal(first, weight)
    ay, ax = _slopes(first)
    place = seed.copy()
    information = np.zeros((len(at), 3))
    ncc = np.zeros(len(at))
    for _ in range(8):
        second = _normal(_sample(b, place, gx, gy), weight)
        by, bx = _slopes(second)
        jx, jy = (ax + bx) / 2, (ay + by) / 2
        missed = first - second
        xx, xy, yy = ((weight * p * q).sum(axis=(1, 2)) for p, q in ((jx, jx), (jx, jy), (jy, jy)))
        ex, ey = ((weight * p * missed).sum(axis=(1, 2)) for p in (jx, jy))
        determinant = np.maximum(xx * yy - xy * xy, 1e-12 * (xx + yy) ** 2 + 1e-30)
        step = np.column_stack([yy * ex - xy * ey, xx * ey - xy * ex]) / determinant[:, None]
        step = np.clip(step, -0.7, 0.7)
        place = place + step
        ncc = (weight * first * second).sum(axis=(1, 2))
        if np.abs(step).max() < 0.003:
            break
    variance = np.maximum((weight * missed**2).sum(axis=(1, 2)), 1e-6)
    # The hat counts (Σ w)² / Σ w² pixels in full; smoothed noise is alike over ALIKE_PX2 of them.
    independent = 1 / (weight**2).sum() / ALIKE_PX2
    scale = max(independent, 1.0) / variance
    information = np.column_stack([xx, xy, yy]) * scale[:, None]
    return place, _with_floor(information), ncc


def _sample(picture: NDArray[np.float32], at: Array, gx: Array, gy: Array) -> Array:
    n, (height, width) = len(at), gx.shape
    x = (at[:, 0, None, None] + gx).astype(np.float32).reshape(n * height, width)
    y = (at[:, 1, None, None] + gy).astype(np.float32).reshape(n * height, width)
    values = cv2.remap(picture, x, y, cv2.INTER_CUBIC, borderMode=cv2.BORDER_REFLECT)
    return values.reshape(n, height, width).astype(float)


def _normal(values: Array, weight: Array) -> Array:
    """Patches with weighted mean 0 and spread 1."""
    values = values - (weight * values).sum(axis=(1, 2), keepdims=True)
    spread = np.sqrt((weight * values**2).sum(axis=(1, 2), keepdims=True))
    return np.asarray(values / np.maximum(spread, 1e-12), float)


def _slopes(values: Array) -> tuple[Array, Array]:
    dy, dx = np.gradient(values, axis=(1, 2))
    return np.asarray(dy, float), np.asarray(dx, float)


def _with_floor(information: Array) -> Array:
    """The information when an error of `FLOOR_PX` is added in every direction."""
    xx, xy, yy = information.T
    determinant = np.maximum(xx * yy - xy**2, 1e-12 * (xx + yy) ** 2 + 1e-30)
    cxx, cxy, cyy = yy / determinant, -xy / determinant, xx / determinant
    cxx, cyy = cxx + FLOOR_PX**2, cyy + FLOOR_PX**2
    determinant = cxx * cyy - cxy**2
    return np.column_stack([cyy / determinant, -cxy / determinant, cxx / determinant])


def _largest(information: Array) -> Array:
    """The larger eigenvalue of each information matrix."""
    xx, xy, yy = information.T
    return np.asarray((xx + yy) / 2 + np.sqrt(((xx - yy) / 2) ** 2 + xy**2), float)


def _levels(
    first: NDArray[np.float32],
    second: NDArray[np.float32],
    at: Array,
    to: Array,
    patch: tuple[int, int],
) -> tuple[Array, Array]:
    """Mean grey values of patches laid over each other; those that leave a frame are left out."""
    across, down = patch[0] // 2, patch[1] // 2
    places, found = [], []
    for one, other in zip(at.round().astype(int), to.round().astype(int), strict=True):
        means = []
        for picture, (x, y) in ((first, one), (second, other)):
            inside = across <= x < picture.shape[1] - across
            if not (inside and down <= y < picture.shape[0] - down):
                break
            part = picture[y - down : y + down + 1, x - across : x + across + 1]
            means.append(part.mean(axis=(0, 1), dtype=np.float64))
        if len(means) == 2:
            places.append([one, other])
            found.append(means)
    bands = first.shape[2]
    return (
        np.asarray(places, float).reshape(-1, 2, 2),
        np.asarray(found, float).reshape(-1, 2, bands),
    )
