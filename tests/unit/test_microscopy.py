"""Measuring cross-sections, against shapely, colour-science and planted pictures."""

import re
from typing import Any

import colour
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point

from analyses.microscopy import (
    MicroscopyError,
    layer_colour,
    munsell,
    munsell_colour,
    ordered,
    thickness,
    um_per_px,
)


def test_it_works() -> None:
    scale = um_per_px([(10, 90), (110, 90)], 50)
    assert scale == 0.5
    told = thickness([(0, 80), (100, 80)], [(0, 40), (100, 40)], scale)
    assert (told.least_um, told.most_um, told.mean_um, told.sd_um) == (20, 20, 20, 0)


@pytest.mark.parametrize(
    ("points", "length_um", "words"),
    [
        ([(1, 1)], 50, "two points"),
        ([(1, 1), (1, 2)], 50, "coincide"),
        ([(1, 1), (9, 9)], 0, "more than 0"),
        ([(1, 1), (9, 9)], float("nan"), "more than 0"),
    ],
)
def test_a_scale_that_cannot_be_is_refused(
    points: list[tuple[int, int]], length_um: float, words: str
) -> None:
    with pytest.raises(MicroscopyError, match=words):
        um_per_px(points, length_um)


def test_a_tilted_layer_is_measured_at_a_right_angle() -> None:
    # 3-4-5: the lines lie 50 px apart up and down, 40 px at a right angle
    told = thickness([(0, 300), (400, 0)], [(0, 250), (400, -50)], 1)
    assert told.least_um == pytest.approx(40)
    assert told.most_um == pytest.approx(40)


LINES = (
    st.lists(st.tuples(st.integers(0, 400), st.integers(0, 30)), min_size=2, max_size=7)
    .map(lambda points: sorted({x: (x, y) for x, y in points}.values()))
    .filter(lambda line: len(line) > 1 and line[-1][0] - line[0][0] > 50)
)


@settings(max_examples=80)
@given(LINES, LINES)
def test_distances_are_those_of_shapely(
    one: list[tuple[int, int]], two: list[tuple[int, int]]
) -> None:
    """`shapely.LineString.distance`: the least, and no place further than the greatest of them."""
    lower, upper = [(x, y + 60.0) for x, y in one], [(float(x), float(y)) for x, y in two]
    below, above = LineString(lower), LineString(upper)
    try:
        told = thickness(lower, upper, 1)
    except MicroscopyError:
        return  # they do not lie over one another
    every = [
        other.distance(Point(*line.interpolate(at, normalized=True).coords[0]))
        for line, other in ((below, above), (above, below))
        for at in np.linspace(0, 1, 240)
    ]
    assert told.most_um <= max(every) + 1e-6
    assert told.least_um >= min(every) - 1e-6
    assert told.least_um >= below.distance(above) - 1e-6
    if told.places == 480:  # nothing was left out
        assert told.mean_um == pytest.approx(np.mean(every))
        assert told.most_um == pytest.approx(max(every))


def test_a_layer_that_runs_out_is_0_thick_there() -> None:
    told = thickness([(0, 100), (200, 100)], [(0, 100), (100, 60), (200, 100)], 0.5)
    assert told.least_um == pytest.approx(0, abs=1e-9)
    assert told.most_um == pytest.approx(20, rel=0.01)


def test_boundaries_that_lie_side_by_side_are_refused() -> None:
    with pytest.raises(MicroscopyError, match="over one another"):
        thickness([(0, 50), (100, 50)], [(300, 20), (400, 20)], 1)


def test_boundaries_are_put_in_order_from_the_bottom_and_from_the_left() -> None:
    top, middle, bottom = [(90, 10), (0, 12)], [(0, 40), (90, 50)], [(0, 80), (90, 80)]
    assert ordered([top, bottom, middle]) == [
        [[0, 80], [90, 80]], [[0, 40], [90, 50]], [[0, 12], [90, 10]],
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("other", "crosses"),
    [
        ([(0, 60), (50, 80), (100, 60)], False),  # touches with a corner
        ([(0, 60), (50, 80), (100, 99)], True),  # passes at a corner
        ([(0, 60), (40, 80), (60, 80), (100, 60)], False),  # runs along it
        ([(0, 60), (40, 80), (60, 80), (100, 99)], True),  # runs along it and leaves below
        ([(50, 80), (50, 20), (90, 20)], False),  # begins on it, upright
        ([(50, 99), (50, 80), (50, 20)], True),  # upright through it
        ([(0, 80), (50, 40), (100, 80)], False),  # a lens between its ends
    ],
)
def test_lines_that_meet_at_a_corner_cross_only_when_they_pass(
    other: list[tuple[float, float]], crosses: bool
) -> None:
    low: list[tuple[float, float]] = [(0, 80), (50, 80), (100, 80)]
    for pair in ([low, other], [other, low], [low[::-1], other[::-1]]):
        if crosses:
            with pytest.raises(MicroscopyError, match="cross"):
                ordered(pair)
        else:
            assert len(ordered(pair)) == 2


