"""Powder patterns from a second diffraction code: structure factors of gemmi, not pymatgen.

gemmi uses the form factors of the International Tables for Crystallography C (1992), table 6.1.1.4,
and sums the reflections of the whole sphere here, so that neither multiplicities nor absences are
taken from the code under test.
"""

import tomllib
from functools import cache
from typing import Any

import gemmi
import numpy as np

from analyses.spectra.curve import Array, Axis, Curve
from analyses.spectra.diffraction import build

STRUCTURES = tomllib.loads((build.FOLDER / "structures.toml").read_text())
CU_KA1, CU_KA2 = 1.540593, 1.544427


def crystal(entry: dict[str, Any]) -> gemmi.SmallStructure:
    small = gemmi.SmallStructure()
    small.cell = gemmi.UnitCell(*build.cell_of(entry))
    small.spacegroup_hm = entry["group"]
    small.spacegroup = gemmi.find_spacegroup_by_name(entry["group"])
    for number, (element, xyz, occupancy) in enumerate(build.sites_of(entry)):
        site = gemmi.SmallStructure.Site()
        site.label = f"{element}{number}"
        site.type_symbol = element
        site.element = gemmi.Element(element)
        site.fract = gemmi.Fractional(*xyz)
        site.occ = occupancy
        site.u_iso = 0.0
        small.add_site(site)
    small.setup_cell_images()
    small.change_occupancies_to_crystallographic()
    return small


@cache
def lines(code: str, least_spacing: float) -> tuple[Array, Array]:
    """Spacings (Å) and strengths for copper radiation, the strongest 100."""
    small = crystal(STRUCTURES[code])
    calculator = gemmi.StructureFactorCalculatorX(small.cell)
    reach = gemmi.make_miller_array(small.cell, small.spacegroup, least_spacing, 1000.0, False)
    operations = small.spacegroup.operations()
    found: dict[float, float] = {}
    for hkl in reach:
        h = [int(index) for index in hkl]
        if h == [0, 0, 0] or operations.is_systematically_absent(h):
            continue
        amplitude = abs(calculator.calculate_sf_from_small_structure(small, h))
        d = round(small.cell.calculate_d(h), 4)
        found[d] = found.get(d, 0.0) + amplitude**2
    spacing = np.array(sorted(found, reverse=True))
    bare = np.array([found[d] for d in spacing])
    strength = bare * build.lorentz_polarisation(CU_KA1 / (2 * spacing))
    return spacing, 100 * strength / strength.max()


def pattern(
    parts: dict[str, float],
    *,
    seed: int,
    counts: float = 2000,
    shift: float = 0.0,
    texture: float = 0.15,
    span: tuple[float, float] = (8.0, 70.0),
) -> Curve:
    """A measured pattern of a mixture: `parts` are heights of the strongest lines, `counts` for 1.

    Pseudo-Voigt lines of 0.14° with the Kα₂ beside them, a falling background with the hump of a
    binder, sample displacement, grains that do not lie at random, and counting noise.
    """
    chance = np.random.default_rng(seed)
    angle = np.arange(*span, 0.02)
    ideal = 0.05 * counts * np.exp(-angle / 22) + 0.03 * counts
    ideal += 0.02 * counts * np.exp(-(((angle - 21) / 5) ** 2))
    for code, height in parts.items():
        spacing, strength = lines(code, 1.2)
        turned = np.exp(chance.normal(0, texture, len(spacing)))
        for d, value in zip(spacing, strength * turned * height / 100, strict=True):
            if value < 2e-4:
                continue
            for wavelength, share in ((CU_KA1, 1.0), (CU_KA2, 0.5)):
                at = np.degrees(2 * np.arcsin(wavelength / (2 * d)))
                at += shift * np.cos(np.radians(at / 2))
                near = slice(*np.searchsorted(angle, (at - 2, at + 2)))
                u = (angle[near] - at) / 0.07
                bell = 0.5 * np.exp(-np.log(2) * u**2) + 0.5 / (1 + u**2)
                ideal[near] += counts * value * share * bell
    return Curve(angle, chance.poisson(ideal).astype(float), Axis.TWO_THETA, "counts")
