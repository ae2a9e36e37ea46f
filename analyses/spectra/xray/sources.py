"""What may have sent the counts: the object's elements, and all that is not the object's."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.signal import fftconvolve
from scipy.special import ndtr

from analyses.spectra.curve import Array
from analyses.spectra.xray.detector import OWN_LINES, TO_FWHM, detected_share, escape_share
from analyses.spectra.xray.fit import Column, Role, Scale, Solution, Sum, Tie
from analyses.spectra.xray.lines import CONSIDERED, Family, Group, Line, families
from analyses.spectra.xray.settings import XraySettings

STRETCH = 6.0  # full widths from knot to knot of the background's correction
BACKGROUND_BENDS = 0.2
EDGE_BENDS = 0.8  # of proportions across an edge of an element that abounds
SCATTERED_FROM_KEV = 5.0  # below, a line scattered by electrons cannot be told from itself
COMPTON_BROADER = 0.02  # of the energy: motion of the electrons, spread of angles (from memory)
ELECTRON_KEV = 511.0
TAIL, ESCAPE_BENDS = 0.01, 0.35
MOST_STRONG = 8  # lines whose sums are thought of singly
PAIRED = 1.5  # how many times oftener one pair may be counted together than all pairs are
LEAST_PAIRED = 0.001  # share of all photons counted with another that is never ruled out
STRONG = 3000.0  # counts from which tails and escape are thought of
SOFT_SLACK = {
    "xrf": 2.0,
    "sem_edx": 5.0,
}  # trust in what the families of one element tell of another


@dataclass(frozen=True, slots=True)
class Bench:
    """A spectrum made ready: counts (n,) on a scale, the background first taken, weights."""

    settings: XraySettings
    scale: Scale
    counts: Array
    base: Array

    @property
    def top_kev(self) -> float:
        return float(min(self.scale.edges_kev[-1], self.settings.voltage_kv))

    def families(self, symbol: str) -> tuple[Family, ...]:
        return families(symbol, self.settings, self.top_kev)


@dataclass(frozen=True, slots=True)
class Calibration:
    """How far lines stand from where the tables have them: what is added to true energies."""

    offset_kev: float = 0.0
    gain: float = 0.0
    refused: bool = False

    def observed(self, energy_kev: float) -> float:
        """The place on the curve's own axis of a true energy."""
        return energy_kev if self.refused else (energy_kev + self.offset_kev) / (1 - self.gain)


