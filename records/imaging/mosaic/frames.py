"""Frames as files: what they are, whether they can belong together, and their dark and flat fields.

Grey values are those of the file (0 … 255, 0 … 65,535, or any number for float files) and stay so:
correction divides by the flat field's own mean, so that a corrected frame keeps the range of the
raw one. Files are read as `records.imaging.originals.readable` gives them.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pyvips
from numpy.typing import NDArray

from records.imaging.originals import OriginalError, opened

Array = NDArray[np.float32]

FORMATS = {
    "uchar": ("8 bit", 255.0),
    "ushort": ("16 bit", 65535.0),
    "float": ("floating point", 0.0),
}
BANDS = {1: "grey", 3: "RGB"}
LEAST_TEXTURE = 1.3
CLIPPED = 0.95


class FrameError(ValueError):
    """The file cannot be a frame; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class Header:
    """What a file holds, alpha left aside."""

    width_px: int
    height_px: int
    bands: int
    format: str

    def __str__(self) -> str:
        colours = BANDS.get(self.bands, f"{self.bands} bands")
        return f"{self.width_px} × {self.height_px} px, {FORMATS[self.format][0]}, {colours}"

    @property
    def range(self) -> float:
        """The span of grey values that the format allows; 0 for floating point, which has none."""
        return FORMATS[self.format][1]


def open_frame(path: Path) -> Any:
    """The file as a pyvips image without alpha. Raises FrameError when it cannot be a frame."""
    try:
        image = opened(path)
        if image.hasalpha():
            image = image[: image.bands - 1] if image.bands > 2 else image[0]
    except OriginalError as error:
        raise FrameError(f"It {error}") from error
    except pyvips.Error as error:
        raise FrameError(f"It cannot be opened as an image ({str(error).strip()}).") from error
    if image.format not in FORMATS:
        raise FrameError(
            f"Its values are of the kind ‘{image.format}’; frames hold 8 bit, 16 bit or 32 bit "
            "floating point values. Export it again in one of these."
        )
    if min(image.width, image.height) < 32:
        raise FrameError(f"It is only {image.width} × {image.height} px.")
    return image


def header(path: Path) -> Header:
    """What the file holds. Raises FrameError."""
    image = open_frame(path)
    return Header(image.width, image.height, image.bands, image.format)


def read(path: Path, window: tuple[int, int, int, int] | None = None) -> NDArray[Any]:
    """Grey values as (rows, columns, bands) in the file's own type; `window`: left, top, width,
    height in pixels, read without the rest where the format allows. Raises FrameError."""
    image = open_frame(path)
    try:
        if window:
            image = image.crop(*window)
        values: NDArray[Any] = image.numpy()
    except pyvips.Error as error:
        raise FrameError(f"It cannot be read to its end ({str(error).strip()}).") from error
    return values.reshape(image.height, image.width, image.bands)


def small(path: Path, side_px: int) -> bytes:
    """A frame as a JPEG of at most `side_px` on its longer side; values deeper than 8 bit are
    spread from the darkest to the lightest hundredth. Raises FrameError."""
    image = open_frame(path)
    try:
        values = image.resize(min(1.0, side_px / max(image.width, image.height))).numpy()
    except pyvips.Error as error:
        raise FrameError(f"It cannot be read to its end ({str(error).strip()}).") from error
    if values.dtype != np.uint8:
        low, high = np.nanpercentile(values, (1, 99))
        spread = np.nan_to_num((values - low) / max(float(high - low), 1e-12))
        values = (np.clip(spread, 0, 1) * 255).astype(np.uint8)
    content: bytes = pyvips.Image.new_from_array(values).jpegsave_buffer(Q=85, keep="none")
    return content


def strangers(headers: Sequence[Header | None], one_camera: bool) -> dict[int, str]:
    """Frames that cannot be joined with the rest, by index, with the reason.

    Values and bands have to be those of the majority; with `one_camera` (a lens or a flat field to
    correct) the size in pixels too. None stands for a file that could not be read.
    """
    known = [h for h in headers if h]
    found: dict[int, str] = {}
    if not known:
        return found
    kinds = Counter((h.format, h.bands) for h in known)
    (values, bands), _ = kinds.most_common(1)[0]
    sizes = Counter(
        (h.width_px, h.height_px) for h in known if (h.format, h.bands) == (values, bands)
    )
    (width, height), _ = sizes.most_common(1)[0]
    usual = Header(width, height, bands, values)
    for index, h in enumerate(headers):
        if h is None:
            continue
        if (h.format, h.bands) != (values, bands):
            found[index] = (
                f"It is {FORMATS[h.format][0]}, {BANDS.get(h.bands, f'{h.bands} bands')}, the "
                f"others {FORMATS[values][0]}, {BANDS.get(bands, f'{bands} bands')}: their grey "
                "values do not mean the same. Export all frames alike."
            )
        elif one_camera and (h.width_px, h.height_px) != (width, height):
            found[index] = (
                f"It is {h.width_px} × {h.height_px} px, the others {usual.width_px} × "
                f"{usual.height_px} px: lens and flat field are corrected for frames of one camera "
                "only."
            )
    return found


