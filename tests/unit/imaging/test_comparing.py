"""Comparing placed images by number, against planted changes and scikit-image."""

from pathlib import Path

import numpy as np
import pytest
import pyvips
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scipy.ndimage import gaussian_filter
from scipy.ndimage import shift as shifted
from skimage.measure import profile_line

from records.imaging import comparing
from records.imaging.comparing import (
    STEP_NOISE,
    Array,
    ComparingError,
    Difference,
    Grey,
    Grid,
    colours,
    difference,
    keep_values,
    picture,
    profile,
    read_grey,
    read_kept,
    resample,
)

RNG = np.random.default_rng(11)


def paint(rows: int = 240, columns: int = 320, seed: int = 3) -> Array:
    """Something like a painting: soft shapes with a few hard edges."""
    rng = np.random.default_rng(seed)
    soft = gaussian_filter(rng.normal(size=(rows, columns)), 9) * 400 + 120
    soft[60:120, 40:90] += 50
    soft[:, 200:204] -= 60
    return np.clip(soft, 0, 255)


def upright(height_mm: float, mm_per_px: float = 1.0):  # type: ignore[no-untyped-def]
    """The mapping of an image that fills a face of that height."""

    def to_pixels(points: Array) -> Array:
        return np.column_stack([points[:, 0], height_mm - points[:, 1]]) / mm_per_px

    return to_pixels


def test_it_works() -> None:
    image = paint()
    grid = Grid.over((0, 0, 320, 240), 1)
    assert (grid.rows, grid.columns) == (240, 320)
    assert np.allclose(resample(Grey(image), upright(240), grid), image)


def test_a_grid_is_coarsened_to_what_can_be_worked_on() -> None:
    grid = Grid.over((0, 0, 4000, 1000), 0.1, most=1000)
    assert grid.step_mm == 4
    assert grid.shape == (250, 1000)
    assert list(grid.box_mm) == [0, 0, 4000, 1000]
    with pytest.raises(ComparingError, match="do not overlap"):
        Grid.over((10, 0, 10, 5), 1)


def test_what_an_image_does_not_reach_is_not_a_number() -> None:
    grid = Grid.over((-20, -20, 340, 260), 1)
    values = resample(Grey(paint()), upright(240), grid)
    assert np.isnan(values[:20]).all()
    assert np.isnan(values[:, -20:]).all()
    assert np.isfinite(values).sum() == 240 * 320


@pytest.mark.parametrize("reduced", [1.0, 0.5])
def test_a_reduced_image_lies_where_the_full_one_lies(reduced: float) -> None:
    soft = gaussian_filter(RNG.normal(size=(240, 320)), 12) * 800
    small = soft if reduced == 1 else soft.reshape(120, 2, 160, 2).mean(axis=(1, 3))
    grid = Grid.over((4, 4, 316, 236), 2)
    found = resample(Grey(small, (reduced, reduced)), upright(240), grid)
    # the middle of a 2 mm cell lies on the corner of four 1 mm pixels
    expected = soft[4:236, 4:316].reshape(116, 2, 156, 2).mean(axis=(1, 3))
    assert np.abs(found - expected).max() < 0.35


# Difference


def compared(first: Array, second: Array, error_mm: float = 0.0, **options: object) -> Difference:
    grid = Grid.over((0, 0, first.shape[1], first.shape[0]), 1)
    return difference(first, second, grid, error_mm, **options)  # type: ignore[arg-type]


def test_a_planted_change_is_found_where_it_was_planted_and_nowhere_else() -> None:
    first = paint() + RNG.normal(0, 1.5, (240, 320))
    second = paint() + RNG.normal(0, 1.5, (240, 320))
    planted = np.zeros((240, 320), bool)
    planted[150:180, 100:160] = True
    second[planted] -= 30
    told = compared(first, second, k=4)
    assert told.certain[planted].mean() > 0.99
    # 4 σ of normal noise: 6 in 100,000
    assert told.certain[~planted].mean() < 3e-4
    assert told.sigma == pytest.approx(1.5 * np.sqrt(2), rel=0.05)
    assert told.certain_mm2 == pytest.approx(planted.sum(), rel=0.02)
    assert told.area_mm2 == 240 * 320
    assert told.mean == pytest.approx(-30 * planted.mean(), abs=0.05)
    assert told.sd == pytest.approx(np.std(second - told.gain * first - told.offset))


