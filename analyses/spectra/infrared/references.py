"""Whole spectra against the department's own reference spectra, singly and in pairs."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from scipy.optimize import nnls
from scipy.signal import find_peaks, savgol_filter

from analyses.spectra.curve import Array, Curve
from analyses.spectra.infrared.preparation import (
    CARBON_DIOXIDE,
    Measured,
    Prepared,
    UnsuitableCurve,
    _odd,
    guess_measured,
    prepare,
)

LEAST_OVERLAP = 600.0  # cm⁻¹


@dataclass(frozen=True, slots=True)
class Reference:
    """A reference spectrum of the department; `code` is what materials are matched by."""

    name: str
    curve: Curve
    code: str = ""
    measured: Measured | None = None


@dataclass(frozen=True, slots=True)
class Hit:
    """How well one reference, or a mixture of several, accounts for a spectrum.

    `correlation` is that of the first derivatives (−1 to 1); `amounts` are the parts, as shares
    of the fitted heights, of each name; `unexplained` (0 to 1) is the share of the variation that
    the fit leaves, `left` where it leaves most, in cm⁻¹.
    """

    names: tuple[str, ...]
    correlation: float
    amounts: tuple[float, ...]
    unexplained: float
    left: tuple[float, ...]
    range: tuple[float, float]
    excluded: tuple[tuple[float, float], ...]


def compare(
    spectrum: Prepared,
    references: Sequence[Reference],
    *,
    excluded: Sequence[tuple[float, float]] = (CARBON_DIOXIDE,),
    most: int = 10,
    depth_corrected: bool = False,
) -> tuple[list[Hit], list[str]]:
    """Single references by the correlation of first derivatives, then pairs of the best of them.

    All are brought to one grid in the range that both have, without the excluded regions. The
    second list tells which references could not be used, and why.
    """
    remarks = []
    usable: list[tuple[Reference, Prepared]] = []
    for reference in references:
        measured = reference.measured or guess_measured(reference.curve)
        try:
            usable.append(
                (reference, prepare(reference.curve, measured, depth_corrected=depth_corrected))
            )
        except UnsuitableCurve as error:
            remarks.append(f"Reference “{reference.name}” was left out: {error}")
    hits = []
    for reference, prepared in usable:
        grid = _grid(spectrum, [prepared], excluded)
        if grid is None:
            remarks.append(
                f"Reference “{reference.name}” was left out: it shares less than "
                f"{LEAST_OVERLAP:g} cm⁻¹ with the spectrum."
            )
            continue
        hits.append(_fit(spectrum, [(reference.name, prepared)], grid, excluded))
    hits.sort(key=lambda hit: -hit.correlation)
    best = {hit.names[0] for hit in hits[:8]}
    chosen = [(r.name, p) for r, p in usable if r.name in best]
    pairs = []
    for one, other in combinations(chosen, 2):
        grid = _grid(spectrum, [one[1], other[1]], excluded)
        if grid is None:
            continue
        pair = _fit(spectrum, [one, other], grid, excluded)
        if min(pair.amounts) > 0.03:
            pairs.append(pair)
    pairs.sort(key=lambda hit: hit.unexplained)
    return hits[:most] + pairs[:most], remarks


def _grid(
    spectrum: Prepared, others: Sequence[Prepared], excluded: Sequence[tuple[float, float]]
) -> Array | None:
    low = max([spectrum.x[0], *(other.x[0] for other in others)])
    high = min([spectrum.x[-1], *(other.x[-1] for other in others)])
    step = max([spectrum.step, *(other.step for other in others), 1.0])
    if high - low < LEAST_OVERLAP:
        return None
    grid: Array = np.arange(low, high, step)
    return grid


def _on(grid: Array, prepared: Prepared) -> Array:
    values = np.interp(grid, prepared.x, prepared.net)
    return savgol_filter(values, _odd(12 / (grid[1] - grid[0]), 5, len(grid)), 3)


def _fit(
    spectrum: Prepared,
    parts: Sequence[tuple[str, Prepared]],
    grid: Array,
    excluded: Sequence[tuple[float, float]],
) -> Hit:
    used = np.ones(len(grid), dtype=bool)
    for start, end in excluded:
        used &= (grid < start) | (grid > end)
    ours = _on(grid, spectrum)
    theirs = np.column_stack([_on(grid, part) for _, part in parts])
    amounts, _ = nnls(theirs[used], ours[used])
    fitted = theirs @ amounts
    variation = float(((ours[used] - ours[used].mean()) ** 2).sum())
    rest = ours - fitted
    unexplained = min(float((rest[used] ** 2).sum()) / variation, 1.0) if variation else 1.0
    slope, slope_fitted = np.diff(ours), np.diff(fitted)
    steps = used[1:] & used[:-1]
    correlation = _correlation(slope[steps], slope_fitted[steps])
    shares = amounts * theirs.max(axis=0)
    total = float(shares.sum()) or 1.0
    return Hit(
        tuple(name for name, _ in parts),
        round(correlation, 4),
        tuple(round(float(share) / total, 3) for share in shares),
        round(unexplained, 4),
        _left(grid, np.where(used, rest, 0), float(np.ptp(ours[used]))),
        (float(grid[0]), float(grid[-1])),
        tuple(excluded),
    )


def _correlation(one: Array, other: Array) -> float:
    if one.std() == 0 or other.std() == 0:
        return 0.0
    return float(np.corrcoef(one, other)[0, 1])


def _left(grid: Array, rest: Array, span: float, most: int = 6) -> tuple[float, ...]:
    """Where most is left, at least 8 % of the spectrum's height, strongest first."""
    at, found = find_peaks(rest, prominence=0.08 * span, height=0.08 * span)
    order = np.argsort(-found["peak_heights"])[:most]
    return tuple(round(float(grid[at[i]]), 1) for i in order)
