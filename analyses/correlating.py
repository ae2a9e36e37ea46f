"""Proposing which layers of different cross-sections are one and the same. No Django here.

Sections are aligned one after the other, the richest first, by dynamic programming: the order of
the layers is kept, a layer may be missing anywhere, and pairs are weighed by their traces,
materials, colours, fluorescence and words. It proposes; a person confirms.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cache
from itertools import combinations
from math import exp, hypot

GAP = 0.32  # what a pair must at least be worth before it is better than two layers on their own
SAME_TRACE, OTHER_TRACE = 6.0, -50.0
WEIGHTS = {"materials": 1.0, "colour": 1.0, "words": 0.8, "fluorescence": 0.5}
COLOUR_SCALE = 18.0  # CIELAB units at which likeness has fallen to 1/e
DOUBT = 0.6  # weight of what is not known: a pair alike in one respect only is worth less
ROUNDS = 4
COMMON_WORDS = {"a", "an", "and", "in", "layer", "of", "on", "the", "thin", "thick", "with"}


@dataclass(frozen=True, slots=True, eq=False)
class Stratum:
    """A layer as it is compared, itself and no other; `trace` 0 and `lab` None: not recorded."""

    key: int
    number: int
    words: str
    lab: tuple[float, float, float] | None = None
    materials: frozenset[str] = frozenset()
    fluorescence: str = ""
    trace: int = 0


Pair = Callable[[Stratum, Stratum], float]  # what the two are worth in one course


@dataclass(frozen=True, slots=True)
class Likeness:
    """How alike two layers are, 0 to 1, with the grounds; `decided` when traces say so."""

    share: float
    grounds: tuple[str, ...]
    decided: int = 0  # 1: the same trace, -1: two different ones

    @property
    def worth(self) -> float:
        if self.decided:
            return SAME_TRACE if self.decided > 0 else OTHER_TRACE
        return self.share


def likeness(one: Stratum, two: Stratum) -> Likeness:
    """Compare two layers by whatever is recorded of both; 0 when nothing is."""
    if one.trace and two.trace:
        same = one.trace == two.trace
        words = "tied to the same trace" if same else "tied to different traces"
        return Likeness(1.0 if same else 0.0, (words,), 1 if same else -1)
    found: dict[str, float] = {}
    grounds = []
    if one.materials and two.materials:
        both = one.materials & two.materials
        found["materials"] = len(both) / len(one.materials | two.materials)
        grounds.append(f"both hold {', '.join(sorted(both))}" if both else "no material in common")
    if one.lab and two.lab:
        apart = _apart(one.lab, two.lab)
        found["colour"] = exp(-apart / COLOUR_SCALE)
        grounds.append(f"colours {apart:.0f} apart in CIELAB")
    said = _words(one.words), _words(two.words)
    if said[0] and said[1]:
        shared = said[0] & said[1]
        found["words"] = len(shared) / min(len(said[0]), len(said[1]))
        if shared:
            grounds.append(f"both are described as {', '.join(sorted(shared))}")
    glow = _words(one.fluorescence), _words(two.fluorescence)
    if glow[0] and glow[1]:
        found["fluorescence"] = len(glow[0] & glow[1]) / len(glow[0] | glow[1])
        grounds.append("alike in fluorescence" if glow[0] & glow[1] else "unlike in fluorescence")
    known = sum(WEIGHTS[name] for name in found)
    share = sum(WEIGHTS[name] * part for name, part in found.items()) / (known + DOUBT)
    return Likeness(share, tuple(grounds))


def _apart(one: Sequence[float], two: Sequence[float]) -> float:
    """CIE 1976 colour difference."""
    return hypot(*(a - b for a, b in zip(one, two, strict=True)))


def _words(text: str) -> frozenset[str]:
    return frozenset(re.findall(r"[^\W\d_]{2,}", text.lower())) - COMMON_WORDS


@dataclass
class Course:
    """One step of the common sequence: the layer of each section that shows it, by section."""

    members: dict[int, Stratum] = field(default_factory=dict)

    @property
    def traces(self) -> set[int]:
        return {one.trace for one in self.members.values() if one.trace}

    @property
    def least(self) -> Likeness | None:
        """The weakest likeness among its layers; None for a single layer."""
        pairs = [likeness(a, b) for a, b in combinations(self.members.values(), 2)]
        return min(pairs, key=lambda one: one.worth, default=None)


def correlate(sections: Sequence[Sequence[Stratum]]) -> list[Course]:
    """The common sequence of several sections, the lowest course first.

    Each section's layers come bottom up. Every layer stands in exactly one course, the courses of
    one section's layers rise as they do, and no course holds layers of two different traces.
    """
    pair = cache(lambda one, two: likeness(one, two).worth)  # each pair is weighed many times
    order = sorted(range(len(sections)), key=lambda index: (-len(sections[index]), index))
    courses: list[Course] = []
    for index in order:
        courses = _join(courses, index, sections[index], pair)
    # The first sections were laid without knowing the later ones: lay each anew beside the rest.
    total = _total(courses, pair)
    for _ in range(ROUNDS):
        before = total
        for index in order:
            anew = _join(_without(courses, index), index, sections[index], pair)
            if (worth := _total(anew, pair)) > total + 1e-9:
                courses, total = anew, worth
        if total <= before + 1e-9:
            break
    return courses


def _without(courses: Sequence[Course], index: int) -> list[Course]:
    """The courses of the other sections."""
    rest = [
        Course({key: one for key, one in course.members.items() if key != index})
        for course in courses
    ]
    return [course for course in rest if course.members]


def _total(courses: Sequence[Course], pair: Pair) -> float:
    """What the sequence is worth: every pair within a course."""
    return sum(
        pair(a, b) - GAP for course in courses for a, b in combinations(course.members.values(), 2)
    )


def _join(courses: list[Course], index: int, layers: Sequence[Stratum], pair: Pair) -> list[Course]:
    """Lay one more section along the courses: the alignment of the greatest worth."""
    rows, columns = len(courses), len(layers)
    worth = [[_worth(course, layer, pair) for layer in layers] for course in courses]
    best = [[0.0] * (columns + 1) for _ in range(rows + 1)]
    for i in range(1, rows + 1):
        for j in range(1, columns + 1):
            best[i][j] = max(
                best[i - 1][j - 1] + worth[i - 1][j - 1] - GAP, best[i - 1][j], best[i][j - 1]
            )
    joined: list[Course] = []
    i, j = rows, columns
    while i or j:
        if i and j and best[i][j] == best[i - 1][j - 1] + worth[i - 1][j - 1] - GAP:
            i, j = i - 1, j - 1
            joined.append(Course({**courses[i].members, index: layers[j]}))
        elif j and (not i or best[i][j] == best[i][j - 1]):
            j -= 1
            joined.append(Course({index: layers[j]}))
        else:
            i -= 1
            joined.append(courses[i])
    return joined[::-1]


def _worth(course: Course, layer: Stratum, pair: Pair) -> float:
    """The mean worth of a layer beside those of a course; one different trace decides against."""
    found = [pair(member, layer) for member in course.members.values()]
    return min(found) if min(found) < 0 else sum(found) / len(found)
