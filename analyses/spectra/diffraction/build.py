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


def structure(entry: dict[str, Any]) -> Any:
    """The whole cell as pymatgen sees it, its symmetry written out by gemmi for the setting."""
    import gemmi
    from pymatgen.core.lattice import Lattice
    from pymatgen.core.structure import Structure

    operations = gemmi.find_spacegroup_by_name(entry["group"]).operations()
    species: list[dict[str, float]] = []
    places: list[Any] = []
    for element, xyz, occupancy in sites_of(entry):
        orbit: list[Any] = []
        for operation in operations:
            place = np.array(operation.apply_to_xyz(xyz)) % 1
            if not any(np.abs((place - q + 0.5) % 1 - 0.5).max() < 1e-3 for q in orbit):
                orbit.append(place)
        for place in orbit:
            for number, taken in enumerate(places):
                if np.abs((place - taken + 0.5) % 1 - 0.5).max() < 1e-3:
                    species[number][element] = species[number].get(element, 0) + occupancy
                    break
            else:
                species.append({element: occupancy})
                places.append(place)
    lattice = Lattice.from_parameters(*cell_of(entry))
    return Structure(lattice, species, places)


def computed(entry: dict[str, Any]) -> list[tuple[float, float]]:
    """Spacing (Å) and strength without Lorentz and polarisation factors, strongest first."""
    from pymatgen.analysis.diffraction.xrd import XRDCalculator

    reach = 2 * np.degrees(np.arcsin(COPPER / (2 * LEAST_SPACING)))
    pattern = XRDCalculator(wavelength=COPPER).get_pattern(
        structure(entry), scaled=True, two_theta_range=(1, reach)
    )
    spacing = np.asarray(pattern.d_hkls)
    strength = np.asarray(pattern.y)
    kept = strength >= LEAST_STRENGTH
    bare = strength[kept] / lorentz_polarisation(COPPER / (2 * spacing[kept]))
    return _merged(spacing[kept], bare)


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
