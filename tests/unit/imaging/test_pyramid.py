"""Tiles of images: every tile that a viewer asks for is there, whatever the file was."""

import json
import math
from pathlib import Path
from typing import Any

import pytest
import pyvips

from records.imaging.pyramid import SMALL_NAME, TILE_PX, PyramidError, information, make_pyramid

ADDRESS = "https://museum.example/images/7/iiif"


def slope(width: int, height: int) -> Any:
    """A grey picture that grows lighter to the right, 0 to 1."""
    return pyvips.Image.xyz(width, height)[0] / (width - 1)


def asked_for(width: int, height: int, factors: list[int]) -> list[str]:
    """The tiles of an IIIF level 0 service, by the arithmetic of the IIIF Image API 3."""
    names = []
    for factor in factors:
        side = TILE_PX * factor
        for x in range(0, width, side):
            for y in range(0, height, side):
                w, h = min(side, width - x), min(side, height - y)
                region = "full" if (w, h) == (width, height) else f"{x},{y},{w},{h}"
                size = f"{math.ceil(w / factor)},{math.ceil(h / factor)}"
                names.append(f"{region}/{size}/0/default.jpg")
    return names


@pytest.mark.parametrize(("width", "height"), [(1500, 1100), (1333, 777), (300, 200), (512, 1025)])
def test_every_tile_that_a_viewer_asks_for_is_there(
    tmp_path: Path, width: int, height: int
) -> None:
    original = tmp_path / "original.tif"
    (slope(width, height) * 255).cast("uchar").tiffsave(str(original))
    make_pyramid(original, tmp_path / "tiles")
    told = information(tmp_path / "tiles", ADDRESS)
    assert (told["width"], told["height"], told["id"]) == (width, height, ADDRESS)
    names = asked_for(width, height, told["tiles"][0]["scaleFactors"])
    assert [name for name in names if not (tmp_path / "tiles" / name).is_file()] == []


@pytest.mark.parametrize(
    "picture",
    [
        pytest.param(
            (slope(640, 480) * 65535).cast("ushort"), id="16-bit grey, as an X-radiograph"
        ),
        pytest.param((slope(640, 480) * 3.7).cast("float"), id="measured values of no fixed range"),
        pytest.param(
            (slope(640, 480) * 255).cast("uchar").bandjoin([0, 0]).copy(interpretation="srgb"),
            id="colour",
        ),
        pytest.param(
            (slope(640, 480) * 255).cast("uchar").bandjoin([0, 0, 255]).copy(interpretation="srgb"),
            id="colour with transparency",
        ),
    ],
)
def test_any_picture_is_shown_from_dark_to_light(tmp_path: Path, picture: Any) -> None:
    original = tmp_path / "original.tif"
    picture.tiffsave(str(original))
    make_pyramid(original, tmp_path / "tiles")
    small = pyvips.Image.new_from_file(str(tmp_path / "tiles" / SMALL_NAME))
    assert small.format == "uchar"
    assert small(5, 100)[0] < 10
    assert small(small.width - 5, 100)[0] > 245


def test_progress_is_told_and_ends(tmp_path: Path) -> None:
    original = tmp_path / "original.tif"
    (slope(2000, 2000) * 255).cast("uchar").tiffsave(str(original))
    told: list[int] = []
    make_pyramid(original, tmp_path / "tiles", told.append)
    assert told == sorted(set(told))
    assert told[-1] == 100


def test_a_file_that_is_no_picture_is_refused_in_words_and_leaves_nothing(tmp_path: Path) -> None:
    original = tmp_path / "original.tif"
    original.write_bytes(b"not a picture")
    with pytest.raises(PyramidError, match="cannot be read"):
        make_pyramid(original, tmp_path / "tiles")
    assert [path.name for path in tmp_path.iterdir()] == ["original.tif"]


def test_a_damaged_picture_keeps_the_tiles_made_before(tmp_path: Path) -> None:
    original = tmp_path / "original.tif"
    (slope(900, 900) * 255).cast("uchar").tiffsave(str(original))
    make_pyramid(original, tmp_path / "tiles")
    original.write_bytes(original.read_bytes()[:200])
    with pytest.raises(PyramidError):
        make_pyramid(original, tmp_path / "tiles")
    assert (tmp_path / "tiles" / "info.json").is_file()


@pytest.mark.parametrize("size", [(900, 700), (1500, 1200)])
def test_no_address_is_kept_that_nobody_serves(tmp_path: Path, size: tuple[int, int]) -> None:
    original = tmp_path / "original.tif"
    (slope(*size) * 255).cast("uchar").tiffsave(str(original))
    make_pyramid(original, tmp_path / "tiles")
    kept = json.loads((tmp_path / "tiles" / "info.json").read_text())
    assert "id" not in kept
    served = information(tmp_path / "tiles", ADDRESS)
    assert served["id"] == ADDRESS
    assert kept.items() <= (served | {"tiles": kept["tiles"]}).items()
