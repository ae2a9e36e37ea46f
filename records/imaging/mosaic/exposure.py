"""Evening the exposure of frames: one gain and one level each, from all overlaps at once.

Per band, with m the mean of all grey values,

    evened = m + gain · (value · falloff(r) − m) + level

Gains and levels are found by weighted least squares on the mean values of patches seen in two
frames; the falloff towards the edges, common to all frames, on the same patches.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.linalg import splu

from records.imaging.mosaic.camera import half_diagonal, middle
from records.imaging.mosaic.layout import Pair
from records.imaging.mosaic.ties import Ties

Array = NDArray[np.float64]

PRIOR_GAIN = 0.3
PRIOR_LEVEL = 0.3  # of the span of values seen
CAUCHY = 3.0
ROUNDS = 4


@dataclass(frozen=True, slots=True)
class Evening:
    """`gain`, `level`: (frames, bands); `mean`: (bands,); `falloff`: coefficients of r², r⁴, r⁶ in
    half diagonals. `seams`: median difference left in each overlap, grey values, None where
    nothing was compared."""

    gain: Array
    level: Array
    mean: Array
    falloff: Array
    seams: list[float | None]

    def apply(self, values: NDArray[Any], index: int, r2: Any) -> NDArray[np.float32]:
        """Even grey values (…, bands) of a frame; `r2`: (…) squared radii in half diagonals."""
        seen = values
        if self.falloff.any():
            seen = values * _falloff(self.falloff, r2)[..., None].astype(np.float32)
        gain = self.gain[index].astype(np.float32)
        shift = (self.mean * (1 - self.gain[index]) + self.level[index]).astype(np.float32)
        return np.asarray(seen * gain + shift, np.float32)

    def to_json(self) -> dict[str, Any]:
        return {
            "gain": self.gain.tolist(),
            "level": self.level.tolist(),
            "mean": self.mean.tolist(),
            "falloff": self.falloff.tolist(),
            "seams": self.seams,
        }

    @classmethod
    def from_json(cls, told: dict[str, Any]) -> "Evening":
        gain, level, mean, falloff = (
            np.asarray(told[name], float) for name in ("gain", "level", "mean", "falloff")
        )
        return cls(gain, level, mean, falloff, told["seams"])


def even(
    sizes: Sequence[tuple[int, int]],
    pairs: Sequence[Pair],
    ties: Sequence[Ties],
    *,
    exposure: bool = True,
    falloff: bool = False,
) -> Evening:
    """Even the `exposure` of each frame, and the `falloff` to the edges that all have in common."""
    n = len(sizes)
    bands = next((t.levels.shape[2] for t in ties if len(t.levels)), 1)
    parts = [(k, t) for k, t in enumerate(ties) if len(t.levels)]
    gain, level = np.ones((n, bands)), np.zeros((n, bands))
    if not parts:
        return Evening(gain, level, np.zeros(bands), np.zeros(3), [None] * len(pairs))
    pair_of = np.concatenate([np.full(len(t.levels), k) for k, t in parts])
    i = np.array([pairs[k].first for k in pair_of])
    j = np.array([pairs[k].second for k in pair_of])
    values = np.concatenate([t.levels for _, t in parts])
    at = np.concatenate([t.level_at for _, t in parts])
    radius2 = np.stack([_radius2(at[:, 0], i, sizes), _radius2(at[:, 1], j, sizes)], axis=1)
    mean = values.mean(axis=(0, 1))
    curve = np.zeros(3)
    weights = np.ones(len(values))
    for _ in range(ROUNDS if falloff else 1):
        seen = values * _falloff(curve, radius2)[..., None]
        if exposure:
            gain, level, weights = _gains(n, i, j, seen, mean)
        if falloff:
            curve = curve + _curve(i, j, seen, radius2, gain, level, mean, weights)
    seen = values * _falloff(curve, radius2)[..., None]
    if exposure:
        gain, level, weights = _gains(n, i, j, seen, mean)
    left = np.abs(_difference(i, j, seen, gain, level, mean)).mean(axis=1)
    seams: list[float | None] = [None] * len(pairs)
    for k in np.unique(pair_of):
        seams[int(k)] = float(np.median(left[pair_of == k]))
    return Evening(gain, level, mean, curve, seams)


def _falloff(curve: Array, r2: Any) -> Array:
    r2 = np.asarray(r2, float)
    return np.asarray(1 + curve[0] * r2 + curve[1] * r2**2 + curve[2] * r2**3, float)


def _radius2(at: Array, index: Array, sizes: Sequence[tuple[int, int]]) -> Array:
    units = np.array([half_diagonal(*size) for size in sizes])
    middles = np.array([middle(*size) for size in sizes])
    d = (at - middles[index]) / units[index, None]
    return np.asarray((d * d).sum(axis=1), float)


def _difference(i: Array, j: Array, seen: Array, gain: Array, level: Array, mean: Array) -> Array:
    first = gain[i] * (seen[:, 0] - mean) + level[i]
    second = gain[j] * (seen[:, 1] - mean) + level[j]
    return np.asarray(first - second, float)


def _gains(n: int, i: Array, j: Array, seen: Array, mean: Array) -> tuple[Array, Array, Array]:
    """Gain and level of each frame and band, and the robust weight of each patch."""
    bands = seen.shape[2]
    m = len(seen)
    gain, level = np.ones((n, bands)), np.zeros((n, bands))
    weights = np.ones(m)
    rows = np.repeat(np.arange(m), 4)
    columns = np.column_stack([2 * i, 2 * i + 1, 2 * j, 2 * j + 1]).reshape(-1)
    for _ in range(6):
        for band in range(bands):
            v = seen[:, :, band] - mean[band]
            span = max(float(np.ptp(v)), 1e-9)
            # Within 1/500 of the span two patches are as alike as can be asked for.
            scale = 1 / (span / 500)
            one = np.ones(m)
            coefficients = np.column_stack([v[:, 0], one, -v[:, 1], -one]) * scale
            matrix = sparse.csr_array(
                (np.asarray(coefficients.reshape(-1), float), (rows, columns)), shape=(m, 2 * n)
            )
            prior = np.tile([1 / PRIOR_GAIN**2, 1 / (PRIOR_LEVEL * span) ** 2], n)
            target = np.tile([1.0, 0.0], n)
            weighted = matrix.T @ sparse.diags_array(weights)
            normal = sparse.csc_matrix(weighted @ matrix + sparse.diags_array(prior))
            solution = splu(normal).solve(prior * target)
            gain[:, band], level[:, band] = solution[0::2], solution[1::2]
        # Least squares likes small gains; their mean is 1, so that contrast stays as it was.
        usual_gain = gain.mean(axis=0)
        gain, level = gain / usual_gain, level / usual_gain
        left = np.linalg.norm(_difference(i, j, seen, gain, level, mean), axis=1)
        usual = max(float(np.median(left)), 1e-9)
        weights = 1 / (1 + (left / (CAUCHY * usual)) ** 2)
    level -= level.mean(axis=0)
    return gain, level, weights


def _curve(
    i: Array,
    j: Array,
    seen: Array,
    radius2: Array,
    gain: Array,
    level: Array,
    mean: Array,
    weights: Array,
) -> Array:
    """The change of the falloff's coefficients that evens the patches best, all bands together."""
    left = _difference(i, j, seen, gain, level, mean)
    powers = np.stack([radius2, radius2**2, radius2**3], axis=2)
    slopes = (
        gain[i][:, :, None] * seen[:, 0][:, :, None] * powers[:, 0][:, None, :]
        - gain[j][:, :, None] * seen[:, 1][:, :, None] * powers[:, 1][:, None, :]
    )
    w = np.sqrt(weights)[:, None]
    a = (slopes * w[..., None]).reshape(-1, 3)
    b = (-left * w).reshape(-1)
    strength = float(np.abs(a).max()) or 1.0
    ridge = 1e-4 * strength * np.eye(3)
    solution = np.linalg.lstsq(np.vstack([a, ridge]), np.concatenate([b, np.zeros(3)]), rcond=None)
    return np.asarray(solution[0], float)
