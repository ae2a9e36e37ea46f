"""Fitted transformations against scikit-image and SciPy, and against published solutions."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import RBFInterpolator
from scipy.optimize import least_squares
from skimage.transform import AffineTransform, ProjectiveTransform, SimilarityTransform

from records.imaging.fits import PlacementError, apply, fit

estimate: Any = ProjectiveTransform.from_estimate
affine_estimate: Any = AffineTransform.from_estimate
OVER = np.diag([1.0, -1.0, 1.0])  # rows run down, y runs up
seeds = st.integers(0, 2**32 - 1)


def scattered(seed: int, count: int, noise_mm: float) -> tuple[np.ndarray, np.ndarray]:
    """Pixels of an image 6000 × 4500 px and their places on a face, seen a little aslant."""
    rng = np.random.default_rng(seed)
    px = rng.uniform((0, 0), (6000, 4500), (count, 2))
    turn = rng.uniform(-3, 3)
    a, b = 0.4 * np.cos(turn), 0.4 * np.sin(turn)
    aslant = np.array([[a, b, 50], [b, -a, 1900], [*rng.uniform(-1e-5, 1e-5, 2), 1.0]])
    return px, apply(aslant, px) + rng.normal(0, noise_mm, (count, 2))


def test_a_published_worked_solution_of_the_similarity_is_met() -> None:
    # Umeyama 1991 (doi:10.1109/34.88573), the example of section IV: three points and their
    # mirror image, for which a plain least squares solution would be a reflection. R, c and t as
    # printed there, quoted from memory; the least error by equation 33.
    source = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 2.0]])
    goal = np.array([[0.0, 0.0], [-1.0, 0.0], [0.0, 2.0]])
    found = fit(apply(OVER, source), goal, "similarity").matrix @ OVER
    scale = np.sqrt(np.linalg.det(found[:2, :2]))
    assert scale == pytest.approx(0.721, abs=5e-4)
    assert found[:2, :2] / scale == pytest.approx(
        np.array([[0.832, 0.555], [-0.555, 0.832]]), abs=5e-4
    )
    assert found[:2, 2] == pytest.approx([-0.800, 0.400], abs=5e-4)
    error = np.mean(np.sum((apply(found, source) - goal) ** 2, axis=1))
    x, y = source - source.mean(axis=0), goal - goal.mean(axis=0)
    u, d, vt = np.linalg.svd(y.T @ x / 3)
    trace = d @ [1, np.sign(np.linalg.det(u) * np.linalg.det(vt))]
    variances = np.mean(np.sum(x**2, axis=1)), np.mean(np.sum(y**2, axis=1))
    assert error == pytest.approx(variances[1] - trace**2 / variances[0], abs=1e-9)


@given(seeds, st.integers(3, 40))
@settings(max_examples=60)
def test_a_similarity_is_the_closed_least_squares_solution(seed: int, count: int) -> None:
    # Umeyama's equations 40 to 42, written out from the paper.
    px, mm = scattered(seed, count, 2.0)
    turned = apply(OVER, px)
    x, y = turned - turned.mean(axis=0), mm - mm.mean(axis=0)
    u, d, vt = np.linalg.svd(y.T @ x / count)
    s = np.diag([1.0, np.sign(np.linalg.det(u) * np.linalg.det(vt))])
    c = np.trace(np.diag(d) @ s) / np.mean(np.sum(x**2, axis=1))
    rotation = u @ s @ vt
    shift = mm.mean(axis=0) - c * rotation @ turned.mean(axis=0)
    closed = np.eye(3)
    closed[:2, :2], closed[:2, 2] = c * rotation, shift
    found = fit(px, mm, "similarity")
    assert found.to_face(px) == pytest.approx(apply(closed, turned), rel=1e-9, abs=1e-9)
    assert found.to_face(px) == pytest.approx(
        SimilarityTransform.from_estimate(turned, mm)(turned), rel=1e-9, abs=1e-6
    )


@given(seeds, st.integers(4, 40))
@settings(max_examples=60)
def test_an_affine_fit_solves_the_normal_equations(seed: int, count: int) -> None:
    px, mm = scattered(seed, count, 2.0)
    rows = np.column_stack([px / 6000, np.ones(count)])
    solved = np.linalg.solve(rows.T @ rows, rows.T @ mm)
    assert fit(px, mm, "affine").to_face(px) == pytest.approx(rows @ solved, rel=1e-7, abs=1e-6)


@given(seeds, st.integers(4, 40))
@settings(max_examples=40)
def test_exact_points_are_met_as_scikit_image_meets_them(seed: int, count: int) -> None:
    px, mm = scattered(seed, count, 0.0)
    found = fit(px, mm, "projective")
    theirs = estimate(px / 6000, mm)
    if np.ptp(px, axis=0).min() > 500:
        assert found.to_face(px) == pytest.approx(mm, abs=1e-6)
        assert theirs(px / 6000) == pytest.approx(mm, abs=1e-3)
    flat = apply(np.array([[0.4, 0.1, 5], [0.1, -0.4, 900], [0, 0, 1]]), px)
    assert fit(px, flat, "affine").to_face(px) == pytest.approx(
        affine_estimate(px / 6000, flat)(px / 6000), abs=1e-5
    )


@given(seeds, st.integers(6, 30))
@settings(max_examples=25)
def test_no_other_view_aslant_misses_the_points_by_less(seed: int, count: int) -> None:
    px, mm = scattered(seed, count, 1.0)

    def missed(h: np.ndarray) -> np.ndarray:
        return np.asarray(apply(np.append(h, 1).reshape(3, 3), px / 6000) - mm).ravel()

    algebraic = estimate(px / 6000, mm).params
    best = least_squares(missed, (algebraic / algebraic[2, 2]).ravel()[:8], x_scale="jac")
    ours = np.sum((fit(px, mm, "projective").to_face(px) - mm) ** 2)
    assert ours <= 2 * best.cost * (1 + 1e-6) + 1e-9
    assert ours <= np.sum(missed((algebraic / algebraic[2, 2]).ravel()[:8]) ** 2) * (1 + 1e-9)


@given(seeds, st.integers(4, 40))
@settings(max_examples=25)
def test_a_spline_is_the_thin_plate_spline_of_scipy(seed: int, count: int) -> None:
    px, mm = scattered(seed, count, 3.0)
    elsewhere = np.random.default_rng(seed + 1).uniform((0, 0), (6000, 4500), (50, 2))
    theirs = RBFInterpolator(px / 6000, mm, kernel="thin_plate_spline")
    found = fit(px, mm, "spline")
    assert found.to_face(px) == pytest.approx(mm, abs=0.01)  # scikit-image's is single precision
    # Points that nearly coincide magnify rounding in both.
    distances = np.linalg.norm(px[:, None] - px[None], axis=2) + 1e9 * np.eye(count)
    if distances.min() > 150:
        assert found.to_face(elsewhere) == pytest.approx(theirs(elsewhere / 6000), abs=0.5)


@pytest.mark.parametrize("method", ["similarity", "affine", "projective", "spline"])
def test_the_way_back_leads_to_the_pixel(method: str) -> None:
    px, mm = scattered(7, 12, 3.0)
    chart = fit(px, mm, method)
    inside = np.random.default_rng(1).uniform((500, 500), (5500, 4000), (200, 2))
    assert chart.to_image(chart.to_face(inside)) == pytest.approx(inside, abs=0.01)


@pytest.mark.parametrize(
    ("px", "method", "words"),
    [
        ([(0, 0), (9, 0), (9, 9)], "projective", "at least 4 points; there are 3"),
        ([(0, 0), (9, 9), (18, 18), (27, 27)], "projective", "one line in the image"),
        ([(0, 0), (9, 9), (18, 18), (27, 0)], "projective", "All points but one lie on one line"),
        ([(0, 0), (9, 9), (18, 18), (27, 27)], "spline", "one line in the image"),
        ([(0, 0), (9, 0), (9, 9), (9, 9)], "spline", "Points 3 and 4 are the same pixel"),
        ([(5, 5), (5, 5), (5, 5), (5, 5)], "affine", "coincide in the image"),
    ],
)
def test_points_that_decide_nothing_are_told_why(
    px: list[tuple[float, float]], method: str, words: str
) -> None:
    mm = [(0, 0), (10, 1), (11, 12), (2, 13)][: len(px)]
    with pytest.raises(PlacementError, match=words):
        fit(px, mm, method)
