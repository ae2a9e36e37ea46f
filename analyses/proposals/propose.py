"""Ranking materials by what speaks for and against them, and what would decide between them.

A reading speaks the louder for a material the fewer materials of the list show it: its weight is
log₂(N / n) bits for n of N materials, lessened where the reading is not sure or was taken through
more than the target. Nothing is multiplied into a probability: the list is not a population.
A material is *contradicted* when an element that marks it would have been seen and was not, or when
it is younger than the target can be; the weights never make up for that.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import log2

from analyses.proposals.record import Candidate, Looked, Read, Sight, Target, sees_element
from analyses.spectra.findings import Certainty

SHARE = {Certainty.SURE: 1.0, Certainty.LIKELY: 0.6, Certainty.POSSIBLE: 0.25}
ELSEWHERE = 0.5  # a reading through more than the target
ABSENT_BITS = 1.0  # a phase or band looked for in vain: weak, it may be little or amorphous
DECIDES = {
    "phase": "X-ray diffraction",
    "band": "infrared spectroscopy",
    "element": "SEM-EDX or XRF",
    "colour": "microscopy",
}
NAMES = {"phase": "phase", "band": "bands of", "element": "element", "colour": "colour"}


@dataclass(frozen=True, slots=True)
class Proposal:
    """One material: its weight in bits, what it explains, and sentences for and against it."""

    candidate: Candidate
    bits: float
    explains: tuple[Read, ...]
    grounds: tuple[str, ...]
    against: tuple[str, ...]
    contradicted: bool
    decide: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Outcome:
    """Materials ranked, those contradicted after the others, and readings that none explains.

    `together` is a smallest choice of proposals that explains what can be explained. What was read
    through more than the target may be of what lies beside it: neither asks that it be explained.
    """

    proposals: tuple[Proposal, ...]
    contradicted: tuple[Proposal, ...]
    together: tuple[Proposal, ...]
    unexplained: tuple[Read, ...]


def propose(target: Target, materials: Sequence[Candidate]) -> Outcome:
    """Rank materials for a target; deterministic, ties in the order of their labels."""
    looks = {look.key: look for look in target.looked}
    pool = [m for m in materials if not target.groups or m.group in target.groups]
    shown_by = _shown_by(pool)
    weighed = [_weigh(m, target, looks, shown_by, len(pool)) for m in pool]
    kept = [p for p in weighed if _speaks(p)]
    kept.sort(key=lambda p: (-p.bits, len(p.against), p.candidate.label))
    standing = [p for p in kept if not p.contradicted]
    explained = {read for p in standing for read in p.explains}
    of_place = _of_the_place(target, looks)
    unexplained = tuple(read for read in of_place if read not in explained)
    together = _fewest(standing, explained.intersection(of_place))
    decided = tuple(_with_decision(p, standing, looks.values()) for p in standing)
    chosen = {p.candidate.code for p in together}
    return Outcome(
        proposals=decided,
        contradicted=tuple(p for p in kept if p.contradicted),
        together=tuple(p for p in decided if p.candidate.code in chosen),
        unexplained=unexplained,
    )


def _of_the_place(target: Target, looks: dict[str, Looked]) -> tuple[Read, ...]:
    """What was read at the very place; where nothing but colour was, all that was read."""
    own = tuple(read for read in target.read if looks[read.by].here)
    return own if any(read.kind != "colour" for read in own) else target.read


def _speaks(proposal: Proposal) -> bool:
    """Whether anything read is more than what the material may hold besides, or its colour."""
    return any(
        read.kind in ("phase", "band") or read.code in proposal.candidate.marks
        for read in proposal.explains
    )


def _shown_by(pool: Iterable[Candidate]) -> dict[tuple[str, str], int]:
    """How many materials show each thing that can be read."""
    count: dict[tuple[str, str], int] = {}
    for material in pool:
        for kind in NAMES:
            for code in material.may_show(kind):
                count[kind, code] = count.get((kind, code), 0) + 1
    return count


def _weigh(
    material: Candidate,
    target: Target,
    looks: dict[str, Looked],
    shown_by: dict[tuple[str, str], int],
    total: int,
) -> Proposal:
    bits, explains, grounds, against = 0.0, [], [], []
    contradicted = False
    heard: dict[tuple[str, str], float] = {}
    for read in target.read:
        if read.code not in material.may_show(read.kind):
            continue
        look = looks[read.by]
        explains.append(read)
        few = shown_by[read.kind, read.code]
        share = SHARE[read.certainty] * (1 if look.here else ELSEWHERE)
        weight = share * log2(total / few) if total > few else 0.0
        if read.kind == "element" and read.code not in material.marks:
            weight *= ELSEWHERE  # it may hold it, and is there without it too
        # The same thing read twice is one ground, as strong as the stronger.
        before = heard.get((read.kind, read.code), 0.0)
        heard[read.kind, read.code] = max(before, weight)
        bits += max(weight - before, 0.0)
        where = "" if look.here else ", which looks through more than this place"
        name = read.told[:1].upper() + read.told[1:]
        grounds.append(
            f"{name} was read ({read.certainty}) in {look.words}{where}; "
            f"{few} of {total} materials on the list show{'s' if few == 1 else ''} it."
        )
    read_codes = {(read.kind, read.code) for read in target.read}
    for look in target.looked:
        missing = sorted(
            symbol
            for symbol in material.marks
            if sees_element(look.sight, symbol) and ("element", symbol) not in read_codes
        )
        if missing:
            contradicted = True
            against.append(f"{look.words} would have shown {_and(missing)}; it was not read.")
        for kind, sight in (("phase", Sight.XRD), ("band", Sight.FTIR)):
            expected = material.may_show(kind)
            if look.sight is sight and expected and not _any(kind, expected, read_codes):
                bits -= ABSENT_BITS
                against.append(
                    f"{look.words} shows none of its {'phases' if kind == 'phase' else 'bands'}; "
                    "little of it, or a poorly ordered form, could escape."
                )
    young = target.not_after and material.not_before and material.not_before > target.not_after
    if young:
        contradicted = True
        against.append(
            f"It is younger than this place can be: {material.not_before_words}; "
            f"{target.not_after_words}."
        )
    return Proposal(material, bits, tuple(explains), tuple(grounds), tuple(against), contradicted)


def _any(kind: str, codes: Iterable[str], read: set[tuple[str, str]]) -> bool:
    return any((kind, code) in read for code in codes)


def _fewest(standing: Sequence[Proposal], explained: Iterable[Read]) -> list[Proposal]:
    """Few proposals that explain all that can be: each time the one that adds the most weight.

    A colour is that of the whole mixture, and asks for no material of its own.
    """
    open_reads = {read for read in explained if read.kind != "colour"}
    chosen: list[Proposal] = []
    while open_reads:
        best = max(standing, key=lambda p: (len(open_reads.intersection(p.explains)), p.bits))
        chosen.append(best)
        open_reads.difference_update(best.explains)
    return chosen


def _with_decision(
    proposal: Proposal, standing: Sequence[Proposal], looks: Iterable[Looked]
) -> Proposal:
    """The proposal with what would tell it from those that explain the same and weigh as much."""
    done = {look.sight for look in looks if look.here}
    mine = set(proposal.explains)
    decide: list[str] = []
    for other in standing:
        if other is proposal or not mine & set(other.explains):
            continue
        if abs(other.bits - proposal.bits) > max(1.0, proposal.bits / 3):
            continue
        told = _difference(proposal.candidate, other.candidate, done)
        if told and told not in decide:
            decide.append(told)
    return Proposal(
        proposal.candidate,
        proposal.bits,
        proposal.explains,
        proposal.grounds,
        proposal.against,
        proposal.contradicted,
        tuple(decide[:4]),
    )


def _difference(one: Candidate, other: Candidate, done: set[Sight]) -> str:
    """The measurement that tells two materials apart, one not yet made if there is one."""
    sights = {"phase": {Sight.XRD}, "band": {Sight.FTIR}, "element": {Sight.SEM_EDX, Sight.XRF}}
    options = []
    for kind in NAMES:
        mine, theirs = one.may_show(kind), other.may_show(kind)
        if kind == "element":
            mine, theirs = one.marks - other.may_show(kind), other.marks - one.may_show(kind)
        else:
            mine, theirs = mine - theirs, theirs - mine
        if mine or theirs:
            options.append((bool(sights.get(kind, set()) & done), kind, mine, theirs))
    if not options:
        return ""
    repeated, kind, mine, theirs = min(options, key=lambda o: o[0])
    said = [
        f"{_and(sorted(codes))} for {material.label.lower()}"
        for codes, material in ((mine, one), (theirs, other))
        if codes
    ]
    again = " again, at the very place," if repeated else ""
    return (
        f"To tell it from {other.label.lower()}: {DECIDES[kind]}{again} "
        f"({NAMES[kind]} {', '.join(said)})."
    )


def _and(words: Sequence[str]) -> str:
    words = [word.replace("_", " ") for word in words]
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
