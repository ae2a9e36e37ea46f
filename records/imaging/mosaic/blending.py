"""Writing the mosaic: block by block in bounded memory, then joined into one tiled TIFF.

In a block, every frame that reaches it is corrected, evened and resampled, and weighs by how far a
pixel lies from the frame's edge: from 0 there to 1 in its middle, so that no seam is left and no
picture is doubled wider than the ties are wrong. Memory holds one part of one frame and one block.
"""

import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pyvips
from numpy.typing import NDArray

from records.imaging.mosaic.camera import Mapping
from records.imaging.mosaic.exposure import Evening
from records.imaging.mosaic.frames import Fields, FrameError, read
from records.imaging.originals import opened, stream

Array = NDArray[np.float32]

BLOCK_PX = 1024
# The map from mosaic to frame is smooth: it is worked out at every eighth pixel and filled in.
MESH_PX = 8
POWER = 3
MARGIN_PX = 4
GROUP = 1 << 31  # classic TIFF ends at 4 GB; a mosaic of half of it is written as BigTIFF


@dataclass(frozen=True, slots=True)
class Laid:
    """A placed frame: its index, where its file is, and its way to the mosaic."""

    index: int
    path: Path
    mapping: Mapping


@dataclass(frozen=True, slots=True)
class Canvas:
    """The extent of the mosaic: (left, top) in mosaic coordinates is its first pixel."""

    left: int
    top: int
    width_px: int
    height_px: int

    def blocks(self, block_px: int = BLOCK_PX) -> list[tuple[int, int, int, int]]:
        """Left, top, width and height of each block on the canvas, row by row."""
        return [
            (x, y, min(block_px, self.width_px - x), min(block_px, self.height_px - y))
            for y in range(0, self.height_px, block_px)
            for x in range(0, self.width_px, block_px)
        ]


def canvas(mappings: Sequence[Mapping]) -> Canvas:
    """The smallest canvas of whole pixels that holds all frames."""
    edges = np.concatenate([m.outline() for m in mappings])
    left, top = np.floor(edges.min(axis=0) + 0.5).astype(int)
    right, bottom = np.ceil(edges.max(axis=0) - 0.5).astype(int)
    return Canvas(int(left), int(top), int(right - left + 1), int(bottom - top + 1))


def reaching(
    mappings: Sequence[Mapping], extent: Canvas, block: tuple[int, int, int, int]
) -> list[int]:
    """Indices of the frames that reach into a block."""
    x, y, width, height = block
    low = np.array([extent.left + x, extent.top + y]) - MARGIN_PX
    high = low + [width, height] + 2 * MARGIN_PX
    found = []
    for index, mapping in enumerate(mappings):
        edge = mapping.outline()
        if (edge.max(axis=0) >= low).all() and (edge.min(axis=0) <= high).all():
            found.append(index)
    return found


def blend(
    laid: Sequence[Laid],
    extent: Canvas,
    block: tuple[int, int, int, int],
    corrections: Fields,
    evening: Evening,
    bands: int,
) -> tuple[Array, NDArray[np.bool_]]:
    """Grey values (height, width, bands) of one block, and where any frame covers it."""
    x, y, width, height = block
    corner = np.array([extent.left + x, extent.top + y])
    total = np.zeros((height, width, bands), np.float32)
    weights = np.zeros((height, width), np.float32)
    for frame in laid:
        edge = frame.mapping.outline() - corner
        left, top = np.maximum(np.floor(edge.min(axis=0)).astype(int), 0)
        right, bottom = np.minimum(np.ceil(edge.max(axis=0)).astype(int) + 1, [width, height])
        if right > left and bottom > top:
            part = (slice(top, bottom), slice(left, right))
            at = (int(corner[0] + left), int(corner[1] + top))
            _add(total[part], weights[part], frame, at, corrections, evening)
    covered = weights > 0
    np.divide(total, weights[..., None], out=total, where=covered[..., None])
    return total, covered


def _add(
    total: Array,
    weights: Array,
    frame: Laid,
    corner: tuple[int, int],
    corrections: Fields,
    evening: Evening,
) -> None:
    """Add a frame to the sums of a part of a block whose first pixel is at `corner`."""
    m = frame.mapping
    columns, rows = _mesh(m, corner, weights.shape)
    inside = (columns > -0.5) & (columns < m.width_px - 0.5)
    inside &= (rows > -0.5) & (rows < m.height_px - 0.5)
    if not inside.any():
        return
    # Only what the block shows of the frame is read, corrected and resampled.
    window = _window(columns[inside], rows[inside], m)
    left, top = window[:2]
    values = corrections.correct(read(frame.path, window), left, top)
    shown = cv2.remap(
        values,
        columns - left,
        rows - top,
        cv2.INTER_CUBIC,
        borderMode=cv2.BORDER_REFLECT,
    ).reshape(*weights.shape, -1)
    dx, dy = (columns - m.middle[0]) / m.unit, (rows - m.middle[1]) / m.unit
    shown = evening.apply(shown, frame.index, dx * dx + dy * dy)
    across = 1 - np.abs(columns - np.float32(m.middle[0])) / np.float32(m.width_px / 2)
    down = 1 - np.abs(rows - np.float32(m.middle[1])) / np.float32(m.height_px / 2)
    weight = (np.maximum(across, 0) * np.maximum(down, 0)) ** POWER
    # The outermost pixels weigh next to nothing, but they count where they are all there is.
    weight = np.where(inside, np.maximum(weight, 1e-7), 0).astype(np.float32)
    total += shown * weight[..., None]
    weights += weight


