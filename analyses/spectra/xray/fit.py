"""A spectrum as a sum of shapes, none of them below zero.

Each column is what one source adds to the counts: a group of an element's lines, a line of the
tube, an escape peak, a stretch of background. Groups of one family are *tied*: each may leave its
proportion to the family's strongest only at a cost that grows with the square of the departure.
Least squares without negative amounts (Lawson and Hanson, Solving Least Squares Problems, 1974)
are solved on the normal equations, which are small, so that many sets of elements can be compared.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve, cholesky, solve_triangular
from scipy.linalg.lapack import dposv
from scipy.optimize import nnls

from analyses.spectra.curve import Array
from analyses.spectra.xray import detector
from analyses.spectra.xray.lines import Group, Line

RIDGE = 1e-9
MOST_PINNED = 3  # times that proportions are looked over for too much bend
SURE_SHARE = 0.004  # of the strongest group: no table is trusted nearer than that


class Role(StrEnum):
    """Whose counts a column holds."""

    OBJECT = "object"
    TUBE = "tube"
    SCATTER = "scatter"
    AIR = "air"
    COATING = "coating"
    INSTRUMENT = "instrument"
    ESCAPE = "escape"
    SUM = "sum"
    PAIR = "pair"  # one sum alone, thought of only as a rival of an element
    TAIL = "tail"
    BACKGROUND = "background"


@dataclass(frozen=True, slots=True)
class Scale:
    """Channels with their true energies: `edges_kev` (n + 1,), and the peaks' widths there."""

    edges_kev: Array
    crystal: str
    noise_kev2: float
    _shapes: dict[tuple[Line, ...], Array] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    @property
    def energies_kev(self) -> Array:
        return np.asarray((self.edges_kev[:-1] + self.edges_kev[1:]) / 2)

    def fwhm_at(self, energy_kev: float) -> float:
        return detector.fwhm_of_line_kev(self.crystal, self.noise_kev2, energy_kev)

    @property
    def fwhm(self) -> Array:
        return detector.fwhm_kev(self.crystal, self.noise_kev2, self.energies_kev)

    def shape(self, lines: Iterable[Line], broader_kev: float = 0.0) -> Array:
        """Counts (n,) of lines with their shares; `broader_kev` widens scattered lines."""
        lines = tuple(lines)
        known = None if broader_kev else self._shapes.get(lines)
        if known is not None:
            return known
        found = np.zeros(len(self.edges_kev) - 1)
        for line in lines:
            width = math.hypot(self.fwhm_at(line.energy_kev), broader_kev)
            detector.add_peak(found, self.edges_kev, line.energy_kev, width, line.share)
        if not broader_kev:
            self._shapes[lines] = found
        return found

    def tail(self, lines: Iterable[Line]) -> Array:
        found = np.zeros(len(self.edges_kev) - 1)
        for line in lines:
            width = self.fwhm_at(line.energy_kev)
            detector.add_tail(found, self.edges_kev, line.energy_kev, width, line.share)
        return found


@dataclass(frozen=True, slots=True)
class Column:
    """`shape` (n,) is what a coefficient of 1 adds; for lines a coefficient is a count."""

    owner: str
    role: Role
    label: str
    energy_kev: float
    shape: Array
    group: Group | None = None
    shell: str = ""


@dataclass(frozen=True, slots=True)
class Tie:
    """Column `of` holds `ratio` times the counts of column `to`, bent by `bends` of that."""

    of: int
    to: int
    ratio: float
    bends: float


@dataclass(frozen=True, slots=True)
class Solution:
    """`amounts` (m,) of all columns, zero where not used; `misfit` X², ties included."""

    amounts: Array
    misfit: float
    used: NDArray[np.intp]


