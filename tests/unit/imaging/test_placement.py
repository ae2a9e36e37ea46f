"""Placing images on faces: known transformations are found again, poor points are refused."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Polygon

from records.imaging.placement import PlacementError, footprint, place, project, scale_mm

PIXELS = [(0, 0), (6000, 0), (6000, 4500), (0, 4500), (2500, 1800)]


def turned(scale: float, angle: float, x: float, y: float) -> np.ndarray:
    """A similarity as it is used here: rows run down, y runs up."""
    a, b = scale * np.cos(angle), scale * np.sin(angle)
    return np.array([[a, b, x], [b, -a, y], [0.0, 0.0, 1.0]])


@given(
    st.floats(0.01, 2),
    st.floats(-3.1, 3.1),
    st.floats(-2000, 2000),
    st.floats(-2000, 2000),
)
def test_a_similarity_is_found_again(scale: float, angle: float, x: float, y: float) -> None:
    matrix = turned(scale, angle, x, y)
    found = place(PIXELS, project(matrix, PIXELS).tolist())
    assert project(found.matrix, PIXELS) == pytest.approx(project(matrix, PIXELS), abs=1e-6)
    assert found.rms_mm == pytest.approx(0, abs=1e-6)
    assert scale_mm(found.matrix, 6000, 4500) == pytest.approx(scale)


def test_an_affine_fit_takes_up_stretching_that_a_similarity_shows_as_error() -> None:
    stretched = np.array([[0.1, 0.0, 5.0], [0.004, -0.12, 540.0], [0, 0, 1.0]])
    mm = project(stretched, PIXELS).tolist()
    assert place(PIXELS, mm, "affine").rms_mm == pytest.approx(0, abs=1e-9)
    assert place(PIXELS, mm, "similarity").rms_mm > 10


def test_the_residuals_are_distances_in_millimetres_and_their_root_mean_square() -> None:
    mm = project(turned(0.1, 0, 0, 450), PIXELS)
    mm[4] += (3, 4)
    found = place(PIXELS, mm.tolist(), "affine")
    assert found.residuals_mm == pytest.approx(
        np.linalg.norm(project(found.matrix, PIXELS) - mm, axis=1)
    )
    assert found.rms_mm == pytest.approx(np.sqrt(np.mean(found.residuals_mm**2)))


def test_the_footprint_agrees_with_the_area_of_the_pixels() -> None:
    matrix = turned(0.1, 0.3, 10, 500)
    corners = Polygon(footprint(matrix, 6000, 4500))
    assert corners.area == pytest.approx(600 * 450)
    assert corners.exterior.is_ccw


@pytest.mark.parametrize(
    ("px", "mm", "method", "words"),
    [
        ([(0, 0)], [(0, 0)], "similarity", "at least 2 points; there are 1"),
        ([(0, 0), (9, 9)], [(0, 0), (1, 1)], "affine", "at least 3 points"),
        ([(0, 0), (0, 0)], [(0, 0), (1, 1)], "similarity", "one line|coincide"),
        ([(0, 0), (1, 1), (2, 2)], [(0, 0), (1, 1), (2, 2)], "affine", "on one line"),
        ([(0, 0), (9, 9)], [(5, 5), (5, 5)], "similarity", "coincide"),
        ([(0, 0), (9, float("nan"))], [(0, 0), (5, 5)], "similarity", "not a number"),
    ],
)
def test_points_that_decide_nothing_are_refused_in_words(
    px: list[tuple[float, float]], mm: list[tuple[float, float]], method: str, words: str
) -> None:
    with pytest.raises(PlacementError, match=words):
        place(px, mm, method)
