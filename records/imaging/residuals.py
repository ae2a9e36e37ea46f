"""How far a fitted transformation is to be trusted: what is left at each point, what each point is
foretold to be by the others, the scale over the image, and which points look wrong, with why.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
from scipy.spatial import ConvexHull, QhullError

from records.imaging.fits import METHODS, Array, Chart, PlacementError, fit, spread

# A point is reported when chance alone would show one like it in fewer than one placement of 100.
FALSE_ALARMS = 0.01
# The median of the length of a two-dimensional normal error, in standard deviations (Rayleigh).
MEDIAN_OF_LENGTH = float(np.sqrt(2 * np.log(2)))
# A spline foretells points at its edge worse than others, without their being wrong.
FAR_FROM_A_SPLINE = 5.0
SAME_PX = 2.0  # points closer than this tell the same thing twice
SWAPPED_SHARE = 0.2  # exchanging two points must bring the error down to this share of it
NARROW_SHARE = 0.25  # of the image between the points; outside them the transformation is a guess
NEARLY_A_LINE = 0.05


def missed(chart: Chart, px: Any, mm: Any) -> Array:
    """Distance on the face, in mm, between where each pixel is carried and where it belongs."""
    return np.asarray(np.linalg.norm(chart.to_face(px) - np.asarray(mm, float), axis=1), float)


def rms(values: Any) -> float:
    """Root mean square of those values that are numbers; nan when none is."""
    known = np.asarray(values, float)
    known = known[np.isfinite(known)]
    return float(np.sqrt(np.mean(known**2))) if len(known) else float("nan")


@dataclass(frozen=True)
class LeftOut:
    """What the others say of one point: how far off they put it, and how well they agree.

    `error_mm` is nan when the others do not decide the transformation. `spread_mm` is the standard
    deviation of a coordinate that their own residuals show, nan without residuals to spare;
    `freedom` is the number of those; `reach` is how much further the point lies from the others
    than they from each other (its leverage on an affine fit).
    """

    error_mm: float
    spread_mm: float
    freedom: int
    reach: float


def leave_out(px: Array, mm: Array, method: str) -> list[LeftOut]:
    """Fit all pairs but one, for each in turn."""
    told = []
    for left in range(len(px)):
        others, places = np.delete(px, left, axis=0), np.delete(mm, left, axis=0)
        try:
            chart = fit(others, places, method)
        except PlacementError:
            told.append(LeftOut(float("nan"), float("nan"), 0, float("nan")))
            continue
        error = float(missed(chart, px[left], mm[left])[0])
        freedom = 0 if method == "spline" else 2 * len(others) - METHODS[method].unknowns
        if freedom > 0:
            spread_mm = float(np.sqrt(np.sum(missed(chart, others, places) ** 2) / freedom))
        else:
            spread_mm = float("nan")
        told.append(LeftOut(error, spread_mm, freedom, _reach(others, px[left])))
    return told


def _reach(others: Array, point: Array) -> float:
    length, breadth = spread(others)
    if breadth < 1e-9 * length:
        return float("nan")
    rows = np.column_stack([others - point, np.ones(len(others))])
    return float(np.linalg.inv(rows.T @ rows)[2, 2])


def chance_of(left: LeftOut) -> float:
    """Probability that a sound point is foretold this badly.

    The squared error over the variance foretold follows F with 2 and `freedom` degrees of freedom
    (the externally studentised residual in two dimensions), whose tail has this closed form. nan
    when there is nothing to judge by.
    """
    if not np.isfinite(left.spread_mm * left.reach) or left.freedom < 2:
        return float("nan")
    variance = max(left.spread_mm**2 * (1 + left.reach), 1e-18)
    return float((1 + left.error_mm**2 / variance / left.freedom) ** (-left.freedom / 2))


@dataclass(frozen=True)
class Doubt:
    """A sentence about points that look wrong; `points` are their positions, from 0."""

    points: tuple[int, ...]
    words: str


def doubts(
    px: Array, mm: Array, method: str, left: Sequence[LeftOut], size_px: tuple[int, int] | None
) -> list[Doubt]:
    """What looks wrong among pairs that do decide a transformation, the gravest first."""
    swapped = _swapped(px, mm, method)
    far = [] if swapped else list(_far(left, method))
    return [
        *swapped,
        *far,
        *_mirrored(px, mm, method),
        *_doubled(px, "in the image", SAME_PX),
        *_doubled(mm, "on the face", 1e-6),
        *_badly_spread(px, size_px),
    ]


def _far(left: Sequence[LeftOut], method: str) -> Iterator[Doubt]:
    errors = np.array([one.error_mm for one in left])
    for i, one in enumerate(left):
        if method == "spline":
            others = np.delete(errors, i)
            others = others[np.isfinite(others)]
            if len(others) < 4:
                continue
            usual = float(np.median(others)) / MEDIAN_OF_LENGTH
            wrong = one.error_mm > FAR_FROM_A_SPLINE * max(usual, 1e-9)
        else:
            usual = one.spread_mm
            chance = chance_of(one)
            wrong = bool(np.isfinite(chance)) and chance * len(left) < FALSE_ALARMS
        # What a hundredth of a millimetre misses is nobody's mistake.
        if wrong and one.error_mm > 0.01:
            yield Doubt(
                (i,),
                f"Point {i + 1} lies {_mm(one.error_mm)} from where the others put it, which agree "
                f"to {_mm(usual)} among themselves. See whether both marks sit on the same detail.",
            )


def _swapped(px: Array, mm: Array, method: str) -> list[Doubt]:
    """Two points exchanged, when nothing else explains so large an error."""
    flat = "similarity" if method == "similarity" else "affine"
    least = METHODS[flat].least_pairs
    if len(px) <= least:
        return []
    before = missed(fit(px, mm, flat), px, mm)
    worst = sorted(np.argsort(before)[::-1][:8].tolist())
    best, found = SWAPPED_SHARE * rms(before), None
    for i, j in combinations(worst, 2):
        order = np.arange(len(px))
        order[[i, j]] = j, i
        if 2 * len(px) - METHODS[flat].unknowns < 4:
            break  # with so few points any exchange may fit
        try:
            after = rms(missed(fit(px, mm[order], flat), px, mm[order]))
        except PlacementError:
            continue
        if after < best:
            best, found = after, (i, j)
    if found is None or rms(before) < 0.01:
        return []
    i, j = found
    return [
        Doubt(
            found,
            f"Points {i + 1} and {j + 1} look exchanged: with their places on the face swapped, "
            f"the error falls from {_mm(rms(before))} to {_mm(best)}.",
        )
    ]


def _mirrored(px: Array, mm: Array, method: str) -> Iterator[Doubt]:
    if method == "similarity" and len(px) > 2 and spread(px)[1] > NEARLY_A_LINE * spread(px)[0]:
        flat = fit(px, mm, "affine").matrix if spread(mm)[1] > 1e-3 * spread(mm)[0] else None
    else:
        flat = fit(px, mm, method).matrix
    if flat is not None and np.linalg.det(flat[:2, :2]) > 0:
        yield Doubt(
            (),
            "The points show the face mirrored. Was the image made from the other side, or the "
            "negative turned over? Then place it on the other face; it can be seen through from "
            "here.",
        )


def _doubled(points: Array, where: str, nearer_than: float) -> Iterator[Doubt]:
    for i, j in combinations(range(len(points)), 2):
        if np.linalg.norm(points[i] - points[j]) < nearer_than:
            yield Doubt(
                (i, j),
                f"Points {i + 1} and {j + 1} are at the same place {where}: remove one of them.",
            )


def _badly_spread(px: Array, size_px: tuple[int, int] | None) -> Iterator[Doubt]:
    length, breadth = spread(px)
    if breadth < NEARLY_A_LINE * length and len(px) > 2:
        yield Doubt(
            (),
            "The points lie almost on one line: across it the place is hardly held. Add one that "
            "lies apart.",
        )
    elif size_px and len(px) > 2:
        try:
            share = ConvexHull(px).volume / (size_px[0] * size_px[1])
        except QhullError:
            return
        if share < NARROW_SHARE:
            yield Doubt(
                (),
                f"The points enclose {share:.0%} of the image; outside them the place is a guess. "
                "Spread them towards its edges.",
            )


@dataclass(frozen=True)
class Scale:
    """Size of a pixel on the face: mm per px, and how much longer one way than the other (≥ 1)."""

    mm_per_px: float
    anisotropy: float


def scale_at(chart: Chart, px: Any) -> list[Scale]:
    """The scale at pixels (n, 2): root of the area a pixel covers, longest over shortest."""
    stretches = np.linalg.svd(chart.slopes(px), compute_uv=False)
    return [
        Scale(float(np.sqrt(longest * shortest)), float(longest / max(shortest, 1e-12)))
        for longest, shortest in stretches
    ]


def scales(chart: Chart, width_px: int, height_px: int, steps: int = 5) -> list[list[Scale]]:
    """The scale over a grid of `steps` × `steps` places that divides the image evenly, by rows."""
    columns = (np.arange(steps) + 0.5) / steps * width_px
    rows = (np.arange(steps) + 0.5) / steps * height_px
    return [scale_at(chart, np.column_stack([columns, np.full(steps, row)])) for row in rows]


def folds(chart: Chart, width_px: int, height_px: int, steps: int = 24) -> bool:
    """Whether the transformation turns part of the image over, as no flat face can lie."""
    columns, rows = np.meshgrid(
        np.linspace(0, width_px, steps), np.linspace(0, height_px, steps), indexing="xy"
    )
    areas = np.linalg.det(chart.slopes(np.column_stack([columns.ravel(), rows.ravel()])))
    return bool(areas.min() < 0 < areas.max())


def _mm(value: float) -> str:
    digits = 0 if value >= 100 else 1 if value >= 10 else 2
    return f"{value:.{digits}f} mm"
