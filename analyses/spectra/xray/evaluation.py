"""From a spectrum to the elements that it shows: fit, choose, weigh each against its rivals."""

from collections.abc import Set as AbstractSet
from dataclasses import replace

import numpy as np

from analyses.spectra.curve import Array, Axis, Curve
from analyses.spectra.findings import Evaluation
from analyses.spectra.xray import telling
from analyses.spectra.xray.background import background
from analyses.spectra.xray.detector import USUAL_FWHM_EV, noise_kev2
from analyses.spectra.xray.fit import Fit, Role, Scale, Solution, Sum
from analyses.spectra.xray.lines import LESS_USUAL, UNUSUAL, USUAL, Family, Group, edges_kev
from analyses.spectra.xray.settings import XraySettings
from analyses.spectra.xray.sources import Bench, Calibration, Columns, plausible
from analyses.spectra.xray.weighing import Weighed, hidden, lacks, weigh

METHOD, VERSION = "X-ray elements", "3"
WIDTHS_EV = (124.0, 140.0, 158.0, 180.0)  # tried when the resolution is not known
FAR_APART_KEV = 2.0  # strong lines of the object, to tell a gain from an offset
LARGEST_OFFSET_KEV, LARGEST_GAIN = 0.030, 0.005  # a greater departure calls for calibration
# What the shapes of peaks, the energy axis and the background are trusted to.
SHAPE_ERROR, PLACE_ERROR_KEV, BACKGROUND_ERROR = 0.012, 0.0015, 0.01
KEEP = 9.0  # X² that an element must save to stay in the fit
TAKE_USUAL, TAKE_UNUSUAL = 16.0, 36.0  # X² that another must save to be taken in
LESS_USUAL_COSTS = 12.0  # the same, besides, for elements that are less usual
ALIKE = 0.45  # of a peak's width: nearer than that, two lines may be taken for each other
DISPUTED = 0.15  # of a line's counts that another one beside it has: it tells no place
MOST_TAKEN_IN = 30
ABUNDANT = 12.0  # σ from which an element's own absorption bends the proportions of others
CALIBRATE_FROM, CALIBRATE_ABOVE_KEV = 20.0, 0.9  # σ and place of lines used for the energy axis


def evaluate(curve: Curve, settings: XraySettings) -> Evaluation:
    """Which elements a spectrum shows, how surely, and what cannot be told apart.

    `curve` in keV and counts, from below the lowest line to be found. Raises ValueError, saying
    what to do, for other units, negative counts or too few channels.
    """
    bench, remarks = _ready(curve, settings)
    bench, total, solution = _first(bench)
    bench, calibration = _calibrated(bench, total, solution)
    if calibration.offset_kev or calibration.gain:
        total = _all_families(bench, None)
    fit = _chosen(bench, total)
    fit, solution = _settled(bench, fit)
    aside: list[Weighed] = []
    while refuted := [one for one in sorted(fit.chosen) if lacks(bench, fit, solution, one)]:
        aside += [weigh(bench, fit, solution, element) for element in refuted]
        fit.chosen -= set(refuted)
        _take_in(fit, {one.element for one in aside})
        solution = fit.solve(fit.chosen)
    weighed = [weigh(bench, fit, solution, element) for element in sorted(fit.chosen)]
    weighed = [one for one in weighed if one.worth_telling]
    lurking = hidden(bench, fit, solution, weighed)
    if calibration.refused:
        weighed = [one.doubted() for one in weighed]
    return telling.tell(
        METHOD,
        VERSION,
        bench,
        fit.total,
        solution,
        weighed,
        aside,
        lurking,
        calibration,
        remarks,
        _whole_background(curve, bench, fit.total, solution),
    )


