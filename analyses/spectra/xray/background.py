"""The background under the peaks.

Statistics-sensitive non-linear iterative peak clipping (SNIP; Ryan and others, Nuclear Instruments
and Methods B 34 (1988) 396), as pybaselines does it, was chosen because it needs no model of the
bremsstrahlung, follows its bend at low energies and is the custom for such spectra. Two things are
added: the spectrum is first laid on an axis on which every peak has the same width, so that one
window suits all energies; and clipping is done on log(log(√(y+1)+1)+1), so that small peaks beside
large ones are clipped as well. What is left of its bias is taken up later, in the fit.
"""

import numpy as np
from pybaselines.smooth import snip

from analyses.spectra.curve import Array

PER_WIDTH = 8  # points for each full width at half maximum
HALF_WINDOW = 1.6  # of clipping, in full widths


def background(energy_kev: Array, counts: Array, fwhm: Array) -> Array:
    """The background (n,), counts in each channel; energies, counts and widths (n,)."""
    widths = np.concatenate(([0.0], np.cumsum(np.diff(energy_kev) / fwhm[1:])))
    even = np.arange(0.0, widths[-1], 1 / PER_WIDTH)
    channel = np.gradient(energy_kev)
    # Mean counts for a channel within each step, so that noise is averaged and not picked out.
    sums = np.concatenate(([0.0], np.cumsum(counts)))
    at = np.interp(even, widths, np.arange(len(widths), dtype=float))
    wide = np.maximum(np.interp(even, widths, fwhm / channel) / PER_WIDTH * 2, 1.0)
    low, high = (
        np.clip(at - wide / 2 + 0.5, 0, len(counts)),
        np.clip(at + wide / 2 + 0.5, 0, len(counts)),
    )
    places = np.arange(len(sums), dtype=float)
    mean = (np.interp(high, places, sums) - np.interp(low, places, sums)) / np.maximum(
        high - low, 0.5
    )
    squeezed = np.log(np.log(np.sqrt(np.maximum(mean, 0) + 1) + 1) + 1)
    window = min(round(HALF_WINDOW * PER_WIDTH), (len(even) - 1) // 2)
    clipped = snip(squeezed, max_half_window=window, decreasing=True, smooth_half_window=2)[0]
    opened = (np.exp(np.exp(clipped) - 1) - 1) ** 2 - 1
    return np.asarray(np.maximum(np.interp(widths, even, opened), 0.0))