@dataclass(frozen=True, slots=True)
class Fields:
    """The dark exposure and the gain of each pixel, (rows, columns, bands); None where not given.

    corrected = (raw − dark) · gain, with gain = mean(flat − dark) / (flat − dark) per band.
    """

    dark: Array | None = None
    gain: Array | None = None

    def correct(self, raw: NDArray[Any], left: int = 0, top: int = 0) -> Array:
        """A frame, or the part of one that begins at (left, top), as corrected float32."""
        part = (slice(top, top + raw.shape[0]), slice(left, left + raw.shape[1]))
        values = raw.astype(np.float32)
        if self.dark is not None:
            values -= self.dark[part]
        if self.gain is not None:
            values *= self.gain[part]
        return values


def fields(darks: Sequence[NDArray[Any]], flats: Sequence[NDArray[Any]]) -> Fields:
    """Mean dark and flat exposures, each (rows, columns, bands), as a correction.

    Raises FrameError when their sizes differ, or a flat field is dark (nowhere lighter than the
    dark exposure by a hundredth of its own mean).
    """
    if len({values.shape for values in (*darks, *flats)}) > 1:
        raise FrameError("Dark and flat exposures differ in size or in bands from each other.")
    dark = _mean(darks) if darks else None
    if not flats:
        return Fields(None if dark is None else dark.astype(np.float32))
    light = _mean(flats)
    if dark is not None:
        light = light - dark
    mean = light.mean(axis=(0, 1))
    if (mean <= 0).any() or (light <= 0.01 * mean).any():
        raise FrameError(
            "The flat field is dark in places: it has to be an even field, well exposed everywhere."
        )
    gain = (mean / light).astype(np.float32)
    return Fields(None if dark is None else dark.astype(np.float32), gain)


def _mean(exposures: Sequence[NDArray[Any]]) -> NDArray[np.float64]:
    return np.asarray(np.mean(np.stack(exposures), axis=0, dtype=np.float64))


def grey(values: Array) -> Array:
    """The mean of the bands, (rows, columns)."""
    return np.asarray(values.mean(axis=2), np.float32)


@dataclass(frozen=True, slots=True)
class Look:
    """What was found when a frame was looked at: mean and spread of its grey values and the part of
    it that is clipped; `texture` is the spread of detail over that of noise."""

    mean: float
    spread: float
    clipped: float
    texture: float

    @property
    def blank(self) -> str:
        """Why the frame cannot be placed by what is seen in it; '' when it may."""
        if self.clipped > CLIPPED:
            return f"{self.clipped:.0%} of it is black or burnt out."
        if self.texture < LEAST_TEXTURE:
            return (
                f"It is blank: what is seen in it is {self.texture:.1f} times what its noise alone "
                f"would show (at least {LEAST_TEXTURE} are needed)."
            )
        return ""


def look(values: Array, raw: NDArray[Any]) -> Look:
    """Look at a corrected frame beside the raw one.

    Detail is what is left after smoothing by 1.5 px and taking away what varies over 12 px; noise
    is taken from the differences of neighbours (median, Immerkær's mask: Computer Vision and Image
    Understanding 64 (1996) 300), and what it leaves after the same smoothing is the unit of
    texture: 1 means that nothing but noise is seen.
    """
    import cv2

    picture = grey(values)
    mask = np.array([[1, -2, 1], [-2, 4, -2], [1, -2, 1]], np.float32)
    rough = cv2.filter2D(picture, -1, mask)[1:-1, 1:-1]
    noise = float(np.median(np.abs(rough))) / 0.6745 / 6.0
    smooth = cv2.GaussianBlur(picture, (0, 0), 1.5)
    detail = smooth - cv2.GaussianBlur(picture, (0, 0), 12)
    left = noise / (2 * np.sqrt(np.pi) * 1.5)
    spread = float(np.std(detail))
    clipped = 0.0
    if np.issubdtype(raw.dtype, np.integer):
        clipped = float(np.mean((raw == 0) | (raw == np.iinfo(raw.dtype).max)))
    floor = max(left, 1e-6 * float(np.abs(picture).max()), 1e-12)
    return Look(float(picture.mean()), float(picture.std()), clipped, spread / floor)
