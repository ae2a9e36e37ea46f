"""Infrared spectra measured on real tissue: what is said of them, and which reference is nearest.

Four classes of tissue, 731 spectra of 1801 to 902 cm⁻¹, as the package orange-spectroscopy carries
them. All tissue holds protein, whatever else the class is named after.
"""

import csv
import io
from collections import defaultdict

import numpy as np
import pytest

from analyses.spectra.curve import Array, Axis, Curve
from analyses.spectra.findings import Certainty
from analyses.spectra.infrared import Measured, Reference, compare, evaluate
from analyses.spectra.infrared.preparation import prepare
from tests.unit.spectra.open.packages import carried

Classes = dict[str, list[Curve]]


@pytest.fixture(scope="module")
def tissue() -> Classes:
    text = carried("orange_spectroscopy", "orangecontrib/spectroscopy/datasets/collagen.csv")
    head, _, _, *rows = csv.reader(io.StringIO(text.decode()))
    x: Array = np.array([float(place) for place in head[1:]])[::-1]
    found: Classes = defaultdict(list)
    for name, *values in rows:
        y: Array = np.array([float(value) for value in values])[::-1]
        found[name].append(Curve(x, y, Axis.WAVENUMBER, "absorbance"))
    return found


def test_protein_is_named_in_tissue_and_nothing_is_sure(tissue: Classes) -> None:
    """Among much fat the amide III band may drown: nine of ten are named, of collagen all."""
    named = asked = 0
    for name, curves in tissue.items():
        for curve in curves[::24]:
            certainty = {f.code: f.certainty for f in evaluate(curve).findings}
            named += "protein" in certainty
            asked += 1
            assert Certainty.SURE not in certainty.values()
            if name == "collagen":
                assert certainty["protein"] == Certainty.LIKELY
    assert named >= 0.9 * asked


def test_the_nearest_reference_is_of_the_same_tissue(tissue: Classes) -> None:
    """The mean of the first forty of each class as reference, others as unknowns."""
    references = [
        Reference(
            name,
            Curve(curves[0].x, np.mean([c.y for c in curves[:40]], axis=0), Axis.WAVENUMBER,
                  "absorbance"),
        )
        for name, curves in tissue.items()
    ]  # fmt: skip
    right = asked = 0
    for name, curves in tissue.items():
        for curve in curves[40::20]:
            hits, _ = compare(prepare(curve, Measured.TRANSMISSION), references)
            right += hits[0].names == (name,)
            asked += 1
    assert asked >= 25
    assert right >= 0.9 * asked
