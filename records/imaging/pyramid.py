"""Tiles of an image for deep zooming: static files of the IIIF Image API 3, level 0.

Pure: files in, files out. Pixels keep the orientation they have in the file, because that is what
the places of images on faces are measured in.
"""

import json
import math
import shutil
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any, NamedTuple

import pyvips

from records.imaging.originals import OriginalError, read_through, readable, stream

TILE_PX = 512
# The longer side of the whole image in one file: as the API's `max`, and in small for lists.
WHOLE_PX = 1024
SMALL_PX = 640
SMALL_NAME = "small.jpg"
QUALITY = 88
DEEPEST = {"uchar": 255.0, "ushort": 65535.0}


class PyramidError(Exception):
    """The file cannot be made into tiles; the message is for people."""


class Window(NamedTuple):
    """The values that are shown as black and as white; what lies between is spread evenly."""

    low: float
    high: float


def window_by_itself(
    histogram: dict[str, Any], sample_type: str, bands: int, has_profile: bool
) -> Window | None:
    """The window of an image for which nobody has set one; None shows the values as they stand.

    Values that a camera has made for the eye (8 bits, colours, anything with a colour profile)
    stand. Counts of a detector and measured values have no agreed black and white: they are spread
    over what occurs in the image, a thousandth at either end left out.
    """
    made_for_the_eye = sample_type == "uint8" or (
        sample_type == "uint16" and (bands > 2 or has_profile)
    )
    if made_for_the_eye or not histogram:
        return None
    return window_of(histogram)


def window_of(histogram: dict[str, Any]) -> Window:
    """What occurs in an image, a thousandth at either end left out."""
    low, high = histogram["dark"], histogram["light"]
    return Window(low, high) if low < high else Window(histogram["low"], histogram["high"])


def ready_to_show(image: Any, window: Window | None = None) -> Any:
    """An opened image as 8-bit grey or sRGB without transparency, for looking at only."""
    if image.hasalpha():
        image = image.flatten(background=DEEPEST.get(image.format, 1))
    if image.bands == 2:
        image = image[0]
    if window is not None:
        image = _spread(image, window)
    if image.get_typeof("icc-profile-data") and image.format in DEEPEST:
        try:
            return image.icc_transform("srgb", embedded=True, depth=8)
        except pyvips.Error:
            # The profile does not fit the pixels: they are shown without it.
            image = image.copy()
            image.remove("icc-profile-data")
    if image.format == "uchar" and image.interpretation in ("b-w", "srgb", "multiband"):
        return image
    return image.colourspace("b-w" if image.bands == 1 else "srgb")


def _spread(image: Any, window: Window) -> Any:
    """Values of the window over 0 to 255; over 0 to 65535 where a colour profile has to follow."""
    colours = image.bands > 1
    deep = colours and image.format == "ushort"
    top = 65535.0 if deep else 255.0
    slope = top / (window.high - window.low)
    image = image.linear(slope, 0.5 - window.low * slope)
    kind = ("rgb16" if deep else "srgb") if colours else "b-w"
    image = image.cast("ushort" if deep else "uchar").copy(interpretation=kind)
    if not colours:
        # What was spread is no longer what the profile speaks of.
        image.remove("icc-profile-data")
    return image


