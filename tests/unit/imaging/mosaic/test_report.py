"""The map of residuals, and where it draws frames that have no place."""

from xml.etree import ElementTree

import numpy as np
import pytest

from records.imaging import mosaic
from records.imaging.mosaic.report import Drawn, Link, map_of_residuals, step_of

SQUARE = np.array([[-10, -10], [10, -10], [10, 10], [-10, 10]], float)


def drawn(name: str, x: float, placed: bool = True) -> Drawn:
    middle = np.array([x, 0.0])
    return Drawn(name, SQUARE + middle, middle, placed)


def test_it_works() -> None:
    """Certain is solid, possible hatched; every overlap says what is left in it."""
    frames = [drawn("a<1>.tif", 0), drawn("c.tif", 30, placed=False), drawn("b.tif", 15)]
    told = map_of_residuals(frames, [Link(0, 2, 0.14, "a and b: 0.14 px")])
    svg = ElementTree.fromstring(told)
    assert [p.get("class") for p in svg.iter("polygon")] == ["placed", "placed", "unplaced"]
    titles = [title.text for title in svg.iter("title")]
    assert titles == ["a<1>.tif", "b.tif", "c.tif, not placed", "a and b: 0.14 px"]
    assert [text.text for text in svg.iter("text")] == ["a<1>", "c", "b", "0.14"]


def test_an_overlap_that_was_set_aside_has_no_figure() -> None:
    told = map_of_residuals([drawn("a", 0), drawn("b", 15)], [Link(0, 1, None, "set aside")])
    svg = ElementTree.fromstring(told)
    assert [line.get("class") for line in svg.iter("line")] == ["unused"]


def test_of_hundreds_of_frames_only_shapes_and_colours_are_drawn() -> None:
    frames = [drawn(f"{k}", 15 * k) for k in range(80)]
    links = [Link(k, k + 1, 0.3, "") for k in range(79)]
    assert "<text" not in map_of_residuals(frames, links)
    assert map_of_residuals([], []) == ""


@pytest.mark.parametrize(("rms_px", "step"), [(0.05, 0), (0.15, 1), (0.4, 2), (0.9, 3), (7, 4)])
def test_steps_of_the_scale(rms_px: float, step: int) -> None:
    assert step_of(rms_px) == step


def test_a_frame_without_a_place_is_expected_where_its_neighbours_leave_a_gap() -> None:
    nominal = mosaic.grid(3, 4, (100, 80))
    turned = nominal @ np.array([[1.02, 0.03], [-0.03, 1.02]]) + [7, -5]
    found = turned.copy()
    found[[4, 11]] = np.nan
    assert mosaic.expected(nominal, found) == pytest.approx(turned)
    found[2:] = np.nan
    assert mosaic.expected(nominal, found)[:2].mean(0) == pytest.approx(turned[:2].mean(0))


@pytest.mark.parametrize(
    ("order", "second_row"),
    [("rows", [4, 5, 6, 7]), ("rows_back", [7, 6, 5, 4]), ("columns", [1, 4, 7, 10]),
     ("cols_back", [1, 4, 7, 10])],
)  # fmt: skip
def test_grids_are_taken_in_four_orders(order: str, second_row: list[int]) -> None:
    places = mosaic.grid(3, 4, (100, 80), order)
    assert len(places) == 12
    row = [k for k in np.argsort(places[:, 0], kind="stable") if places[k, 1] == 80]
    assert row == second_row