def not_below_zero(normal: Array, right: Array, start: NDArray[np.bool_]) -> Array:
    """The x ≥ 0 (m,) that makes xᵀ`normal`x − 2 `right`ᵀx least; `start` (m,) guesses where x > 0.

    Block principal pivoting with its fallback to one exchange at a time (Portugal, Júdice and
    Vicente, Mathematics of Computation 63 (1994) 625), quick because the guess is mostly right; if
    rounding makes it go in circles, Lawson and Hanson's method finishes.
    """
    size, used = len(right), start.copy()
    best, patience = size + 1, 3
    for _ in range(5 * size):
        x, slope = np.zeros(size), np.zeros(size)
        inside = np.flatnonzero(used)
        if len(inside):
            _, x[inside], failed = dposv(normal[np.ix_(inside, inside)], right[inside], lower=1)
            if failed:
                break
        outside = np.flatnonzero(~used)
        slope[outside] = normal[np.ix_(outside, inside)] @ x[inside] - right[outside]
        wrong = np.flatnonzero((used & (x < -1e-9)) | (~used & (slope < -1e-9)))
        if not len(wrong):
            return np.asarray(np.maximum(x, 0.0))
        if len(wrong) < best:
            best, patience = len(wrong), 3
        elif patience > 0:
            patience -= 1
        else:
            wrong = wrong[-1:]
        used[wrong] = ~used[wrong]
    root = cholesky(normal, lower=True)
    found, _ = nnls(root.T, solve_triangular(root, right, lower=True), maxiter=20 * size)
    return np.asarray(found)


