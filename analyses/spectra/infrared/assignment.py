"""Observed bands against the table: which groups may be present, for what reasons, how surely."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from analyses.spectra.findings import Certainty, Finding, Mark, Unsettled
from analyses.spectra.infrared.bands import Band
from analyses.spectra.infrared.groups import Group, TableBand, groups
from analyses.spectra.infrared.preparation import Prepared

SHIFT_IN_ATR = 8.0  # cm⁻¹ that strong bands below SHIFTED may lie lower in ATR (from memory)
SHIFTED = 2000.0  # cm⁻¹; C–H and O–H bands higher up hardly shift (from memory)
SLACK = 0.35  # heights within a group vary by about three either way between samples (from memory)
FIRM_SIGMA = 8.0  # prominence over noise that chance reaches in one spectrum of fifty, anywhere


@dataclass(slots=True)
class Match:
    """One band of the table: the observed band that it may be, or why there is none."""

    table: TableBand
    band: Band | None
    covered: bool
    hidden: bool = False


@dataclass(slots=True)
class Candidate:
    """A group whose needed bands are all there (one may be hidden), before it is weighed."""

    group: Group
    matches: list[Match]
    amount: float

    @property
    def found(self) -> list[Match]:
        return [match for match in self.matches if match.band]

    @property
    def bands(self) -> set[Band]:
        return {match.band for match in self.matches if match.band}

    @property
    def missing(self) -> list[Match]:
        """Bands that are absent though they should stand out here."""
        return [m for m in self.matches if m.covered and not m.band and not m.hidden]

    @property
    def hidden(self) -> list[Match]:
        return [m for m in self.matches if m.hidden]

    @property
    def score(self) -> float:
        """Share, by strength, of the bands that could be seen which are seen."""
        weights = [(m.table.weight, bool(m.band)) for m in self.matches if m.covered]
        return sum(w for w, seen in weights if seen) / (sum(w for w, _ in weights) or 1)


def assign(
    spectrum: Prepared, bands: Sequence[Band], *, in_atr: bool, threshold: float
) -> tuple[list[Finding], list[Unsettled], list[Band]]:
    """Findings by certainty, what cannot be told apart, and the bands that nothing explains.

    `threshold` is the least height that a band must have to be seen.
    """
    candidates = [
        candidate
        for group in groups()
        if (candidate := _candidate(group, spectrum, bands, in_atr, threshold))
    ]
    certainties = {c.group.code: _certainty(c, candidates) for c in candidates}
    findings = [_finding(c, certainties[c.group.code], candidates, bands) for c in candidates]
    rank = list(Certainty)
    findings.sort(key=lambda f: (rank.index(f.certainty), -(f.score or 0)))
    explained = {band for candidate in candidates for band in candidate.bands}
    open_bands = [band for band in bands if band not in explained]
    return findings, _unsettled(candidates), open_bands


def _candidate(
    group: Group, spectrum: Prepared, bands: Sequence[Band], in_atr: bool, threshold: float
) -> Candidate | None:
    """The group as far as the bands go; None where a needed band is absent and nothing hides it.

    Of the needed bands at least half must be measured, and only one may be hidden, of five or more
    two, and never all of its strongest; none where the group is only ever possible. How much of the
    group there can be is set by its weakest needed band, because other matter can only add to a
    height.
    """
    first, last = spectrum.x[0], spectrum.x[-1]
    matches = []
    for table in group.bands:
        shifts = in_atr and table.weight >= 0.6 and table.at < SHIFTED
        low = table.low - (SHIFT_IN_ATR if shifts else 0)
        # The edges of a spectrum show no peak.
        covered = bool(first + 6 <= table.at <= last - 6)
        inside = [
            band
            for band in bands
            if low <= band.x <= table.high
            and (band.shape == "shoulder" or table.least_width <= band.width <= table.most_width)
        ]
        best = max(inside, key=lambda b: (b.shape == "peak", b.height), default=None)
        matches.append(Match(table, best, covered))
    _one_band_each(matches)
    needed = [match for match in matches if match.table.needed]
    there = [match for match in needed if match.band]
    if not there or len(there) < len(needed) * 0.6:
        return None
    amount = min(m.band.height / m.table.weight for m in there if m.band)
    for match in matches:
        if match.covered and not match.band:
            _look_for_cover(match, amount, spectrum, threshold)
    lost = [match for match in needed if match.covered and not match.band]
    bearable = 2 if len(needed) >= 5 else 1
    if group.surest == Certainty.POSSIBLE:
        bearable = 0
    if any(not match.hidden for match in lost) or len(lost) > bearable:
        return None
    if not any(match.table.weight == 1 for match in there):
        return None
    uncovered = [match for match in needed if not match.covered]
    if len(uncovered) > len(needed) / 2:
        return None
    candidate = Candidate(group, matches, amount)
    if not _in_proportion(candidate):
        return None
    return candidate


def _one_band_each(matches: list[Match]) -> None:
    """Neighbouring bands of the table may not both be the same observed band."""
    for one, other in combinations(matches, 2):
        if one.band and one.band == other.band:
            further = max((one, other), key=lambda m: abs(m.table.at - m.band.x if m.band else 0))
            further.band = None


def _look_for_cover(match: Match, amount: float, spectrum: Prepared, threshold: float) -> None:
    """An absent band is no reason against a group where it is too weak or something covers it."""
    expected = SLACK * amount * match.table.weight
    if expected < threshold and not match.table.needed:
        match.covered = False
        return
    inside = (spectrum.x >= match.table.low) & (spectrum.x <= match.table.high)
    lowest = float(spectrum.net[inside].min()) if inside.any() else 0.0
    least = max(amount * match.table.weight, 2 * threshold)
    match.hidden = lowest > least
    if not match.table.needed:
        # On the flank of a stronger band it may stand unresolved.
        match.hidden |= float(np.interp(match.table.at, spectrum.x, spectrum.net)) > least


def _in_proportion(candidate: Candidate) -> bool:
    """Stated proportions, as far as the bands are seen; others may only add to a height."""
    heights = {m.table.at: m.band.height for m in candidate.found if m.band}
    return all(
        heights[p.of] >= p.least * heights[p.to]
        for p in candidate.group.proportions
        if p.of in heights and p.to in heights
    )


def _explains(candidate: Candidate, band: Band) -> bool:
    """Whether the amount of the group that its weakest needed band allows makes up the height."""
    return any(
        match.band == band and candidate.amount * match.table.weight >= SLACK * band.height
        for match in candidate.found
    )


def _own(candidate: Candidate, others: Sequence[Candidate]) -> set[Band]:
    """Bands of a candidate that no other group here could account for."""
    return {
        band
        for band in candidate.bands
        if not any(_explains(o, band) for o in others if o is not candidate)
    }


def _certainty(candidate: Candidate, candidates: Sequence[Candidate]) -> Certainty:
    own = _own(candidate, candidates)
    needed = [m for m in candidate.matches if m.table.needed]
    if any(candidate.bands <= o.bands for o in candidates if o is not candidate):
        return Certainty.POSSIBLE
    if any(m.band and m.band.sigma < FIRM_SIGMA for m in needed):
        return Certainty.POSSIBLE
    whole = all(m.band and m.band.shape == "peak" for m in needed)
    surest = candidate.group.surest
    weak = [m for m in candidate.missing if m.table.weight >= 0.3]
    if surest == Certainty.SURE and whole and len(own) >= 2 and not candidate.missing:
        return Certainty.SURE
    seen = all(m.band for m in needed)
    enough = len(own) >= min(2, len(needed))
    if surest != Certainty.POSSIBLE and seen and enough and not weak and candidate.score >= 0.8:
        return Certainty.LIKELY
    return Certainty.POSSIBLE


def _finding(
    candidate: Candidate,
    certainty: Certainty,
    candidates: Sequence[Candidate],
    bands: Sequence[Band],
) -> Finding:
    group, found = candidate.group, candidate.found
    own = _own(candidate, candidates)
    grounds = [
        f"{len(found)} of {len(candidate.matches)} bands are there: "
        f"{_places(candidate.bands)} cm⁻¹."
    ]
    if own:
        grounds.append(f"Of these, {_places(own)} cm⁻¹ belong to no other group found here.")
    left = [b for b in bands if b not in candidate.bands]
    grounds.append(
        f"By itself it leaves {_places(left)} cm⁻¹ unexplained." if left
        else "By itself it explains every band."
    )  # fmt: skip
    against = []
    if candidate.missing:
        against.append(
            "Missing though they should stand out: "
            f"{places_in_words(m.table.at for m in candidate.missing)} cm⁻¹."
        )
    if candidate.hidden:
        against.append(
            "Hidden under stronger bands: "
            f"{places_in_words(m.table.at for m in candidate.hidden)} cm⁻¹."
        )
    outside = [m.table.at for m in candidate.matches if m.table.needed and not m.covered
               and not m.band]  # fmt: skip
    if outside:
        against.append(f"Not measured: {places_in_words(outside)} cm⁻¹, which the group needs.")
    if not own:
        against.append("Every band of it is one of another group found here.")
    marks = [_mark(match) for match in candidate.matches if match.covered or match.band]
    return Finding("infrared group", group.code, group.label, certainty, tuple(grounds),
                   tuple(against), tuple(marks), round(candidate.score, 3))  # fmt: skip


def _mark(match: Match) -> Mark:
    table, band = match.table, match.band
    if band:
        note = f"{'shoulder; ' if band.shape == 'shoulder' else ''}{table.source}"
        return Mark(round(band.x, 1), table.what, table.at, band.height, band.sigma, True, note)
    note = "hidden under a stronger band" if match.hidden else "not seen"
    return Mark(table.at, table.what, table.at, None, None, match.hidden, f"{note}; {table.source}")


def _unsettled(candidates: Sequence[Candidate]) -> list[Unsettled]:
    """Groups that a reader must not choose between by these bands."""
    out = []
    for one, other in combinations(candidates, 2):
        only_one = {b for b in one.bands if not _explains(other, b)}
        only_other = {b for b in other.bands if not _explains(one, b)}
        if only_one and only_other:
            continue
        if not one.bands & other.bands:
            continue
        lesser, greater = (one, other) if not only_one else (other, one)
        says = (
            f"{_capital(lesser.group.label)} and {greater.group.label} have the same bands here."
            if not only_one and not only_other
            else f"Every band of {lesser.group.label} is also one of {greater.group.label}: it may "
            "be there besides, or not at all."
        )
        settle = " ".join(
            dict.fromkeys(g.settle for g in (lesser.group, greater.group) if g.settle)
        )
        out.append(Unsettled((lesser.group.code, greater.group.code), says, settle or SETTLE))
    for candidate in candidates:
        if candidate.group.settle and not any(candidate.group.code in u.codes for u in out):
            out.append(
                Unsettled(
                    (candidate.group.code,),
                    f"The bands show {candidate.group.label}, not more closely what it is.",
                    candidate.group.settle,
                )
            )
    return out


SETTLE = "A second technique at the same place, such as X-ray diffraction or Raman spectroscopy."


def pairs_explaining(
    findings: Sequence[Finding], bands: Sequence[Band], most: int = 3
) -> list[tuple[tuple[str, str], list[float]]]:
    """The pairs of findings that leave least unexplained, with the places they leave."""
    covered = {f.code: {round(m.x, 1) for m in f.marks if m.height is not None} for f in findings}
    labels = {f.code: f.label for f in findings}
    ranked = []
    for one, other in combinations(covered, 2):
        both = covered[one] | covered[other]
        if both in (covered[one], covered[other]):
            continue
        left = [band for band in bands if round(band.x, 1) not in both]
        ranked.append((sum(b.height for b in left), (labels[one], labels[other]), left))
    ranked.sort(key=lambda entry: entry[0])
    return [(pair, [band.x for band in left]) for _, pair, left in ranked[:most]]


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _places(bands: Iterable[Band]) -> str:
    return places_in_words(sorted((band.x for band in bands), reverse=True))


def places_in_words(places: Iterable[float]) -> str:
    """“1740, 1165 and 725”; of many, the first ones and how many more."""
    words = [f"{place:.0f}" for place in places]
    if len(words) > 12:
        words = [*words[:11], f"{len(words) - 11} more"]
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