def test_brightness_and_contrast_are_evened_out_though_a_tenth_has_changed() -> None:
    first = paint()
    second = 0.7 * first + 25 + RNG.normal(0, 0.8, first.shape)
    second[:, :32] = 200
    told = compared(first, second)
    assert told.gain == pytest.approx(0.7, abs=0.01)
    assert told.offset == pytest.approx(25, abs=1)
    assert told.certain[:, :32].mean() > 0.9
    assert told.certain[:, 32:].mean() < 0.01
    plain = compared(first, second, even=False)
    assert (plain.gain, plain.offset) == (1, 0)


@pytest.mark.parametrize(("across", "down"), [(1, 0), (0, 2), (-1, 1), (2, -2)])
def test_what_a_shift_within_the_error_of_placing_explains_is_only_possible(
    across: int, down: int
) -> None:
    first = paint()
    moved = shifted(first, (down, across), order=1, mode="nearest")
    blind = compared(first, moved, 0.0)
    told = compared(first, moved, np.hypot(across, down))
    assert blind.certain.sum() > 200  # every edge, were the error not known
    assert told.certain.sum() == 0
    assert told.possible.sum() == blind.certain.sum()


def test_a_change_wider_than_the_error_of_placing_stays_certain() -> None:
    first = paint()
    second = first.copy()
    second[100:140, 220:280] += 70
    told = compared(first, second, 1.5)
    inner = told.certain[106:134, 226:274]
    assert inner.mean() > 0.95
    assert not (told.certain & told.possible).any()


@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow])
@given(st.integers(0, 10_000), st.floats(0.5, 2), st.floats(-30, 30))
def test_certain_and_possible_share_nothing_and_lie_in_what_was_compared(
    seed: int, gain: float, offset: float
) -> None:
    rng = np.random.default_rng(seed)
    first = gaussian_filter(rng.normal(size=(30, 40)), 2) * 200 + 100
    second = gain * first + offset + rng.normal(0, 2, first.shape)
    first[:4] = np.nan
    second[:, :5] = np.nan
    told = compared(first, second, 1.0)
    assert not (told.certain & told.possible).any()
    assert not ((told.certain | told.possible) & ~told.compared).any()
    assert told.compared.sum() == 26 * 35
    assert told.certain_mm2 + told.possible_mm2 <= told.area_mm2


def test_equal_images_differ_nowhere_and_keep_the_noise_of_whole_steps() -> None:
    told = compared(paint(), paint())
    assert told.certain.sum() == told.possible.sum() == 0
    assert told.sigma == STEP_NOISE
    assert (told.mean, told.sd) == pytest.approx((0, 0), abs=1e-9)


def test_images_that_hardly_overlap_are_refused() -> None:
    first, second = paint(), paint()
    first[9:] = np.nan
    second[:, 9:] = np.nan
    with pytest.raises(ComparingError, match="hardly overlap"):
        compared(first, second)


# Profiles


@pytest.mark.parametrize(
    ("start", "end"), [((20, 30), (300, 200)), ((300, 20), (15, 20)), ((60, 220), (60, 10))]
)
def test_a_profile_is_that_of_scikit_image(start: tuple[int, int], end: tuple[int, int]) -> None:
    """`skimage.measure.profile_line`: (row, column) of pixel middles, one value for each pixel."""
    image = paint()
    source, target = (239 - (start[1] - 0.5), start[0] - 0.5), (239 - (end[1] - 0.5), end[0] - 0.5)
    theirs: Array = profile_line(image, source, target, order=1, mode="nearest")  # type: ignore[no-untyped-call]
    length = np.hypot(end[0] - start[0], end[1] - start[1])
    step = length / (len(theirs) - 1)
    ours = profile(Grey(image), upright(240), [start, end], step)
    assert len(ours.values) == len(theirs)
    assert np.allclose(ours.values, theirs, atol=1e-6)
    assert ours.distance_mm[-1] == pytest.approx(length)