class Sum:
    """Weighted least squares of `counts` (n,) by columns, for any choice among them."""

    def __init__(
        self, columns: Sequence[Column], ties: Sequence[Tie], counts: Array, variance: Array
    ) -> None:
        self.columns, self.ties = tuple(columns), tuple(ties)
        self.matrix = np.column_stack([column.shape for column in columns])
        self.counts, self.weights = counts, 1 / variance
        weighted = self.matrix * self.weights[:, None]
        self.normal = self.matrix.T @ weighted
        self.right = weighted.T @ counts
        self.total = float(np.sum(self.weights * counts**2))
        self.guess = np.zeros(len(columns))
        self._of: dict[str, list[int]] = {}
        for n, column in enumerate(columns):
            if column.role == Role.OBJECT:
                self._of.setdefault(column.owner, []).append(n)
        self._active = np.zeros(len(columns), dtype=bool)  # where the last solution was above zero
        self._tied = (
            np.array([tie.of for tie in ties], dtype=np.intp),
            np.array([tie.to for tie in ties], dtype=np.intp),
            np.array([tie.ratio for tie in ties], dtype=float),
            np.array([tie.bends for tie in ties], dtype=float),
        )

    def where(self, *roles: Role) -> NDArray[np.intp]:
        return np.array([n for n, c in enumerate(self.columns) if c.role in roles], dtype=np.intp)

    def of(self, owner: str) -> NDArray[np.intp]:
        """The columns of an element of the object."""
        return np.array(self._of.get(owner, []), dtype=np.intp)

    def _equations(
        self, used: NDArray[np.intp], loose: float, pinned: Array | None = None
    ) -> tuple[Array, Array]:
        """The normal equations of the columns `used`, ties among them included.

        `pinned` (ties,) holds the proportions of those that may bend no farther, NaN for others.
        """
        here = np.zeros(len(self.columns) + 1, dtype=bool)
        here[used] = True
        of, to, ratio, bends = self._tied
        plain = to < 0  # tied to the plain number `ratio`
        bends = bends * loose
        spread = np.where(
            plain, bends, np.maximum(bends * ratio, SURE_SHARE * loose) * self.guess[to] + 1.0
        )
        if pinned is not None:
            held = ~np.isnan(pinned)
            ratio, spread = np.where(held, pinned, ratio), np.where(held, 1.0, spread)
        there = here[of] & (here[to] | plain)
        of, to, ratio = of[there], to[there], ratio[there]
        spread, plain = spread[there], plain[there]
        weight = 1 / spread**2
        normal, right = self.normal.copy(), self.right.copy()
        np.add.at(normal, (of, of), weight)
        np.add.at(right, of, np.where(plain, weight * ratio, 0.0))
        of, to, ratio, weight = of[~plain], to[~plain], ratio[~plain], weight[~plain]
        np.add.at(normal, (to, to), weight * ratio**2)
        np.add.at(normal, (of, to), -weight * ratio)
        np.add.at(normal, (to, of), -weight * ratio)
        return normal[np.ix_(used, used)], right[used]

    def solve_within(self, used: NDArray[np.intp], loose: float) -> Solution:
        """The same with no proportion bent farther than `loose` times its usual bend.

        Where a line towers over all else, a cost that grows with the bend would not hold it.
        """
        of, to, ratio, bends = self._tied
        pinned = np.full(len(of), np.nan)
        solution = self.solve(used, loose)
        for _ in range(MOST_PINNED):
            here, there = solution.amounts[of], solution.amounts[to]
            most = np.maximum(bends * ratio, SURE_SHARE) * loose
            bent = here - ratio * there
            over = (to >= 0) & np.isnan(pinned) & (np.abs(bent) > 1.05 * most * there + 3.0)
            if not over.any():
                break
            pinned[over] = np.maximum(ratio + np.sign(bent) * most, 0.0)[over]
            solution = self.solve(used, loose, pinned)
        return solution

    def solve(
        self, used: NDArray[np.intp], loose: float = 1.0, pinned: Array | None = None
    ) -> Solution:
        """The best amounts of the columns `used`; ties bend `loose` times as far as usual."""
        used = np.asarray(np.unique(used))
        plain, right = self._equations(used, loose, pinned)
        scale = 1 / np.sqrt(np.maximum(np.diag(plain), 1e-12))
        normal = plain * scale[:, None] * scale[None, :]
        normal[np.diag_indices_from(normal)] += RIDGE
        found = not_below_zero(normal, right * scale, self._active[used]) * scale
        self._active[used] = found > 0
        amounts = np.zeros(len(self.columns))
        amounts[used] = found
        of, to, ratio, bends = self._tied
        numbers = (to < 0) & np.isin(of, used)
        constant = float(np.sum((ratio[numbers] / (bends[numbers] * loose)) ** 2))
        misfit = self.total + constant - 2 * right @ found + found @ plain @ found
        return Solution(amounts, float(misfit), used)

    def model(self, solution: Solution, *roles: Role) -> Array:
        """Counts (n,) of a solution, of some roles only when they are named."""
        amounts = solution.amounts
        if roles:
            amounts = np.where([c.role in roles for c in self.columns], amounts, 0.0)
        return np.asarray(self.matrix @ amounts)

    def uncertainty(
        self, solution: Solution, loose: float = 1.0, also: Iterable[int] = ()
    ) -> Array:
        """Standard uncertainties (m,) of the amounts, overlaps and ties included.

        0 where nothing is, except for the columns that are to be told `also`.
        """
        active = np.union1d(
            solution.used[solution.amounts[solution.used] > 0], np.array([*also], dtype=np.intp)
        )
        normal, _ = self._equations(active, loose)
        scale = 1 / np.sqrt(np.maximum(np.diag(normal), 1e-12))
        normal = normal * scale[:, None] * scale[None, :]
        normal[np.diag_indices_from(normal)] += RIDGE
        inverse = cho_solve(cho_factor(normal, lower=True), np.eye(len(active)))
        found = np.zeros(len(self.columns))
        found[active] = np.sqrt(np.maximum(np.diag(inverse), 0)) * scale
        return found

    def in_sigma(self, residual: Array, column: int) -> float:
        """How many σ of a column's shape stand in what is left of the counts (n,)."""
        return float(
            self.matrix[:, column]
            @ (self.weights * residual)
            / np.sqrt(max(self.normal[column, column], 1e-12))
        )

    def expected_sigma(self, column: int, amount: float) -> float:
        """How many σ an amount of a column would stand above everything else."""
        return float(amount * np.sqrt(self.normal[column, column]))


@dataclass(slots=True)
class Fit:
    """A sum of columns and the elements chosen so far."""

    total: Sum
    chosen: set[str]
    _sources: tuple[tuple[int, str], ...] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        """Which element each column goes with, '' if it is always there; lone sums are left out."""
        columns = self.total.columns
        follows = {
            tie.of: columns[tie.to]
            for tie in self.total.ties
            if tie.to >= 0 and columns[tie.of].role in (Role.TAIL, Role.ESCAPE)
        }
        parents = ((n, follows.get(n, c)) for n, c in enumerate(columns) if c.role != Role.PAIR)
        self._sources = tuple((n, c.owner if c.role == Role.OBJECT else "") for n, c in parents)

    def columns(self, elements: Iterable[str]) -> NDArray[np.intp]:
        """Columns of some elements, of what the detector makes of them, and of all surroundings."""
        names = {"", *elements}
        return np.array([n for n, owner in self._sources if owner in names], dtype=np.intp)

    def solve(self, elements: Iterable[str], loose: float = 1.0) -> Solution:
        return self.total.solve(self.columns(elements), loose)
