"""Each element against its rivals: which of its lines decide, and what else could explain them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from analyses.spectra.curve import Array
from analyses.spectra.findings import Certainty
from analyses.spectra.xray.detector import detected_share
from analyses.spectra.xray.fit import Column, Fit, Role, Solution
from analyses.spectra.xray.lines import LESS_USUAL, UNUSUAL, USUAL, Family
from analyses.spectra.xray.sources import SOFT_SLACK, Bench

DECIDES = 5.0  # σ that a line must keep when rivals have taken all they can
ALONE = 15.0  # σ from which one line is enough for an element seldom met
LIKELY_FROM = 4.0  # σ from which an element is more than possible
LOOSE = 3.0  # how many times farther rivals may bend their proportions before a line decides
LIKELY = 12.0  # X² that an element saves against any one rival in its proportions
SELDOM = 24.0  # X² that speaks against an element met more seldom than its rival
RIVAL = 0.2  # share of an element's counts that makes another source its rival
SOFT_FROM = 2.0  # σ from which softer lines call for harder ones
WELL_EXCITED = 2.0  # times its edge: the voltage from which a family should be seen
UNRESOLVED = 0.75  # of a peak's width: lines that near share one peak
HIDES_FROM = 3.0  # σ that it would have there
# Share of a peak's counts that another element could have: from the first on it stays open, below
# the second it is not worth a word.
HIDES, HIDES_LITTLE = 0.15, 0.015
# Elements whose only line lies where edges of what all organic matter has bend the background:
# where that is, and the σ that must be saved to tell them from it.
ON_A_STEP = {
    "N": ("on its step between the edges of carbon and oxygen", np.inf),
    "F": ("on its slope above the edge of oxygen", ALONE),
}
NAMED = (Role.OBJECT, Role.TUBE, Role.SCATTER, Role.AIR, Role.COATING, Role.INSTRUMENT,
         Role.ESCAPE, Role.SUM, Role.PAIR)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Rival:
    """Another source, the line of it that matters, and which share of the counts it could have."""

    column: Column
    share: float

    @property
    def of_object(self) -> bool:
        return self.column.role == Role.OBJECT


@dataclass(frozen=True, slots=True)
class Seen:
    """One group of lines: `net` counts, their σ, and σ expected when nothing lay beside it.

    `decides` when no rival explains it; `missing` when it should be seen and is not; `off` when its
    proportion to the others is wrong; `beneath` the source that has most of the counts there.
    """

    energy_kev: float
    observed_kev: float
    label: str
    net: float
    sigma: float
    expected_sigma: float
    decides: bool = False
    missing: bool = False
    off: bool = False
    beneath: str = ""


@dataclass(frozen=True, slots=True)
class Weighed:
    """An element with its lines and rivals; `strength` is √ of the X² that it saves.

    `lacks` names the harder line that would be seen before those that seem to be, and is not.
    """

    element: str
    certainty: Certainty
    strength: float
    settled: bool
    lines: tuple[Seen, ...]
    rivals: tuple[Rival, ...]
    unusual_rivals: tuple[str, ...] = ()
    against: tuple[str, ...] = ()
    lacks: str = ""

    @property
    def decided(self) -> bool:
        return any(line.decides for line in self.lines)

    @property
    def on_a_step(self) -> bool:
        """Whether the background could pass for it."""
        return self.strength < ON_A_STEP.get(self.element, ("", 0.0))[1]

    @property
    def open(self) -> bool:
        """Whether another source could stand in its place."""
        return self.certainty != Certainty.SURE and bool(self.rivals) and not self.settled

    @property
    def worth_telling(self) -> bool:
        """Whether more speaks for it than a misfit of its neighbours would bring."""
        if not self.lines:
            return False  # all its lines are too soft to be trusted here
        if self.certainty != Certainty.POSSIBLE:
            return True
        if self.element in UNUSUAL:
            return self.decided
        clear = any(line.sigma >= 3 and not line.beneath for line in self.lines)
        return self.strength >= (LIKELY_FROM if clear else DECIDES)

    def doubted(self) -> "Weighed":
        """The same on an energy axis that is not to be trusted."""
        return replace(
            self,
            certainty=Certainty.POSSIBLE,
            against=(
                *self.against,
                "The energy axis is off; calibrate it before trusting any line.",
            ),
        )


@dataclass(frozen=True, slots=True)
class Lurking:
    """An element that could hide beneath another source's peak, up to a share of its counts."""

    element: str
    column: Column
    beneath: Column
    share: float

    @property
    def much(self) -> bool:
        return self.share >= HIDES


