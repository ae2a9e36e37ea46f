"""What was found, in sentences that a conservation scientist would write."""

from collections.abc import Sequence

import numpy as np
import xraydb

from analyses.spectra.curve import Array, Axis
from analyses.spectra.findings import Certainty, Evaluation, Finding, Mark, Unsettled
from analyses.spectra.xray.fit import Column, Role, Solution, Sum
from analyses.spectra.xray.lines import UNUSUAL, lines_of
from analyses.spectra.xray.settings import XraySettings
from analyses.spectra.xray.sources import Bench, Calibration
from analyses.spectra.xray.weighing import DECIDES, ON_A_STEP, Lurking, Rival, Seen, Weighed, source

UNEXPLAINED = 5.5  # σ from which what is left over counts as a peak
HIGHEST_KV = {"xrf": 50.0, "sem_edx": 30.0}  # of common instruments (common practice)
APART_KEV = 0.02  # lines that a wavelength-dispersive spectrometer separates (from memory)
ORDER = {Certainty.SURE: 0, Certainty.LIKELY: 1, Certainty.POSSIBLE: 2}
SIGMA = (
    "σ is how far the net counts of a line stand above the scatter of counting, all other lines "
    "held as they were fitted; where another line overlaps it says less than it seems to."
)
NO_FRACTIONS = (
    "Heights of peaks are not mass fractions: without standards and a model of the object's "
    "layers, absorption and excitation make one element strong and another weak at the same "
    "content."
)


def tell(
    method: str,
    version: str,
    bench: Bench,
    total: Sum,
    solution: Solution,
    weighed: Sequence[Weighed],
    aside: Sequence[Weighed],
    lurking: Sequence[Lurking],
    calibration: Calibration,
    remarks: Sequence[str],
    background: tuple[float, ...],
) -> Evaluation:
    """The evaluation of a spectrum from what was weighed."""
    findings = sorted(
        (_finding(one, calibration) for one in weighed if not one.on_a_step),
        key=lambda found: (ORDER[found.certainty], -(found.score or 0)),
    )
    unsettled = [
        _on_a_step(one) if one.on_a_step else _between(bench, one)
        for one in weighed
        if one.open or one.on_a_step
    ]
    unsettled += [_beneath(bench, one) for one in lurking if one.much]
    return Evaluation(
        method,
        version,
        {"settings": bench.settings.parameters()},
        tuple(findings),
        tuple(unsettled),
        _unexplained(bench, total, solution, calibration),
        (
            *remarks,
            *_little(lurking),
            *_put_aside(aside),
            *_remarks(bench, total, solution, calibration),
        ),
        background,
        Axis.ENERGY,
    )