def make_pyramid(
    source: Path,
    folder: Path,
    on_percent: Callable[[int], None] | None = None,
    window: Window | None = None,
) -> None:
    """Write the tiles of `source`, its `info.json` and a small picture into the new `folder`.

    `info.json` has no `id`: `information` adds the address that it is served from.

    `window` says which values are black and white. The folder appears whole or not at all: what a
    run that was killed has left is thrown away by the next one. `on_percent` hears of progress,
    0 to 100. Raises PyramidError when the file cannot be read to its end as an image.
    """
    part = folder.with_name(folder.name + ".part")
    shutil.rmtree(part, ignore_errors=True)
    part.mkdir(parents=True)
    tiles = part / "tiles"  # libvips leaves a file of its own beside them
    try:
        with readable(source) as file:
            image = stream(file)
            if window is None and image.format not in DEEPEST:
                found = read_through(file)
                window = window_of(asdict(found))
            image = ready_to_show(image, window)
            if on_percent:
                report(image, on_percent)
            image.dzsave(
                str(tiles), layout="iiif3", tile_size=TILE_PX, suffix=f".jpg[Q={QUALITY},keep=none]"
            )
        add_whole(tiles)
    except BaseException as error:
        shutil.rmtree(part, ignore_errors=True)
        if isinstance(error, pyvips.Error | OriginalError):
            raise PyramidError(
                f"The file cannot be read to its end as an image ({str(error).strip()})."
            ) from error
        raise
    shutil.rmtree(folder, ignore_errors=True)
    tiles.rename(folder)
    shutil.rmtree(part, ignore_errors=True)


def add_whole(folder: Path) -> None:
    """Lay the whole image in one file beside its tiles: as `max`, and in small for lists; keep in
    `info.json` all but the address.

    The API asks even level 0 for `max`, which of a large image is a smaller one; `maxWidth` says
    so, of the height too.
    """
    told = json.loads((folder / "info.json").read_text())
    whole = _joined(folder, told).thumbnail_image(WHOLE_PX, size="down").copy_memory()
    most = folder / "full" / "max" / "0" / "default.jpg"
    most.parent.mkdir(parents=True)
    whole.jpegsave(str(most), Q=QUALITY, keep="none")
    small = whole.thumbnail_image(SMALL_PX, size="down")
    small.jpegsave(str(folder / SMALL_NAME), Q=QUALITY, keep="none")
    if max(told["width"], told["height"]) > WHOLE_PX:
        told["maxWidth"] = WHOLE_PX
    del told["id"]  # libvips makes one up: the address is known to whoever serves the tiles
    (folder / "info.json").write_text(json.dumps(told, indent=2))


def _joined(folder: Path, told: dict[str, Any]) -> Any:
    """The first level that is large enough, put together from its tiles."""
    width, height = told["width"], told["height"]
    factors = sorted(told["tiles"][0]["scaleFactors"], reverse=True)
    factor = next((f for f in factors if max(width, height) / f >= WHOLE_PX), 1)
    side = TILE_PX * factor
    across = math.ceil(width / side)
    tiles = []
    for y in range(0, height, side):
        for x in range(0, width, side):
            w, h = min(side, width - x), min(side, height - y)
            region = "full" if (w, h) == (width, height) else f"{x},{y},{w},{h}"
            size = f"{math.ceil(w / factor)},{math.ceil(h / factor)}"
            tiles.append(
                pyvips.Image.new_from_file(str(folder / region / size / "0" / "default.jpg"))
            )
    whole = pyvips.Image.arrayjoin(tiles, across=across, hspacing=TILE_PX, vspacing=TILE_PX)
    return whole.crop(0, 0, math.ceil(width / factor), math.ceil(height / factor))


def report(image: Any, on_percent: Callable[[int], None]) -> None:
    """Tell progress once for each per cent, not for each strip of pixels; 100 at the end."""
    told = -1

    def reached(percent: int) -> None:
        nonlocal told
        if percent > told:
            told = percent
            on_percent(told)

    image.set_progress(True)
    image.signal_connect("eval", lambda _image, progress: reached(progress.percent))
    image.signal_connect("posteval", lambda _image, _progress: reached(100))


def information(folder: Path, address: str) -> dict[str, Any]:
    """The image's `info.json` with the address that it is served from."""
    told: dict[str, Any] = json.loads((folder / "info.json").read_text())
    # Tiles are square where no height is stated; some readers want to hear it.
    tiles = [{"height": tile["width"], **tile} for tile in told["tiles"]]
    return told | {"id": address, "tiles": tiles}