def test_boundaries_may_meet_but_not_cross() -> None:
    low = [(0, 80), (100, 80)]
    assert len(ordered([low, [(0, 80), (50, 40), (100, 80)]])) == 2
    with pytest.raises(MicroscopyError, match="Boundaries 1 and 2, counted from the bottom, cross"):
        ordered([low, [(0, 60), (100, 90)]])
    with pytest.raises(MicroscopyError, match="at least two points"):
        ordered([[(3, 3), (3, 3)]])
    with pytest.raises(MicroscopyError, match="are the same line"):
        ordered([low, low])
    loop = [(0, 60), (60, 60), (60, 20), (30, 70), (100, 60)]
    with pytest.raises(MicroscopyError, match=r"Boundary 2, .* crosses itself"):
        ordered([low, loop])


# Colour


def painted() -> Any:
    rng = np.random.default_rng(2)
    image = np.zeros((120, 200, 3))
    image[20:60] = (180, 40, 50)
    image[60:100] = (230, 225, 210)
    return np.clip(image + rng.normal(0, 4, image.shape), 0, 255).astype(np.uint8)


def test_the_colour_is_the_median_inside_and_cielab_that_of_colour_science() -> None:
    found = layer_colour(painted(), [(0, 60), (200, 60)], [(0, 20), (200, 20)])
    rgb = [int(found.hex[i : i + 2], 16) for i in (1, 3, 5)]
    assert rgb == pytest.approx([180, 40, 50], abs=1)
    expected = colour.XYZ_to_Lab(colour.sRGB_to_XYZ(np.array(rgb) / 255))
    assert found.lab == pytest.approx(expected, abs=0.2)
    assert 2 < found.spread < 8
    # the rim is left out: 15 of 100 on either side
    assert found.pixels == pytest.approx(0.7 * 40 * 200, rel=0.15)


def test_a_rim_of_the_next_layer_does_not_change_the_colour() -> None:
    found = layer_colour(painted(), [(0, 65), (200, 65)], [(0, 20), (200, 20)])
    assert int(found.hex[1:3], 16) == pytest.approx(180, abs=2)


def test_a_layer_of_a_few_pixels_is_not_measured() -> None:
    with pytest.raises(MicroscopyError, match="too thin"):
        layer_colour(painted(), [(0, 60), (10, 60)], [(0, 59), (10, 59)])


# Munsell

D65 = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("2.5YR 5/6", "2.5YR 5/6"),
        (" 5pb3 / 10 ", "5PB 3/10"),
        ("10Y 8,5/11", "10Y 8.5/11"),
        ("N 7", "N 7"),
        ("n7/", "N 7"),
        ("N 4.5/0", "N 4.5"),
    ],
)
def test_notations_are_read_as_people_write_them(typed: str, kept: str) -> None:
    assert munsell(typed) == kept


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("reddish", "is not a Munsell notation"),
        ("5X 5/6", "is not a Munsell notation"),
        ("5R 5", "is not a Munsell notation"),
        ("12R 5/6", "from more than 0 to 10"),
        ("5R 11/6", "from 1 (black) to 9.5"),
        ("N 0", "from 1 (black) to 9.5"),
    ],
)
def test_what_is_no_notation_is_refused_in_words(typed: str, words: str) -> None:
    with pytest.raises(MicroscopyError, match=re.escape(words)):
        munsell(typed)


@pytest.mark.parametrize(
    ("patch", "notation"),
    [
        # McCamy, Marcus and Davidson, 'A color-rendition chart', J. Appl. Photogr. Eng. 2 (1976)
        # 95, table I: Munsell notations of the 24 patches (from memory)
        ("bluish green", "2.5BG 7/6"),
        ("orange", "5YR 6/11"),
        ("moderate red", "2.5R 5/10"),
        ("purple", "5P 3/7"),
        ("red", "5R 4/12"),
        ("yellow", "5Y 8/11.1"),
        ("magenta", "2.5RP 5/12"),
        ("neutral 5 (.70 D)", "N 5"),
    ],
)
def test_notations_become_the_colours_measured_on_a_published_chart(
    patch: str, notation: str
) -> None:
    """Against the mean of 30 charts measured by others, as colour-science carries it."""
    chart = colour.CCS_COLOURCHECKERS["BabelColor Average"]
    xyz = colour.chromatic_adaptation(
        colour.xyY_to_XYZ(chart.data[patch]),
        colour.xy_to_XYZ(chart.illuminant),
        colour.xy_to_XYZ(D65),
    )
    expected = colour.XYZ_to_Lab(xyz, D65)
    assert colour.delta_E(munsell_colour(notation).lab, expected, method="CIE 2000") < 3.5


def test_a_grey_has_no_colour_and_its_value_in_lightness() -> None:
    found = munsell_colour("N 5")
    assert found.lab == pytest.approx((51, 0, 0), abs=1)
