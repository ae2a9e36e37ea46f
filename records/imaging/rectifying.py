"""An image redrawn in the frame of a face: square to it, in millimetres, whatever bent it before.

Pure: files in, files out. libvips fetches every pixel of the result from where it lies in the
image, strip by strip, so memory does not grow with the image. Where pixels come from is worked out
exactly at the knots of a grid that is fine enough, and between them by libvips.
"""

import shutil
from collections.abc import Callable
from dataclasses import asdict, dataclass
from math import ceil
from pathlib import Path
from typing import Any

import numpy as np
import pyvips

from records.imaging.fits import Array, Chart
from records.imaging.originals import OriginalError, opened, readable
from records.imaging.placement import outline_px
from records.imaging.pyramid import (
    QUALITY,
    TILE_PX,
    PyramidError,
    add_whole,
    ready_to_show,
    report,
)
from records.imaging.residuals import scale_at

BEYOND = 0.25  # of the face is kept around it: frames, edges, a wall
CELLS_PX = (128, 64, 32, 16, 8)  # sides of a cell of the grid, the coarsest good one is taken
SAMPLE = 24  # cells along each side are looked at
NEAR_PX = 0.05  # how far a pixel may be fetched from beside its true place
LARGEST_PX = 100_000  # of a side of the result


@dataclass(frozen=True)
class Frame:
    """A picture square to the face: its upper left corner, the size of its pixels, its size."""

    left_mm: float
    top_mm: float
    mm_per_px: float
    width_px: int
    height_px: int

    def told(self) -> dict[str, float]:
        return asdict(self)

    @property
    def matrix(self) -> list[list[float]]:
        """(x_mm, y_mm, 1) = matrix · (column_px, row_px, 1), as of any placed image."""
        per_px = self.mm_per_px
        return [[per_px, 0.0, self.left_mm], [0.0, -per_px, self.top_mm], [0.0, 0.0, 1.0]]

    def at(self, columns: Array, rows: Array) -> Array:
        """Face points (n, 2) of the middles of pixels."""
        x = self.left_mm + (columns + 0.5) * self.mm_per_px
        y = self.top_mm - (rows + 0.5) * self.mm_per_px
        return np.column_stack([x.ravel(), y.ravel()])


def frame_of(
    chart: Chart, outline_mm: Array, face_mm: tuple[float, float], size_px: tuple[int, int]
) -> Frame:
    """The frame of an image on a face (width, height in mm) at the image's own resolution.

    `outline_mm` is the image's edge on the face, (n, 2); what lies far off the face is left out.
    """
    width, height = face_mm
    margin = BEYOND * max(width, height)
    left, bottom = np.maximum(outline_mm.min(axis=0), (-margin, -margin))
    right, top = np.minimum(outline_mm.max(axis=0), (width + margin, height + margin))
    if not (right > left and top > bottom):
        raise ValueError("The image lies beside the face.")
    finest = scale_at(chart, [size_px[0] / 2, size_px[1] / 2])[0].mm_per_px
    per_px = max(finest, (right - left) / LARGEST_PX, (top - bottom) / LARGEST_PX)
    return Frame(
        float(left),
        float(top),
        float(per_px),
        max(1, ceil((right - left) / per_px)),
        max(1, ceil((top - bottom) / per_px)),
    )


def lies_square(chart: Chart, size_px: tuple[int, int]) -> bool:
    """Whether the image lies square to the face as it is, so that redrawing would change nothing.

    Every pixel of its edge is then, within `NEAR_PX`, where pixels of one size in rows along the
    face would lie.
    """
    if chart.spline is not None:
        return False
    edge = outline_px(*size_px, 16)
    mm = chart.to_face(edge)
    (left, top), per_px = chart.to_face([(0, 0)])[0], scale_at(chart, edge[:1])[0].mm_per_px
    square = np.column_stack([left + edge[:, 0] * per_px, top - edge[:, 1] * per_px])
    return bool(np.abs(mm - square).max() < NEAR_PX * per_px)


