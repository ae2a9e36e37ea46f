"""Bands of a prepared spectrum: peaks above their own noise, shoulders, and what is of the air."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.signal import find_peaks, peak_prominences, peak_widths, savgol_filter

from analyses.spectra.curve import Array
from analyses.spectra.infrared.preparation import CARBON_DIOXIDE, Prepared, _odd

# Where water vapour has its many narrow lines (from memory).
WATER_VAPOUR = ((1300.0, 1900.0), (3500.0, 3950.0))
VAPOUR_WIDTH = 9.0  # lines of vapour at the usual resolution of 4 cm⁻¹ are narrower
LINE_SPACING = 30.0  # most lines have neighbours this near
FEWEST_LINES = 8  # fewer narrow lines there may be bands of the sample


@dataclass(frozen=True, slots=True)
class Band:
    """One band: its place and full width at half maximum in cm⁻¹, net height, height over noise."""

    x: float
    height: float
    sigma: float
    width: float
    shape: Literal["peak", "shoulder"] = "peak"
    air: str = ""


@dataclass(frozen=True, slots=True)
class Found:
    """All bands by place, and whether carbon dioxide of the air shows."""

    bands: tuple[Band, ...]
    carbon_dioxide: bool

    @property
    def own(self) -> list[Band]:
        """Bands of the sample."""
        return [band for band in self.bands if not band.air]


def find_bands(spectrum: Prepared, *, least_sigma: float = 5.0, least_share: float = 0.01) -> Found:
    """Peaks whose prominence exceeds `least_sigma` of the noise and `least_share` of the highest.

    Shoulders are minima of the second derivative that no peak accounts for.
    """
    x, net, step = spectrum.x, spectrum.net, spectrum.step
    window = _odd(10 / step, 5, len(x))
    smooth = savgol_filter(net, window, 3)
    noise = spectrum.noise * _gain(window, 3, 0)
    outside = (x < CARBON_DIOXIDE[0]) | (x > CARBON_DIOXIDE[1])
    highest = max(float(smooth[outside].max()), 1e-12)
    least = max(least_sigma * noise, least_share * highest)
    at, _ = find_peaks(smooth, prominence=least)
    at = at[(at > 2) & (at < len(x) - 3)]
    prominence = peak_prominences(smooth, at)[0]
    widths = peak_widths(smooth, at, rel_height=0.5)[0] * step
    places = np.array([_vertex(x, smooth, int(index)) for index in at])
    narrowest = max(VAPOUR_WIDTH, 2.5 * step)
    vapour = _vapour(x, smooth, least_sigma * noise, narrowest)
    bands = []
    for index, place, width, prominent in zip(
        at, places.tolist(), widths.tolist(), prominence.tolist(), strict=True
    ):
        air = ""
        if CARBON_DIOXIDE[0] <= place <= CARBON_DIOXIDE[1]:
            air = "carbon dioxide"
        elif vapour.is_line(place, width, prominent, narrowest):
            air = "water vapour"
        height = float(smooth[index])
        own = _own_width(smooth, int(index)) * step
        if prominent > height / 2:
            own = min(own, width)
        bands.append(Band(place, height, prominent / noise, own, "peak", air))
    bands += _shoulders(
        spectrum, smooth, bands, least_sigma, least_share * highest, vapour.most > 0
    )
    inside = ~outside
    dioxide = bool(inside.any()) and float(np.ptp(smooth[inside])) > 8 * noise
    return Found(tuple(sorted(bands, key=lambda band: band.x)), dioxide)


def _gain(window: int, order: int, derivative: int) -> float:
    """What smoothing makes of the standard deviation of white noise."""
    impulse = np.zeros(2 * window + 1)
    impulse[window] = 1
    return float(np.sqrt((savgol_filter(impulse, window, order, deriv=derivative) ** 2).sum()))


def _vertex(x: Array, y: Array, at: int) -> float:
    """The place of a maximum between three points, by their parabola."""
    left, middle, right = y[at - 1 : at + 2]
    bend = left - 2 * middle + right
    shift = 0.5 * (left - right) / bend if bend < 0 else 0.0
    return float(x[at] + np.clip(shift, -0.5, 0.5) * (x[1] - x[0]))


def _own_width(y: Array, top: int) -> float:
    """Full width of a peak in steps, from the side where it falls further.

    A neighbour that overlaps fills the other side: the width at half prominence would come out too
    narrow for the lower of the two and too wide for the higher one.
    """
    fall, half = 0.0, 0.0
    for side in (y[top::-1], y[top:]):
        higher = np.flatnonzero(side > side[0])
        slope = side[: higher[0]] if len(higher) else side
        foot = int(slope.argmin())
        if foot and slope[0] - slope[foot] > fall:
            fall = float(slope[0] - slope[foot])
            level = slope[0] - fall / 2
            below = int(np.flatnonzero(slope <= level)[0])
            above = slope[below - 1]
            half = below - 1 + float((above - level) / (above - slope[below]))
    return 2 * half


def _in_vapour(place: float) -> bool:
    return any(low < place < high for low, high in WATER_VAPOUR)


@dataclass(frozen=True, slots=True)
class _Vapour:
    """Lines of water vapour: up to which prominence, and where they point downwards."""

    most: float = 0.0
    dips: tuple[float, ...] = ()

    def is_line(self, place: float, width: float, prominence: float, narrowest: float) -> bool:
        """Whether a peak is a line, or what lines that point downwards leave between them."""
        if not _in_vapour(place) or prominence >= self.most:
            return False
        left = any(0 < place - dip < LINE_SPACING for dip in self.dips)
        right = any(0 < dip - place < LINE_SPACING for dip in self.dips)
        return width < narrowest or (left and right)


def _vapour(x: Array, smooth: Array, least: float, narrowest: float) -> _Vapour:
    """Vapour has many narrow lines of much the same height, upwards, or downwards when there was
    more of it in the background. A narrow band that is far higher than most of them is kept.
    """
    found = []
    for turned in (smooth, -smooth):
        at, _ = find_peaks(turned, prominence=least)
        prominences = peak_prominences(turned, at)[0]
        widths = peak_widths(turned, at, rel_height=0.5)[0] * (x[1] - x[0])
        inside = np.array([_in_vapour(place) for place in x[at]], dtype=bool)
        narrow = (widths < narrowest) & inside
        found.append((x[at][narrow], prominences[narrow]))
    (_, up), (dips, down) = found
    if max(len(up), len(down)) < FEWEST_LINES:
        return _Vapour()
    most = 8 * float(np.median(up if len(up) >= len(down) else down))
    return _Vapour(most, tuple(dips.tolist()) if len(down) >= FEWEST_LINES else ())


def _shoulders(
    spectrum: Prepared,
    smooth: Array,
    peaks: list[Band],
    least_sigma: float,
    least_height: float,
    vapour: bool,
) -> list[Band]:
    """Bands on the flank of others: minima of the second derivative away from every peak."""
    x, step = spectrum.x, spectrum.step
    window = _odd(18 / step, 7, len(x))
    bend = -savgol_filter(spectrum.net, window, 3, deriv=2)
    noise = spectrum.noise * _gain(window, 3, 2)
    at, found = find_peaks(bend, prominence=1.5 * least_sigma * noise)
    shoulders = []
    for index, prominence in zip(at, found["prominences"], strict=True):
        place = _vertex(x, bend, int(index)) if 0 < index < len(x) - 1 else float(x[index])
        near = [band for band in peaks if abs(band.x - place) < max(0.4 * band.width, 8.0)]
        if (
            near
            or (vapour and _in_vapour(place))
            or CARBON_DIOXIDE[0] <= place <= CARBON_DIOXIDE[1]
        ):
            continue
        if smooth[index] < max(3 * least_height, 3 * least_sigma * spectrum.noise):
            continue
        if bend[index] <= 0:
            continue
        width = float(peak_widths(bend, [index], rel_height=0.5)[0][0] * step * 1.7)
        shoulders.append(
            Band(place, float(smooth[index]), float(prominence / noise), width, "shoulder")
        )
    return shoulders