def weigh(bench: Bench, fit: Fit, solution: Solution, element: str) -> Weighed:
    """An element of the fit against all that could stand in its place."""
    total = fit.total
    saved = max(fit.solve(fit.chosen - {element}).misfit - solution.misfit, 0.0)
    absent = {c.owner for c in total.columns if c.role == Role.OBJECT} - fit.chosen
    usual = {one for one in absent if one in USUAL}
    usual, bent = _best_without(bench, fit, solution, element, usual)
    rest = (fit.chosen - {element}) | usual
    left = total.counts - total.model(bent)
    clusters = _clusters(bench, fit, solution, element)
    deciding = [
        cluster
        for cluster in clusters
        if cluster.expected_sigma >= DECIDES and _in_sigma(fit, left, cluster.shape) >= DECIDES
    ]
    rivals = _rivals(fit, solution, bent, element)
    strange = _strange_rivals(bench, fit, solution, rest, absent & set(UNUSUAL), deciding)
    lines = _lines(bench, fit, solution, element, clusters, deciding)
    strength = float(np.sqrt(saved))
    clear = any(line.sigma >= LIKELY_FROM and not line.beneath for line in lines)
    strongest = max(lines, key=lambda line: line.expected_sigma, default=None)
    clearly = any(line.sigma >= DECIDES and not line.beneath for line in lines)
    covered = strongest is not None and bool(strongest.beneath) and not clearly
    missing = [line for line in lines if line.missing]
    off = [line for line in lines if line.off]
    against_rivals = _against_rivals(fit, solution, element, usual)
    unusual = element in UNUSUAL
    decided = len(deciding) >= (2 if unusual else 1) and not strange
    seldom = unusual and len(deciding) < 2 and strength < ALONE
    named = tuple(r for r in rivals if r.column.role in NAMED)
    # A commoner element of the object in its place is the better reading.
    rarer = element in LESS_USUAL and any(
        rival.of_object and rival.share > 0.5 and rival.column.owner not in LESS_USUAL
        for rival in rivals
    )
    paired = any(rival.column.role == Role.PAIR and rival.share > 0.5 for rival in rivals)
    if decided and strength >= DECIDES and not missing and not off:
        certainty = Certainty.SURE
    elif (
        strength >= LIKELY_FROM
        and not missing
        and not seldom
        and (deciding or not (rarer or covered))
        and (deciding or (not paired and clear and against_rivals >= LIKELY and not unusual))
    ):
        certainty = Certainty.LIKELY
    else:
        certainty = Certainty.POSSIBLE
    against = []
    for line in missing:
        against.append(
            f"{line.label} should stand at {line.energy_kev:.2f} keV with about "
            f"{line.expected_sigma:.0f} σ, and is not there."
        )
    for line in off:
        against.append(f"{line.label} does not keep its proportion to the other lines.")
    if element == "C" and not bench.settings.by_photons:
        certainty = Certainty.POSSIBLE
        against.append("Embedding resin, adhesive and the beam's own deposits give carbon as well.")
    return Weighed(
        element,
        certainty,
        strength,
        bool(deciding) or not named,
        lines,
        named,
        strange,
        tuple(against),
        lacks(bench, fit, solution, element),
    )


def _rivals(fit: Fit, now: Solution, bent: Solution, element: str) -> tuple[Rival, ...]:
    """Who takes the counts of an element when it is left out, most first."""
    total = fit.total
    own = total.of(element)
    signal = total.matrix[:, own] @ now.amounts[own]
    weighted = total.weights * signal
    worth = float(weighted @ signal)
    if worth <= 0:
        return ()
    gained = np.clip(bent.amounts - now.amounts, 0, None)
    gained[own] = 0
    shares = gained * (weighted @ total.matrix) / worth
    by_owner: dict[tuple[str, Role], list[int]] = {}
    for n in np.flatnonzero(shares > 0.01):
        by_owner.setdefault((total.columns[n].owner, total.columns[n].role), []).append(int(n))
    rivals = [
        Rival(total.columns[max(places, key=lambda n: shares[n])], float(shares[places].sum()))
        for places in by_owner.values()
    ]
    return tuple(
        sorted((r for r in rivals if r.share >= RIVAL), key=lambda rival: -rival.share)[:3]
    )


@dataclass(frozen=True, slots=True)
class Cluster:
    """Groups of one family that stand within half a peak's width: told only together.

    `shape` (n,) holds one count; `expected` counts, from the family's amount and its proportions.
    """

    column: Column
    shape: Array
    fitted: float
    expected: float
    expected_sigma: float
    bends: float
    first: bool


