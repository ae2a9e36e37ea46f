"""Pictures in a dossier: small copies, faint grounds for maps, whether files are unaltered."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy
import pyvips

from records.kept import at_hand

THUMBNAIL_PX = 360
GROUND_PX = 1700
PALENESS = 0.6  # how far a ground goes towards white, so that marks and words read over it


@dataclass(frozen=True)
class Checked:
    """What was found on reading an image file: its SHA-256 ('' when missing), a small JPEG."""

    sha256: str
    small: bytes | None


def check(file: Any) -> Checked:
    """Read a stored file: its SHA-256 and a small copy."""
    try:
        with file.open("rb") as opened:
            digest = hashlib.file_digest(opened, "sha256").hexdigest()
    except OSError:
        return Checked("", None)
    return Checked(digest, small_copy(file))


def small_copy(file: Any, width_px: int = THUMBNAIL_PX) -> bytes | None:
    """A JPEG no wider than `width_px`; None when the file is missing or not a picture."""
    try:
        with at_hand(file) as path:
            return _jpeg(_shrunk(path, width_px), 82)
    except (OSError, pyvips.Error):
        return None


def ground(
    file: Any, matrix: Sequence[Sequence[float]], size_mm: tuple[float, float]
) -> bytes | None:
    """The picture as it lies on a face, grey and pale, as a JPEG that fills the face's frame.

    `matrix` is the placement's, 3 × 3: (x_mm, y_mm, 1) ~ matrix · (column_px, row_px, 1). What the
    picture does not cover is white. None when the file cannot be read.
    """
    try:
        with at_hand(file) as path:
            full_width = pyvips.Image.new_from_file(str(path)).width
            picture = _shrunk(path, 2 * GROUND_PX)
            return _jpeg(_pale(_on_face(picture, full_width, matrix, size_mm)), 72)
    except (OSError, pyvips.Error, numpy.linalg.LinAlgError):
        return None


def _on_face(
    picture: Any, full_width: int, matrix: Sequence[Sequence[float]], size_mm: tuple[float, float]
) -> Any:
    """Resample: every pixel of the face's frame fetches the picture's pixel that lies there."""
    width_mm, height_mm = size_mm
    per_px = max(width_mm, height_mm) / GROUND_PX
    to_mm = numpy.array([[per_px, 0, 0], [0, -per_px, height_mm], [0, 0, 1]])
    shrink = picture.width / full_width
    to_picture = numpy.diag([shrink, shrink, 1.0]) @ numpy.linalg.inv(numpy.array(matrix)) @ to_mm
    grid = pyvips.Image.xyz(round(width_mm / per_px), round(height_mm / per_px))
    x, y = grid[0], grid[1]
    row = [x * float(a) + y * float(b) + float(c) for a, b, c in to_picture]
    index = (row[0] / row[2]).bandjoin(row[1] / row[2])
    return picture.mapim(
        index, interpolate=pyvips.Interpolate.new("bilinear"), background=255, extend="background"
    )


def _pale(picture: Any) -> Any:
    grey = picture.colourspace("b-w")[0]
    return (grey * (1 - PALENESS) + 255 * PALENESS).cast("uchar")


def _shrunk(path: Path, width_px: int) -> Any:
    image = pyvips.Image.thumbnail(
        str(path), width_px, height=10_000_000, size="down", no_rotate=True
    )
    return image.flatten(background=255) if image.hasalpha() else image


def _jpeg(image: Any, quality: int) -> bytes:
    kept: bytes = image.jpegsave_buffer(Q=quality, keep="none", optimize_coding=True)
    return kept
