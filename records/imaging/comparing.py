"""Comparing placed images by number: the difference on a common grid, and grey values along a line.

Everything is laid on a grid of square cells in face millimetres. Grey values run from 0 (black) to
255 (white), whatever the depth of the file. How far an image may lie from its true place goes into
the judgement: a difference that a shift within that distance explains is possible, not certain.
Pixels are (column, row) counted from the outer corner of the first one, rows downwards.
"""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, floor, hypot, sqrt
from pathlib import Path
from typing import Any

import numpy as np
import pyvips
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates, maximum_filter1d
from skimage.draw import polygon2mask

from records.imaging.originals import Box, OriginalError, part, readable, size_px, stream
from records.imaging.pyramid import report

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
ToPixels = Callable[[Array], Array]
"""Face points (n, 2) in mm as pixels (n, 2) of the full image."""

MOST_CELLS = 1200  # along the longer side of a comparison
MOST_PIXELS = 16_000_000  # kept in memory of one image
KEPT_PX = 8192  # longer side of what is kept on disk of an image that is long to read
REACH = 2.0  # times the error of placing: 98 of 100 radial errors are shorter (1 - exp(-REACH²))
STEP_NOISE = 0.41  # sd of the difference of two values rounded to whole grey levels (√2/√12)
TRIMS = 6


class ComparingError(ValueError):
    """The images cannot be compared; says why and what to do."""


@dataclass(frozen=True, slots=True)
class Grid:
    """Square cells over a part of a face; the first row is the uppermost."""

    left_mm: float
    top_mm: float
    step_mm: float
    columns: int
    rows: int

    @classmethod
    def over(cls, box_mm: Sequence[float], step_mm: float, most: int = MOST_CELLS) -> "Grid":
        """Cells over (xmin, ymin, xmax, ymax), coarsened until at most `most` lie along a side."""
        xmin, ymin, xmax, ymax = box_mm
        width, height = xmax - xmin, ymax - ymin
        if not (width > 0 and height > 0):
            raise ComparingError("The images do not overlap on the face.")
        step = max(step_mm, max(width, height) / most)
        return cls(xmin, ymax, step, max(1, round(width / step)), max(1, round(height / step)))

    @property
    def shape(self) -> tuple[int, int]:
        return self.rows, self.columns

    @property
    def box_mm(self) -> tuple[float, float, float, float]:
        right = self.left_mm + self.columns * self.step_mm
        return self.left_mm, self.top_mm - self.rows * self.step_mm, right, self.top_mm

    def holds(self, ring_mm: Sequence[Sequence[float]]) -> Mask:
        """The cells whose middle lies inside a closed line of face points."""
        x, y = np.asarray(ring_mm, float).T[:2]
        rows = (self.top_mm - y) / self.step_mm - 0.5
        columns = (x - self.left_mm) / self.step_mm - 0.5
        mask: Mask = polygon2mask(self.shape, np.column_stack([rows, columns]))  # type: ignore[no-untyped-call]
        return mask

    def centres(self) -> Array:
        """The middle of every cell, (rows · columns, 2) in mm, row by row from the upper left."""
        x = self.left_mm + (np.arange(self.columns) + 0.5) * self.step_mm
        y = self.top_mm - (np.arange(self.rows) + 0.5) * self.step_mm
        across, up = np.meshgrid(x, y)
        return np.column_stack([across.ravel(), up.ravel()])


@dataclass(frozen=True, slots=True)
class Grey:
    """Grey values of an image or of a part of it, 0 to 255.

    `reduced` by (across, down): 0.5 halves its size. `origin`: the pixel (column, row) of the full
    image at which the part begins.
    """

    values: Array
    reduced: tuple[float, float] = (1.0, 1.0)
    origin: tuple[float, float] = (0.0, 0.0)

    def at(self, pixels: Array) -> Array:
        """Values at pixels (n, 2) of the full image, linear between pixels; NaN outside."""
        rows, columns = self.values.shape
        column, row = ((pixels - self.origin) * self.reduced).T
        inside = (column >= 0) & (row >= 0) & (column <= columns) & (row <= rows)
        found = map_coordinates(self.values, [row - 0.5, column - 0.5], order=1, mode="nearest")
        return np.where(inside, found, np.nan)


