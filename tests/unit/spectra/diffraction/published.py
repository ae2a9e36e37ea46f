"""Published structures and reference spacings that packages of the registry carry.

Structures: the American Mineralogist Crystal Structure Database (R. T. Downs, M. Hall-Wallace,
American Mineralogist 88 (2003) 247–250), of which the wheel of larixite has a copy. Spacings of
reference materials of the National Institute of Standards and Technology: the wheel of pyFAI.
"""

import json
import re
import sqlite3
from base64 import b64decode
from dataclasses import dataclass
from functools import cache
from typing import Any

import gemmi
import numpy as np
from pymatgen.core.lattice import Lattice
from pymatgen.core.structure import Structure

from analyses.spectra.diffraction import build
from tests.unit.spectra.open.packages import carried

QUERY = """
    SELECT a, b, c, alpha, beta, gamma, symmetry_xyz, atoms_sites, atoms_x, atoms_y, atoms_z,
        atoms_occupancy, year, page_first
    FROM cif JOIN spacegroups ON spacegroups.id = spacegroup_id
        JOIN publications ON publications.id = publication_id
    WHERE cif.id = ?
"""


@dataclass(frozen=True, slots=True)
class Copy:
    """One determination: cell in Å and degrees, all atoms of the cell, where it was printed."""

    cell: list[float]
    whole: Any
    year: str
    page: str


@cache
def _database() -> sqlite3.Connection:
    connection = sqlite3.connect(":memory:")
    connection.deserialize(carried("larixite", "larixite/amcsd_cif1.db"))
    return connection


def copy(number: int) -> Copy:
    """The determination with this number in the database."""
    row = _database().execute(QUERY, (number,)).fetchone()
    cell = [float(text) for text in row[:6]]
    operations = [gemmi.Op(text) for text in json.loads(row[6])]
    places = np.column_stack([_numbers(text) for text in row[8:11]])
    labels = json.loads(row[7])
    shares = np.ones(len(labels)) if row[11] == "0" else _numbers(row[11])
    sites = [
        (_element(label), [_third(v) for v in place], float(share))
        for label, place, share in zip(labels, places, shares, strict=True)
    ]
    species, atoms = build.occupied(operations, sites)
    whole = Structure(Lattice.from_parameters(*cell), species, atoms)
    return Copy(cell, whole, str(row[12]), str(row[13]))


def _numbers(text: str) -> Any:
    """The package keeps fractions as whole numbers of a four-millionth."""
    return np.frombuffer(b64decode(text), np.int32) / 4e6


def _third(value: float) -> float:
    return round(value * 3) / 3 if abs(value * 3 - round(value * 3)) < 1e-3 else float(value)


def _element(label: str) -> str:
    """'Fe3+', 'O-H' (of a hydroxyl), 'OW' or 'Wat' (of water), 'AgII', 'MgOct'."""
    if label.startswith(("Wat", "OW", "OH", "O-H")):
        return "O"
    for letters in re.findall(r"^([A-Z][a-z]|[A-Z])", label):
        if gemmi.Element(letters).atomic_number:
            return str(gemmi.Element(letters).name)
    return label[0]


def certified(name: str) -> list[tuple[float, float | None]]:
    """Spacing (Å) and strength, where given, of the lines of a reference material."""
    text = carried("pyfai", f"pyFAI/resources/calibration/{name}.D").decode()
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
    found: list[tuple[float, float | None]] = []
    for line in lines:
        spacing, _, rest = line.partition("#")
        told = rest.split(")")[-1].split()
        found.append((float(spacing), float(told[1]) if len(told) > 1 else None))
    return found
