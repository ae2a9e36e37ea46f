"""Widths, escape, efficiency and the solver against what is known from elsewhere."""

import numpy as np
import pytest
import xraylib as xl
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import nnls

from analyses.spectra.xray import XraySettings
from analyses.spectra.xray.background import background
from analyses.spectra.xray.detector import (
    add_peak,
    add_tail,
    detected_share,
    escape_share,
    fwhm_kev,
    noise_kev2,
)
from analyses.spectra.xray.fit import not_below_zero


def test_widths_grow_with_energy_from_what_is_known_at_manganese() -> None:
    widths = fwhm_kev("Si", noise_kev2("Si", 130.0), np.array([0.277, 5.895, 20.0]))
    assert widths[1] == pytest.approx(0.130, abs=1e-4)
    assert widths[0] < widths[1] < widths[2]
    # Makers of silicon drift detectors quote about 55 to 65 eV at C Kα with 130 eV at Mn Kα (common
    # practice).
    assert 0.050 < widths[0] < 0.070


def test_a_peak_keeps_its_counts_whatever_the_channels() -> None:
    for step in (0.002, 0.01, 0.04):
        edges = np.arange(4.0, 9.0, step)
        shape = np.zeros(len(edges) - 1)
        add_peak(shape, edges, 6.4, 0.14, 1000.0)
        assert shape.sum() == pytest.approx(1000, rel=1e-4)
        middles = (edges[:-1] + edges[1:]) / 2
        assert (shape * middles).sum() / shape.sum() == pytest.approx(6.4, abs=1e-3)


def test_a_tail_lies_below_its_peak_and_keeps_its_counts() -> None:
    edges = np.arange(2.0, 9.0, 0.01)
    shape = np.zeros(len(edges) - 1)
    add_tail(shape, edges, 6.4, 0.14, 1000.0)
    assert shape.sum() == pytest.approx(1000, rel=0.01)
    assert shape[edges[:-1] > 6.4].sum() < 200


def test_escape_peaks_are_as_weak_as_another_library_says() -> None:
    """Reed and Ware's formula with the numbers of xraylib."""
    for energy in (2.5, 4.0, 6.4):
        ratio = xl.CS_Total(14, 1.74) / xl.CS_Total(14, energy)
        jump = xl.JumpFactor(14, xl.K_SHELL)
        leaves = 0.5 * xl.FluorYield(14, xl.K_SHELL) * (1 - 1 / jump)
        leaves *= 1 - ratio * np.log(1 + 1 / ratio)
        theirs = leaves / (1 - leaves)
        assert escape_share("Si", round(energy * 1000)) == pytest.approx(theirs, rel=0.15)
    assert escape_share("Si", 1700) == 0


@pytest.mark.parametrize("energy", [1.74, 3.69, 6.4, 10.55, 25.27])
def test_what_reaches_the_detector_agrees_with_another_library(energy: float) -> None:
    set_up = XraySettings.xrf(path_mm=10, window_um=8, thickness_mm=0.5)
    air = 0.755 * xl.CS_Total(7, energy) + 0.232 * xl.CS_Total(8, energy)
    air = (air + 0.013 * xl.CS_Total(18, energy)) * 0.001205
    through = np.exp(-air - xl.CS_Total(4, energy) * 1.85 * 8e-4)
    stopped = 1 - np.exp(-xl.CS_Total(14, energy) * 2.33 * 0.05)
    assert detected_share(set_up, round(energy * 1000)) == pytest.approx(
        through * stopped, rel=0.05
    )


@settings(max_examples=60)
@given(st.integers(0, 2**32 - 1), st.integers(2, 25))
def test_the_solver_finds_what_lawson_and_hansons_finds(seed: int, size: int) -> None:
    dice = np.random.default_rng(seed)
    matrix: NDArray[np.float64] = dice.random((3 * size, size))
    target = matrix @ np.clip(dice.normal(size=size), 0, None) + 0.1 * dice.normal(size=3 * size)
    theirs, _ = nnls(matrix, target)
    ours = not_below_zero(matrix.T @ matrix, matrix.T @ target, dice.random(size) > 0.5)
    assert ours == pytest.approx(theirs, abs=1e-5)


def test_the_background_passes_under_peaks_and_along_a_bend() -> None:
    energy = np.arange(0.3, 20, 0.01)
    true = 400 * np.exp(-energy / 5) * (1 - np.exp(-((energy / 1.2) ** 2)))
    fwhm = fwhm_kev("Si", noise_kev2("Si", 135.0), energy)
    peaks = np.zeros_like(energy)
    edges = np.append(energy - 0.005, energy[-1] + 0.005)
    for place, area in ((2.3, 5000.0), (6.4, 40_000.0), (7.06, 5000.0), (10.5, 900.0)):
        add_peak(peaks, edges, place, 0.14, area)
    counts = np.random.default_rng(3).poisson(true + peaks).astype(float)
    found = background(energy, counts, fwhm)
    wide = energy > 1.0
    # Low by the noise that clipping leaves out, never up in the peaks.
    assert np.median(found[wide] / true[wide]) > 0.75
    assert (found[wide] < 1.35 * true[wide] + 8).all()
