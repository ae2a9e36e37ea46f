"""However a spectrum was measured, it comes to absorbance, or says why it does not."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyses.spectra.curve import Array, Axis, Curve
from analyses.spectra.infrared import Measured, UnsuitableCurve
from analyses.spectra.infrared.preparation import absorption_index, noise_of, prepare
from tests.unit.spectra.infrared.generator import spectrum


def oscillators(x: Array) -> tuple[Array, Array]:
    """Reflectance at right angles and absorption index of three Lorentz oscillators."""
    permittivity = np.full(len(x), 2.25, dtype=complex)
    for place, strength, damping in ((1730, 200, 20), (1030, 800, 40), (2920, 150, 30)):
        permittivity += strength**2 / (place**2 - x**2 - 1j * damping * x)
    index = np.sqrt(permittivity)
    return np.abs((index - 1) / (index + 1)) ** 2, index.imag


def test_the_absorption_index_comes_back_from_the_reflection_of_oscillators() -> None:
    """The model is the textbook one: E. Hecht, Optics, chapter 3 (from memory)."""
    x = np.arange(400, 4001, 2.0)
    reflectance, truth = oscillators(x)
    found = absorption_index(x, reflectance)
    inside = (x > 500) & (x < 3900)
    assert np.abs(found - truth)[inside].max() < 0.02 * truth.max()
    for low, high in ((1650, 1800), (900, 1150), (2850, 2990)):
        here = (x > low) & (x < high)
        assert x[here][found[here].argmax()] == pytest.approx(x[here][truth[here].argmax()], abs=2)
        # The reflection itself peaks elsewhere: that is why it is transformed.
    strong = (x > 900) & (x < 1300)
    assert abs(x[strong][reflectance[strong].argmax()] - x[strong][truth[strong].argmax()]) > 4


@given(st.integers(0, 1000))
@settings(max_examples=25)
def test_absorbance_transmittance_and_percent_are_the_same_spectrum(seed: int) -> None:
    curve = spectrum({"drying_oil": 0.6}, np.random.default_rng(seed))
    fraction = Curve(curve.x, 10.0**-curve.y, Axis.WAVENUMBER, "transmittance")
    percent = Curve(curve.x, 100 * 10.0**-curve.y, Axis.WAVENUMBER, "transmittance")
    one, two, three = (prepare(c, Measured.TRANSMISSION) for c in (curve, fraction, percent))
    assert two.y == pytest.approx(one.y, abs=1e-9)
    assert three.y == pytest.approx(one.y, abs=1e-9)
    assert "percent" in three.remarks[0]


def test_depth_correction_goes_with_the_wavenumber() -> None:
    curve = spectrum({"drying_oil": 0.6}, np.random.default_rng(1))
    plain = prepare(curve, Measured.ATR)
    corrected = prepare(curve, Measured.ATR, depth_corrected=True)
    assert corrected.y / plain.y == pytest.approx(curve.x / 1000)
    assert "not corrected for depth" in plain.remarks[0]


def test_diffuse_reflection_becomes_kubelka_munk_units() -> None:
    x = np.arange(600, 4000, 2.0)
    curve = Curve(x, np.full_like(x, 0.5), Axis.WAVENUMBER, "reflectance")
    assert prepare(curve, Measured.DIFFUSE).y == pytest.approx(0.25)


@given(st.integers(0, 10**6), st.floats(1e-4, 10))
@settings(max_examples=40)
def test_noise_is_measured_beside_bands(seed: int, sigma: float) -> None:
    rng = np.random.default_rng(seed)
    x = np.arange(600, 4000, 2.0)
    bands = 200 * sigma * np.exp(-(((x - 1700) / 20) ** 2)) + 50 * sigma * (x / 4000)
    assert noise_of(bands + rng.normal(0, sigma, len(x))) == pytest.approx(sigma, rel=0.2)


def test_the_baseline_follows_a_slope_and_leaves_bands_alone() -> None:
    x = np.arange(600, 4000, 2.0)
    slope = 0.1 + 0.4 * (x / 4000) ** 2
    broad = 0.5 * np.exp(-4 * np.log(2) * ((x - 3350) / 250) ** 2)
    sharp = 0.8 * np.exp(-4 * np.log(2) * ((x - 1100) / 60) ** 2)
    noise = np.random.default_rng(3).normal(0, 0.002, len(x))
    prepared = prepare(
        Curve(x, slope + broad + sharp + noise, Axis.WAVENUMBER, "absorbance"),
        Measured.TRANSMISSION,
    )
    assert prepared.baseline == pytest.approx(slope, abs=0.02)


@pytest.mark.parametrize(
    ("x", "unit", "message"),
    [
        (np.linspace(0, 20, 500), Axis.ENERGY, "axis is in keV"),
        (np.linspace(5, 80, 500), Axis.UNKNOWN, "fewer than 100 values"),
        (np.linspace(1000, 1100, 500), Axis.WAVENUMBER, "less than 300"),
    ],
)
def test_what_is_no_infrared_spectrum_is_refused(x: Array, unit: str, message: str) -> None:
    with pytest.raises(UnsuitableCurve, match=message):
        prepare(Curve(x, np.ones_like(x), unit, "absorbance"), Measured.TRANSMISSION)


def test_bands_that_are_cut_off_are_told() -> None:
    curve = spectrum({"calcite": 3.5}, np.random.default_rng(2))
    assert "cut off" in " ".join(prepare(curve, Measured.TRANSMISSION).remarks)