def read_grey(
    path: Path | str, reduce_by: float = 1.0, box_px: Sequence[float] | None = None
) -> Grey:
    """The grey values of an image file.

    `reduce_by`: 1 keeps every pixel, 0.25 averages 4 × 4 pixels to one; never more than
    `MOST_PIXELS` are kept. `box_px`: read only (left, top, right, bottom). Colour becomes luminance
    (sRGB), 16 bit keeps its finer steps, floating point values are stretched from their least to
    their greatest. Raises ComparingError when the file cannot be read.
    """
    with _told_apart():
        box = _within(box_px, *size_px(Path(path)))
        with part(Path(path), box) as image:
            return _reduced(image, box, _at_most(reduce_by, box))


def keep_values(
    source: Path, target: Path, on_percent: Callable[[int], None] | None = None
) -> None:
    """Keep the grey values of an image that is long to read, smaller, as a TIFF for `read_kept`.

    The file appears whole or not at all. `on_percent` hears of progress, 0 to 100. Raises
    ComparingError when the image cannot be read to its end.
    """
    target.parent.mkdir(parents=True, exist_ok=True)
    unfinished = target.with_suffix(".part")
    with _told_apart(), readable(source) as file:
        image, _ = _one_band(stream(file))
        times = ceil(max(image.width, image.height) / KEPT_PX)
        image = image.shrink(times, times, ceil=True)  # plain means of so many pixels
        if on_percent:
            report(image, on_percent)
        image.tiffsave(str(unfinished), tile=True, compression="deflate", keep="none")
    unfinished.rename(target)


def read_kept(
    kept: Path,
    full_px: tuple[int, int],
    reduce_by: float = 1.0,
    box_px: Sequence[float] | None = None,
) -> Grey | None:
    """As `read_grey`, from what `keep_values` has kept of an image of the size `full_px`.

    None where finer values are asked for than are kept.
    """
    box = left, top, width, height = _within(box_px, *full_px)
    reduce_by = _at_most(reduce_by, box)
    with _told_apart():
        image = stream(kept)
        times = round(max(full_px) / max(image.width, image.height))
        if reduce_by * times > 1:
            return None
        held = (left / times, top / times, (left + width) / times, (top + height) / times)
        box = _within(held, image.width, image.height)
        grey = _reduced(image.crop(*box), box, reduce_by * times)
    across, down = grey.origin
    return Grey(grey.values, (reduce_by, reduce_by), (across * times, down * times))


@contextmanager
def _told_apart() -> Iterator[None]:
    """What is wrong with a file, as a ComparingError."""
    try:
        yield
    except (pyvips.Error, OriginalError) as error:
        raise ComparingError(f"The file of an image cannot be read ({error}).") from error
    except FileNotFoundError as error:
        raise ComparingError("The file of an image cannot be read: it is missing.") from error


def _at_most(reduce_by: float, box: Box) -> float:
    return min(reduce_by, 1.0, sqrt(MOST_PIXELS / (box[2] * box[3])))


def _reduced(image: Any, box: Box, reduce_by: float) -> Grey:
    """The part `box` of an image made smaller, as grey values."""
    image, scale = _one_band(image)
    if reduce_by < 1:
        # Whole numbers libvips makes smaller with rounded weights: up to 0.3 levels too dark.
        image = image.cast("float").resize(reduce_by, kernel="linear")
    values = image.numpy().astype(float).reshape(image.height, image.width)
    if scale is None:
        least, most = np.nanmin(values), np.nanmax(values)
        values = (values - least) * (255 / (most - least or 1))
    else:
        values *= scale
    # libvips keeps the middle where it is and the scale as told, though it rounds the size.
    left, top, width, height = box
    off = (width - image.width / reduce_by) / 2, (height - image.height / reduce_by) / 2
    return Grey(values, (reduce_by, reduce_by), (left + off[0], top + off[1]))


def _within(box: Sequence[float] | None, width: int, height: int) -> Box:
    """Whole pixels of an image that hold (left, top, right, bottom), one more on every side."""
    left, top, right, bottom = box or (0, 0, width, height)
    columns = max(0, floor(left) - 1), min(width, ceil(right) + 1)
    rows = max(0, floor(top) - 1), min(height, ceil(bottom) + 1)
    if columns[0] >= columns[1] or rows[0] >= rows[1]:
        raise ComparingError("The image does not reach this part of the face.")
    return columns[0], rows[0], columns[1] - columns[0], rows[1] - rows[0]


