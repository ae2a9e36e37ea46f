"""The places of all frames at once: a rough plan from shifts, then one adjustment of all ties.

The adjustment minimises, over the places of all frames and what the camera does to all of them,

    Σ ρ( |Lᵀ (mosaic(first pixel) − mosaic(second pixel))| ) + weak priors,   L Lᵀ = information,

with Cauchy's ρ, by Gauss-Newton steps on sparse normal equations and weights taken anew each time.
Frames that the overlaps do not hold are told with the reason, and have no place.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components
from scipy.sparse.linalg import splu

from records.imaging.mosaic.camera import Camera, Mapping, Place, half_diagonal, middle
from records.imaging.mosaic.layout import Pair
from records.imaging.mosaic.offsets import Offset
from records.imaging.mosaic.ties import Ties

Array = NDArray[np.float64]

CAUCHY = 3.0
# Spreads of what a careful set-up leaves, common practice: a hundredth of size, two degrees.
PRIOR_SIZE, PRIOR_TURN, PRIOR_FRAME_TILT = 0.01, 0.035, 0.01
PRIOR_K, PRIOR_TILT = 0.2, 0.05
HELD_PX = 1.0  # a frame whose place is less certain than this has none
PER_FRAME = {"shift": 2, "turn": 4, "tilt": 6}


@dataclass(frozen=True, slots=True)
class Plan:
    """Rough places: middles (n, 2) in pixels, NaN for frames that nothing holds; `why` those, by
    index; `used` tells for each pair whether its offset fits the rest."""

    middles: Array
    why: dict[int, str]
    used: list[bool]


def plan(
    nominal: Array,
    sizes: Array,
    pairs: Sequence[Pair],
    offsets: Sequence[Offset],
    excluded: dict[int, str],
) -> Plan:
    """Lay frames by their measured shifts, by least absolute deviations.

    A shift that misses the rest by more than a fiftieth of a frame (4 px at least) is set aside,
    and the frames are laid again, until all that are used agree.
    """
    n = len(nominal)
    tolerance = max(4.0, 0.02 * float(sizes.max()))
    used = [
        o.found and p.first not in excluded and p.second not in excluded
        for p, o in zip(pairs, offsets, strict=True)
    ]
    while True:
        rows = [k for k, good in enumerate(used) if good]
        group = groups(n, [(pairs[k].first, pairs[k].second) for k in rows])
        laid = _lay(nominal, [pairs[k] for k in rows], [offsets[k] for k in rows])
        missed = np.array(
            [
                np.linalg.norm(
                    laid[pairs[k].second] - laid[pairs[k].first] - [offsets[k].dx, offsets[k].dy]
                )
                for k in rows
            ]
        )
        worst = int(missed.argmax()) if len(missed) else -1
        if worst < 0 or missed[worst] <= tolerance:
            break
        # The worst and all nearly as bad go at once; the others may fit when these are gone.
        for k, miss in zip(rows, missed, strict=True):
            if miss > max(tolerance, 0.7 * missed[worst]):
                used[k] = False
    main = _main(group, excluded, n)
    why = dict(excluded)
    for index in range(n):
        if index not in main and index not in why:
            why[index] = _why_loose(index, pairs, offsets, used, group)
    middles = laid.copy()
    middles[[i for i in range(n) if i not in main]] = np.nan
    return Plan(middles, why, used)


def _lay(nominal: Array, pairs: Sequence[Pair], offsets: Sequence[Offset]) -> Array:
    if not pairs:
        return nominal.copy()
    n, m = len(nominal), len(pairs)
    rows = np.repeat(np.arange(m), 2)
    columns = np.array([[p.first, p.second] for p in pairs]).ravel()
    signs = np.tile([-1.0, 1.0], m)
    matrix = sparse.csr_array((signs, (rows, columns)), shape=(m, n))
    wanted = np.array([[o.dx, o.dy] for o in offsets])
    # Weakly held to the layout, which also decides where groups without a link lie.
    hold = sparse.identity(n, format="csr") * 1e-6
    laid = nominal
    weights = np.ones(m)
    for _ in range(30):
        normal = matrix.T @ sparse.diags_array(weights) @ matrix + hold
        laid = np.asarray(
            splu(sparse.csc_matrix(normal)).solve(
                matrix.T @ (weights[:, None] * wanted) + hold @ nominal
            )
        )
        missed = np.linalg.norm(matrix @ laid - wanted, axis=1)
        weights = 1 / np.maximum(missed, 0.5)
    return laid


def groups(n: int, links: Sequence[tuple[int, int]]) -> NDArray[np.int64]:
    """The number of the group that each of n frames belongs to, joined by links."""
    if not links:
        return np.arange(n)
    first, second = np.array(links).T
    graph = sparse.coo_array((np.ones(len(links)), (first, second)), shape=(n, n))
    return np.asarray(connected_components(graph, directed=False)[1], np.int64)


def _main(group: NDArray[np.int64], excluded: dict[int, str], n: int) -> set[int]:
    """The frames of the largest group; of equal ones the first."""
    standing = [i for i in range(n) if i not in excluded]
    if not standing:
        return set()
    counts = np.bincount(group[standing])
    return {i for i in standing if group[i] == counts.argmax()}


def _why_loose(
    index: int,
    pairs: Sequence[Pair],
    offsets: Sequence[Offset],
    used: Sequence[bool],
    group: NDArray[np.int64],
) -> str:
    mine = [k for k, p in enumerate(pairs) if index in (p.first, p.second)]
    if not mine:
        return "By the layout it overlaps no other frame."
    company = int((group == group[index]).sum())
    if company > 1:
        return (
            f"It holds together with {company - 1} other frame{'s' if company > 2 else ''}, but no "
            "overlap between these and the rest was recognised."
        )
    if any(offsets[k].found and not used[k] for k in mine):
        return "Where its overlaps were recognised they contradict those of its neighbours."
    best = max((offsets[k] for k in mine), key=lambda o: o.significance)
    chance = best.quality / best.significance if best.significance > 0 else 0.0
    return (
        f"None of its {len(mine)} overlaps was recognised: the best correlation is "
        f"{best.quality:.2f}, where chance alone gives ± {chance:.2f}."
    )


@dataclass(frozen=True, slots=True)
class Overlap:
    """What the adjustment leaves between two frames: residuals in pixels at `ties` shared points,
    of which `agreeing` were given their full weight; `used` is false for one set aside."""

    first: int
    second: int
    ties: int
    agreeing: int
    rms_px: float
    largest_px: float
    quality: float
    used: bool
    why: str = ""


@dataclass(frozen=True, slots=True)
class Adjusted:
    """All places, the camera, and what is left; lists run over frames, None for those without a
    place. `uncertainty_px` is the standard deviation of each middle beside its neighbours."""

    places: list[Place | None]
    camera: Camera
    uncertainty_px: list[float | None]
    why: dict[int, str]
    overlaps: list[Overlap] = field(default_factory=list)
    rms_px: float = 0.0
    camera_uncertainty: tuple[float, ...] = ()

    def mapping(self, index: int, width_px: int, height_px: int) -> Mapping:
        place = self.places[index]
        if place is None:
            raise KeyError(index)
        return Mapping(width_px, height_px, self.camera, place)


def adjust(
    sizes: Sequence[tuple[int, int]],
    start: Plan,
    pairs: Sequence[Pair],
    ties: Sequence[Ties],
    *,
    freedom: str = "turn",
    camera: Camera | None = None,
    estimate_lens: bool = False,
) -> Adjusted:
    """Adjust all frames together.

    `sizes`: (width, height) of each frame; `pairs` and `ties` run alike; `freedom`: a name in
    `PER_FRAME`; `camera`: what is known, or a start when `estimate_lens` is set. Frames that ties
    do not hold, or only to worse than `HELD_PX`, are left without a place and told why.
    """
    why = dict(start.why)
    standing = [i for i in range(len(sizes)) if i not in why]
    while True:
        problem = _Problem(sizes, start, pairs, ties, standing, freedom, camera, estimate_lens)
        problem.solve()
        loose = problem.loose()
        if not loose:
            break
        why |= loose
        standing = [i for i in standing if i not in loose]
        if not standing:
            break
    return problem.result(why)


class _Problem:
    """One adjustment of a given set of frames."""

    def __init__(
        self,
        sizes: Sequence[tuple[int, int]],
        start: Plan,
        pairs: Sequence[Pair],
        ties: Sequence[Ties],
        standing: Sequence[int],
        freedom: str,
        camera: Camera | None,
        estimate_lens: bool,
    ) -> None:
        self.sizes, self.pairs, self.ties = sizes, pairs, ties
        self.per_frame = PER_FRAME[freedom]
        self.standing = list(standing)
        self.slot = {index: k for k, index in enumerate(self.standing)}
        self.fixed_camera = camera or Camera()
        self.estimate_lens = estimate_lens
        self.places = np.zeros((len(self.standing), 6))
        self.places[:, 2] = 1
        self.places[:, :2] = start.middles[self.standing]
        c = self.fixed_camera
        self.lens = np.array([c.k1, c.k2, c.px, c.py])
        rows = [
            (k, number)
            for k, p in enumerate(pairs)
            if p.first in self.slot and p.second in self.slot
            for number in range(len(ties[k]))
        ]
        self.pair_of = np.array([k for k, _ in rows], int)
        self.i = np.array([self.slot[pairs[k].first] for k, _ in rows], int)
        self.j = np.array([self.slot[pairs[k].second] for k, _ in rows], int)
        unit = np.array([half_diagonal(*sizes[i]) for i in self.standing])
        mid = np.array([middle(*sizes[i]) for i in self.standing]).reshape(-1, 2)
        self.unit = unit
        if rows:
            at = np.array([ties[k].first[number] for k, number in rows])
            to = np.array([ties[k].second[number] for k, number in rows])
            information = np.array([ties[k].information[number] for k, number in rows])
        else:
            at = to = np.empty((0, 2))
            information = np.empty((0, 3))
        self.di = (at - mid[self.i]) / unit[self.i, None]
        self.dj = (to - mid[self.j]) / unit[self.j, None]
        xx, xy, yy = information.T
        l11 = np.sqrt(xx)
        l21 = xy / np.maximum(l11, 1e-12)
        l22 = np.sqrt(np.maximum(yy - l21**2, 1e-12))
        # Lᵀ r = (l11 rx + l21 ry, l22 ry)
        self.white = np.stack([np.stack([l11, l21], 1), np.stack([np.zeros_like(l11), l22], 1)], 1)
        self.weights = np.ones(len(rows))
        self.factor = 1.0
        self.held = self._held_frame()

    @property
    def unknowns(self) -> int:
        return len(self.standing) * self.per_frame + (4 if self.estimate_lens else 0)

    def _held_frame(self) -> int:
        """The frame with the most ties is held fast; all else is placed beside it."""
        if not len(self.i):
            return 0
        n = len(self.standing)
        return int((np.bincount(self.i, minlength=n) + np.bincount(self.j, minlength=n)).argmax())

    def solve(self) -> None:
        for looseness in (*[30.0] * 3, *[10.0] * 3, *[CAUCHY] * 14):
            moved = self._step(looseness)
            if looseness == CAUCHY and moved < 1e-4:
                break

    def _forward(self, d: Array, k: Array) -> tuple[Array, Array]:
        """Mosaic points of ties in the frames `k`, and their derivatives (n, 2, 10): by the six of
        the frame, then by the four of the camera."""
        k1, k2, cx, cy = self.lens
        place, unit = self.places[k], self.unit[k, None]
        r2 = (d * d).sum(axis=1, keepdims=True)
        u = d * (1 + k1 * r2 + k2 * r2 * r2)
        tilt = place[:, 4:6] + [cx, cy]
        below = 1 + (u * tilt).sum(axis=1, keepdims=True)
        v = u / below
        a, b = place[:, 2:3], place[:, 3:4]

        def turned(w: Array) -> Array:
            wx, wy = w[:, 0:1], w[:, 1:2]
            return np.asarray(unit * np.hstack([a * wx - b * wy, b * wx + a * wy]), float)

        def through_tilt(w: Array) -> Array:
            slope = w * below - u * (w * tilt).sum(axis=1, keepdims=True)
            return np.asarray(slope / below**2, float)

        point = place[:, :2] + turned(v)
        slopes = np.zeros((len(d), 2, 10))
        slopes[:, 0, 0] = slopes[:, 1, 1] = 1
        slopes[:, :, 2] = unit * v
        slopes[:, :, 3] = unit * np.column_stack([-v[:, 1], v[:, 0]])
        slopes[:, :, 4] = slopes[:, :, 8] = turned(-u * u[:, 0:1] / below**2)
        slopes[:, :, 5] = slopes[:, :, 9] = turned(-u * u[:, 1:2] / below**2)
        slopes[:, :, 6] = turned(through_tilt(d * r2))
        slopes[:, :, 7] = turned(through_tilt(d * r2 * r2))
        return point, slopes

    def residuals(self) -> Array:
        """First minus second in mosaic pixels, (n, 2)."""
        first, second = self._forward(self.di, self.i)[0], self._forward(self.dj, self.j)[0]
        return np.asarray(first - second, float)

    def _step(self, looseness: float) -> float:
        xi, si = self._forward(self.di, self.i)
        xj, sj = self._forward(self.dj, self.j)
        missed = np.einsum("nab,nb->na", self.white, xi - xj)
        length = np.linalg.norm(missed, axis=1)
        if len(length):
            # 1.1774 is the median length of a two-dimensional normal vector of spread 1.
            self.factor = float(max(1.0, np.median(length) / 1.1774))
        self.weights = 1 / (1 + (length / (looseness * self.factor)) ** 2)
        normal, right = self._normal_equations(missed, si, sj)
        delta = splu(normal).solve(right)
        p = self.per_frame
        n = len(self.standing)
        self.places[:, :p] += delta[: n * p].reshape(n, p)
        if self.estimate_lens:
            self.lens = self.lens + delta[n * p :]
        return float(np.abs(delta[: n * p].reshape(n, p)[:, :2]).max()) if n else 0.0

    def _normal_equations(self, missed: Array, si: Array, sj: Array) -> tuple[Any, Array]:
        p, n, m = self.per_frame, len(self.standing), len(self.i)
        white_i = np.einsum("nab,nbc->nac", self.white, si)
        white_j = np.einsum("nab,nbc->nac", self.white, sj)
        blocks = [white_i[:, :, :p], -white_j[:, :, :p]]
        columns = [
            self.i[:, None] * p + np.arange(p),
            self.j[:, None] * p + np.arange(p),
        ]
        if self.estimate_lens:
            blocks.append(white_i[:, :, 6:] - white_j[:, :, 6:])
            columns.append(np.broadcast_to(n * p + np.arange(4), (m, 4)))
        values = np.concatenate(blocks, axis=2)
        column = np.concatenate(columns, axis=1)
        width = values.shape[2]
        rows = np.repeat(np.arange(2 * m), width)
        jacobian = sparse.csr_array(
            (values.reshape(-1), (rows, np.repeat(column, 2, axis=0).reshape(-1))),
            shape=(2 * m, self.unknowns),
        )
        weight = np.repeat(self.weights, 2) / self.factor**2
        weighted = jacobian.T @ sparse.diags_array(weight)
        prior, pull = self._priors()
        normal = weighted @ jacobian + sparse.diags_array(prior)
        return sparse.csc_matrix(normal), np.asarray(-(weighted @ missed.reshape(-1)) - pull)

    def _priors(self) -> tuple[Array, Array]:
        """Weights of the weak priors and, times their present miss, their pull."""
        p, n = self.per_frame, len(self.standing)
        weight = np.zeros((n, p))
        weight[:, :2] = 1e-12
        weight[self.held, :2] = 1e6
        spreads = [PRIOR_SIZE, PRIOR_TURN, PRIOR_FRAME_TILT, PRIOR_FRAME_TILT]
        weight[:, 2:] = 1 / np.array(spreads[: p - 2]) ** 2
        missed = self.places[:, :p].copy()
        missed[:, :2] = 0
        if p > 2:
            missed[:, 2] -= 1
        weights, misses = [weight.reshape(-1)], [missed.reshape(-1)]
        if self.estimate_lens:
            c = self.fixed_camera
            weights.append(1 / np.array([PRIOR_K, PRIOR_K, PRIOR_TILT, PRIOR_TILT]) ** 2)
            misses.append(self.lens - [c.k1, c.k2, c.px, c.py])
        all_weights = np.concatenate(weights)
        return all_weights, all_weights * np.concatenate(misses)

    def overlaps(self) -> list[Overlap]:
        left = self.residuals()
        length = np.linalg.norm(left, axis=1)
        good = self.weights > 0.5
        # Ties stand in the order of their pairs.
        edges = np.searchsorted(self.pair_of, np.arange(len(self.pairs) + 1))
        found = []
        for k, pair in enumerate(self.pairs):
            if pair.first not in self.slot or pair.second not in self.slot:
                continue
            mine = np.arange(edges[k], edges[k + 1])
            agreeing = mine[good[mine]]
            total, count = len(mine), len(agreeing)
            why = ""
            if not total:
                why = "no shared point was found in it"
            elif 2 * count < total:
                why = "its shared points contradict the rest"
            shown = agreeing if count else mine
            found.append(
                Overlap(
                    pair.first,
                    pair.second,
                    total,
                    count,
                    float(np.sqrt(np.mean(length[shown] ** 2))) if total else 0.0,
                    float(length[shown].max()) if total else 0.0,
                    float(np.mean(self.ties[k].quality)) if total else 0.0,
                    not why,
                    why,
                )
            )
        return found

    def _normal(self) -> Any:
        xi, si = self._forward(self.di, self.i)
        xj, sj = self._forward(self.dj, self.j)
        missed = np.einsum("nab,nb->na", self.white, xi - xj)
        return self._normal_equations(missed, si, sj)[0]

    def _held_by_neighbours(self) -> Array:
        """Standard deviations of each middle, (n, 2), its neighbours taken as they lie."""
        p, n = self.per_frame, len(self.standing)
        normal = self._normal()[: n * p, : n * p].tocoo()
        own = normal.row // p == normal.col // p
        row, column = normal.row[own], normal.col[own]
        blocks = np.zeros((n, p, p))
        blocks[row // p, row % p, column % p] = normal.data[own]
        spread = np.diagonal(np.linalg.inv(blocks), axis1=1, axis2=2)[:, :2]
        return np.asarray(np.sqrt(np.maximum(spread, 0)))

    def _camera_spread(self) -> tuple[float, ...]:
        """Standard deviations of k1, k2 and the tilt when they are estimated."""
        if not self.estimate_lens:
            return ()
        m = len(self.standing) * self.per_frame
        normal = self._normal()
        mixed = splu(normal[:m, :m]).solve(normal[:m, m:].toarray())
        covariance = np.linalg.inv(normal[m:, m:].toarray() - normal[m:, :m] @ mixed)
        return tuple(float(v) for v in np.sqrt(np.maximum(np.diag(covariance), 0)))

    def loose(self) -> dict[int, str]:
        """Frames that the agreeing overlaps do not hold, with the reason."""
        n = len(self.standing)
        used = [o for o in self.overlaps() if o.used]
        group = groups(n, [(self.slot[o.first], self.slot[o.second]) for o in used])
        counts = np.bincount(group) if n else np.array([0])
        found: dict[int, str] = {}
        for k, index in enumerate(self.standing):
            if group[k] == counts.argmax():
                continue
            company = int(counts[group[k]])
            if company > 1:
                found[index] = (
                    f"It holds together with {company - 1} other frame"
                    f"{'s' if company > 2 else ''}, but no overlap with the rest can be measured."
                )
            else:
                found[index] = (
                    "Its overlaps were recognised, but no points in them agree with the rest."
                )
        if found or n < 2:
            return found
        spread = self._held_by_neighbours()
        for k, index in enumerate(self.standing):
            across, down = spread[k, :2]
            if max(across, down) > HELD_PX:
                found[index] = (
                    f"Its overlaps hold it only to ± {across:.1f} px across and ± {down:.1f} px "
                    "down: there is too little to see in them."
                )
        return found

    def result(self, why: dict[int, str]) -> Adjusted:
        n = len(self.standing)
        places: list[Place | None] = [None] * len(self.sizes)
        uncertainty: list[float | None] = [None] * len(self.sizes)
        if not n:
            return Adjusted(places, self.fixed_camera, uncertainty, why)
        middles = self._held_by_neighbours()
        for k, index in enumerate(self.standing):
            places[index] = Place(*(float(v) for v in self.places[k]))
            uncertainty[index] = float(np.hypot(*middles[k]) / np.sqrt(2))
        left = self.residuals()
        agreeing = self.weights > 0.5
        rms = float(np.sqrt(np.mean((left[agreeing] ** 2).sum(axis=1)))) if agreeing.any() else 0.0
        return Adjusted(
            places,
            Camera(*(float(v) for v in self.lens)),
            uncertainty,
            why,
            self.overlaps(),
            rms,
            self._camera_spread(),
        )