class Columns:
    """Columns and their ties while they are being gathered.

    `edges_kev` are absorption edges of what the object is rich in: lines on both sides of one leave
    the object in another proportion than they arise in.
    """

    def __init__(self, bench: Bench, edges_kev: Sequence[float] = ()) -> None:
        self.bench, self.edges_kev = bench, edges_kev
        self.columns: list[Column] = []
        self.ties: list[Tie] = []

    def add(self, column: Column) -> int:
        self.columns.append(column)
        return len(self.columns) - 1

    def whole(self, family: Family, role: Role = Role.OBJECT) -> None:
        """A family in fixed proportion, as one column."""
        lines = [line for group in family.groups for line in group.lines]
        first = family.groups[0]
        shape = self.bench.scale.shape(lines)
        self.add(
            Column(family.element, role, family.label, first.energy_kev, shape, first, family.shell)
        )

    def split(self, family: Family, role: Role = Role.OBJECT, bends: float = 1.0) -> None:
        """A family group by group, tied; `bends` multiplies how far."""
        first = -1
        for group in family.groups:
            share = group.share
            lines = [Line(line.name, line.energy_kev, line.share / share) for line in group.lines]
            label = f"{family.element} {group.name}"
            shape = self.bench.scale.shape(lines)
            at = self.add(
                Column(family.element, role, label, group.energy_kev, shape, group, family.shell)
            )
            if first < 0:
                first = at
            else:
                base = family.groups[0]
                most = min(group.bends * bends, 1.0)
                if self._absorbed_apart(base.energy_kev, group.energy_kev):
                    most = max(most, EDGE_BENDS)
                self.ties.append(Tie(at, first, share / base.share, most))

    def _absorbed_apart(self, one_kev: float, other_kev: float) -> bool:
        low, high = sorted((one_kev, other_kev))
        return any(low < edge < high for edge in self.edges_kev)

    def background(self) -> None:
        scale, base = self.bench.scale, np.maximum(self.bench.base, 0.03)
        energies = scale.energies_kev
        widths = np.concatenate(([0.0], np.cumsum(np.diff(energies) / scale.fwhm[1:])))
        knots = np.linspace(0, widths[-1], max(round(widths[-1] / STRETCH), 1) + 1)
        for n, knot in enumerate(knots):
            hat = np.interp(widths, knots, np.eye(len(knots))[n])
            middle = float(np.interp(knot, widths, energies))
            at = self.add(Column("background", Role.BACKGROUND, "background", middle, hat * base))
            self.ties.append(Tie(at, -1, 1.0, BACKGROUND_BENDS))
        for edge in self.edges_kev:
            if energies[0] < edge < energies[-1]:
                self._step(edge, base)

    def _step(self, edge_kev: float, base: Array) -> None:
        """The background drops where an element that abounds begins to absorb it."""
        scale = self.bench.scale
        width = scale.fwhm_at(edge_kev)
        off = (scale.energies_kev - edge_kev) / width
        shape = base * ndtr(-TO_FWHM * off) * np.clip(1 + off / STRETCH, 0, 1)
        if shape.sum() > 0:
            at = self.add(Column("background", Role.BACKGROUND, "edge", edge_kev, shape))
            self.ties.append(Tie(at, -1, 0.0, BACKGROUND_BENDS))

    def surroundings(self) -> None:
        """Lines of the tube, the air, the coating and the instrument."""
        settings = self.bench.settings
        if settings.by_photons and settings.anode:
            for family in self.bench.families(settings.anode):
                self.split(family, Role.TUBE, bends=2.5)
                self._scattered(family)
        if settings.by_photons and settings.atmosphere == "air":
            for family in self.bench.families("Ar"):
                self.split(family, Role.AIR)
        for role, symbols in (
            (Role.COATING, settings.coating),
            (Role.INSTRUMENT, settings.instrument),
        ):
            for symbol in symbols:
                for family in self.bench.families(symbol):
                    self.split(family, role)

    def _scattered(self, family: Family) -> None:
        """A tube's lines after Compton scattering, for each angle (Compton, 1923)."""
        angle = self.bench.settings.scatter_angle_deg
        angles = np.arange(70.0, 151.0, 10.0) if angle is None else angle + np.array([-8.0, 0, 8.0])
        lines = [
            line
            for group in family.groups
            for line in group.lines
            if line.energy_kev > SCATTERED_FROM_KEV and line.share > 0.01
        ]
        if not lines:
            return
        total = sum(line.share for line in lines)
        for at in angles:
            loss = (1 - np.cos(np.radians(at))) / ELECTRON_KEV
            moved = [
                Line(line.name, line.energy_kev / (1 + line.energy_kev * loss), line.share / total)
                for line in lines
            ]
            broader = COMPTON_BROADER * moved[0].energy_kev
            shape = self.bench.scale.shape(moved, broader)
            label = f"{family.label}, scattered by electrons"
            self.add(Column(family.element, Role.SCATTER, label, moved[0].energy_kev, shape))

    def detector_effects(self, before: Sum, solution: Solution) -> None:
        """Escape peaks and tails of strong lines in an earlier solution, and sums of pairs."""
        scale, crystal = self.bench.scale, self.bench.settings.detector
        first: dict[tuple[str, Role, str], int] = {}
        for n, column in enumerate(self.columns):
            if column.group is not None:
                first.setdefault((column.owner, column.role, column.shell), n)
        amounts: dict[tuple[str, Role, str], float] = {}
        for column, amount in zip(before.columns, solution.amounts, strict=True):
            if column.group is not None:
                key = (column.owner, column.role, column.shell)
                amounts[key] = amounts.get(key, 0.0) + float(amount)
        for key, to in list(first.items()):
            total = amounts.get(key, 0.0)
            if total < STRONG:
                continue
            symbol, _, shell = key
            family = next(f for f in self.bench.families(symbol) if f.shell == shell)
            lines = [line for group in family.groups for line in group.lines]
            base_share = family.groups[0].share
            tail = self.add(
                Column(
                    symbol,
                    Role.TAIL,
                    f"tail of {family.label}",
                    lines[0].energy_kev,
                    scale.tail(lines),
                )
            )
            self.ties.append(Tie(tail, to, TAIL / base_share, 1.0))
            escapes = [
                Line(
                    line.name,
                    line.energy_kev - own,
                    line.share * share * escape_share(crystal, round(line.energy_kev * 1000)),
                )
                for line in lines
                for own, share in OWN_LINES[crystal]
                if line.energy_kev - own > self.bench.settings.lowest_kev
            ]
            gone = sum(line.share for line in escapes)
            if gone * total > 10:
                scaled = [Line(e.name, e.energy_kev, e.share / gone) for e in escapes]
                label = f"escape of {family.label}"
                at = self.add(
                    Column(symbol, Role.ESCAPE, label, scaled[0].energy_kev, scale.shape(scaled))
                )
                self.ties.append(Tie(at, to, gone / base_share, ESCAPE_BENDS))
        self._sums(before.model(solution))
        self._pairs(before, solution)

    def _sums(self, model: Array) -> None:
        """Pairs of photons counted as one: the spectrum folded with itself."""
        energies = self.bench.scale.energies_kev
        even = np.linspace(energies[0], energies[-1], len(energies))
        density = np.interp(even, energies, model)
        folded = fftconvolve(density, density)
        places = 2 * even[0] + np.arange(len(folded)) * (even[1] - even[0])
        shape = np.interp(energies, places, folded, left=0.0) * np.gradient(energies)
        if shape.sum() > 0:
            at = float(energies[np.argmax(shape)])
            self.add(Column("sums", Role.SUM, "sum peaks", at, np.maximum(shape / shape.sum(), 0)))

    def _pairs(self, before: Sum, solution: Solution) -> None:
        """Single sums of strong lines: electronics pass some pairs more often than others."""
        sums = float(np.sum(solution.amounts[before.where(Role.SUM)]))
        share = max(sums / float(np.sum(self.bench.counts)), LEAST_PAIRED)
        strong: list[tuple[float, float, str]] = []
        for column, amount in zip(before.columns, solution.amounts, strict=True):
            if column.group is not None and amount > STRONG:
                strong.append((float(amount), column.energy_kev, column.label))
        strong = sorted(strong, reverse=True)[:MOST_STRONG]
        for n, (one, here, name) in enumerate(strong):
            for m, (other, there, its_name) in enumerate(strong[n:]):
                at = here + there
                if at < self.bench.scale.energies_kev[-1]:
                    shape = self.bench.scale.shape([Line("sum", at, 1.0)])
                    label = f"the sum of {name} and {its_name}"
                    column_at = self.add(Column("sums", Role.PAIR, label, at, shape))
                    often = (2 if m else 1) * one * other / self.bench.counts.sum()
                    self.ties.append(Tie(column_at, -1, 0.0, PAIRED * share * often + 1.0))