def _ready(curve: Curve, settings: XraySettings) -> tuple[Bench, list[str]]:
    if curve.x_unit != Axis.ENERGY:
        raise ValueError(
            "An X-ray spectrum needs an energy axis in keV; choose the unit of its columns."
        )
    if (curve.y < 0).any():
        raise ValueError(
            "Counts below zero: give the spectrum as it was counted, background and all."
        )
    steps = np.diff(curve.x) / 2
    edges = np.concatenate(
        ([curve.x[0] - steps[0]], (curve.x[:-1] + curve.x[1:]) / 2, [curve.x[-1] + steps[-1]])
    )
    first = int(np.searchsorted(curve.x, settings.lowest_kev - 0.1))
    last = int(np.searchsorted(curve.x, settings.voltage_kv * 1.03))
    if last - first < 50:
        raise ValueError(
            "Fewer than 50 channels lie between the lowest line and the voltage: check the energy "
            "axis and the voltage."
        )
    counts, remarks = curve.y[first:last].astype(float), []
    if np.abs(counts - np.round(counts)).max() > 0.01:
        unit = _count(counts)
        counts = counts / unit
        remarks.append(
            "The values are not whole counts; their scatter was taken for that of counting, one "
            f"count being about {unit:.3g}."
        )
    if counts.sum() < 200:
        raise ValueError("The spectrum holds fewer than 200 counts: too few to tell elements.")
    fwhm = settings.fwhm_mn_ev or USUAL_FWHM_EV
    scale = Scale(edges[first : last + 1], settings.detector, noise_kev2(settings.detector, fwhm))
    return _on(settings, scale, counts), remarks


def _count(values: Array) -> float:
    """What one count is worth in values whose variance is that of counting."""
    bend = values[2:] - 2 * values[1:-1] + values[:-2]
    level = np.convolve(values, np.ones(3) / 3, "valid")
    some = level > 0
    return float(np.median(bend[some] ** 2 / (6 * level[some])) / 0.455) or 1.0


def _on(settings: XraySettings, scale: Scale, counts: Array) -> Bench:
    return Bench(settings, scale, counts, background(scale.energies_kev, counts, scale.fwhm))


def _variance(bench: Bench, total: Sum | None = None, solution: Solution | None = None) -> Array:
    """Of the counts (n,): counting, and what the shapes of peaks are not trusted to."""
    if total is None or solution is None:
        level = np.convolve(bench.counts, np.ones(5) / 5, "same")
        return np.asarray(
            np.maximum(level, 1.0) + (3 * SHAPE_ERROR * np.maximum(level - bench.base, 0)) ** 2
        )
    whole, flat = total.model(solution), total.model(solution, Role.BACKGROUND)
    peaks = whole - flat
    slope = np.gradient(peaks, bench.scale.energies_kev)
    return np.asarray(
        np.maximum(whole, 1.0)
        + (SHAPE_ERROR * peaks) ** 2
        + (PLACE_ERROR_KEV * slope) ** 2
        + (BACKGROUND_ERROR * flat) ** 2
    )


def _all_families(bench: Bench, variance: Array | None) -> Sum:
    """All that the usual elements and the surroundings could send, each family in one piece."""
    variance = _variance(bench) if variance is None else variance
    columns = Columns(bench)
    columns.background()
    columns.surroundings()
    for found in plausible(bench, USUAL, variance).values():
        for family in found:
            columns.whole(family)
    return Sum(columns.columns, columns.ties, bench.counts, variance)


def _first(bench: Bench) -> tuple[Bench, Sum, Solution]:
    """A first solution; tries some resolutions when none is known."""
    tried = []
    known = bench.settings.fwhm_mn_ev
    for width in WIDTHS_EV if known is None else (known,):
        noise = noise_kev2(bench.settings.detector, width)
        other = _on(bench.settings, replace(bench.scale, noise_kev2=noise), bench.counts)
        total = _all_families(other, None)
        tried.append((other, total, total.solve(np.arange(len(total.columns)))))
    return min(tried, key=lambda one: one[2].misfit)


