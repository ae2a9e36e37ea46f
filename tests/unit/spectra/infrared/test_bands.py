"""Bands are found where they were put, and lines of the air are not taken for bands."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyses.spectra.curve import Array, Axis, Curve
from analyses.spectra.infrared import Measured
from analyses.spectra.infrared.bands import Found, find_bands
from analyses.spectra.infrared.preparation import prepare
from tests.unit.spectra.infrared.generator import Conditions, spectrum

X = np.arange(600, 4000, 2.0)


def found_in(y: Array) -> Found:
    curve = Curve(X, y, Axis.WAVENUMBER, "absorbance")
    return find_bands(prepare(curve, Measured.TRANSMISSION))


def peak(place: float, width: float) -> Array:
    shape: Array = np.exp(-4 * np.log(2) * ((X - place) / width) ** 2)
    return shape


@given(
    st.integers(0, 10**6),
    st.lists(st.floats(650, 3900), min_size=1, max_size=8),
    st.floats(14, 60),
)
@settings(max_examples=60)
def test_separate_bands_are_found_in_place(seed: int, places: list[float], width: float) -> None:
    places = [p for p in places if not 2200 < p < 2480]
    kept: list[float] = []
    for place in sorted(places):
        if not kept or place - kept[-1] > 3 * width:
            kept.append(place)
    if not kept:
        return
    y = sum((peak(place, width) for place in kept), np.zeros_like(X))
    y += np.random.default_rng(seed).normal(0, 0.004, len(X))
    found = [band for band in found_in(y).bands if band.height > 0.2 and band.shape == "peak"]
    assert len(found) == len(kept)
    for band, place in zip(found, kept, strict=True):
        assert band.x == pytest.approx(place, abs=max(1.5, 0.05 * width))
        assert band.height == pytest.approx(1, abs=0.15)
        assert band.width == pytest.approx(width, rel=0.3, abs=3)


def test_noise_alone_hardly_ever_shows_a_firm_band() -> None:
    noises = [np.random.default_rng(seed).normal(0, 0.01, len(X)) for seed in range(60)]
    firm = [any(band.sigma >= 8 for band in found_in(noise).own) for noise in noises]
    assert sum(firm) <= 1


def test_a_shoulder_is_found_on_the_flank_of_a_band() -> None:
    y = peak(1705, 40) + 0.3 * peak(1668, 28)
    y += np.random.default_rng(4).normal(0, 0.001, len(X))
    found = found_in(y).bands
    (shoulder,) = [band for band in found if band.shape == "shoulder"]
    assert shoulder.x == pytest.approx(1668, abs=6)


@pytest.mark.parametrize("seed", range(6))
def test_water_vapour_is_recognised_and_not_assigned(seed: int) -> None:
    rng = np.random.default_rng(seed)
    curve = spectrum({"barite": 0.8}, rng, Conditions(signal=800, vapour=0.04))
    found = find_bands(prepare(curve, Measured.TRANSMISSION))
    vapour = [band for band in found.bands if band.air == "water vapour"]
    assert len(vapour) > 8
    left = [b for b in found.own if 1320 < b.x < 1880 or 3540 < b.x < 3930]
    assert len(left) <= 0.25 * len(vapour)


def test_without_vapour_a_narrow_band_keeps_its_name() -> None:
    curve = spectrum({"lead_soap": 0.8}, np.random.default_rng(3), Conditions(signal=800))
    found = find_bands(prepare(curve, Measured.TRANSMISSION))
    assert not [band for band in found.bands if band.air == "water vapour"]
    assert any(abs(band.x - 1513) < 4 for band in found.own)


@pytest.mark.parametrize("sign", [-1, 1])
def test_carbon_dioxide_is_recognised_either_way(sign: int) -> None:
    y = 0.5 * peak(1000, 60) + sign * 0.05 * (peak(2340, 30) + peak(2363, 20))
    y += np.random.default_rng(5).normal(0, 0.001, len(X))
    found = found_in(y)
    assert found.carbon_dioxide
    assert not [band for band in found.own if 2280 < band.x < 2400]
