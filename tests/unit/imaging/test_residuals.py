"""How far a placement is trusted: points foretold by the others, wrong ones found."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.distance import cdist

from records.imaging import residuals
from records.imaging.fits import apply, fit
from records.imaging.placement import place

SIZE = (6000, 4500)
seeds = st.integers(0, 2**32 - 1)
# A photograph of 0.4 mm a pixel, seen a little aslant.
ASLANT = np.array([[0.4, 0.02, 10], [0.01, -0.4, 1800], [4e-6, -3e-6, 1.0]])
FLAT = np.array([[0.4, 0.02, 10], [0.02, -0.4, 1800], [0, 0, 1.0]])


def spread_points(rng: np.random.Generator, count: int) -> np.ndarray:
    """Points as a person would set them: all over the image, none on another."""
    columns = int(np.ceil(np.sqrt(count)))
    cells = rng.permutation(columns**2)[:count]
    corner = np.column_stack([cells % columns, cells // columns]) / columns
    return (corner + rng.uniform(0.1, 0.9, (count, 2)) / columns) * SIZE


def setting(
    seed: int, count: int, noise_mm: float, truth: np.ndarray = FLAT
) -> tuple[Any, Any, Any]:
    rng = np.random.default_rng(seed)
    px = spread_points(rng, count)
    return px, apply(truth, px) + rng.normal(0, noise_mm, (count, 2)), rng


@given(seeds, st.integers(5, 25))
@settings(max_examples=40)
def test_points_left_out_of_linear_fits_agree_with_the_hat_matrix(seed: int, count: int) -> None:
    # Allen 1974, doi:10.1080/00401706.1974.10489157: the residual over 1 − leverage.
    px, mm, _ = setting(seed, count, 1.0)
    rows = np.column_stack([px / 6000, np.ones(count)])
    hat = rows @ np.linalg.inv(rows.T @ rows) @ rows.T
    left = (mm - hat @ mm) / (1 - np.diag(hat))[:, None]
    told = [one.error_mm for one in residuals.leave_out(px, mm, "affine")]
    assert told == pytest.approx(np.linalg.norm(left, axis=1), rel=1e-6)

    # The similarity has both coordinates of a point in its equations: blocks of 2 × 2.
    c, r = px.T / 6000
    one, nil = np.ones(count), np.zeros(count)
    x = np.stack([c, r, one, nil], 1)
    y = np.stack([-r, c, nil, one], 1)
    both = np.stack([x, y], axis=1).reshape(2 * count, 4)
    hat = both @ np.linalg.inv(both.T @ both) @ both.T
    missed = (mm.ravel() - hat @ mm.ravel()).reshape(count, 2)
    blocks = np.array([np.eye(2) - hat[2 * i : 2 * i + 2, 2 * i : 2 * i + 2] for i in range(count)])
    left = np.linalg.solve(blocks, missed[:, :, None])[:, :, 0]
    told = [one.error_mm for one in residuals.leave_out(px, mm, "similarity")]
    assert told == pytest.approx(np.linalg.norm(left, axis=1), rel=1e-6)


@given(seeds, st.integers(6, 20))
@settings(max_examples=20)
def test_points_left_out_of_a_spline_agree_with_the_closed_form(seed: int, count: int) -> None:
    # Rippa 1999, doi:10.1023/A:1018975909870: the weight over the diagonal of the inverse.
    px, mm, _ = setting(seed, count, 3.0)
    near = px / 3000 - 1
    distance = cdist(near, near)
    kernel = np.where(distance > 0, distance**2 * np.log(distance**2 + 1e-300), 0)
    plain = np.column_stack([np.ones(count), near])
    system = np.block([[kernel, plain], [plain.T, np.zeros((3, 3))]])
    inverse = np.linalg.inv(system)
    weights = inverse[:count, :count] @ mm
    left = weights / np.diag(inverse)[:count, None]
    told = np.array([one.error_mm for one in residuals.leave_out(px, mm, "spline")])
    assert told == pytest.approx(np.linalg.norm(left, axis=1), rel=0.02, abs=0.05)


def test_the_error_told_is_the_error_there_is() -> None:
    # Monte Carlo: over many placements, points that were not used miss as foretold.
    told, true = [], []
    for seed in range(50):
        px, mm, rng = setting(seed, 12, 1.0, ASLANT)
        placing = place(px.tolist(), mm.tolist(), "projective")
        unused = spread_points(rng, 40)
        told.append(placing.left_out_rms_mm**2)
        away = placing.chart.to_face(unused) - apply(ASLANT, unused)
        noisy = away + rng.normal(0, 1.0, away.shape)
        true.append(np.mean(np.sum(noisy**2, axis=1)))
    assert np.sqrt(np.mean(told)) == pytest.approx(np.sqrt(np.mean(true)), rel=0.3)


@pytest.mark.parametrize("method", ["similarity", "affine", "projective"])
def test_sound_points_are_seldom_suspected_and_a_wrong_one_is_found(method: str) -> None:
    alarms = found = 0
    runs = 40
    for seed in range(runs):
        px, mm, rng = setting(seed, 10, 0.5)
        sound = place(px.tolist(), mm.tolist(), method, SIZE)
        alarms += any(doubt.points for doubt in sound.doubts)
        wrong = int(rng.integers(10))
        angle = rng.uniform(0, 2 * np.pi)
        mm[wrong] += 12 * np.array([np.cos(angle), np.sin(angle)])
        doubts = place(px.tolist(), mm.tolist(), method, SIZE).doubts
        found += any(doubt.points == (wrong,) for doubt in doubts)
    assert alarms <= 3  # stated as 1 of 100: more than 3 of 40 come once in 1,000 times
    assert found >= 0.97 * runs


@given(seeds)
@settings(max_examples=30)
def test_exchanged_points_are_named(seed: int) -> None:
    px, mm, rng = setting(seed, 8, 0.5)
    i, j = sorted(rng.choice(8, 2, replace=False).tolist())
    mm[[i, j]] = mm[[j, i]]
    doubts = place(px.tolist(), mm.tolist(), "affine", SIZE).doubts
    assert doubts[0].points == (i, j)
    assert f"Points {i + 1} and {j + 1} look exchanged" in doubts[0].words


def test_a_spline_shows_a_wrong_point_only_when_it_is_left_out() -> None:
    px, mm, _ = setting(3, 16, 0.3)
    mm[5] += (25, 0)
    placing = place(px.tolist(), mm.tolist(), "spline", SIZE)
    assert placing.rms_mm < 0.01
    assert placing.left_out_mm.argmax() == 5
    assert any(doubt.points == (5,) for doubt in placing.doubts)


def test_points_in_one_corner_in_a_line_twice_or_mirrored_are_told() -> None:
    def words(px: list[Any], method: str = "affine", truth: np.ndarray = FLAT) -> str:
        mm = apply(truth, px) + np.random.default_rng(0).normal(0, 0.1, (len(px), 2))
        placing = place(px, mm.tolist(), method, SIZE)
        return " ".join(doubt.words for doubt in placing.doubts)

    assert "enclose 1% of the image" in words([(0, 0), (600, 0), (600, 500), (0, 500)])
    assert "almost on one line" in words([(0, 0), (2000, 30), (4000, 0), (6000, 20)])
    wide = [(0, 0), (6000, 0), (6000, 4500), (0, 4500)]
    assert words(wide) == ""
    assert "Points 4 and 5 are at the same place" in words([*wide, (0, 4501)])
    mirrored = FLAT @ np.array([[-1, 0, 6000], [0, 1, 0], [0, 0, 1.0]])
    assert "mirrored" in words(wide, "similarity", mirrored)


def test_scale_and_anisotropy_are_those_of_the_transformation() -> None:
    stretched = np.array([[0.5, 0.0, 0], [0.0, -0.25, 900], [0, 0, 1.0]])
    px = [(0, 0), (6000, 0), (6000, 4500), (0, 4500)]
    chart = fit(px, apply(stretched, px), "affine")
    for row in residuals.scales(chart, *SIZE):
        for scale in row:
            assert scale.mm_per_px == pytest.approx(np.sqrt(0.5 * 0.25))
            assert scale.anisotropy == pytest.approx(2)
    # Of a view aslant the area of a pixel is the determinant over the cube of the weight.
    chart = fit(px, apply(ASLANT, px), "projective")
    weight = ASLANT[2] @ (1500, 900, 1)
    area = abs(np.linalg.det(ASLANT)) / weight**3
    assert residuals.scale_at(chart, [1500, 900])[0].mm_per_px == pytest.approx(np.sqrt(area))


def test_a_fold_is_told() -> None:
    px = [(0, 0), (6000, 0), (6000, 4500), (0, 4500), (2900, 2200), (3100, 2200)]
    mm = apply(FLAT, px)
    mm[4:] = [*mm[4:][::-1]]
    mm[4:] += [(150, 0), (-150, 0)]
    words = [doubt.words for doubt in place(px, mm.tolist(), "spline", SIZE).doubts]
    assert any("folds the image" in one for one in words)


def test_the_uncertainty_joins_half_a_pixel_and_the_image_that_the_points_are_set_on() -> None:
    px = [(0, 0), (6000, 0), (6000, 4500), (0, 4500), (3000, 2000)]
    exact = place(px, apply(FLAT, px).tolist(), "affine", SIZE)
    half = 0.5 * np.sqrt(abs(np.linalg.det(FLAT)))
    assert exact.uncertainty_mm(*SIZE) == pytest.approx(half)
    assert exact.uncertainty_mm(*SIZE, 3.0) == pytest.approx(np.hypot(half, 3))
    unchecked = place(px[:3], apply(FLAT, px[:3]).tolist(), "affine", SIZE)
    assert not unchecked.is_checked
    assert np.isnan(unchecked.uncertainty_mm(*SIZE))