def test_a_wide_profile_is_that_of_scikit_image() -> None:
    image = paint()
    theirs = profile_line(image, (100, 40), (100, 240), linewidth=5, order=1, mode="nearest")  # type: ignore[no-untyped-call]
    ours = profile(Grey(image), upright(240), [(40.5, 139.5), (240.5, 139.5)], 1, width_mm=4)
    assert np.allclose(ours.values, theirs)


def test_a_line_with_corners_is_followed_and_its_rest_kept() -> None:
    ramp = np.tile(np.arange(100, dtype=float), (50, 1))
    line = [(10, 10), (40, 10), (40, 30.5)]
    told = profile(Grey(ramp), upright(50), line, 1)
    assert told.distance_mm[-1] == pytest.approx(50.5)
    assert told.values[:31] == pytest.approx(np.arange(31) + 9.5)
    assert told.values[31:] == pytest.approx(np.full(21, 39.5))


def test_a_line_that_leaves_the_image_has_no_values_there() -> None:
    told = profile(Grey(paint()), upright(240), [(300, 100), (340, 100)], 1)
    assert np.isfinite(told.values[:21]).all()
    assert np.isnan(told.values[21:]).all()


def test_a_line_without_length_is_refused() -> None:
    with pytest.raises(ComparingError, match="no length"):
        profile(Grey(paint()), upright(240), [(5, 5), (5, 5)], 1)


# Reading files


def test_grey_values_of_every_depth_run_from_0_to_255(tmp_path: Path) -> None:
    ramp = np.linspace(0, 1, 64 * 48).reshape(48, 64)
    kinds = {
        "eight.png": (ramp * 255).round().astype(np.uint8),
        "sixteen.tif": (ramp * 65535).round().astype(np.uint16),
        "float.tif": (ramp * 3.5 - 1).astype(np.float32),
    }
    for name, pixels in kinds.items():
        pyvips.Image.new_from_array(pixels).write_to_file(str(tmp_path / name))
        read = read_grey(tmp_path / name)
        assert read.values == pytest.approx(ramp * 255, abs=0.51), name
    colour = pyvips.Image.new_from_array(np.full((20, 20, 3), 120, np.uint8), interpretation="srgb")
    colour.write_to_file(str(tmp_path / "colour.png"))
    assert read_grey(tmp_path / "colour.png").values == pytest.approx(120, abs=1)


@pytest.mark.parametrize("reduce_by", [1, 0.5, 0.25, 0.1])
@pytest.mark.parametrize("box", [None, (101, 33, 343, 271)])
def test_a_reduced_reading_has_each_value_where_it_belongs(
    tmp_path: Path, reduce_by: float, box: tuple[int, ...] | None
) -> None:
    across, down = np.meshgrid(np.arange(403) + 0.5, np.arange(301) + 0.5)
    for name, slope in (("across", across), ("down", down)):
        image = pyvips.Image.new_from_array((slope * 120).round().astype(np.uint16))
        image.tiffsave(str(tmp_path / f"{name}.tif"))
    points = np.array([(150.0, 80.0), (220.3, 151.7), (320.0, 250.0)])
    for name, axis in (("across", 0), ("down", 1)):
        found = read_grey(tmp_path / f"{name}.tif", reduce_by, box).at(points) * 257 / 120
        assert found == pytest.approx(points[:, axis], abs=0.05)


def test_what_is_no_image_is_refused_in_words(tmp_path: Path) -> None:
    (tmp_path / "notes.tif").write_text("no image")
    with pytest.raises(ComparingError, match="cannot be read"):
        read_grey(tmp_path / "notes.tif")


# The picture


def lightness(rgb: Array) -> Array:
    """CIE L*, from sRGB (IEC 61966-2-1) by hand."""
    linear = np.where(rgb <= 10.31, rgb / 255 / 12.92, ((rgb / 255 + 0.055) / 1.055) ** 2.4)
    y: Array = linear @ np.array([0.2126, 0.7152, 0.0722])
    return np.where(y > 0.008856, 116 * np.cbrt(y) - 16, 903.3 * y)


