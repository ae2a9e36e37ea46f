"""Phases in a powder pattern: reflections found, references matched, mixtures taken apart.

Positions decide, strengths only support: grains in a sample lie as they like. Phases are taken one
after the other, each time the one that explains most of what is still unexplained; then every one
is held against the others and against phases that would explain the same.
"""

import re
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np
from pybaselines import Baseline
from scipy.optimize import nnls
from scipy.signal import find_peaks, peak_prominences, peak_widths, savgol_filter

from analyses.spectra.curve import Array, Axis, Curve
from analyses.spectra.diffraction.reference import Phase, phases
from analyses.spectra.findings import Certainty, Evaluation, Finding, Mark, Unsettled

METHOD = "powder diffraction: search and match"
VERSION = "3"

# Kα1 and Kα2 in Å: G. Hölzer et al., Physical Review A 56 (1997) 4554–4568 (Cu, Co); the others
# from J. A. Bearden, Reviews of Modern Physics 39 (1967) 78–124.
ANODES = {
    "Cu": (1.540593, 1.544427),
    "Co": (1.788996, 1.792835),
    "Fe": (1.936041, 1.939973),
    "Cr": (2.289726, 2.293652),
    "Mo": (0.709317, 0.713607),
    "Ag": (0.559422, 0.563813),
}
LEAST_SIGMA = 4.0  # a reflection stands this much above the noise
STRONG, FAINT = 10.0, 2.0  # per cent of the strongest: has to be there; may be there
MOST_PHASES = 8
LEAST_SHARE = 0.55  # of a phase's strengths that meet a reflection
LEAST_GAIN = 0.01  # of all that was observed
SHIFTS = (0.0, -0.06, 0.06, -0.12, 0.12, -0.18, 0.18)  # ° 2θ, of a sample out of its plane
RIVAL = 0.9  # a phase that explains this much of what another does is its rival
ALIKE = 0.97  # of two shares: neither fits better than the other
# What a sure phase keeps to: places within this share of a reflection's width, strengths within
# this power of e, and lines of its own.
CLOSE, FAITHFUL, OWN = 0.25, 0.8, 4
HIDES = 0.5  # of a line's expected height stands where it should: it may be there, unresolved
WITHIN = 3.0  # times its expected height: as far as a faint line explains a reflection


@dataclass(frozen=True, slots=True)
class DiffractionSettings:
    """How the pattern was taken. `wavelength` in Å wins over `anode`; `tolerance` in ° 2θ.

    `elements`, where another technique has found them, leave out phases that need others.
    """

    anode: str = "Cu"
    wavelength: float | None = None
    geometry: str = "reflection"
    tolerance: float = 0.12
    elements: tuple[str, ...] = ()

    @property
    def angstrom(self) -> float:
        return self.wavelength or ANODES[self.anode][0]


@dataclass(frozen=True, slots=True)
class Reflections:
    """What was observed: angles (n,) in ° 2θ, net heights (n,), noise (n,), and their width.

    `noise_at` and `net_at` give the noise and the net height at any angles (m,).
    """

    angle: Array
    height: Array
    sigma: Array
    width: float
    noise_at: Callable[[Array], Array]
    net_at: Callable[[Array], Array]
    background: Array


@dataclass(frozen=True, slots=True)
class Lines:
    """What a phase shows between the ends of the pattern: angles (n,) in ° 2θ, strengths (n,)."""

    phase: Phase
    angle: Array
    strength: Array

    @classmethod
    def of(cls, phase: Phase, wavelength: float, span: tuple[float, float]) -> "Lines":
        angle, strength = phase.lines(wavelength, span)
        kept = strength >= FAINT
        return cls(phase, angle[kept], strength[kept])


