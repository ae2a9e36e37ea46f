"""What the words of a material must be, so that an evaluation can find it by them."""

import re
from collections.abc import Callable, Collection, Mapping

import xraydb

from analyses.proposing import COLOURS
from analyses.spectra.diffraction.reference import phases
from analyses.spectra.infrared.groups import groups
from records.imports import nearest
from records.models import Material

Refusal = Callable[[str], str]  # what is wrong with a word, or ''


def _no_element(word: str) -> str:
    try:
        xraydb.atomic_number(word)
    except ValueError:
        return f"“{word}” is not the symbol of an element: Pb, C, O."
    return "" if word.istitle() else f"Write the symbol “{word.title()}”, not “{word}”."


def _no_hazard(word: str) -> str:
    if re.fullmatch(r"(EUH|H[234])\d{2,3}[A-Za-z]{0,2}", word):
        return ""
    return f"“{word}” is no hazard statement: H302, H360D."


def _none_of(known: Callable[[], Collection[str]], what: str) -> Refusal:
    def refusal(word: str) -> str:
        return "" if word in known() else f"“{word}” is no {what}{nearest(word, known())}."

    return refusal


def _phases() -> set[str]:
    """Phases with a reference pattern, and those that materials name without one."""
    named = Material.objects.values_list("phases", flat=True)
    return {*phases(), *(code for codes in named for code in codes)}


# By the field of a material that holds such words.
REFUSALS: Mapping[str, Refusal] = {
    "elements": _no_element,
    "marks": _no_element,
    "phases": _none_of(_phases, "phase with a reference pattern"),
    "bands": _none_of(lambda: {group.code for group in groups()}, "group of infrared bands"),
    "colours": _none_of(lambda: COLOURS, "colour that is told apart"),
    "hazards": _no_hazard,
}