def test_the_scale_darkens_evenly_to_both_ends_and_is_told_apart_without_red_and_green() -> None:
    drawn = colours(np.linspace(-1, 1, 41), 1)
    light = lightness(drawn)
    assert (np.diff(light[:21]) > 0).all()
    assert (np.diff(light[20:]) < 0).all()
    assert light[0] == pytest.approx(light[-1], abs=12)
    # whoever confuses red and green still has blue against yellow
    yellow = drawn[:, 2] - drawn[:, :2].mean(axis=1)
    assert (yellow[:18] > 5).all()
    assert (yellow[23:] < -5).all()


def test_the_picture_has_a_pixel_for_each_cell_and_greys_what_was_not_compared() -> None:
    first, second = paint(), paint()
    second[100:140, 220:280] += 70
    second[:, :40] = np.nan
    told = compared(first, second, 1.5)
    image = pyvips.Image.pngload_buffer(picture(told)).numpy()
    assert image.shape == (240, 320, 3)
    assert np.ptp(image[:, :40], axis=2).max() <= 8  # no colour
    assert np.abs(image[120, 250].astype(int) - [0x7A, 0x3F, 0x05]).max() <= 4


@pytest.mark.parametrize("kind", ["uchar", "ushort", "float"])
def test_what_is_kept_of_a_large_image_says_the_same_as_the_image(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kind: str
) -> None:
    monkeypatch.setattr(comparing, "KEPT_PX", 160)
    soft = np.clip(
        gaussian_filter(np.random.default_rng(5).normal(size=(240, 320)), 20) * 900 + 120, 0, 255
    )
    image = pyvips.Image.new_from_array(soft) * {"uchar": 1, "ushort": 257, "float": 0.01}[kind]
    image.cast(kind).tiffsave(str(tmp_path / "whole.tif"))
    told: list[int] = []
    (tmp_path / "kept").mkdir()
    (tmp_path / "kept" / "values.part").write_text("left by a run that was killed")
    keep_values(tmp_path / "whole.tif", tmp_path / "kept" / "values.tif", told.append)
    assert told[-1] == 100
    assert [path.name for path in (tmp_path / "kept").iterdir()] == ["values.tif"]
    grid = Grid.over((40, 30, 280, 200), 4)
    for box in (None, (40, 40, 280, 210)):
        grey = read_grey(tmp_path / "whole.tif", 0.25, box)
        kept = read_kept(tmp_path / "kept" / "values.tif", (320, 240), 0.25, box)
        assert kept is not None
        off = resample(kept, upright(240), grid) - resample(grey, upright(240), grid)
        # floating point is stretched from least to greatest of what was read
        assert np.abs(off).max() < (1.5 if kind == "float" else 0.5)
        assert abs(off.mean()) < (0.5 if kind == "float" else 0.03)


def test_finer_values_than_are_kept_have_to_be_read_from_the_image(tmp_path: Path) -> None:
    pyvips.Image.new_from_array(paint().astype(np.uint8)).tiffsave(str(tmp_path / "values.tif"))
    assert read_kept(tmp_path / "values.tif", (640, 480), 0.51, (0, 0, 100, 100)) is None
    assert read_kept(tmp_path / "values.tif", (640, 480), 0.5, (0, 0, 100, 100)) is not None


def test_values_of_an_image_that_is_cut_short_are_not_kept(tmp_path: Path) -> None:
    pyvips.Image.new_from_array(paint().astype(np.uint8)).tiffsave(str(tmp_path / "whole.tif"))
    whole = (tmp_path / "whole.tif").read_bytes()
    (tmp_path / "short.tif").write_bytes(whole[: len(whole) // 2])
    with pytest.raises(ComparingError, match="cannot be read"):
        keep_values(tmp_path / "short.tif", tmp_path / "kept" / "values.tif")
    assert not (tmp_path / "kept" / "values.tif").exists()