def _calibrated(bench: Bench, total: Sum, solution: Solution) -> tuple[Bench, Calibration]:
    """The energy axis and the widths mended by the strongest lines, in three small steps."""
    offset = gain = 0.0
    scale = bench.scale
    for _ in range(3):
        step = _step(bench, scale, total, solution, offset, gain)
        if step is None:
            return bench, Calibration()
        offset, gain = offset + step[0], gain + step[1]
        if abs(offset) > LARGEST_OFFSET_KEV or abs(gain) > LARGEST_GAIN:
            return bench, Calibration(offset, gain, refused=True)
        scale = Scale(
            bench.scale.edges_kev * (1 - gain) - offset,
            scale.crystal,
            max(scale.noise_kev2 + step[2], 0.0004),
        )
    return _on(bench.settings, scale, bench.counts), Calibration(offset, gain)


def _step(
    bench: Bench, scale: Scale, total: Sum, solution: Solution, offset: float, gain: float
) -> tuple[float, float, float] | None:
    """How much more offset (keV), gain and noise (keV²) would bring the strong lines nearer.

    Offset and gain are held near none by what a spectrometer in order may be off. M lines lie too
    close together, and tables differ too much about them, to tell either or the width; and where
    a peak is shared between two elements, its place only tells how well they were shared.
    """
    strong = [
        n
        for n, column in enumerate(total.columns)
        if column.group is not None
        and column.role in (Role.OBJECT, Role.TUBE, Role.AIR)
        and column.shell != "M"
        and column.energy_kev > CALIBRATE_ABOVE_KEV
        and total.expected_sigma(n, float(solution.amounts[n])) > CALIBRATE_FROM
        and not _disputed(total, solution, n)
    ]
    if not strong:
        return None
    # Each group of a family has an amount of its own here, lest wrong proportions move lines.
    pieces: list[tuple[float, Group]] = []
    for n in strong:
        column, amount = total.columns[n], float(solution.amounts[n])
        if column.role == Role.OBJECT:
            pieces += [
                (amount, group)
                for family in bench.families(column.owner)
                if family.shell == column.shell
                for group in family.groups
            ]
        elif column.group is not None:
            pieces.append((amount / column.group.share, column.group))
    small_kev, small_gain, small_noise = 0.001, 0.0002, 0.0002
    here, moved, stretched, wider = [], [], [], []
    for amount, group in pieces:
        here.append(amount * scale.shape(group.lines))
        moved.append(
            amount * replace(scale, edges_kev=scale.edges_kev - small_kev).shape(group.lines)
        )
        by = scale.edges_kev * (1 - small_gain)
        stretched.append(amount * replace(scale, edges_kev=by).shape(group.lines))
        noise = scale.noise_kev2 + small_noise
        wider.append(amount * replace(scale, noise_kev2=noise).shape(group.lines))
    now = np.sum(here, axis=0)
    rest = total.model(solution) - sum(solution.amounts[n] * total.matrix[:, n] for n in strong)
    design = np.column_stack(
        [
            (np.sum(moved, axis=0) - now) / small_kev,
            (np.sum(stretched, axis=0) - now) / small_gain,
            (np.sum(wider, axis=0) - now) / small_noise,
            *here,
        ]
    )
    root = np.sqrt(total.weights)
    known = bench.settings.fwhm_mn_ev
    # Lines of one place cannot tell a gain from an offset.
    places = [total.columns[n].energy_kev for n in strong if total.columns[n].role == Role.OBJECT]
    tells_gain = len(places) > 1 and float(np.ptp(places)) > FAR_APART_KEV
    expects = np.array([0.008, 0.001 if tells_gain else 1e-5, 0.0015 if known else 0.006])
    priors = np.diag(np.concatenate([1 / expects, np.full(len(here), 2.0)]))
    held = np.zeros(len(priors))
    held[:2] = -offset / expects[0], -gain / expects[1]
    left = np.concatenate([(bench.counts - rest - now) * root, held])
    found = np.linalg.lstsq(np.vstack([design * root[:, None], priors]), left, rcond=None)[0]
    return float(found[0]), float(found[1]), float(found[2])


