"""How an energy-dispersive detector answers: peak width, efficiency, escape, what air lets pass."""

import math
from functools import cache, lru_cache

import numpy as np
import xraydb
from scipy.special import erfcx, ndtr

from analyses.spectra.curve import Array
from analyses.spectra.xray.settings import XraySettings

# Energy for one pair of charges (keV) and Fano factor, from memory; the width of a peak follows as
# FWHM² = noise² + (2.355)² ε F E (Goldstein and others, Scanning Electron Microscopy and X-ray
# Microanalysis, chapter on the energy-dispersive spectrometer).
PAIR_KEV = {"Si": 0.00365, "Ge": 0.00296}
FANO = {"Si": 0.115, "Ge": 0.11}
TO_FWHM = 2.3548
MN_KA_KEV = 5.895
USUAL_FWHM_EV = 140.0
# Dry air by mass, g/cm³ at 20 °C (from memory).
AIR, AIR_DENSITY = (("N", 0.755), ("O", 0.232), ("Ar", 0.013)), 0.001205
HELIUM_DENSITY = 0.000166
DENSITY = {"Si": 2.33, "Ge": 5.32, "Be": 1.85}
# Lines of the detector's own atoms that may leave it (keV, share) and the edge that they need.
OWN_LINES = {"Si": ((1.740, 1.0),), "Ge": ((9.876, 0.87), (10.982, 0.13))}


def _charges_kev(crystal: str) -> float:
    """What counting charges adds to FWHM² for each keV."""
    return TO_FWHM**2 * PAIR_KEV[crystal] * FANO[crystal]


def noise_kev2(crystal: str, fwhm_mn_ev: float) -> float:
    """The part of FWHM² (keV²) that electronics add, the same everywhere; at least (20 eV)²."""
    return max((fwhm_mn_ev / 1000) ** 2 - _charges_kev(crystal) * MN_KA_KEV, 0.0004)


def fwhm_kev(crystal: str, noise: float, energy_kev: Array) -> Array:
    """Full widths at half maximum (n,), keV, at energies (n,), keV, above zero."""
    return np.sqrt(noise + _charges_kev(crystal) * np.maximum(energy_kev, 0.0))


def fwhm_of_line_kev(crystal: str, noise: float, energy_kev: float) -> float:
    """The same for one energy."""
    return math.sqrt(noise + _charges_kev(crystal) * max(energy_kev, 0.0))


@cache
def _absorptions(element: str) -> tuple[Array, Array]:
    energies = np.concatenate(
        (np.arange(110.0, 12_000.0, 2.0), np.arange(12_000.0, 100_001.0, 50.0))
    )
    return energies, np.asarray(xraydb.mu_elam(element, energies))


def _absorption(element: str, energy_ev: int) -> float:
    """Mass attenuation, cm²/g; energies below the tables (100 eV) take their lowest."""
    return float(np.interp(energy_ev, *_absorptions(element)))


@lru_cache(maxsize=65536)
def detected_share(settings: XraySettings, energy_ev: int) -> float:
    """Which share of the X-rays of this energy, sent towards the detector, is counted: 0 to 1."""
    path = 0.0
    if settings.atmosphere == "air":
        mu = sum(share * _absorption(element, energy_ev) for element, share in AIR)
        path = mu * AIR_DENSITY * settings.path_mm / 10
    elif settings.atmosphere == "helium":
        path = _absorption("He", energy_ev) * HELIUM_DENSITY * settings.path_mm / 10
    path += _absorption("Be", energy_ev) * DENSITY["Be"] * settings.window_um * 1e-4
    crystal = (
        _absorption(settings.detector, energy_ev)
        * DENSITY[settings.detector]
        * settings.thickness_mm
        / 10
    )
    return float(np.exp(-path) * -np.expm1(-crystal))


@lru_cache(maxsize=65536)
def escape_share(detector: str, energy_ev: int) -> float:
    """Counts in the escape peak for each count in its parent, both at right angles to the face.

    Reed and Ware, Journal of Physics E 5 (1972) 582: η = ½ ω (1 − 1/r) (1 − (μ'/μ) ln(1 + μ/μ')).
    """
    edge = xraydb.xray_edge(detector, "K")
    if energy_ev <= edge.energy:
        return 0.0
    own = int(OWN_LINES[detector][0][0] * 1000)
    ratio = _absorption(detector, own) / _absorption(detector, energy_ev)
    leaves = 0.5 * edge.fyield * (1 - 1 / edge.jump_ratio) * (1 - ratio * np.log1p(1 / ratio))
    return float(leaves / (1 - leaves))


def add_peak(shape: Array, edges_kev: Array, energy_kev: float, fwhm: float, area: float) -> None:
    """Add a Gaussian peak of `area` counts, integrated over the channels, to `shape` (n,)."""
    sigma = fwhm / TO_FWHM
    first, last = np.searchsorted(edges_kev, (energy_kev - 5 * sigma, energy_kev + 5 * sigma))
    first, last = max(int(first) - 1, 0), min(int(last) + 1, len(edges_kev) - 1)
    if last > first:
        below = ndtr((edges_kev[first : last + 1] - energy_kev) / sigma)
        shape[first:last] += area * (below[1:] - below[:-1])


def add_tail(shape: Array, edges_kev: Array, energy_kev: float, fwhm: float, area: float) -> None:
    """Add the slope that incomplete collection of charge leaves below a peak, `area` in all.

    An exponential folded with the peak's own Gaussian; it falls to 1/e over 1.5 FWHM.
    """
    sigma, fall = fwhm / TO_FWHM, 1.5 * fwhm
    middles = (edges_kev[:-1] + edges_kev[1:]) / 2
    first, last = np.searchsorted(middles, (energy_kev - 7 * fall, energy_kev + 4 * sigma))
    if last > first:
        off = middles[first:last] - energy_kev
        at = off / (np.sqrt(2) * sigma)
        tail = np.exp(-(at**2)) * erfcx(at + sigma / (np.sqrt(2) * fall))
        shape[first:last] += area * tail / (2 * fall) * np.diff(edges_kev)[first:last]