def redrawn(
    image: Any, chart: Chart, frame: Frame, *, shrunk: float = 1.0, background: float = 255
) -> Any:
    """The opened `image` as it lies in `frame`; what it does not cover is `background`.

    `shrunk` is the scale of a smaller copy of the image that the chart speaks of.

    Nothing is worked out yet: libvips does so while the result is written.
    """
    cell, knots = _grid(chart, frame)
    index = _between((knots + 0.5) * shrunk - 0.5, cell, frame)
    return image.mapim(
        index,
        interpolate=pyvips.Interpolate.new("bicubic"),
        background=background,
        extend="background",
    )


def rectify(
    source: Path,
    chart: Chart,
    frame: Frame,
    folder: Path,
    on_percent: Callable[[int], None] | None = None,
    shown: Callable[[Any], Any] = ready_to_show,
) -> None:
    """Write the tiles of the image in `source`, redrawn in `frame`, into the new `folder`.

    `shown` makes an opened image one of 8 bits. The folder appears whole or not at all: what a run
    that was killed has left is thrown away by the next. `on_percent` hears of progress, 0 to 100.
    Raises PyramidError when the file cannot be read.
    """
    part = folder.with_name(folder.name + ".part")
    shutil.rmtree(part, ignore_errors=True)
    part.parent.mkdir(parents=True, exist_ok=True)
    try:
        with readable(source) as file:
            # Pixels are fetched in no order: libvips unpacks what it cannot read so to its disk.
            image = redrawn(shown(opened(file)), chart, frame)
            if on_percent:
                report(image, on_percent)
            image.dzsave(
                str(part), layout="iiif3", tile_size=TILE_PX, suffix=f".jpg[Q={QUALITY},keep=none]"
            )
        add_whole(part)
    except (pyvips.Error, OriginalError, FileNotFoundError) as error:
        shutil.rmtree(part, ignore_errors=True)
        gone = isinstance(error, FileNotFoundError)
        why = "the original is not in the store" if gone else str(error).strip()
        raise PyramidError(f"The image cannot be redrawn ({why}).") from error
    shutil.rmtree(folder, ignore_errors=True)
    part.rename(folder)


def _grid(chart: Chart, frame: Frame) -> tuple[int, Array]:
    """The side of a cell, and where its knots lie in the image: (rows, columns, 2) in pixels."""
    cell = next((cell for cell in CELLS_PX if _is_near(chart, frame, cell)), CELLS_PX[-1])
    columns = np.arange(ceil(frame.width_px / cell) + 2, dtype=float) * cell
    rows = np.arange(ceil(frame.height_px / cell) + 2, dtype=float) * cell
    return cell, _fetched_from(chart, frame, columns, rows)


def _fetched_from(chart: Chart, frame: Frame, columns: Array, rows: Array) -> Array:
    across, down = np.meshgrid(columns, rows, indexing="xy")
    found = chart.to_image(frame.at(across, down)) - 0.5  # libvips counts from middles of pixels
    return np.asarray(found.reshape(*across.shape, 2), float)


def _is_near(chart: Chart, frame: Frame, cell: int) -> bool:
    """Whether the middles of a sample of cells are where the knots around them say."""
    columns = np.linspace(0, frame.width_px - cell, SAMPLE)
    rows = np.linspace(0, frame.height_px - cell, SAMPLE)
    told = sum(
        _fetched_from(chart, frame, columns + right, rows + down)
        for right in (0, cell)
        for down in (0, cell)
    )
    true = _fetched_from(chart, frame, columns + cell / 2, rows + cell / 2)
    return bool(np.abs(told / 4 - true).max() < NEAR_PX)


def _between(knots: Array, cell: int, frame: Frame) -> Any:
    """The knots drawn out to a picture of coordinates, worked out strip by strip."""
    rows, columns, _ = knots.shape
    grid = pyvips.Image.new_from_memory(
        np.ascontiguousarray(knots, np.float32).tobytes(), columns, rows, 2, "float"
    )
    return grid.affine(
        [cell, 0, 0, cell],
        interpolate=pyvips.Interpolate.new("bilinear"),
        oarea=[0, 0, frame.width_px, frame.height_px],
        extend="copy",
    )
