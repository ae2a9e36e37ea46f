"""What a proposal is drawn from: materials as they show themselves, and what was looked at.

What a technique can see at all is decided here, because something that was not read speaks against
a material only where it would have been seen.
"""

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

import xraydb

from analyses.spectra.findings import Certainty


class Sight(StrEnum):
    """A way of looking, by what it can see."""

    XRF = "xrf"  # in air
    SEM_EDX = "sem_edx"
    XRD = "xrd"
    FTIR = "ftir"
    EYE = "eye"  # microscopy: colour and look


KINDS = {"element": "elements", "phase": "phases", "band": "bands", "colour": "colours"}

# Below these atomic numbers a missing element means nothing. Common practice: K lines under about
# 3 keV are lost in air (from K, with Ca the first to rely on), and beside C and O an X-ray detector
# on an electron microscope shows from Na upwards what is there in more than traces.
LIGHTEST = {Sight.XRF: 20, Sight.SEM_EDX: 11}


def sees_element(sight: Sight, symbol: str) -> bool:
    """Whether the technique would show this element if there was more than a trace of it."""
    lightest = LIGHTEST.get(sight)
    return lightest is not None and int(xraydb.atomic_number(symbol)) >= lightest


@dataclass(frozen=True, slots=True)
class Candidate:
    """A material as it shows itself.

    `marks` are the elements without which it is not there, `elements` all that it may hold;
    `phases`, `bands` and `colours` are codes. `not_before` is the first day of its use, as the
    material list gives it, with the words to tell it.
    """

    code: str
    label: str
    group: str
    marks: frozenset[str] = frozenset()
    elements: frozenset[str] = frozenset()
    phases: frozenset[str] = frozenset()
    bands: frozenset[str] = frozenset()
    colours: frozenset[str] = frozenset()
    not_before: date | None = None
    not_before_words: str = ""

    def may_show(self, kind: str) -> frozenset[str]:
        shown: frozenset[str] = getattr(self, KINDS[kind])
        return shown | self.marks if kind == "element" else shown


@dataclass(frozen=True, slots=True)
class Looked:
    """One analysis that bears on the target. `here` is False when it saw more than the target:
    a reading through all layers can exclude a material from one of them, not put it there."""

    key: str
    words: str
    sight: Sight
    here: bool = True


@dataclass(frozen=True, slots=True)
class Read:
    """One thing read in an analysis, named by its key."""

    kind: str
    code: str
    certainty: Certainty
    by: str
    words: str = ""

    @property
    def told(self) -> str:
        return self.words or self.code


@dataclass(frozen=True, slots=True)
class Target:
    """A place or layer with all that was read there, and the last day on which it can be made."""

    looked: tuple[Looked, ...] = ()
    read: tuple[Read, ...] = ()
    not_after: date | None = None
    not_after_words: str = ""
    groups: frozenset[str] = field(default_factory=frozenset)