def _one_band(image: Any) -> tuple[Any, float | None]:
    """The image as one band of 16 bit or more, so that means keep their finer steps, and what makes
    its values run to 255 (None: not known beforehand)."""
    if image.hasalpha():
        image = image.flatten(background=255)
    if image.format in {"float", "double", "int", "uint"}:
        return (image.bandmean() if image.bands > 1 else image), None
    deep = image.format in {"ushort", "short"}
    if image.bands >= 3:
        image = image.colourspace("grey16" if deep else "b-w")
    return image[0] if deep else (image[0] * 257).cast("ushort"), 1 / 257


def resample(grey: Grey, to_pixels: ToPixels, grid: Grid) -> Array:
    """An image on the cells of a grid, (rows, columns); NaN where it does not reach."""
    return grey.at(to_pixels(grid.centres())).reshape(grid.shape)


# Difference


@dataclass(frozen=True, slots=True)
class Difference:
    """Second image minus first, cell by cell, and how far that can be trusted.

    `certain`: differs from what is typical by more than `k` σ, and no shift within the error of
    placing explains it. `possible`: differs as much, but such a shift would explain it. `sigma` is
    robust: 1.4826 times the median absolute deviation.
    """

    grid: Grid
    values: Array
    certain: Mask
    possible: Mask
    compared: Mask
    k: float
    sigma: float
    typical: float
    reach_mm: float
    gain: float
    offset: float

    @property
    def mean(self) -> float:
        return float(self.values[self.compared].mean())

    @property
    def sd(self) -> float:
        return float(self.values[self.compared].std())

    @property
    def area_mm2(self) -> float:
        return self._area(self.compared)

    @property
    def certain_mm2(self) -> float:
        return self._area(self.certain)

    @property
    def possible_mm2(self) -> float:
        return self._area(self.possible)

    @property
    def limit(self) -> float:
        """Where the scale of colours ends, in grey levels: all but 1 of 200 cells lie within."""
        spread = np.abs(self.values[self.compared] - self.typical)
        return max(float(np.quantile(spread, 0.995)), self.k * self.sigma)

    def _area(self, mask: Mask) -> float:
        return float(mask.sum()) * self.grid.step_mm**2


def difference(
    first: Array,
    second: Array,
    grid: Grid,
    uncertainty_mm: float,
    *,
    k: float = 3.0,
    even: bool = True,
) -> Difference:
    """Compare two images that lie on the same grid.

    `first`, `second`: (rows, columns) grey values, NaN where an image does not reach.
    `uncertainty_mm`: root mean square error of placing the two against one another. `even`: bring
    the first to the brightness and contrast of the second beforehand, by a straight line fitted to
    the cells without those that differ most. Raises ComparingError when fewer than 100 cells hold
    both images.
    """
    compared = np.isfinite(first) & np.isfinite(second)
    if compared.sum() < 100:
        raise ComparingError("The images hardly overlap: fewer than 100 cells hold both of them.")
    gain, offset = _straight_line(first[compared], second[compared]) if even else (1.0, 0.0)
    evened = gain * first + offset
    values = second - evened
    typical = float(np.median(values[compared]))
    spread = float(np.median(np.abs(values[compared] - typical)))
    sigma = max(1.4826 * spread, STEP_NOISE)
    most = k * sigma
    reach_mm = REACH * uncertainty_mm
    cells = ceil(reach_mm / grid.step_mm - 1e-9)
    left = np.minimum(
        _unexplained(second - typical, evened, cells),
        _unexplained(evened, second - typical, cells),
    )
    differs = compared & (np.abs(values - typical) > most)
    certain = differs & (left > most)
    return Difference(
        grid, values, certain, differs & ~certain, compared, k, sigma, typical, reach_mm,
        gain, offset,
    )  # fmt: skip


def _straight_line(first: Array, second: Array) -> tuple[float, float]:
    """Gain and offset by least squares, leaving out what lies over 2.5 σ off, a few times over."""
    kept = np.ones(len(first), bool)
    gain, offset = 1.0, float(np.median(second) - np.median(first))
    for _ in range(TRIMS):
        if np.ptp(first[kept]) == 0:
            break
        gain, offset = np.polyfit(first[kept], second[kept], 1)
        missed = np.abs(second - gain * first - offset)
        kept = missed <= max(2.5 * 1.4826 * float(np.median(missed)), STEP_NOISE)
    return float(gain), float(offset)


