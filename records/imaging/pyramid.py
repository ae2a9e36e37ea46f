"""Tiles of an image for deep zooming: static files of the IIIF Image API 3, level 0.

Pure: files in, files out. Pixels keep the orientation they have in the file, because that is what
the places of images on faces are measured in.
"""

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pyvips

TILE_PX = 512
SMALL_PX = 640
SMALL_NAME = "small.jpg"
QUALITY = 88

# Values of no agreed range (a reflectance, a map of counts) are stretched from least to most.
UNBOUNDED = frozenset({"float", "double", "complex", "dpcomplex"})


class PyramidError(Exception):
    """The file cannot be made into tiles; the message is for people."""


def ready_to_show(image: Any) -> Any:
    """An opened image as 8-bit grey or sRGB without transparency, for looking at only."""
    if image.hasalpha():
        image = image.flatten(background=255)
    if image.get_typeof("icc-profile-data"):
        image = image.icc_transform("srgb", embedded=True, depth=8)
    elif image.format in UNBOUNDED:
        image = image.scaleimage()
    elif image.bands < 3:
        image = image.colourspace("b-w")
    else:
        image = image.colourspace("srgb")
    return image[0] if image.bands == 2 else image


def make_pyramid(
    source: Path, folder: Path, on_percent: Callable[[int], None] | None = None
) -> None:
    """Write the tiles of `source`, its `info.json` and a small picture into the new `folder`.

    The folder appears whole or not at all. `on_percent` hears of progress, 0 to 100. Raises
    PyramidError when the file cannot be read as an image.
    """
    part = folder.with_name(folder.name + ".part")
    shutil.rmtree(part, ignore_errors=True)
    part.parent.mkdir(parents=True, exist_ok=True)
    try:
        image = ready_to_show(_opened(source))
        if on_percent:
            _report(image, on_percent)
        image.dzsave(
            str(part), layout="iiif3", tile_size=TILE_PX, suffix=f".jpg[Q={QUALITY},keep=none]"
        )
        small = ready_to_show(_opened(source)).thumbnail_image(SMALL_PX, size="down")
        small.jpegsave(str(part / SMALL_NAME), Q=QUALITY, keep="none")
    except pyvips.Error as error:
        shutil.rmtree(part, ignore_errors=True)
        raise PyramidError(
            f"The file cannot be read to its end as an image ({str(error).strip()})."
        ) from error
    shutil.rmtree(folder, ignore_errors=True)
    part.rename(folder)


def _opened(source: Path) -> Any:
    """The file, to be read once from top to bottom unless its range of values has to be found."""
    header = pyvips.Image.new_from_file(str(source))
    access = "random" if header.format in UNBOUNDED else "sequential"
    return pyvips.Image.new_from_file(str(source), access=access)


def _report(image: Any, on_percent: Callable[[int], None]) -> None:
    """Tell progress once for each per cent, not for each strip of pixels."""
    told = -1

    def heard(_image: Any, progress: Any) -> None:
        nonlocal told
        if progress.percent > told:
            told = progress.percent
            on_percent(told)

    image.set_progress(True)
    image.signal_connect("eval", heard)


def information(folder: Path, address: str) -> dict[str, Any]:
    """The image's `info.json` with the address that it is served from."""
    told: dict[str, Any] = json.loads((folder / "info.json").read_text())
    return told | {"id": address}
