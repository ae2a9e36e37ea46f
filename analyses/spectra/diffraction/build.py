"""Computes the reference patterns from published structures; run after a change of the TOML files.

    python -m analyses.spectra.diffraction.build

Needs pymatgen, which the program itself does not. Strengths are kept without the Lorentz and
polarisation factors, so that they can be given for any wavelength.
"""

import json
import tomllib
from pathlib import Path
from typing import Any

import numpy as np

FOLDER = Path(__file__).parent
COPPER = 1.540593  # Å, Cu Kα1: G. Hölzer et al., Physical Review A 56 (1997) 4554–4568
LEAST_SPACING = 1.0  # Å
LEAST_STRENGTH = 0.4  # of 100
SAME_SPACING = 2e-4  # relative; reflections nearer than that are one line


def lorentz_polarisation(sin_theta: Any) -> Any:
    """(1 + cos² 2θ) / (sin² θ cos θ), for an unpolarised beam and no monochromator.

    C. Giacovazzo (ed.), Fundamentals of Crystallography, 3rd edition 2011, chapter 3.
    """
    theta = np.arcsin(sin_theta)
    return (1 + np.cos(2 * theta) ** 2) / (np.sin(theta) ** 2 * np.cos(theta))


def cell_of(entry: dict[str, Any]) -> list[float]:
    """a, b, c in Å, α, β, γ in degrees; left out, angles follow from the system."""
    cell = [float(number) for number in entry["cell"].split()]
    if len(cell) == 3:
        hexagonal = entry["group"].startswith(("P 3", "P -3", "P 6", "R", "P 32", "P 63"))
        cell += [90.0, 90.0, 120.0 if hexagonal else 90.0]
    return cell


def sites_of(entry: dict[str, Any]) -> list[tuple[str, list[float], float]]:
    """Element, fractional coordinates and occupancy of each site; thirds are made exact."""
    found = []
    for site in entry["sites"]:
        element, *numbers = site.split()
        x = [float(number) for number in numbers]
        exact = [round(v * 3) / 3 if abs(v * 3 - round(v * 3)) < 1e-3 else v for v in x[:3]]
        found.append((element, exact, x[3] if len(x) > 3 else 1.0))
    return found


def occupied(
    operations: list[Any], sites: list[tuple[str, list[float], float]]
) -> tuple[list[dict[str, float]], Any]:
    """What stands at each place of the cell, in what shares, and the places (n, 3)."""
    species: list[dict[str, float]] = []
    places = np.empty((0, 3))
    for element, xyz, share in sites:
        orbit = np.empty((0, 3))
        for operation in operations:
            place = np.array(operation.apply_to_xyz(xyz)) % 1
            if not _near(orbit, place).any():
                orbit = np.vstack([orbit, place])
        for place in orbit:
            taken = np.flatnonzero(_near(places, place))
            if len(taken):
                there = species[taken[0]]
                there[element] = there.get(element, 0) + share
            else:
                species.append({element: share})
                places = np.vstack([places, place])
    return species, places


def _near(places: Any, place: Any) -> Any:
    return np.abs((places - place + 0.5) % 1 - 0.5).max(axis=1, initial=0) < 1e-3


def structure(entry: dict[str, Any]) -> Any:
    """The whole cell as pymatgen sees it, its symmetry written out by gemmi for the setting."""
    import gemmi
    from pymatgen.core.lattice import Lattice
    from pymatgen.core.structure import Structure

    operations = gemmi.find_spacegroup_by_name(entry["group"]).operations()
    species, places = occupied(list(operations), sites_of(entry))
    lattice = Lattice.from_parameters(*cell_of(entry))
    return Structure(lattice, species, places)


def pattern(whole: Any) -> list[tuple[float, float]]:
    """Spacing (Å) and strength of 100 of a structure's lines for copper radiation.

    Atoms are taken at rest: lines at high angles come out somewhat too strong.
    """
    from pymatgen.analysis.diffraction.xrd import XRDCalculator

    reach = 2 * np.degrees(np.arcsin(COPPER / (2 * LEAST_SPACING)))
    lines = XRDCalculator(wavelength=COPPER).get_pattern(
        whole, scaled=True, two_theta_range=(1, reach)
    )
    return list(zip(lines.d_hkls, lines.y, strict=True))


def computed(entry: dict[str, Any]) -> list[tuple[float, float]]:
    """Spacing (Å) and strength without Lorentz and polarisation factors, widest first."""
    rows = np.array([line for line in pattern(structure(entry)) if line[1] >= LEAST_STRENGTH])
    return _merged(rows[:, 0], rows[:, 1] / lorentz_polarisation(COPPER / (2 * rows[:, 0])))


def published(entry: dict[str, Any]) -> list[tuple[float, float]]:
    """The same of a published list of spacings and strengths for copper radiation."""
    rows = np.array([[float(v) for v in line.split()] for line in entry["lines"]])
    return _merged(rows[:, 0], rows[:, 1] / lorentz_polarisation(COPPER / (2 * rows[:, 0])))


def _merged(spacing: Any, bare: Any) -> list[tuple[float, float]]:
    lines: list[list[float]] = []
    for d, value in sorted(zip(spacing, bare, strict=True), reverse=True):
        if lines and lines[-1][0] - d < SAME_SPACING * d:
            lines[-1][1] += value
        else:
            lines.append([d, value])
    most = max(value for _, value in lines)
    return [(round(d, 4), round(100 * value / most, 2)) for d, value in lines]


def build() -> dict[str, Any]:
    """All patterns by code."""
    patterns = {}
    for name, lines_of in (("structures", computed), ("patterns", published)):
        entries = tomllib.loads((FOLDER / f"{name}.toml").read_text())
        for code, entry in entries.items():
            patterns[code] = {
                "label": entry["label"],
                "formula": entry["formula"],
                "source": entry["source"],
                "note": entry.get("rough", "published pattern" if name == "patterns" else ""),
                "lines": lines_of(entry),
            }
    return dict(sorted(patterns.items()))


if __name__ == "__main__":
    text = json.dumps(build(), ensure_ascii=False, indent=None, separators=(",", ":"))
    (FOLDER / "reference.json").write_text(text.replace('},"', '},\n"') + "\n")