def apparent(bench: Bench, group: Group, variance: Array) -> tuple[float, float]:
    """The most counts that a group's lines could have, and its σ, all else put aside."""
    share = group.share
    shape = bench.scale.shape(
        Line(line.name, line.energy_kev, line.share / share) for line in group.lines
    )
    worth = float(np.sum(shape**2 / variance))
    if worth <= 0:
        return 0.0, np.inf
    excess = bench.counts - 0.95 * bench.base
    return float(np.sum(shape * excess / variance) / worth), float(1 / np.sqrt(worth))


def excluded(settings: XraySettings) -> frozenset[str]:
    """Elements that cannot be told of the object, because something else sends their lines."""
    own = {settings.anode} if settings.by_photons else set()
    return frozenset(own | set(settings.coating) | set(settings.instrument)) - {""}


def plausible(bench: Bench, symbols: Iterable[str], variance: Array) -> dict[str, list[Family]]:
    """The families that could be there: something stands at the strongest line, and where the
    element would send harder lines as well, something stands there too.
    """
    found: dict[str, list[Family]] = {}
    for symbol in symbols:
        if symbol in excluded(bench.settings) or symbol not in CONSIDERED:
            continue
        most: list[tuple[Family, float]] = []  # harder ones first, counts of the family at most
        kept = []
        for family in bench.families(symbol):
            amount, sigma = apparent(bench, family.groups[0], variance)
            total = max(amount, 0.0) / family.groups[0].share
            limit = min(
                (
                    (counts * family.emits / harder.emits) * SOFT_SLACK[bench.settings.technique]
                    for harder, counts in most
                    if _comes_through(bench, harder)
                ),
                default=np.inf,
            )
            if amount > 1.5 * sigma and limit > 0.1 * total:
                kept.append(family)
            most.append((family, (max(amount, 0.0) + 3 * sigma) / family.groups[0].share))
        if kept:
            found[symbol] = kept
    return found


def _comes_through(bench: Bench, family: Family) -> bool:
    energy = round(family.groups[0].energy_kev * 1000)
    return detected_share(bench.settings, energy) > 0.02