def _unexplained(image: Array, other: Array, cells: int) -> Array:
    """How far each value lies outside all values of the other image within so many cells."""
    highest = _highest(other, cells)
    lowest = -_highest(-other, cells)
    return np.maximum(np.maximum(image - highest, lowest - image), 0)


def _highest(values: Array, cells: int) -> Array:
    filled = np.where(np.isfinite(values), values, -np.inf)
    for axis in (0, 1):
        filled = maximum_filter1d(filled, 2 * cells + 1, axis=axis, mode="nearest")
    return filled


# Grey values along a line


@dataclass(frozen=True, slots=True)
class Profile:
    """Grey values along a line, from its beginning; NaN outside the image."""

    distance_mm: Array
    values: Array


def profile(
    grey: Grey,
    to_pixels: ToPixels,
    line_mm: Sequence[Sequence[float]] | Array,
    step_mm: float,
    width_mm: float = 0.0,
) -> Profile:
    """The grey values of an image along a line on the face.

    `line_mm`: (n, 2) corners of the line; `step_mm`: from one value to the next (the last may lie
    nearer); `width_mm`: each value is the mean over so much across the line. Raises ComparingError
    for a line without length.
    """
    points = np.asarray(line_mm, float).reshape(-1, 2)
    lengths = [hypot(*(end - start)) for start, end in pairwise(points)]
    if not sum(lengths):
        raise ComparingError("The line has no length: set a second point apart from the first.")
    at_corner = np.concatenate([[0.0], np.cumsum(lengths)])
    whole = floor(at_corner[-1] / step_mm + 1e-9)
    distance = np.arange(whole + 1) * step_mm
    if at_corner[-1] - distance[-1] > 1e-6 * step_mm:
        distance = np.append(distance, at_corner[-1])
    part = np.clip(np.searchsorted(at_corner, distance, "right") - 1, 0, len(lengths) - 1)
    along = np.diff(points, axis=0) / np.maximum(lengths, 1e-12)[:, None]
    at = points[part] + along[part] * (distance - at_corner[part])[:, None]
    across = np.column_stack([-along[part, 1], along[part, 0]])
    count = 2 * floor(width_mm / 2 / step_mm) + 1
    shifts = (np.arange(count) - count // 2) * (width_mm / max(count - 1, 1))
    found = np.stack([grey.at(to_pixels(at + shift * across)) for shift in shifts])
    inside = np.isfinite(found)
    total = np.where(inside, found, 0).sum(axis=0)
    counted = inside.sum(axis=0)
    return Profile(distance, np.where(counted, total / np.maximum(counted, 1), np.nan))


# The picture of a difference

# Blue for darker, ochre for lighter, paper for no difference: told apart without red and green.
STOPS = np.array(
    [
        [0x12, 0x3A, 0x6B],
        [0x7F, 0xA6, 0xD2],
        [0xF7, 0xF3, 0xEA],
        [0xE3, 0xA2, 0x4F],
        [0x7A, 0x3F, 0x05],
    ],
    float,
)
LEAD = np.array([0xC4, 0xC3, 0xBF], float)
LEAD_MARK = np.array([0x8B, 0x8A, 0x86], float)
STRIPE = 3  # cells across a stripe of the hatching


def colours(values: Array, limit: float) -> Array:
    """Colours (…, 3), 0 to 255, of differences: -limit and limit are the ends of the scale."""
    at = np.clip(np.asarray(values, float) / limit, -1, 1)
    places = np.linspace(-1, 1, len(STOPS))
    return np.stack([np.interp(at, places, STOPS[:, band]) for band in range(3)], axis=-1)


def picture(told: Difference) -> bytes:
    """The difference as a PNG, a pixel for each cell.

    Certain differences and the ground are solid, possible ones hatched; where only one image or
    none reaches, grey with short bars.
    """
    rows, columns = np.indices(told.grid.shape)
    drawn = colours(np.where(told.compared, told.values - told.typical, 0), told.limit)
    gaps = told.possible & (((rows + columns) // STRIPE) % 2 == 1)
    drawn[gaps] = STOPS[2]
    drawn[~told.compared] = LEAD
    bars = ~told.compared & (rows % 14 < 2) & ((columns + (rows // 14 % 2) * 8) % 16 < 7)
    drawn[bars] = LEAD_MARK
    data = np.ascontiguousarray(drawn.round().astype(np.uint8))
    image = pyvips.Image.new_from_array(data, interpretation="srgb")
    png: bytes = image.pngsave_buffer(compression=6)
    return png
