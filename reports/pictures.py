"""Pictures in a dossier: small copies, faint grounds for maps, whether files are unaltered."""

import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy
import pyvips

from records.imaging.originals import OriginalError, readable
from records.imaging.placement import Chart
from records.imaging.rectifying import Frame, redrawn
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
        with at_hand(file) as kept, readable(kept) as path:
            return _jpeg(_shrunk(path, width_px), 82)
    except (OSError, pyvips.Error, OriginalError):
        return None


def ground(file: Any, chart: Chart, size_mm: tuple[float, float]) -> bytes | None:
    """The picture as it lies on a face, grey and pale, as a JPEG that fills the face's frame.

    `chart` carries its pixels to the face. What the picture does not cover is white. None when the
    file cannot be read.
    """
    width_mm, height_mm = size_mm
    per_px = max(width_mm, height_mm) / GROUND_PX
    frame = Frame(0, height_mm, per_px, round(width_mm / per_px), round(height_mm / per_px))
    try:
        with at_hand(file) as kept, readable(kept) as path:
            full_width = pyvips.Image.new_from_file(str(path)).width
            picture = _shrunk(path, 2 * GROUND_PX)
            shrunk = picture.width / full_width
            return _jpeg(_pale(redrawn(picture, chart, frame, shrunk=shrunk)), 72)
    except (OSError, pyvips.Error, OriginalError, numpy.linalg.LinAlgError):
        return None


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