def _and(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _finding(one: Weighed, calibration: Calibration) -> Finding:
    grounds, against = [], list(one.against)
    clear = [line for line in one.lines if line.decides]
    seen = [line for line in one.lines if line.sigma >= 3]
    if clear:
        told = _and(
            [f"{line.label} at {line.energy_kev:.2f} keV ({_sigma(line)})" for line in clear]
        )
        stands = "stands" if len(clear) == 1 else "stand"
        grounds.append(
            f"{told} {stands} out and nothing else explains {'it' if len(clear) == 1 else 'them'}."
        )
    others = [line for line in seen if not line.decides and not line.off]
    if others:
        told = _and([f"{line.label} ({_sigma(line)})" for line in others[:4]])
        grounds.append(
            f"{told} {'agrees' if len(others) == 1 else 'agree'} in energy and proportion."
        )
    if not grounds:
        grounds.append(
            f"Leaving {one.element} out makes the fit worse by {one.strength:.1f} σ, "
            "though no single line is clear."
        )
    if one.certainty != Certainty.SURE:
        covered = [line for line in one.lines if line.beneath and not line.decides]
        if covered and not clear:
            against.append(
                _and([f"{line.label} lies beneath {line.beneath}" for line in covered[:3]]) + "."
            )
        if one.strength < DECIDES:
            against.append(f"At {one.strength:.1f} σ it could be an accident of counting.")
        if one.unusual_rivals:
            against.append(
                f"{_and(one.unusual_rivals)}, seldom met in works of art, would explain the same "
                "counts."
            )
        if one.open:
            against.append(
                f"{_and([_named(rival) for rival in one.rivals])} could explain the same counts."
            )
        if one.element in UNUSUAL:
            against.append(f"{one.element} is seldom met in works of art.")
    marks = tuple(_mark(line, calibration) for line in one.lines)
    return Finding(
        "element",
        one.element,
        str(xraydb.atomic_name(one.element)).capitalize(),
        one.certainty,
        tuple(grounds),
        tuple(against),
        marks,
        round(one.strength, 1),
    )


def _sigma(line: Seen) -> str:
    return f"{line.sigma:.0f} σ"


def _mark(line: Seen, calibration: Calibration) -> Mark:
    notes = []
    if line.decides:
        notes.append("decides")
    if line.missing:
        notes.append("should be seen and is not")
    if line.off:
        notes.append("out of proportion")
    if line.beneath:
        notes.append(f"beneath {line.beneath}")
    place = line.observed_kev if line.sigma >= 3 else line.energy_kev
    return Mark(
        round(calibration.observed(place), 4),
        line.label,
        round(line.energy_kev, 4),
        round(line.net, 1),
        round(line.sigma, 1),
        not (line.missing or line.off),
        "; ".join(notes),
    )


def _named(rival: Rival) -> str:
    return source(rival.column)


def _codes(element: str, columns: Sequence[Column]) -> tuple[str, ...]:
    return tuple(
        dict.fromkeys([element, *(c.owner for c in columns if c.role not in (Role.SUM, Role.PAIR))])
    )


def _between(bench: Bench, one: Weighed) -> Unsettled:
    line = max(one.lines, key=lambda line: line.expected_sigma)
    columns = [rival.column for rival in one.rivals]
    apart = ", ".join(
        f"{source(column)} {abs(column.energy_kev - line.energy_kev) * 1000:.0f} eV away"
        for column in columns
        if column.role not in (Role.SUM, Role.PAIR)
    )
    says = (
        f"{one.element} cannot be told here from {_and([source(c) for c in columns])}: "
        f"{line.label} at {line.energy_kev:.2f} keV has "
        + (f"{apart}, " if apart else "the same place, ")
        + f"within a peak's width of {bench.scale.fwhm_at(line.energy_kev) * 1000:.0f} eV."
    )
    return Unsettled(
        _codes(one.element, columns),
        says,
        _settle(bench, one.element, line.energy_kev, columns, one.lines),
    )


def _on_a_step(one: Weighed) -> Unsettled:
    line = max(one.lines, key=lambda line: line.sigma)
    return Unsettled(
        (one.element,),
        f"{one.element} cannot be told here from the background: what stands {line.sigma:.0f} σ "
        f"above it at {line.energy_kev:.2f} keV, {line.label}, lies {ON_A_STEP[one.element][0]}.",
        "Resolve the line with a wavelength-dispersive spectrometer; or identify its compound by "
        "FTIR, Raman or XRD.",
    )


def _little(lurking: Sequence[Lurking]) -> list[str]:
    """What could hide beneath other peaks, though only in small part."""
    told = [
        f"{one.column.label} beneath {source(one.beneath)} (up to {100 * one.share:.0f} %)"
        for one in sorted(lurking, key=lambda one: -one.share)
        if not one.much
    ]
    return [f"Not shut out as small parts of other peaks: {_and(told)}."] if told else []


def _put_aside(aside: Sequence[Weighed]) -> list[str]:
    """What the fit would have taken for soft lines of elements that harder lines refute."""
    told = []
    for one in aside:
        seen = max(one.lines, key=lambda line: line.sigma, default=None)
        if seen is not None and seen.sigma >= DECIDES:
            told.append(
                f"{seen.label} at {seen.energy_kev:.2f} keV ({_sigma(seen)}) for want of "
                f"{one.lacks}"
            )
    if not told:
        return []
    return [
        f"Put aside as no lines of the object: {_and(told)}, which would be seen first; "
        "misfits of the background and of stronger lines look alike."
    ]


def _beneath(bench: Bench, one: Lurking) -> Unsettled:
    says = (
        f"{one.element} could hide beneath {source(one.beneath)}: up to "
        f"{round(100 * one.share, -1):.0f} % of the counts near {one.column.energy_kev:.2f} keV "
        f"could be {one.column.label}, and nothing here would show it."
    )
    settle = _settle(bench, one.element, one.column.energy_kev, [one.beneath], ())
    return Unsettled(_codes(one.element, [one.beneath]), says, settle)


def _settle(
    bench: Bench,
    element: str,
    energy_kev: float,
    columns: Sequence[Column],
    lines: Sequence[Seen],
) -> str:
    """Which measurement would tell an element from its rivals."""
    settings = bench.settings
    ways = []
    weak = [line for line in lines if 1 <= line.expected_sigma < DECIDES and not line.beneath]
    if weak:
        best = max(weak, key=lambda line: line.expected_sigma)
        times = max(2, int(np.ceil(1.3 * (DECIDES / best.expected_sigma) ** 2)))
        if times <= 30:
            ways.append(
                f"count about {times} times as long, so that {best.label} at "
                f"{best.energy_kev:.2f} keV stands out or stays away"
            )
    rivals = [column.owner for column in columns if column.role == Role.OBJECT]
    for symbol in dict.fromkeys([element, *rivals]):
        ways += _other_shell(bench, symbol, settings)
    if any(column.role in (Role.TUBE, Role.SCATTER) for column in columns):
        ways.append("measure with a tube of another anode or a filter before it")
    if any(column.role == Role.COATING for column in columns):
        ways.append("coat another piece with something else, or work uncoated at low vacuum")
    if any(column.role in (Role.SUM, Role.PAIR, Role.ESCAPE) for column in columns):
        ways.append("measure with a lower current, or another detector")
    gaps = [abs(c.energy_kev - energy_kev) for c in columns if c.role == Role.OBJECT]
    if gaps and min(gaps) >= APART_KEV:
        ways.append("resolve the lines with a wavelength-dispersive spectrometer")
    ways.append("identify the compound by XRD, Raman or FTIR")
    told = "; or ".join(ways[:4])
    return told[0].upper() + told[1:] + "."


def _other_shell(bench: Bench, symbol: str, settings: XraySettings) -> list[str]:
    reached = {family.shell for family in bench.families(symbol)}
    marks = {"K": "Kα", "L": "Lα", "M": "Mα"}
    energies = {line.name: line.energy_kev for line in lines_of(symbol, 60.0)}
    edges = xraydb.xray_edges(symbol)
    for shell, edge in (("L", "L3"), ("K", "K")):
        if shell in reached or edge not in edges or marks[shell] not in energies:
            continue
        volts = edges[edge].energy / 1000 * (1.25 if settings.by_photons else 1.5)
        if settings.voltage_kv < volts <= HIGHEST_KV[settings.technique]:
            return [
                f"raise the voltage to {np.ceil(volts):.0f} kV or more for {symbol} "
                f"{marks[shell]} at {energies[marks[shell]]:.2f} keV"
            ]
        if volts <= settings.voltage_kv and energies[marks[shell]] > bench.top_kev:
            return [
                f"record the spectrum up to {energies[marks[shell]] * 1.2:.0f} keV for {symbol} "
                f"{marks[shell]}"
            ]
    if settings.by_photons and settings.atmosphere == "air":
        for shell in ("M", "L", "K"):
            at = energies.get(marks[shell], 0.0)
            if 0.9 < at < 2.5:
                return [
                    f"flush with helium or evacuate, for {symbol} {marks[shell]} at {at:.2f} keV"
                ]
    if not settings.by_photons and reached == {"M"}:
        return [f"measure the same place by XRF for the harder lines of {symbol}"]
    return []


def _unexplained(
    bench: Bench, total: Sum, solution: Solution, calibration: Calibration
) -> tuple[Mark, ...]:
    """Peaks that stay when everything known is taken away."""
    scale = bench.scale
    left = total.counts - total.model(solution)
    energies, fwhm = scale.energies_kev, scale.fwhm
    marks: list[Mark] = []
    counting = 1 / np.maximum(total.model(solution), 1.0)
    sigma, area = _scan(energies, fwhm, left, np.minimum(counting, 2 * total.weights))
    for n in np.argsort(-sigma):
        if sigma[n] < UNEXPLAINED or len(marks) >= 20:
            break
        at = float(energies[n])
        if any(abs(at - (mark.expected or 0)) < 1.2 * fwhm[n] for mark in marks):
            continue
        marks.append(
            Mark(
                round(calibration.observed(at), 3),
                "unexplained",
                round(at, 3),
                round(float(area[n]), 1),
                round(float(sigma[n]), 1),
                False,
                "No element considered, nor tube, air, escape or sum, explains this peak.",
            )
        )
    return tuple(sorted(marks, key=lambda mark: mark.x))


def _scan(energies: Array, fwhm: Array, left: Array, weights: Array) -> tuple[Array, Array]:
    """For a peak centred on each channel: σ and counts in what is left (n,)."""
    reach = int(np.ceil(float(np.max(fwhm / np.gradient(energies)))))
    sums, worth = np.zeros_like(left), np.zeros_like(left)
    channel = np.gradient(energies)
    for step in range(-reach, reach + 1):
        here = slice(max(0, -step), len(left) - max(0, step))
        there = slice(max(0, step), len(left) - max(0, -step))
        sigma = fwhm[here] / 2.3548
        bell = np.exp(-0.5 * ((energies[there] - energies[here]) / sigma) ** 2)
        bell *= channel[there] / (sigma * np.sqrt(2 * np.pi))
        sums[here] += bell * weights[there] * left[there]
        worth[here] += bell**2 * weights[there]
    worth = np.maximum(worth, 1e-12)
    return sums / np.sqrt(worth), sums / worth


def _remarks(bench: Bench, total: Sum, solution: Solution, calibration: Calibration) -> list[str]:
    remarks = []
    if calibration.refused:
        remarks.append(
            "The lines stand too far from where they should for a correction to be safe (offset "
            f"{calibration.offset_kev * 1000:+.0f} eV, gain {calibration.gain * 100:+.2f} %): "
            "calibrate the energy axis and evaluate anew. Nothing is told as more than possible."
        )
    elif abs(calibration.offset_kev) > 0.002 or abs(calibration.gain) > 0.0005:
        remarks.append(
            "The energy axis was mended by the strongest lines: offset "
            f"{calibration.offset_kev * 1000:+.0f} eV, gain {calibration.gain * 100:+.2f} %."
        )
    width = bench.scale.fwhm_at(5.895) * 1000
    remarks.append(f"Peaks are {width:.0f} eV wide at Mn Kα (full width at half maximum).")
    remarks.append(SIGMA)
    for role, words in (
        (Role.TUBE, "lines of the tube, which are not the object's"),
        (Role.SCATTER, "tube lines scattered by electrons of the object"),
        (Role.AIR, "argon of the air"),
        (Role.COATING, "the coating; the same element in the object cannot be told from it"),
        (Role.INSTRUMENT, "the instrument; the same element in the object cannot be told from it"),
        (Role.ESCAPE, "escape peaks"),
        (Role.SUM, "sums of two photons counted as one"),
    ):
        found = [
            (float(solution.amounts[n]), total.columns[n])
            for n in total.where(role)
            if total.expected_sigma(int(n), float(solution.amounts[n])) >= 3
        ]
        if found:
            labels = [c.label for _, c in sorted(found, key=lambda one: -one[0])]
            shown = list(dict.fromkeys(labels))[:4]
            remarks.append(f"Accounted for as {words}: {', '.join(shown)}.")
    remarks.append(NO_FRACTIONS)
    return remarks
