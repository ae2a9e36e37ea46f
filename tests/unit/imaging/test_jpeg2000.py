"""A JPEG 2000, which libvips cannot read, is read by all that look at pixels."""

import struct
import subprocess
from pathlib import Path

import numpy as np
import pytest
import pyvips

from records.imaging.comparing import ComparingError, read_grey
from records.imaging.fits import Chart
from records.imaging.matching import UnreadableError, small_copy
from records.imaging.originals import opened, part, readable, size_px
from records.imaging.pyramid import SMALL_NAME, PyramidError, make_pyramid
from records.imaging.rectifying import Frame, rectify

ASLANT = Chart(np.array([[0.5, 0.03, -20], [0.02, -0.48, 200], [1e-4, -6e-5, 1.0]]))
FRAME = Frame(0, 200, 0.5, 300, 300)


@pytest.fixture
def plain(tmp_path: Path) -> Path:
    weave = (pyvips.Image.sines(400, 300, hfreq=7, vfreq=5) + 1) * 30_000
    weave.cast("ushort").tiffsave(str(tmp_path / "plate.tif"))
    return tmp_path / "plate.tif"


def pack(plain: Path) -> Path:
    path = plain.with_suffix(".jp2")
    options = ["-q", "-of", "JP2OpenJPEG", "-co", "QUALITY=100", "-co", "REVERSIBLE=YES"]
    subprocess.run(["gdal_translate", *options, str(plain), str(path)], check=True)
    return path


@pytest.fixture
def packed(plain: Path) -> Path:
    return pack(plain)


def contents(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*.jpg")}


def test_it_is_seen_as_the_tiff_that_it_was_packed_from(plain: Path, packed: Path) -> None:
    made = {}
    for path in (plain, packed):
        desk = path.with_suffix(path.suffix + "s")
        make_pyramid(path, desk / "pyramid")
        rectify(path, ASLANT, FRAME, desk / "rectified")
        made[path] = contents(desk)
        assert any(name.startswith("rectified/") for name in made[path])
    assert made[packed] == made[plain]
    assert np.array_equal(small_copy(packed).grey, small_copy(plain).grey)
    box = (30, 40, 200, 250)
    assert np.array_equal(read_grey(packed, 0.5, box).values, read_grey(plain, 0.5, box).values)


def test_no_more_of_it_is_unpacked_than_is_asked_for(plain: Path, packed: Path) -> None:
    box = (30, 40, 170, 210)
    with readable(packed, box) as copy:
        unpacked = opened(copy)
        assert (unpacked.width, unpacked.height) == box[2:]
    with part(packed, box) as image, part(plain, box) as same:
        assert np.array_equal(image.numpy(), same.numpy())
    assert size_px(packed) == size_px(plain) == (400, 300)


def test_its_colours_are_shown_by_its_profile(tmp_path: Path) -> None:
    plain = tmp_path / "plate.tif"
    colours = pyvips.Image.black(300, 200).linear(1, [200, 60, 40]).cast("uchar")
    colours = colours.copy(interpretation="srgb")
    colours.tiffsave(str(plain))
    content = pack(plain).read_bytes()
    profile = bytes(pyvips.Image.profile_load("p3"))
    # The box of the enumerated colour space is replaced by one of a restricted profile (I.5.3.3).
    outer, start = content.index(b"jp2h") - 4, content.index(b"colr") - 4
    length = int.from_bytes(content[start : start + 4], "big")
    box = struct.pack(">I", 11 + len(profile)) + b"colr" + b"\x02\0\0" + profile
    size = int.from_bytes(content[outer : outer + 4], "big") + len(box) - length
    plain.with_suffix(".jp2").write_bytes(
        content[:outer]
        + struct.pack(">I", size)
        + content[outer + 4 : start]
        + box
        + content[start + length :]
    )
    colours.set_type(pyvips.GValue.blob_type, "icc-profile-data", profile)
    colours.tiffsave(str(plain))
    shown = []
    for path in (plain, plain.with_suffix(".jp2")):
        make_pyramid(path, path.with_suffix(path.suffix + "s"))
        shown.append(contents(path.with_suffix(path.suffix + "s")))
    assert shown[0] == shown[1]
    red = pyvips.Image.new_from_file(str(tmp_path / "plate.jp2s" / SMALL_NAME))(100, 100)[0]
    assert red > 210  # 200 of the wider primaries


def test_one_that_is_cut_short_is_refused_wherever_it_is_read(packed: Path, tmp_path: Path) -> None:
    packed.write_bytes(packed.read_bytes()[:4000])
    with pytest.raises(PyramidError, match="not copied to its end"):
        make_pyramid(packed, tmp_path / "pyramid")
    with pytest.raises(PyramidError, match="cannot be redrawn"):
        rectify(packed, ASLANT, FRAME, tmp_path / "rectified")
    with pytest.raises(UnreadableError, match="cannot be read"):
        small_copy(packed)
    with pytest.raises(ComparingError, match="cannot be read"):
        read_grey(packed)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["plate.jp2", "plate.tif"]
