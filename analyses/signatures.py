"""By what a material shows itself: the lines, reflections and bands of its marks, for its page.

They are those that evaluations look for, from the same tables.
"""

from dataclasses import dataclass

import numpy as np

from analyses.spectra.diffraction.reference import phases
from analyses.spectra.infrared.groups import groups
from analyses.spectra.xray import lines_of
from records.models import Material

MOST_LINES, MOST_REFLECTIONS, MOST_BANDS = 4, 4, 6
COPPER_ALPHA1_A, ANGLES = 1.5406, (5.0, 90.0)
LEAST_SHARE = 0.05  # of the strongest line of its shell


@dataclass(frozen=True, slots=True)
class Shown:
    """One element, phase or group of bands: its name, and where its strongest places lie."""

    name: str
    places: str


@dataclass(frozen=True, slots=True)
class Signature:
    """Each with its strongest places first; empty where the technique says nothing."""

    elements: tuple[Shown, ...]
    phases: tuple[Shown, ...]
    bands: tuple[Shown, ...]


def signature_of(material: Material) -> Signature:
    """Lines of the elements that mark it, d-spacings of its phases, bands of its groups."""
    tables, known = {group.code: group for group in groups()}, phases()
    return Signature(
        tuple(Shown(symbol, _lines(symbol)) for symbol in material.marks or material.elements
              if _lines(symbol)),
        tuple(
            Shown(known[code].label, _spacings(code)) if code in known
            else Shown(code, "no reference pattern yet")
            for code in material.phases
        ),
        tuple(Shown(tables[code].label, _bands(code)) for code in material.bands
              if code in tables),
    )  # fmt: skip


def _lines(symbol: str) -> str:
    """'Kα 4.51, Kβ 4.93 keV'; '' for an element without lines that can be seen."""
    try:
        lines = lines_of(symbol)
    except ValueError:
        return ""
    strong = [line for line in lines if line.share >= LEAST_SHARE and line.energy_kev >= 1]
    told = [f"{line.name} {line.energy_kev:.2f}" for line in strong[:MOST_LINES]]
    return f"{', '.join(told)} keV" if told else ""


def _spacings(code: str) -> str:
    """'d 3.25, 1.69, 2.49 Å', the strongest as copper radiation gives them."""
    angles, strengths = phases()[code].lines(COPPER_ALPHA1_A, ANGLES)
    strongest = angles[strengths.argsort()[::-1][:MOST_REFLECTIONS]]
    spacings = COPPER_ALPHA1_A / (2 * np.sin(np.radians(strongest / 2)))
    return f"d {', '.join(f'{d:.2f}' for d in spacings)} Å"


def _bands(code: str) -> str:
    (group,) = (group for group in groups() if group.code == code)
    strong = sorted(group.bands, key=lambda band: -band.weight)[:MOST_BANDS]
    return f"{', '.join(f'{band.at:.0f}' for band in strong)} cm⁻¹"