def _disputed(total: Sum, solution: Solution, column: int) -> bool:
    """Whether the lines of another source have much of the counts at a column's place."""
    here = total.columns[column]
    beside = total.matrix.T @ here.shape / float(here.shape @ here.shape) * solution.amounts
    return any(
        n != column and other.group is not None and beside[n] > DISPUTED * solution.amounts[column]
        for n, other in enumerate(total.columns)
    )


def _distrust(bench: Bench, total: Sum, solution: Solution) -> Array:
    """By how much (n,) the fit is worse than counting allows, within a peak's width; at least 1.

    Where all that is known does not fit, small differences between rivals mean less (Birge,
    Physical Review 40 (1932) 207).
    """
    excess = (total.counts - total.model(solution)) ** 2 / _variance(bench, total, solution)
    widths = np.cumsum(np.gradient(bench.scale.energies_kev) / bench.scale.fwhm)
    sums = np.concatenate(([0.0], np.cumsum(excess)))
    low = np.searchsorted(widths, widths - 1.0)
    high = np.searchsorted(widths, widths + 1.0)
    return np.asarray(np.maximum((sums[high] - sums[low]) / np.maximum(high - low, 1), 1.0))


def _rebuilt(
    bench: Bench, before: Sum, solution: Solution, chosen: set[str], careful: bool = False
) -> Fit:
    """A new sum: the chosen group by group, all others that could be there in one piece each.

    `careful` trusts the counts less where the earlier solution did not fit.
    """
    variance = _variance(bench, before, solution)
    if careful:
        variance = variance * _distrust(bench, before, solution)
    could = plausible(bench, (*USUAL, *UNUSUAL), variance)
    abundant = {
        column.owner
        for n, column in enumerate(before.columns)
        if column.role == Role.OBJECT
        and column.owner in chosen
        and before.expected_sigma(n, float(solution.amounts[n])) > ABUNDANT
    }
    alike = _alike(bench, chosen, could)
    edges = abundant | {other for one, other in alike if one in abundant}
    columns = Columns(bench, [edge for element in edges for edge in edges_kev(element)])
    columns.background()
    columns.surroundings()
    apart = (chosen & set(could)) | {other for _, other in alike}
    for element in sorted(apart):
        for family in could[element]:
            columns.split(family)
    columns.detector_effects(before, solution)
    for element in sorted(set(could) - apart):
        for family in could[element]:
            columns.whole(family)
    total = Sum(columns.columns, columns.ties, bench.counts, variance)
    amounts: dict[tuple[str, Role, str], float] = {}
    for column, amount in zip(before.columns, solution.amounts, strict=True):
        if column.group is not None:
            key = (column.owner, column.role, column.shell)
            amounts[key] = amounts.get(key, 0.0) + float(amount)
    for n, column in enumerate(total.columns):
        if column.group is not None:
            known = amounts.get((column.owner, column.role, column.shell), 0.0)
            total.guess[n] = known * column.group.share
    return Fit(total, chosen & set(could))


def _alike(bench: Bench, chosen: set[str], could: dict[str, list[Family]]) -> list[tuple[str, str]]:
    """Usual elements not chosen whose strongest line lies where a chosen one's does."""
    places = {
        element: [family.groups[0].energy_kev for family in could[element]]
        for element in could
        if element in USUAL
    }
    return [
        (one, other)
        for one in sorted(chosen & set(places))
        for other in sorted(set(places) - chosen)
        if any(
            abs(here - there) < ALIKE * bench.scale.fwhm_at(here)
            for here in places[one]
            for there in places[other]
        )
    ]


def _exchange(bench: Bench, fit: Fit) -> None:
    """Put another element in a chosen one's place where it explains the same lines better."""
    could = {e: list(bench.families(e)) for e in {c.owner for c in fit.total.columns} & set(USUAL)}
    for one, other in _alike(bench, fit.chosen, could):
        if one not in fit.chosen or other in fit.chosen or not len(fit.total.of(other)):
            continue
        instead = (fit.chosen - {one}) | {other}
        gain = fit.solve(fit.chosen).misfit - fit.solve(instead).misfit
        if gain > LESS_USUAL_COSTS * ((other in LESS_USUAL) - (one in LESS_USUAL)):
            fit.chosen.discard(one)
            fit.chosen.add(other)