@dataclass(frozen=True, slots=True)
class Match:
    """A phase held against the reflections: which line meets which."""

    phase: Phase
    angle: Array
    strength: Array
    met: Any  # (lines,) number of the reflection, −1 for none
    share: float

    @property
    def strongest_met(self) -> bool:
        return bool(len(self.met)) and self.met[int(np.argmax(self.strength))] >= 0

    def scale(self, heights: Array) -> float:
        """Height for one per cent, by its better lines: a borrowed one must not lift the rest."""
        at = _predicted(self, len(heights))
        strong = at >= STRONG
        return float(np.quantile(heights[strong] / at[strong], 0.35)) if strong.any() else 0.0

    def astray(self, seen: Reflections) -> tuple[float, float]:
        """How far its stronger lines stand from what they meet: ° 2θ, and strengths in powers of e.

        Root mean squares, weighted by strength; strengths apart from their common scale.
        """
        told = (self.met >= 0) & (self.strength >= STRONG / 2)
        if not told.any():
            return np.inf, np.inf
        met, weight = self.met[told], self.strength[told]
        off = seen.angle[met] - self.angle[told]
        apart = np.log(seen.height[met] / _predicted(self, len(seen.height))[met])
        apart = apart - np.average(apart, weights=weight)
        return (
            float(np.sqrt(np.average(off**2, weights=weight))),
            float(np.sqrt(np.average(apart**2, weights=weight))),
        )

    def hidden(self, seen: Reflections) -> Any:
        """Which lines (n,) meet no reflection, but could stand unresolved beside a stronger one."""
        expected = self.scale(seen.height) * self.strength
        return (self.met < 0) & (seen.net_at(self.angle) >= HIDES * expected)

    def borne_out(self, seen: Reflections) -> float:
        """Like `share`, of the lines that can be seen here: hidden ones say nothing either way."""
        told = ~self.hidden(seen)
        return float(self.strength[self.met >= 0].sum() / (self.strength[told].sum() or 1.0))


def evaluate(
    curve: Curve,
    settings: DiffractionSettings | None = None,
    reference: dict[str, Phase] | None = None,
) -> Evaluation:
    """Name the phases of a pattern over ° 2θ or Å, with every reflection that speaks for them.

    Raises ValueError for an axis of another sort or an unknown anode.
    """
    settings = settings or DiffractionSettings()
    if settings.wavelength is None and settings.anode not in ANODES:
        raise ValueError(f"Unknown anode {settings.anode}: one of {', '.join(ANODES)}.")
    angle, counts = _over_angle(curve, settings.angstrom)
    seen = reflections(angle, counts)
    span = (float(angle[0]), float(angle[-1]))
    known = {
        code: Lines.of(phase, settings.angstrom, span)
        for code, phase in _allowed(reference or phases(), settings.elements).items()
    }
    chosen, shift = _take_apart(seen, known, settings)
    found = [_match(known[code], seen, settings, shift) for code in chosen]
    # Another phase may fit with the sample otherwise out of its plane.
    others = [
        max((_match(p, seen, settings, s) for s in (shift, *SHIFTS)), key=lambda m: m.share)
        for code, p in known.items()
        if code not in chosen
    ]
    for number, match in enumerate(found):
        found[number] = _most_in_keeping(match, _rivals(match, found, others, seen), found)
    taken = {m.phase.code for m in found}
    others = [m for m in others if m.phase.code not in taken]
    others += [_match(known[code], seen, settings, shift) for code in chosen if code not in taken]
    rivals = {m.phase.code: _rivals(m, found, others, seen) for m in found}
    findings = tuple(_finding(m, found, seen, settings, rivals[m.phase.code]) for m in found)
    explained = {int(i) for m in found for i in m.met if i >= 0}
    explained |= {i for m in found for i in _by_faint_lines(m, seen, settings, shift, span)}
    parameters: dict[str, Any] = asdict(settings) | {"shift_deg": round(shift, 3)}
    parameters["angstrom"] = settings.angstrom
    evaluation = Evaluation(
        METHOD,
        VERSION,
        parameters,
        findings=findings,
        unsettled=tuple(_unsettled(m, rivals[m.phase.code]) for m in found if rivals[m.phase.code]),
        unexplained=tuple(
            Mark(
                float(seen.angle[i]),
                f"d = {_spacing(seen.angle[i], settings):.3f} Å",
                height=float(seen.height[i]),
                sigma=float(seen.height[i] / seen.sigma[i]),
            )
            for i in range(len(seen.angle))
            if i not in explained
        ),
        remarks=_remarks(seen, settings),
        background=tuple(float(v) for v in seen.background),
        x_unit=Axis.TWO_THETA,
    )
    return evaluation if curve.x_unit == Axis.TWO_THETA else _over_spacing(evaluation, settings)


