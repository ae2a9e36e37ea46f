"""Infrared evaluation as a ratio to the bare library calls that any such program must make."""

import time
import warnings

import numpy as np
import pytest
from pybaselines import Baseline
from scipy.signal import find_peaks, savgol_filter

from analyses.spectra.curve import Curve
from analyses.spectra.infrared import evaluate
from tests.unit.spectra.infrared.generator import KNOWN, spectrum


@pytest.fixture(scope="module")
def curves() -> list[Curve]:
    """Mixtures of two, 1711 values each."""
    rng = np.random.default_rng(1)
    pairs = [rng.choice(list(KNOWN), 2, replace=False) for _ in range(150)]
    return [spectrum({str(name): 0.6 for name in pair}, rng) for pair in pairs]


def test_bands_groups_and_grounds_cost_little_beside_baseline_and_peaks(
    curves: list[Curve],
) -> None:
    evaluate(curves[0])
    start = time.process_time()
    for curve in curves:
        evaluate(curve)
    ours = time.process_time() - start

    start = time.process_time()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for curve in curves:
            smooth = savgol_filter(curve.y, 7, 3)
            width = (1200 / (2 * np.pi * 2)) ** 4
            baseline, _ = Baseline(x_data=curve.x).arpls(smooth, lam=width, max_iter=60)
            find_peaks(smooth - baseline, prominence=0.01)
    bare = time.process_time() - start
    print(f"\n{len(curves)} infrared spectra: {ours / bare:.1f} times the bare calls")
    assert ours / bare < 6
