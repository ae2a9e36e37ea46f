"""Powder patterns measured on real powders, as the package rietx carries them.

Fluorapatite on a laboratory diffractometer with a copper tube, and Na₂Ca₃Al₂F₁₄ at a synchrotron,
which holds a little fluorite. Both powders are of phases that no painting holds: their structures
are taken from the published copy, and stand beside the program's own reference patterns.
"""

import numpy as np

from analyses.spectra.curve import Array, Axis, Curve
from analyses.spectra.diffraction import DiffractionSettings, build, evaluate, phases
from analyses.spectra.diffraction.reference import Phase
from analyses.spectra.findings import Certainty
from tests.unit.spectra.diffraction.published import copy
from tests.unit.spectra.open.packages import carried

FLUORAPATITE, FLUORIDE = 8534, 13623  # numbers in the published copy


def published_phase(code: str, formula: str, number: int) -> Phase:
    lines = np.array([line for line in build.pattern(copy(number).whole) if line[1] >= 1])
    factor = build.lorentz_polarisation(build.COPPER / (2 * lines[:, 0]))
    return Phase(code, code, formula, "", "", lines[:, 0], lines[:, 1] / factor)


def fluorapatite() -> Curve:
    """Ten counts of eight figures in a row; start and step in hundredths of a degree."""
    _, bank, *rows = carried("rietx", "rietx/data/examples/FAP.XRA").decode().splitlines()
    start, step = (float(word) / 100 for word in bank.split()[5:7])
    cells = [row[at : at + 8] for row in rows for at in range(0, 80, 8)]
    counts = np.array([float(cell) for cell in cells if cell.strip()])
    angle: Array = start + step * np.arange(len(counts), dtype=float)
    return Curve(angle, counts, Axis.TWO_THETA, "counts")


def fluoride() -> Curve:
    """Angle in hundredths of a degree, counts, deviation; here four steps are one."""
    text = carried("rietx", "rietx/data/examples/11BM_NAC.fxye").decode()
    rows = [line.split() for line in text[text.index("FXYE") + 4 :].splitlines() if line.strip()]
    table: Array = np.array(rows, float)[:, :2]
    table = table[table[:, 0] > 300]
    four = table[: len(table) // 4 * 4].reshape(-1, 4, 2).mean(axis=1)
    return Curve(four[:, 0] / 100, four[:, 1], Axis.TWO_THETA, "counts")


def test_the_phase_of_a_laboratory_powder_is_sure_and_alone() -> None:
    own = published_phase("fluorapatite", "Ca5P3O12F", FLUORAPATITE)
    (finding,) = evaluate(fluorapatite(), reference=phases() | {"fluorapatite": own}).findings
    assert finding.code == "fluorapatite"
    assert finding.certainty == Certainty.SURE
    assert finding.against == ()


def test_without_its_reference_kin_is_named_but_nothing_is_sure() -> None:
    """Hydroxyapatite has the same structure and a cell half a per cent larger."""
    evaluation = evaluate(fluorapatite())
    found = {finding.code: finding.certainty for finding in evaluation.findings}
    assert "hydroxyapatite" in found
    assert set(found.values()) == {Certainty.POSSIBLE}
    assert evaluation.unexplained


def test_a_little_fluorite_is_found_at_another_wavelength() -> None:
    own = published_phase("fluoride", "Na2Ca3Al2F14", FLUORIDE)
    settings = DiffractionSettings(wavelength=0.413909, tolerance=0.02)
    evaluation = evaluate(fluoride(), settings, phases() | {"fluoride": own})
    found = {finding.code: finding.certainty for finding in evaluation.findings}
    assert found == {"fluoride": Certainty.SURE, "fluorite": Certainty.SURE}
