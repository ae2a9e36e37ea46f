"""How far two overlapping frames are shifted, found without knowing it well beforehand.

Phase correlation (C. D. Kuglin and D. C. Hines, Proc. Int. Conf. Cybernetics and Society, 1975)
proposes shifts, the correlation coefficient over the whole overlap decides between them, features
are the last resort. What is found carries its significance; what is not significant is not used.
"""

from dataclasses import dataclass, replace
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy import fft

from records.imaging.mosaic.layout import overlap

Array = NDArray[np.float32]

COARSE_PX = 640  # longer frames are looked at smaller
# Detail between two widths is compared: fine first, which tells best; coarser where frames are
# turned or blurred.
SCALES_PX = ((1.0, 3.0), (3.0, 9.0))
SIGNIFICANT = 5.5  # times the spread that chance gives; some hundreds of shifts are compared
PROPOSALS = 8
LEAST_MATCHES = 10


@dataclass(frozen=True, slots=True)
class Offset:
    """The way from the middle of the first frame to that of the second, in pixels.

    `quality` is the correlation coefficient over the overlap, `significance` how many times it
    exceeds the spread that chance would give; `method` is 'phase' or 'features'.
    """

    dx: float
    dy: float
    quality: float
    significance: float
    method: str

    @property
    def found(self) -> bool:
        return self.significance >= SIGNIFICANT


def detail(picture: Array, smoothed_px: float, wide_px: float) -> Array:
    """What varies over a few pixels: noise smoothed away, light and vignetting taken away."""
    smooth = cv2.GaussianBlur(picture, (0, 0), smoothed_px, borderType=cv2.BORDER_REFLECT)
    wide = cv2.GaussianBlur(picture, (0, 0), wide_px, borderType=cv2.BORDER_REFLECT)
    return np.asarray(smooth - wide, np.float32)