def _chosen(bench: Bench, total: Sum) -> Fit:
    """The elements that the spectrum needs, taken in one by one, as few as will do."""
    first = Fit(total, set())
    _take_in(first)
    _drop(first)
    fit = _rebuilt(bench, total, first.solve(first.chosen), first.chosen)
    _drop(fit)
    _take_in(fit)
    _drop(fit)
    return fit


def _drop(fit: Fit) -> None:
    """Leave out, weakest first, whatever the fit hardly misses."""
    while fit.chosen:
        now = fit.solve(fit.chosen)
        spread = fit.total.uncertainty(now)
        strength = {}
        for element in fit.chosen:
            own = fit.total.of(element)
            strength[element] = max(
                (now.amounts[n] / spread[n] for n in own if spread[n] > 0), default=0.0
            )
        saved = {
            element: fit.solve(fit.chosen - {element}).misfit - now.misfit
            for element in sorted(fit.chosen, key=lambda e: strength[e])[:4]
            if strength[element] < 12
        }
        if not saved:
            return
        least = min(saved, key=lambda element: saved[element])
        if saved[least] >= KEEP:
            return
        fit.chosen.discard(least)


def _take_in(fit: Fit, never: AbstractSet[str] = frozenset()) -> None:
    """Take in, most needed first, what saves more than it costs; `never` those ruled out."""
    total = fit.total
    for _ in range(MOST_TAKEN_IN):
        now = fit.solve(fit.chosen)
        left = total.counts - total.model(now)
        needs: dict[str, float] = {}
        for n, column in enumerate(total.columns):
            if column.role == Role.OBJECT and column.owner not in fit.chosen | never:
                unusual = column.owner in UNUSUAL
                needs[column.owner] = max(
                    needs.get(column.owner, 0.0), total.in_sigma(left, n) - 2.0 * unusual
                )
        best: tuple[float, str] | None = None
        for element in sorted(needs, key=lambda e: -needs[e])[:5]:
            if needs[element] < 2.0:
                continue
            saved = now.misfit - fit.solve(fit.chosen | {element}).misfit
            saved -= TAKE_UNUSUAL if element in UNUSUAL else TAKE_USUAL
            saved -= LESS_USUAL_COSTS * (element in LESS_USUAL)
            if saved > 0 and (best is None or saved > best[0]):
                best = saved, element
        if best is None:
            return
        fit.chosen.add(best[1])


def _settled(bench: Bench, fit: Fit) -> tuple[Fit, Solution]:
    """The chosen elements once more, with tails, escapes and sums of what was found."""
    solution = fit.solve(fit.chosen)
    for careful in (False, True):
        fit = _rebuilt(bench, fit.total, solution, fit.chosen, careful)
        solution = fit.solve(fit.chosen)
        fit.total.guess = np.maximum(solution.amounts, 0.3 * fit.total.guess)
        _exchange(bench, fit)
        _drop(fit)
        _take_in(fit)
        solution = fit.solve(fit.chosen)
    return fit, solution


def _whole_background(
    curve: Curve, bench: Bench, total: Sum, solution: Solution
) -> tuple[float, ...]:
    """The background on every channel of the curve; outside what was evaluated, the counts."""
    found = curve.y.astype(float).copy()
    first = int(np.searchsorted(curve.x, bench.settings.lowest_kev - 0.1))
    fitted = total.model(solution, Role.BACKGROUND)
    unit = curve.y[first : first + len(fitted)].sum() / max(bench.counts.sum(), 1.0)
    found[first : first + len(fitted)] = fitted * unit
    return tuple(np.round(found, 3).tolist())