def _clusters(bench: Bench, fit: Fit, solution: Solution, element: str) -> list[Cluster]:
    total = fit.total
    places: list[list[int]] = []
    strongest: dict[str, float] = {}
    for n in (int(n) for n in total.of(element)):
        column = total.columns[n]
        if strongest.setdefault(column.shell, column.energy_kev) < bench.settings.lowest_kev:
            continue
        near = 0.5 * bench.scale.fwhm_at(column.energy_kev)
        for place in places:
            head = total.columns[place[0]]
            if head.shell == column.shell and abs(head.energy_kev - column.energy_kev) < near:
                place.append(n)
                break
        else:
            places.append([n])
    found = []
    bases: dict[str, float] = {}
    bends = {tie.of: tie.bends for tie in total.ties if tie.to >= 0}
    for place in places:
        head = total.columns[place[0]]
        share = sum(_share(total.columns[n]) for n in place)
        fitted = float(sum(solution.amounts[n] for n in place))
        shape = sum(_share(total.columns[n]) * total.matrix[:, n] for n in place) / share
        first = head.shell not in bases
        base = bases.setdefault(head.shell, fitted / share)
        expected = base * share
        assert head.group is not None
        found.append(
            Cluster(
                head,
                np.asarray(shape),
                fitted,
                expected,
                float(expected * np.sqrt(np.sum(total.weights * shape**2))),
                max(bends.get(n, 0.0) for n in place if _share(total.columns[n]) > 0.2 * share),
                first,
            )
        )
    return found


def _best_without(
    bench: Bench, fit: Fit, solution: Solution, element: str, absent: set[str]
) -> tuple[set[str], Solution]:
    """The best that all others can do, and which of the `absent` may credibly take part.

    Those that would have to show harder lines as well, which are not there, are put aside.
    """
    total = fit.total
    left = total.counts - total.model(solution)
    while True:
        columns = fit.columns((fit.chosen - {element}) | absent)
        bent = total.solve_within(np.concatenate([columns, total.where(Role.PAIR)]), LOOSE)
        refuted = {one for one in absent if _refuted(bench, fit, bent, one, left)}
        if not refuted:
            return absent, bent
        absent = absent - refuted


def _refuted(bench: Bench, fit: Fit, bent: Solution, element: str, left: Array) -> bool:
    """Whether the softer lines given to an element call for harder ones that are not there."""
    total = fit.total
    amounts: dict[str, float] = {}
    for n in total.of(element):
        shell = total.columns[n].shell
        amounts[shell] = amounts.get(shell, 0.0) + float(bent.amounts[n])
    kinds = bench.families(element)
    slack = SOFT_SLACK[bench.settings.technique]
    worths = [float(np.sqrt(np.sum(total.weights * shape**2))) for shape in _heads(bench, kinds)]
    for n, (harder, shape) in enumerate(zip(kinds, _heads(bench, kinds), strict=True)):
        over = max(_in_sigma(fit, left, shape), 0.0)
        own = amounts.get(harder.shell, 0.0) * worths[n]
        well = over + own < 3 and _well_excited(bench, harder)
        for softer, worth in zip(kinds[n + 1 :], worths[n + 1 :], strict=True):
            soft = amounts.get(softer.shell, 0.0)
            called_for = soft * harder.emits / softer.emits / slack
            if called_for * worths[n] > 3.0 + over + own or (well and soft * worth >= DECIDES):
                return True
    return False


def _heads(bench: Bench, kinds: Sequence[Family]) -> list[Array]:
    return [bench.scale.shape(family.groups[0].lines) for family in kinds]


def _well_excited(bench: Bench, family: Family) -> bool:
    """Whether a family is seen before the softer ones of its element: excited, and let through."""
    passes = detected_share(bench.settings, round(family.groups[0].energy_kev * 1000)) > 0.05
    return passes and bench.settings.voltage_kv >= WELL_EXCITED * family.edge_kev


