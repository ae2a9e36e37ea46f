"""Whatever way it was measured: to absorbance on an even grid, its noise and its baseline."""

import warnings
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from pybaselines import Baseline
from pybaselines.utils import ParameterWarning
from scipy.signal import savgol_filter

from analyses.spectra.curve import Array, Axis, Curve

CARBON_DIOXIDE = (2280.0, 2400.0)
STRONGEST = 2.5  # above this absorbance little light is left: heights say little (common practice)


class UnsuitableCurve(ValueError):  # noqa: N818 - what is told of a curve, no fault of the program
    """The curve cannot be evaluated as an infrared spectrum; says why and what to do."""


class Measured(StrEnum):
    """How the spectrum was taken; it decides what must be put right before bands are read."""

    TRANSMISSION = "transmission"
    ATR = "ATR"
    DIFFUSE = "diffuse reflection"
    SPECULAR = "specular reflection"


@dataclass(slots=True)
class Prepared:
    """Absorbance, or what stands for it, on an even grid of wavenumbers in cm⁻¹.

    `net` is without the baseline, `noise` the standard deviation of the noise of one value.
    `is_absorption` is False when bands of a reflection may be bent or turned over.
    """

    x: Array
    y: Array
    baseline: Array
    noise: float
    is_absorption: bool = True
    remarks: list[str] = field(default_factory=list)

    @property
    def step(self) -> float:
        return float(self.x[1] - self.x[0])

    @property
    def net(self) -> Array:
        return self.y - self.baseline


def guess_measured(curve: Curve) -> Measured:
    """How a curve was taken, as far as its unit tells."""
    if curve.y_unit in ("reflectance", "log 1/R"):
        return Measured.SPECULAR
    if curve.y_unit == "Kubelka–Munk units":
        return Measured.DIFFUSE
    return Measured.TRANSMISSION


def prepare(
    curve: Curve,
    measured: Measured,
    *,
    kramers_kronig_wanted: bool = False,
    depth_corrected: bool = False,
    baseline_width: float = 1200.0,
) -> Prepared:
    """The curve as absorbance (n,) with noise and baseline.

    `depth_corrected` multiplies an ATR spectrum by ν/1000 cm⁻¹, as the depth that the evanescent
    wave reaches goes with the wavelength. `baseline_width` (cm⁻¹) is the shortest wave that still
    counts as baseline. Raises `UnsuitableCurve`.
    """
    if curve.x_unit not in (Axis.WAVENUMBER, Axis.UNKNOWN):
        raise UnsuitableCurve(
            f"The axis is in {curve.x_unit}; an infrared spectrum needs wavenumbers in cm⁻¹."
        )
    inside = (curve.x >= 350) & (curve.x <= 8000)
    if inside.sum() < 100 or curve.x[inside][-1] - curve.x[inside][0] < 300:
        raise UnsuitableCurve(
            "There are fewer than 100 values or less than 300 cm⁻¹ between 350 and 8000 cm⁻¹. "
            "Check that the axis is in cm⁻¹, and export the whole range."
        )
    remarks: list[str] = []
    if curve.x_unit == Axis.UNKNOWN:
        remarks.append("The file names no unit of the axis; it was taken as cm⁻¹.")
    x, y = _even(curve.x[inside], curve.y[inside])
    absorption = True
    match measured:
        case Measured.TRANSMISSION | Measured.ATR:
            y = _absorbance(y, curve.y_unit, remarks)
            if measured == Measured.ATR and depth_corrected:
                y = y * x / 1000
                remarks.append(
                    "The ATR spectrum was multiplied by ν/1000 cm⁻¹, as the depth that is reached "
                    "goes with the wavelength. Bands stay where they were measured: strong ones "
                    "lie some cm⁻¹ lower than in transmission."
                )
            elif measured == Measured.ATR:
                remarks.append(
                    "The ATR spectrum was not corrected for depth: its bands are too strong at low "
                    "wavenumbers, and strong ones lie some cm⁻¹ lower than in transmission."
                )
        case Measured.DIFFUSE:
            y = _kubelka_munk(y, curve.y_unit, remarks)
        case Measured.SPECULAR:
            reflectance = _reflectance(y, curve.y_unit, remarks)
            if kramers_kronig_wanted:
                y = absorption_index(x, reflectance)
                remarks.append(
                    "The absorption index was computed from the reflection (Kramers–Kronig). That "
                    "holds for light mirrored at a smooth, thick surface; light from below the "
                    "surface makes it wrong."
                )
            else:
                y, absorption = -np.log10(reflectance), False
    noise = noise_of(y)
    baseline = _baseline(x, y, baseline_width) if absorption else np.full_like(y, np.median(y))
    return Prepared(x, y, baseline, noise, absorption, remarks)


def _even(x: Array, y: Array) -> tuple[Array, Array]:
    """On an even grid of the usual step, by linear interpolation where it is not one already."""
    steps = np.diff(x)
    step = float(np.clip(np.median(steps), 0.25, 16))
    if np.abs(steps - step).max() < 0.02 * step:
        return x, y
    grid = np.arange(x[0], x[-1] + step / 2, step)
    return grid, np.interp(grid, x, y)


def _parts(y: Array, what: str, remarks: list[str]) -> Array:
    """Fractions of one from fractions or percent."""
    if np.median(y) > 1.5:
        remarks.append(f"The {what} was taken as percent, as it exceeds 1.")
        y = y / 100
    if (y <= 1e-4).any():
        remarks.append(f"The {what} falls to nothing in places: bands there have no true height.")
    return np.clip(y, 1e-4, None)


