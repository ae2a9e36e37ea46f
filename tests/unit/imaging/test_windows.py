"""How values are shown: the window of an image, and colours by their profile."""

import io
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import pyvips
from PIL import Image as Pillow
from PIL import ImageCms

from records.imaging.originals import read_through
from records.imaging.pyramid import SMALL_NAME, Window, make_pyramid, window_by_itself


def shades(values: Any, path: Path) -> Path:
    pyvips.Image.new_from_array(np.ascontiguousarray(values)).tiffsave(str(path))
    return path


def shown(source: Path, window: Window | None = None) -> Any:
    folder = source.parent / "tiles"
    make_pyramid(source, folder, window=window)
    small = pyvips.Image.new_from_file(str(folder / SMALL_NAME)).numpy()
    return small.reshape(small.shape[0], small.shape[1], -1)[:, :, 0].astype(int)


def test_a_window_spreads_its_values_from_black_to_white(tmp_path: Path) -> None:
    ramp = np.tile(np.linspace(1000, 2000, 400), (300, 1)).astype(np.uint16)
    seen = shown(shades(ramp, tmp_path / "a.tif"), Window(1250, 1750))[150]
    wanted = np.clip((ramp[150].astype(float) - 1250) / 500 * 255, 0, 255)
    assert np.abs(seen - wanted).max() <= 4  # JPEG rounds
    assert (seen[:90].max(), seen[-90:].min()) <= (4, 255)
    assert seen[-90:].min() >= 251


def test_counts_of_a_detector_are_spread_by_themselves_and_pictures_are_not(tmp_path: Path) -> None:
    ramp = np.tile(np.linspace(300, 900, 400), (300, 1)).astype(np.uint16)
    ramp[0, 0] = 65535  # a hot pixel
    found = asdict(read_through(shades(ramp, tmp_path / "a.tif")))
    window = window_by_itself(found, "uint16", 1, False)
    assert window is not None
    assert window.low == pytest.approx(300, abs=5)
    assert window.high == pytest.approx(900, abs=5)
    assert window_by_itself(found, "uint16", 1, True) is None
    assert window_by_itself(found, "uint16", 3, False) is None
    assert window_by_itself(found, "uint8", 1, False) is None
    assert window_by_itself(found, "float32", 3, False) is not None


def test_colours_are_those_of_their_profile(tmp_path: Path) -> None:
    """What Pillow makes of the same profile is the judge; without it the colour would differ."""
    path = tmp_path / "wide.tif"
    red = pyvips.Image.black(300, 200, bands=3).linear(1, [150, 60, 50])
    red.cast("uchar").copy(interpretation="srgb").icc_transform(
        "p3", input_profile="srgb"
    ).tiffsave(str(path))
    with Pillow.open(path) as wide:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(wide.info["icc_profile"]))
        srgb = ImageCms.createProfile("sRGB")
        judged = ImageCms.profileToProfile(wide, profile, srgb)
        assert judged is not None
        raw, wanted = np.asarray(wide)[100, 100].astype(int), np.asarray(judged)[100, 100]
    make_pyramid(path, tmp_path / "tiles")
    seen = pyvips.Image.new_from_file(str(tmp_path / "tiles" / SMALL_NAME)).numpy()[100, 100]
    assert np.abs(seen.astype(int) - wanted).max() <= 3
    assert np.abs(raw - wanted).max() > 6


def test_a_profile_that_does_not_fit_the_pixels_is_passed_over(tmp_path: Path) -> None:
    path = tmp_path / "a.tif"
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    Pillow.new("L", (300, 200), 120).save(path, icc_profile=profile)
    assert abs(int(shown(path)[100, 100]) - 120) <= 2