def lacks(bench: Bench, fit: Fit, solution: Solution, element: str) -> str:
    """The strongest line of the hardest family that this voltage excites well, if softer lines are
    seen and it is not.
    """
    total = fit.total
    left = total.counts - total.model(solution)
    lacking, standing = "", 0.0
    for family in bench.families(element):
        own = [int(n) for n in total.of(element) if total.columns[n].shell == family.shell]
        shape = bench.scale.shape(family.groups[0].lines)
        amount = float(sum(solution.amounts[own]))
        net = amount * np.sqrt(np.sum(total.weights * shape**2)) + _in_sigma(fit, left, shape)
        if lacking and net > max(standing, SOFT_FROM):
            return lacking
        if not lacking and net >= LIKELY_FROM:
            return ""
        if not lacking and _well_excited(bench, family):
            lacking = f"{family.label} at {family.groups[0].energy_kev:.2f} keV"
        standing = max(standing, net)
    return ""


def _share(column: Column) -> float:
    assert column.group is not None
    return column.group.share


def _in_sigma(fit: Fit, left: Array, shape: Array) -> float:
    """How many σ of a shape (n,) stand in what is left of the counts (n,)."""
    weighted = fit.total.weights * shape
    return float(weighted @ left / np.sqrt(max(float(weighted @ shape), 1e-12)))


def _against_rivals(fit: Fit, solution: Solution, element: str, absent: set[str]) -> float:
    """X² that an element saves against the best single one of the `absent` in its place.

    One that is met more seldom is held to be worth `SELDOM` less.
    """
    total = fit.total
    own = total.of(element)
    best = fit.solve(fit.chosen - {element}).misfit
    main = max(own, key=lambda n: total.expected_sigma(int(n), float(solution.amounts[n])))
    rest = fit.columns(fit.chosen - {element})
    for rival in absent:
        like = [
            n
            for n in total.of(rival)
            if total.normal[n, main] > 0.4 * np.sqrt(total.normal[n, n] * total.normal[main, main])
        ]
        if like:
            # Only the families that stand there: others would be paid for misfits elsewhere.
            shells = {total.columns[n].shell for n in like}
            own_of = [n for n in total.of(rival) if total.columns[n].shell in shells]
            misfit = total.solve(np.concatenate([rest, own_of])).misfit
            rarer = (rival in LESS_USUAL) - (element in LESS_USUAL)
            best = min(best, misfit + SELDOM * rarer)
    return max(best - solution.misfit, 0.0)


def _strange_rivals(
    bench: Bench,
    fit: Fit,
    solution: Solution,
    rest: set[str],
    strangers: set[str],
    deciding: Sequence[Cluster],
) -> tuple[str, ...]:
    """Elements seldom met that would explain all deciding lines by themselves."""
    if not deciding:
        return ()
    total = fit.total
    now = total.counts - total.model(solution)
    found = []
    for stranger in sorted(strangers):
        columns = total.of(stranger)
        near = max(
            float(total.matrix[:, n] @ (total.weights * cluster.shape))
            / np.sqrt(total.normal[n, n] * float(total.weights @ cluster.shape**2))
            for n in columns
            for cluster in deciding
        )
        if near < 0.5:
            continue
        tried = total.solve_within(fit.columns(rest | {stranger}), LOOSE)
        left = total.counts - total.model(tried)
        explains = all(_in_sigma(fit, left, cluster.shape) < DECIDES - 1 for cluster in deciding)
        if explains and not _refuted(bench, fit, tried, stranger, now):
            found.append(stranger)
    return tuple(found)


def _lines(
    bench: Bench,
    fit: Fit,
    solution: Solution,
    element: str,
    clusters: Sequence[Cluster],
    deciding: Sequence[Cluster],
) -> tuple[Seen, ...]:
    """What each of an element's lines shows by itself, all else as in the fit."""
    total = fit.total
    left = total.counts - total.model(solution)
    seen = []
    for cluster in clusters:
        if cluster.expected_sigma < 1 and not cluster.first:
            continue
        weighted = total.weights * cluster.shape
        sigma = 1 / np.sqrt(max(float(weighted @ cluster.shape), 1e-12))
        net = cluster.fitted + float(weighted @ left) * sigma**2
        beneath, most = _beneath(fit, solution, cluster, element)
        # What lies beneath may be wrong by its own proportions.
        unsure = float(np.hypot(sigma, 0.15 * most))
        could_tell = (
            not cluster.first and cluster.bends < 0.5 and cluster.expected >= DECIDES * unsure
        )
        apart = abs(net - cluster.expected) / float(
            np.hypot(unsure, cluster.bends * cluster.expected)
        )
        seen.append(
            Seen(
                cluster.column.energy_kev,
                _observed(bench, left, cluster),
                cluster.column.label,
                float(net),
                float(net / sigma),
                cluster.expected_sigma,
                cluster in deciding,
                could_tell and net < 0.25 * cluster.expected,
                could_tell and apart > 3,
                beneath if most > max(net, cluster.expected) else "",
            )
        )
    return tuple(seen)