def _over_spacing(evaluation: Evaluation, settings: DiffractionSettings) -> Evaluation:
    """The same with all places in Å, for a curve over spacings; its background is left out."""

    def turned(marks: tuple[Mark, ...]) -> tuple[Mark, ...]:
        return tuple(
            replace(
                mark,
                x=_spacing(mark.x, settings),
                expected=None if mark.expected is None else _spacing(mark.expected, settings),
            )
            for mark in marks
        )

    return replace(
        evaluation,
        findings=tuple(replace(f, marks=turned(f.marks)) for f in evaluation.findings),
        unexplained=turned(evaluation.unexplained),
        background=(),
        x_unit=Axis.SPACING,
    )


def _by_faint_lines(
    match: Match,
    seen: Reflections,
    settings: DiffractionSettings,
    shift: float,
    span: tuple[float, float],
) -> list[int]:
    """Numbers of the reflections as weak as the faint lines of a phase that stand there."""
    angle, strength = match.phase.lines(settings.angstrom, span)
    faint = strength < FAINT
    at = angle[faint] + shift * np.cos(np.radians(angle[faint] / 2))
    most = WITHIN * match.scale(seen.height) * strength[faint]
    return [
        number
        for number, (place, height) in enumerate(zip(seen.angle, seen.height, strict=True))
        if most[np.abs(at - place) <= settings.tolerance].sum() >= height
    ]