def _absorbance(y: Array, unit: str, remarks: list[str]) -> Array:
    if unit == "transmittance":
        y = -np.log10(_parts(y, "transmittance", remarks))
    elif unit != "absorbance":
        remarks.append(
            f"The file gives “{unit}” for its values; they were taken as absorbance."
            if unit
            else "The file names no unit of its values; they were taken as absorbance."
        )
    if y.max() > STRONGEST:
        remarks.append(
            f"Absorbance exceeds {STRONGEST:g}: the strongest bands are cut off, and heights "
            "compared with theirs say little. Measure a thinner sample."
        )
    return y


def _reflectance(y: Array, unit: str, remarks: list[str]) -> Array:
    if unit in ("log 1/R", "absorbance"):
        return np.clip(10.0 ** -np.clip(y, -1, 4), 1e-4, 1 - 1e-6)
    return np.clip(_parts(y, "reflectance", remarks), 1e-4, 1 - 1e-6)


def _kubelka_munk(y: Array, unit: str, remarks: list[str]) -> Array:
    """(1 − R)²/2R of P. Kubelka and F. Munk, Zeitschrift für technische Physik 12 (1931) 593."""
    if unit == "Kubelka–Munk units":
        return y
    reflectance = _reflectance(y, unit, remarks)
    return (1 - reflectance) ** 2 / (2 * reflectance)


def absorption_index(x: Array, reflectance: Array) -> Array:
    """Absorption index k (n,) of a smooth thick surface from its reflectance at right angles.

    The phase is the Kramers–Kronig integral of ln √R, by Maclaurin's formula, which passes over
    the singular point; the first and last reflectance go on to zero and infinity. After K. Ohta
    and H. Ishida, Applied Spectroscopy 42 (1988) 952–957. `x` (n,) even, in cm⁻¹.
    """
    log_amplitude = 0.5 * np.log(reflectance)
    step = x[1] - x[0]
    phase = np.empty_like(x)
    for first in (0, 1):
        ours, others = np.arange(first, len(x), 2), np.arange(1 - first, len(x), 2)
        for block in np.array_split(ours, max(len(ours) // 500, 1)):  # so that memory stays small
            kernel = 1.0 / (x[others][None, :] ** 2 - x[block][:, None] ** 2)
            phase[block] = -(4 * step / np.pi) * x[block] * (kernel @ log_amplitude[others])
    below, above = log_amplitude[0], log_amplitude[-1]
    low, high = max(x[0] - step, 1e-9), x[-1] + step
    inner = np.clip(x, low + step / 2, high - step / 2)
    phase -= (2 * inner / np.pi) * below * _integral(inner, 0.0, low)
    phase -= (2 * inner / np.pi) * above * _integral(inner, high, np.inf)
    root = np.sqrt(reflectance)
    index: Array = 2 * root * np.sin(phase) / (1 + reflectance - 2 * root * np.cos(phase))
    return index


def _integral(place: Array, start: float, end: float) -> Array:
    """∫ dv / (v² − place²) from start to end, `place` outside."""

    def primitive(v: float) -> Array:
        if np.isinf(v):
            return np.zeros_like(place)
        return np.log(np.abs((v - place) / (v + place))) / (2 * place)

    return primitive(end) - primitive(start)


def noise_of(y: Array) -> float:
    """Standard deviation of the noise, from the quietest quarter of short stretches.

    Each stretch of 24 values is fitted by a parabola; the quietest are free of bands. The quietest
    quarter of stretches of pure noise scatters by 0.80 of the true deviation (by simulation).
    """
    size = 24
    count = len(y) // size
    stretches = y[: count * size].reshape(count, size)
    design = np.vander(np.linspace(-1, 1, size), 3)
    fitted = stretches @ design @ np.linalg.pinv(design)
    scatter = np.sqrt(((stretches - fitted) ** 2).sum(axis=1) / (size - 3))
    quiet = np.sort(scatter)[: max(count // 4, 1)]
    floor = 1e-6 * float(np.ptp(y)) + 1e-12
    return max(float(np.sqrt(np.mean(quiet**2))) / 0.80, floor)


def _baseline(x: Array, y: Array, width: float) -> Array:
    """Asymmetrically reweighted penalised least squares (arPLS), carbon dioxide bridged.

    S.-J. Baek, A. Park, Y.-J. Ahn and J. Choo, Analyst 140 (2015) 250–257.
    """
    step = x[1] - x[0]
    inside = (x >= CARBON_DIOXIDE[0]) & (x <= CARBON_DIOXIDE[1])
    bridged = y.copy()
    if inside.any() and not inside.all():
        bridged[inside] = np.interp(x[inside], x[~inside], y[~inside])
    smooth = savgol_filter(bridged, _odd(24 / step, 5, len(y)), 2)
    coarse = slice(None, None, max(int(8 / step), 1))  # enough for waves of hundreds of cm⁻¹
    lam = (width / (2 * np.pi * (x[coarse][1] - x[coarse][0]))) ** 4
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ParameterWarning)  # of spectra with hardly any noise
        found, _ = Baseline(x_data=x[coarse]).arpls(smooth[coarse], lam=lam, max_iter=60)
    baseline: Array = np.interp(x, x[coarse], found)
    return baseline


def _odd(value: float, least: int, most: int) -> int:
    """The nearest odd whole number within bounds."""
    whole = int(np.clip(round(value), least, max(least, most - 1)))
    return whole if whole % 2 else whole + 1