def _observed(bench: Bench, left: Array, cluster: Cluster) -> float:
    """The middle of what stands at a line when all other sources are taken away, keV.

    Weighting by the expected shape keeps neighbours' leftovers away; the shift that it shows is
    half of the true one, as for any Gaussian weight of the peak's own width.
    """
    energies, shape = bench.scale.energies_kev, cluster.shape
    weight = np.clip(left + cluster.fitted * shape, 0, None) * shape
    if cluster.fitted <= 0 or weight.sum() <= 0:
        return cluster.column.energy_kev
    middle = float((weight * energies).sum() / weight.sum())
    plain = float((shape**2 * energies).sum() / (shape**2).sum())
    return cluster.column.energy_kev + 2 * (middle - plain)


def _beneath(fit: Fit, solution: Solution, cluster: Cluster, element: str) -> tuple[str, float]:
    """The foremost other source at a line, and the counts that it would pass for."""
    total = fit.total
    parts: dict[str, tuple[float, str]] = {}
    scale = float(cluster.shape @ cluster.shape)
    for n in solution.used:
        other = total.columns[n]
        if other.role not in NAMED or (other.owner == element and other.role == Role.OBJECT):
            continue
        counts = float(solution.amounts[n] * (other.shape @ cluster.shape)) / scale
        if counts > parts.get(other.owner, (0.0, ""))[0]:
            parts[other.owner] = counts, source(other)
    most = max(parts.values(), default=(0.0, ""))
    return most[1], most[0]


def source(column: Column) -> str:
    """A source of counts as a reader would call it."""
    match column.role:
        case Role.TUBE:
            return f"{column.label} of the tube"
        case Role.AIR:
            return f"{column.label} of the air"
        case Role.COATING:
            return f"{column.label} of the coating"
        case Role.INSTRUMENT:
            return f"{column.label} of the instrument"
        case Role.SUM:
            return "a sum of two photons counted as one"
        case _:
            return column.label


def hidden(
    bench: Bench, fit: Fit, solution: Solution, weighed: Sequence[Weighed]
) -> tuple[Lurking, ...]:
    """Usual elements that are not needed, yet could have much of a peak given to another."""
    total = fit.total
    found = []
    told = {
        (one.element, rival.column.owner) for one in weighed if one.open for rival in one.rivals
    }
    absent = {c.owner for c in total.columns if c.role == Role.OBJECT} - fit.chosen
    big = [
        n
        for n in solution.used
        if total.columns[n].role in NAMED
        and total.expected_sigma(n, float(solution.amounts[n])) >= 2 * DECIDES
    ]
    for element in sorted(absent & set(USUAL)):
        own = [int(n) for n in total.of(element)]
        heads = {total.columns[n].shell: n for n in reversed(own)}.values()
        column = max(heads, key=lambda n: _overlap(bench, fit, solution, n, big)[0])
        beside, over = _overlap(bench, fit, solution, column, big)
        if over is None or (over.owner, element) in told:
            continue
        tried = fit.solve(fit.chosen | {element}, LOOSE)
        if _refuted(bench, fit, tried, element, total.counts - total.model(solution)):
            continue
        spread = total.uncertainty(tried, LOOSE, [int(n) for n in own])
        group = total.columns[column].group
        assert group is not None
        most = (float(tried.amounts[column]) + 2 * float(spread[column])) * group.share
        if most < HIDES_LITTLE * beside:
            continue
        if total.expected_sigma(column, most / group.share) < HIDES_FROM:
            continue
        found.append(Lurking(element, total.columns[column], over, min(most / beside, 1.0)))
    return tuple(found)


def _overlap(
    bench: Bench, fit: Fit, solution: Solution, column: int, big: Sequence[int]
) -> tuple[float, Column | None]:
    """Counts of strong lines that stand where an element's strongest does, and the foremost."""
    total = fit.total
    here = total.columns[column]
    near = UNRESOLVED * bench.scale.fwhm_at(here.energy_kev)
    share = _share(here)
    scale = float(here.shape @ here.shape) / share
    best, most, whole = None, 0.0, 0.0
    for n in big:
        other = total.columns[n]
        if abs(other.energy_kev - here.energy_kev) > near:
            continue
        counts = float(solution.amounts[n] * (other.shape @ here.shape)) / scale
        whole += counts
        if counts > most:
            best, most = other, counts
    return whole, best