def smaller(picture: Array, factor: int) -> Array:
    """The picture at 1/factor of its size, by means over squares."""
    if factor == 1:
        return picture
    h, w = (side // factor for side in picture.shape)
    cut = picture[: h * factor, : w * factor]
    return np.asarray(cut.reshape(h, factor, w, factor).mean(axis=(1, 3)), np.float32)


def shared(first: Array, second: Array, dx: float, dy: float) -> tuple[Array, Array] | None:
    """The parts of two pictures that lie over each other at a whole-pixel shift, if any do."""
    (h1, w1), (h2, w2) = first.shape, second.shape
    left, top, right, bottom = (round(v) for v in overlap((w1, h1), (w2, h2), dx, dy))
    x2, y2 = left - round((w1 - w2) / 2 + dx), top - round((h1 - h2) / 2 + dy)
    width = min(right - left, w1 - left, w2 - x2)
    height = min(bottom - top, h1 - top, h2 - y2)
    if width < 8 or height < 8 or x2 < 0 or y2 < 0:
        return None
    return (
        first[top : top + height, left : left + width],
        second[y2 : y2 + height, x2 : x2 + width],
    )


def coefficient(first: Array, second: Array, dx: float, dy: float) -> float:
    """Correlation coefficient over the overlap at a whole-pixel shift; 0 without an overlap."""
    parts = shared(first, second, dx, dy)
    if parts is None:
        return 0.0
    a, b = (part.ravel() - part.mean() for part in parts)
    scale = float(np.sqrt((a @ a) * (b @ b)))
    return float(a @ b) / scale if scale > 0 else 0.0


def chance(first: Array, second: Array, dx: float, dy: float) -> float:
    """The spread of the coefficient if the two parts had nothing to do with each other.

    Both may be rough or smooth: what counts is over how many pixels each resembles itself. The
    variance is Σ P Q / (Σ P · Σ Q) over the power spectra P, Q of the parts (Bartlett's formula for
    the correlation of two series, in the frequency domain).
    """
    parts = shared(first, second, dx, dy)
    if parts is None:
        return 1.0
    p, q = (np.abs(fft.fft2(part - part.mean())) ** 2 for part in parts)
    below = float(p.sum() * q.sum())
    return float(np.sqrt((p * q).sum() / below)) if below > 0 else 1.0


def find_offset(
    first: Array, second: Array, dx: float, dy: float, slack_px: float, features: bool = True
) -> Offset:
    """The shift between two corrected grey frames (rows, columns).

    (dx, dy) is where the layout has it, `slack_px` how far it may be from there. The result may not
    be significant: see `Offset.found`.
    """
    factor = max(1, int(np.ceil(max(*first.shape, *second.shape) / COARSE_PX)))
    one, other = smaller(first, factor), smaller(second, factor)
    best = Offset(dx / factor, dy / factor, 0.0, 0.0, "phase")
    slack = max(4.0, slack_px / factor)
    for scale in SCALES_PX:
        a, b = detail(one, *scale), detail(other, *scale)
        found = _by_phase(a, b, dx / factor, dy / factor, slack)
        best = max(best, found, key=lambda o: o.significance)
        if best.found:
            break
    if features and not best.found:
        seen = _by_features(one, other)
        if seen and seen.found:
            best = seen
    return replace(best, dx=best.dx * factor, dy=best.dy * factor)


def _by_phase(a: Array, b: Array, dx: float, dy: float, slack: float) -> Offset:
    (h1, w1), (h2, w2) = a.shape, b.shape
    # The parts that can overlap at all, as far as the layout is known.
    left, top, right, bottom = overlap((w1, h1), (w2, h2), dx, dy)
    x1, y1 = int(max(0, left - slack)), int(max(0, top - slack))
    part1 = a[y1 : int(min(h1, bottom + slack)) + 1, x1 : int(min(w1, right + slack)) + 1]
    left, top, right, bottom = overlap((w2, h2), (w1, h1), -dx, -dy)
    x2, y2 = int(max(0, left - slack)), int(max(0, top - slack))
    part2 = b[y2 : int(min(h2, bottom + slack)) + 1, x2 : int(min(w2, right + slack)) + 1]
    if min(*part1.shape, *part2.shape) < 8:
        return Offset(dx, dy, 0.0, 0.0, "phase")
    surface = _phase_correlation(part1, part2)
    # surface[y, x] belongs to the shift (x, y) of part 2 in part 1; as a way between middles:
    zero_x = (x1 - x2) + (w2 - w1) / 2
    zero_y = (y1 - y2) + (h2 - h1) / 2
    rows, columns = surface.shape
    ys = (np.arange(rows) + rows // 2) % rows - rows // 2 + zero_y
    xs = (np.arange(columns) + columns // 2) % columns - columns // 2 + zero_x
    allowed = (np.abs(ys - dy) <= slack)[:, None] & (np.abs(xs - dx) <= slack)[None, :]
    surface = np.where(allowed, surface, -np.inf)
    best = Offset(dx, dy, 0.0, 0.0, "phase")
    for _ in range(PROPOSALS):
        y, x = np.unravel_index(int(surface.argmax()), surface.shape)
        if not np.isfinite(surface[y, x]):
            break
        best = max(best, _told(a, b, xs[x], ys[y], "phase"), key=lambda o: o.significance)
        surface[np.ix_(np.arange(y - 3, y + 4) % rows, np.arange(x - 3, x + 4) % columns)] = -np.inf
    return _climbed(a, b, best)


def _told(a: Array, b: Array, dx: float, dy: float, method: str) -> Offset:
    quality = coefficient(a, b, dx, dy)
    return Offset(float(dx), float(dy), quality, quality / chance(a, b, dx, dy), method)


def _climbed(a: Array, b: Array, best: Offset) -> Offset:
    """The best of the shifts a pixel around."""
    around = [
        (coefficient(a, b, best.dx + nx, best.dy + ny), best.dx + nx, best.dy + ny)
        for ny in (-1, 0, 1)
        for nx in (-1, 0, 1)
    ]
    _, dx, dy = max(around)
    return _told(a, b, dx, dy, best.method)


def _phase_correlation(a: Array, b: Array) -> NDArray[np.float64]:
    shape = [
        fft.next_fast_len(int(n + m), real=True) for n, m in zip(a.shape, b.shape, strict=True)
    ]
    cross: Any = fft.rfft2(_tapered(a), shape) * np.conj(fft.rfft2(_tapered(b), shape))
    strength = np.abs(cross)
    # Frequencies that hold next to nothing are noise, or were smoothed away: they have no say.
    cross = cross / np.maximum(strength, 0.05 * float(strength.mean()) + 1e-30)
    fy, fx = np.fft.fftfreq(shape[0])[:, None], np.fft.rfftfreq(shape[1])[None, :]
    cross = cross * np.exp(-2 * (np.pi * 1.0) ** 2 * (fy * fy + fx * fx))
    return np.asarray(fft.irfft2(cross, shape), np.float64)


def _tapered(part: Array) -> Array:
    """Edges faded over a tenth: a sharp edge would correlate with itself."""
    ramps = []
    for n in part.shape:
        t = np.minimum(np.arange(n) + 1, n - np.arange(n)) / max(2.0, 0.1 * n)
        ramps.append(np.sin(np.pi / 2 * np.minimum(t, 1)) ** 2)
    return np.asarray(part * ramps[0][:, None] * ramps[1][None, :], np.float32)


def _by_features(first: Array, second: Array) -> Offset | None:
    """The shift that most matched features share, anywhere in the two frames."""
    finder = cv2.SIFT.create(nfeatures=1500, contrastThreshold=0.02)
    found = []
    for picture in (first, second):
        low, high = np.percentile(picture, (0.5, 99.5))
        shown = np.clip((picture - low) / max(float(high - low), 1e-12) * 255, 0, 255)
        found.append(finder.detectAndCompute(shown.astype(np.uint8), None))
    (points1, told1), (points2, told2) = found
    if told1 is None or told2 is None or min(len(points1), len(points2)) < LEAST_MATCHES:
        return None
    matches = cv2.BFMatcher().knnMatch(told1, told2, k=2)
    good = [m[0] for m in matches if len(m) == 2 and m[0].distance < 0.75 * m[1].distance]
    if len(good) < LEAST_MATCHES:
        return None
    at1 = np.array([points1[m.queryIdx].pt for m in good])
    at2 = np.array([points2[m.trainIdx].pt for m in good])
    shifts = at1 - at2
    # Every match votes; the fullest circle of 3 px wins. A few hundred matches: all are tried.
    near = np.linalg.norm(shifts[:, None] - shifts[None], axis=2) < 3
    winner = near[int(near.sum(axis=1).argmax())]
    if winner.sum() < LEAST_MATCHES:
        return None
    (h1, w1), (h2, w2) = first.shape, second.shape
    dx, dy = shifts[winner].mean(axis=0) + np.array([w2 - w1, h2 - h1]) / 2
    a, b = (detail(picture, *SCALES_PX[0]) for picture in (first, second))
    return _climbed(a, b, Offset(float(dx), float(dy), 0.0, 0.0, "features"))
