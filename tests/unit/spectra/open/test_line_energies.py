"""Energies of X-ray lines that are not taken from xraydb, against those that NIST compiled.

C. T. Chantler and others, X-ray Form Factor, Attenuation and Scattering Tables (2005), as the wheel
of exspy carries them; of light elements it has the middle of Kα1 and Kα2.
"""

import re
from functools import cache

import pytest
import xraydb

from analyses.spectra.xray import lines_of
from analyses.spectra.xray.lines import MEASURED_EV
from tests.unit.spectra.open.packages import carried

NAMES = {"Ka1": "Ka", "Kb1": "Kb", "La1": "La", "Lb1": "Lb1", "Ma": "Ma"}
COMPARED = [(symbol, line) for symbol, own in MEASURED_EV.items() for line in own if line in NAMES]


@cache
def compiled() -> str:
    """exspy's table of the elements as it is written; nothing of it is run."""
    return carried("exspy", "exspy/_misc/elements.py").decode()


def compiled_ev(symbol: str, line: str) -> float:
    (element,) = re.findall(rf'^    "{symbol}": \{{\n.*?^    \}},\n', compiled(), re.M | re.S)
    (kev,) = re.findall(rf'"{NAMES[line]}": \{{[^}}]*"energy \(keV\)": ([\d.]+)', element)
    return 1000 * float(kev)


@pytest.mark.parametrize(("symbol", "line"), COMPARED)
def test_an_energy_of_our_own_is_nearer_than_the_tables(symbol: str, line: str) -> None:
    ours, theirs = MEASURED_EV[symbol][line], compiled_ev(symbol, line)
    if second := MEASURED_EV[symbol].get("Ka2"):
        ours = min(ours, (2 * ours + second) / 3, key=lambda energy: abs(energy - theirs))
    assert ours == pytest.approx(theirs, abs=1.2)
    assert abs(ours - theirs) < abs(xraydb.xray_lines(symbol)[line].energy - theirs)


def test_lines_that_crowd_stand_where_they_were_measured() -> None:
    """Of these the middle of a group is drawn: within 2.5 eV of the compiled places."""
    crowd = (
        *(("P", "Ka1", "Kα"), ("S", "Ka1", "Kα"), ("Zr", "La1", "Lα"), ("Mo", "La1", "Lα")),
        *((heavy, "Ma", "Mα") for heavy in ("Au", "Hg", "Pb", "Bi")),
    )
    for symbol, line, name in crowd:
        (drawn,) = [one for one in lines_of(symbol, 3.0) if one.name == name]
        assert drawn.energy_kev * 1000 == pytest.approx(compiled_ev(symbol, line), abs=2.5), symbol