def reflections(angle: Array, counts: Array) -> Reflections:
    """Find reflections above a background that follows the amorphous humps.

    The background is the statistics-sensitive clipping of pybaselines (C. G. Ryan et al., Nuclear
    Instruments and Methods B 34 (1988) 396–402); noise is taken from the pattern itself and grows
    with the square root of the counts.
    """
    step = float(np.median(np.diff(angle)))
    window = max(1, min(max(3, round(0.6 / step)), (len(counts) - 1) // 2))
    background, _ = Baseline(angle, check_finite=False).snip(
        counts, max_half_window=window, decreasing=True, smooth_half_window=max(1, window // 8)
    )
    level = np.sqrt(np.maximum(counts, 1e-9))
    jumps = np.diff(counts) / np.sqrt(level[1:] ** 2 + level[:-1] ** 2)
    factor = float(1.4826 * np.median(np.abs(jumps))) or 1e-9
    net = counts - background
    span = max(5, round(0.10 / step) | 1)
    smooth = savgol_filter(net, span, 2) if len(net) > span else net
    # A parabola over `span` points averages: less noise than a single count.
    single = factor * np.sqrt(np.maximum(background + np.maximum(net, 0), 1e-9))
    noise = single * np.sqrt(9 / (4 * span))
    places, _ = find_peaks(smooth, height=LEAST_SIGMA * noise, distance=max(1, round(0.08 / step)))
    places = places[_stands_out(smooth, noise, places)]
    widths = peak_widths(smooth, places, rel_height=0.5)[0] * step if len(places) else np.array([])
    strongest = np.argsort(-smooth[places])[:10]
    width = float(np.median(widths[strongest])) if len(places) else 0.1
    exact = _tops(angle, smooth, places)

    def noise_at(at: Array) -> Array:
        return np.asarray(np.interp(at, angle, noise))

    def net_at(at: Array) -> Array:
        return np.asarray(np.interp(at, angle, smooth))

    return Reflections(exact, smooth[places], noise[places], width, noise_at, net_at, background)


def _stands_out(smooth: Array, noise: Array, places: Any) -> Any:
    """Leave out ripples on the flank of another reflection."""
    prominence = peak_prominences(smooth, places)[0] if len(places) else np.array([])
    return prominence >= 0.75 * LEAST_SIGMA * noise[places] if len(places) else np.array([], bool)


def _tops(angle: Array, smooth: Array, places: Any) -> Array:
    """Angles of the tops, by a parabola through three points."""
    inner = places[(places > 0) & (places < len(smooth) - 1)]
    low, top, high = smooth[inner - 1], smooth[inner], smooth[inner + 1]
    bend = low - 2 * top + high
    offset = np.where(bend < 0, 0.5 * (low - high) / np.where(bend < 0, bend, -1), 0)
    exact = angle[places].astype(float)
    step = float(np.median(np.diff(angle)))
    exact[(places > 0) & (places < len(smooth) - 1)] += offset * step
    return np.asarray(exact)


def _over_angle(curve: Curve, wavelength: float) -> tuple[Array, Array]:
    if curve.x_unit == Axis.TWO_THETA:
        return curve.x, curve.y
    if curve.x_unit == Axis.SPACING:
        seen = curve.x > wavelength / 2
        turned = np.degrees(2 * np.arcsin(wavelength / (2 * curve.x[seen])))[::-1]
        return turned, curve.y[seen][::-1]
    raise ValueError(f"A diffraction pattern runs over ° 2θ or Å, not over {curve.x_unit!r}.")


def _allowed(known: dict[str, Phase], elements: tuple[str, ...]) -> dict[str, Phase]:
    """Phases whose heavier elements were all found; light ones escape X-ray spectrometers."""
    if not elements:
        return known
    light = {"H", "Li", "Be", "B", "C", "N", "O", "F"}
    return {
        code: phase
        for code, phase in known.items()
        if set(elements_of(phase.formula)) - light <= set(elements)
    }


def elements_of(formula: str) -> list[str]:
    """Symbols in a formula, each once, in its order."""
    return list(dict.fromkeys(re.findall(r"[A-Z][a-z]?", formula)))


def _match(lines: Lines, seen: Reflections, settings: DiffractionSettings, shift: float) -> Match:
    # A sample above or below its plane shifts lines by s·cos θ; s is the shift at 2θ = 0.
    expected = lines.angle + shift * np.cos(np.radians(lines.angle / 2))
    met = np.full(len(expected), -1)
    if len(seen.angle) and len(expected):
        middles = (seen.angle[1:] + seen.angle[:-1]) / 2
        best = np.searchsorted(middles, expected)
        near = np.abs(seen.angle[best] - expected) <= settings.tolerance
        met[near] = best[near]
    strength = lines.strength
    share = float(strength[met >= 0].sum() / strength.sum()) if len(strength) else 0.0
    return Match(lines.phase, expected, strength, met, share)


def _predicted(match: Match, count: int) -> Array:
    """The phase's strength at each reflection."""
    at = np.zeros(count)
    np.add.at(at, match.met[match.met >= 0], match.strength[match.met >= 0])
    return at


def _take_apart(
    seen: Reflections,
    known: dict[str, Lines],
    settings: DiffractionSettings,
) -> tuple[list[str], float]:
    """Codes of the phases that explain the pattern, most first, and the shift of the sample.

    Every shift of a coarse grid is tried; the one that explains most is then refined by its own
    strong lines.
    """
    tried = [_explained(seen, known, settings, shift) for shift in SHIFTS]
    share, chosen = max(tried, key=lambda outcome: outcome[0])
    shift = SHIFTS[[outcome[0] for outcome in tried].index(share)]
    for _ in range(2):
        offsets = [
            (seen.angle[met] - at) / np.cos(np.radians(at / 2))
            for match in (_match(known[code], seen, settings, shift) for code in chosen)
            for at, met, value in zip(match.angle, match.met, match.strength, strict=True)
            if met >= 0 and value >= 20
        ]
        if len(offsets) < 3:
            break
        refined = shift + float(np.median(offsets))
        again, others = _explained(seen, known, settings, refined)
        if again < share - 0.03:  # more is lost only where it goes astray
            break
        share, chosen, shift = max(again, share), others, refined
    return chosen, shift


def _explained(
    seen: Reflections,
    known: dict[str, Lines],
    settings: DiffractionSettings,
    shift: float,
) -> tuple[float, list[str]]:
    """How much of all heights phases explain with this shift, and which, taken one by one."""
    chosen: list[str] = []
    matches = {
        code: match
        for code, lines in known.items()
        if _may_be_there(match := _match(lines, seen, settings, shift))
    }
    left = seen.height.copy()
    while len(chosen) < MOST_PHASES and len(left):
        gains = {
            code: _gain(match, left, seen) for code, match in matches.items() if code not in chosen
        }
        best = max(gains, key=lambda code: (gains[code], code), default=None)
        if best is None or gains[best] < LEAST_GAIN:
            break
        chosen.append(best)
        table = np.array([_predicted(matches[code], len(left)) for code in chosen]).T
        weights, _ = nnls(table / seen.sigma[:, None], seen.height / seen.sigma)
        left = np.maximum(seen.height - table @ weights, 0)
    total = float(seen.height.sum())
    return (1 - float(left.sum()) / total if total else 0.0) - 0.01 * len(chosen), chosen


def _may_be_there(match: Match) -> bool:
    """One line proves nothing: the strongest must be met, and up to three of the stronger ones."""
    stronger = match.strength >= STRONG / 2
    met = int((stronger & (match.met >= 0)).sum())
    enough = max(2, min(3, int(stronger.sum())))
    return match.strongest_met and match.share >= LEAST_SHARE and met >= enough


def _gain(match: Match, left: Array, seen: Reflections) -> float:
    """How much of what was observed the phase explains anew, less what it promises in vain."""
    scale = match.scale(left)
    explained = np.minimum(left, scale * _predicted(match, len(left)) * 1.5).sum()
    missing = match.met < 0
    noise = seen.noise_at(match.angle[missing])
    vain = np.maximum(scale * match.strength[missing] - 2 * LEAST_SIGMA * noise, 0).sum()
    return float((explained - vain) / seen.height.sum()) * match.share


def _own(match: Match, found: list[Match]) -> Any:
    """Which of its lines meet a reflection that no other phase found explains."""
    others = {
        int(i)
        for m in found
        if m is not match
        for i, s in zip(m.met, m.strength, strict=True)
        if s >= 5
    }
    return np.array([i >= 0 and int(i) not in others for i in match.met], bool)


def _rivals(
    match: Match, found: list[Match], others: list[Match], seen: Reflections
) -> list[Match]:
    """Phases not taken that meet nearly all reflections which this one meets alone."""
    own = {int(i) for i, mine in zip(match.met, _own(match, found), strict=True) if mine}
    if not own:
        return []
    weight = {i: float(seen.height[i]) for i in own}
    rivals = []
    for other in others:
        if not other.strongest_met or other.share < match.share * RIVAL:
            continue
        met = {int(i) for i in other.met if i >= 0}
        if sum(weight[i] for i in own & met) >= RIVAL * sum(weight.values()):
            rivals.append(other)
    return sorted(rivals, key=lambda m: (-m.share, m.phase.code))[:4]


def _most_in_keeping(match: Match, rivals: list[Match], found: list[Match]) -> Match:
    """Of phases that meet the same reflections as well, the one made of what else was found."""
    beside = {element for m in found if m is not match for element in elements_of(m.phase.formula)}

    def shared(one: Match) -> float:
        elements = elements_of(one.phase.formula)
        return len(beside.intersection(elements)) / len(elements)

    return max((match, *(r for r in rivals if r.share >= ALIKE * match.share)), key=shared)


def _finding(
    match: Match,
    found: list[Match],
    seen: Reflections,
    settings: DiffractionSettings,
    rivals: list[Match],
) -> Finding:
    strong = match.strength >= STRONG
    own = int((_own(match, found) & (match.strength >= STRONG / 2)).sum())
    met_strong = int((strong & (match.met >= 0)).sum())
    hidden, share = match.hidden(seen), match.borne_out(seen)
    off, apart = match.astray(seen)
    close, faithful = off <= CLOSE * seen.width, apart <= FAITHFUL
    certainty = Certainty.POSSIBLE
    if own >= 2 and met_strong >= 3 and share >= 0.8:
        certainty = Certainty.LIKELY
        alone = own >= OWN and not rivals and not match.phase.note
        if share >= 0.9 and alone and close and faithful:
            certainty = Certainty.SURE
    grounds = [
        f"{met_strong} of its {int(strong.sum())} stronger lines meet a reflection, "
        f"{own} of them one that no other phase found explains.",
        f"Lines met carry {match.share:.0%} of its strength. Pattern: {match.phase.source}.",
    ]
    against = [
        f"A line of {s:.0f} % is missing at {a:.2f}° 2θ (d = {_spacing(a, settings):.3f} Å)."
        for a, s, i, lost in zip(match.angle, match.strength, match.met, hidden, strict=True)
        if s >= STRONG and i < 0 and not lost
    ][:6]
    if (strong & hidden).any():
        places = ", ".join(f"{a:.2f}" for a in match.angle[strong & hidden])
        against.append(f"Not resolved from stronger reflections beside them: {places}° 2θ.")
    if not close:
        against.append(f"Its lines stand {off:.2f}° from the reflections, too far to be sure.")
    if not faithful:
        against.append("Its strengths are far from those observed: grains in order, or chance.")
    if match.phase.note:
        against.append(f"Reference: {match.phase.note}.")
    marks = [
        Mark(
            x=float(seen.angle[i]) if i >= 0 else float(a),
            label=f"{s:.0f} %",
            expected=float(a),
            height=float(seen.height[i]) if i >= 0 else None,
            sigma=float(seen.height[i] / seen.sigma[i]) if i >= 0 else None,
            agrees=bool(i >= 0 or lost),
            note=f"d = {_spacing(a, settings):.3f} Å{', not resolved' if lost else ''}",
        )
        for a, s, i, lost in zip(match.angle, match.strength, match.met, hidden, strict=True)
        if i >= 0 or s >= STRONG
    ]
    return Finding(
        "phase",
        match.phase.code,
        match.phase.label,
        certainty,
        tuple(grounds),
        tuple(against),
        tuple(marks),
        score=round(match.share, 3),
    )


def _unsettled(match: Match, rivals: list[Match]) -> Unsettled:
    names = [m.phase.label for m in (match, *rivals)]
    mine = set(elements_of(match.phase.formula))
    differ = sorted(set().union(*(set(elements_of(m.phase.formula)) for m in rivals)) ^ mine)
    settle = (
        f"An element analysis would settle it: look for {', '.join(differ)}."
        if differ
        else "A slower scan to higher angles, or another technique, would settle it."
    )
    return Unsettled(
        tuple(m.phase.code for m in (match, *rivals)),
        f"{', '.join(names[:-1])} and {names[-1]} cannot be told apart by these reflections.",
        settle,
    )


def _spacing(angle: float, settings: DiffractionSettings) -> float:
    return float(settings.angstrom / (2 * np.sin(np.radians(angle / 2))))


def _remarks(seen: Reflections, settings: DiffractionSettings) -> tuple[str, ...]:
    told = ["Strengths only support a match: grains that lie in one direction change them."]
    if len(seen.angle) < 3:
        told.append("Fewer than three reflections stand above the noise: too few to name a phase.")
    if settings.elements:
        told.append(f"Only phases of these elements were tried: {', '.join(settings.elements)}.")
    told.append("What is glassy or very fine gives no reflections and cannot be seen here.")
    return tuple(told)
