"""The reference patterns: computed from published crystal structures by `build`, read once."""

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from analyses.spectra.curve import Array

FILE = Path(__file__).with_name("reference.json")


@dataclass(frozen=True, slots=True)
class Phase:
    """A crystalline phase: spacings (n,) in Å and strengths (n,) of 100 before any geometry."""

    code: str
    label: str
    formula: str
    source: str
    note: str
    spacings: Array
    bare: Array

    def lines(self, wavelength: float, two_theta: tuple[float, float]) -> tuple[Array, Array]:
        """Angles (° 2θ) and strengths, the strongest 100, that show between two angles."""
        sin_theta = wavelength / (2 * self.spacings)
        seen = sin_theta < 1
        theta = np.arcsin(sin_theta[seen])
        factor = (1 + np.cos(2 * theta) ** 2) / (np.sin(theta) ** 2 * np.cos(theta))
        angle, strength = np.degrees(2 * theta), self.bare[seen] * factor
        inside = (angle >= two_theta[0]) & (angle <= two_theta[1])
        angle, strength = angle[inside], strength[inside]
        if len(angle):
            strength = 100 * strength / strength.max()
        return angle, strength


@cache
def phases() -> dict[str, Phase]:
    """All reference phases by code."""
    return {
        code: Phase(
            code,
            entry["label"],
            entry["formula"],
            entry["source"],
            entry["note"],
            np.array([d for d, _ in entry["lines"]]),
            np.array([strength for _, strength in entry["lines"]]),
        )
        for code, entry in json.loads(FILE.read_text()).items()
    }