def _mesh(m: Mapping, corner: tuple[int, int], shape: Sequence[int]) -> tuple[Array, Array]:
    """Frame pixel (column, row) of every pixel of the block."""
    height, width = shape
    ny, nx = -(-height // MESH_PX) + 1, -(-width // MESH_PX) + 1
    gy, gx = np.mgrid[0:ny, 0:nx] * MESH_PX
    points = np.column_stack([(gx + corner[0]).ravel(), (gy + corner[1]).ravel()])
    at = m.to_frame(points).reshape(ny, nx, 2)
    found = []
    for k in range(2):
        down = _filled(at[:, :, k], 0, height)
        found.append(_filled(down, 1, width).astype(np.float32))
    return found[0], found[1]


def _filled(values: NDArray[np.float64], axis: int, length: int) -> NDArray[np.float64]:
    """Linear interpolation along an axis from every `MESH_PX`-th pixel to each."""
    position = np.arange(length) / MESH_PX
    low = np.minimum(position.astype(int), values.shape[axis] - 2)
    part = position - low
    part = part[:, None] if axis == 0 else part[None, :]
    return np.asarray(
        values.take(low, axis) * (1 - part) + values.take(low + 1, axis) * part, np.float64
    )


def _window(columns: Array, rows: Array, m: Mapping) -> tuple[int, int, int, int]:
    left = max(0, int(columns.min()) - MARGIN_PX)
    top = max(0, int(rows.min()) - MARGIN_PX)
    right = min(m.width_px, int(columns.max()) + MARGIN_PX + 2)
    bottom = min(m.height_px, int(rows.max()) + MARGIN_PX + 2)
    return left, top, right - left, bottom - top


def in_format(values: Array, format: str) -> NDArray[Any]:
    """Rounded and held to the range of 'uchar', 'ushort'; 'float' as it is."""
    if format == "float":
        return values
    most, kind = {"uchar": (255, np.uint8), "ushort": (65535, np.uint16)}[format]
    return np.clip(np.rint(values), 0, most).astype(kind)


def save_block(values: NDArray[Any], path: Path) -> None:
    """Keep one block, (height, width, bands), as a TIFF that can be read from anywhere."""
    pyvips.Image.new_from_array(values).tiffsave(
        str(path), tile=True, tile_width=256, tile_height=256, compression="deflate",
        predictor=_predictor(str(values.dtype)), keep="none",
    )  # fmt: skip


def _predictor(kind: str) -> str:
    return "float" if kind.startswith("float") else "horizontal"


def join(
    paths: Sequence[Path],
    extent: Canvas,
    target: Path,
    *,
    block_px: int = BLOCK_PX,
    profile: bytes | None = None,
    pixel_mm: float | None = None,
) -> None:
    """Put the blocks, given row by row, together as one tiled, pyramidal, lossless TIFF.

    The same blocks give the same bytes. libvips streams: memory holds a few rows of tiles. It keeps
    every file open that it reads, and a process may open about a thousand: each row of blocks
    becomes one file first.
    """
    across = -(-extent.width_px // block_px)
    with tempfile.TemporaryDirectory(dir=target.parent) as desk:
        try:
            rows = []
            for first in range(0, len(paths), across):
                blocks = [stream(path) for path in paths[first : first + across]]
                row = pyvips.Image.arrayjoin(blocks, hspacing=block_px)
                rows.append(Path(desk) / f"{first}.tif")
                row.crop(0, 0, extent.width_px, row.height).tiffsave(str(rows[-1]), tile=True)
            whole = pyvips.Image.arrayjoin([stream(path) for path in rows], across=1)
            whole = whole.crop(0, 0, extent.width_px, extent.height_px)
            _save_pyramid(whole, target, profile, pixel_mm)
        except pyvips.Error as error:
            raise FrameError(f"The blocks cannot be joined ({str(error).strip()}).") from error


def _open(path: Path) -> Any:
    return stream(path)


def _save_pyramid(whole: Any, target: Path, profile: bytes | None, pixel_mm: float | None) -> None:
    bands = whole.bands
    whole = whole.copy(interpretation=_interpretation(bands, whole.format))
    if profile:
        whole = whole.copy()
        whole.set_type(pyvips.GValue.blob_type, "icc-profile-data", profile)
    if pixel_mm:
        whole = whole.copy(xres=1 / pixel_mm, yres=1 / pixel_mm)
    size = whole.width * whole.height * bands * {"uchar": 1, "ushort": 2}.get(whole.format, 4)
    whole.tiffsave(
        str(target), tile=True, tile_width=256, tile_height=256, pyramid=True,
        compression="deflate", predictor=_predictor(whole.format), bigtiff=size > GROUP,
    )  # fmt: skip


def _interpretation(bands: int, format: str) -> str:
    if bands == 3:
        return "rgb16" if format == "ushort" else "srgb" if format == "uchar" else "rgb"
    return "grey16" if format == "ushort" else "b-w"


def profile_of(path: Path) -> bytes | None:
    """The ICC profile of a file, if it has one."""
    image = opened(path)
    if not image.get_typeof("icc-profile-data"):
        return None
    return bytes(image.get("icc-profile-data"))
