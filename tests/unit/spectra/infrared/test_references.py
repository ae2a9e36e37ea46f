"""Spectra against the department's own references, singly and in mixtures."""

import numpy as np
import pytest

from analyses.spectra.curve import Axis, Curve
from analyses.spectra.findings import Certainty
from analyses.spectra.infrared import Measured, Reference, compare, evaluate
from analyses.spectra.infrared.preparation import prepare
from tests.unit.spectra.infrared.generator import Conditions, spectrum

# Twins such as the waxes are left out: no correlation parts them.
SUBSTANCES = (
    "protein", "drying_oil", "ester_wax", "shellac", "polysaccharide", "cellulose",
    "acrylic_copolymer", "calcite", "hydrocerussite", "gypsum", "barite", "kaolinite",
)  # fmt: skip


@pytest.fixture(scope="module")
def references() -> list[Reference]:
    rng = np.random.default_rng(11)
    clean = Conditions(signal=2000, slope=0.05, dioxide=0.02, step=4)
    return [Reference(name, spectrum({name: 0.7}, rng, clean)) for name in SUBSTANCES]


def test_the_right_reference_comes_first(references: list[Reference]) -> None:
    rng = np.random.default_rng(12)
    first = 0
    for reference in references:
        curve = spectrum({reference.name: 0.5}, rng, Conditions(signal=200, step=2))
        hits, _ = compare(prepare(curve, Measured.TRANSMISSION), references)
        first += hits[0].names == (reference.name,)
    assert first == len(references)


@pytest.mark.parametrize("pair", [("drying_oil", "calcite"), ("protein", "gypsum"),
                                  ("shellac", "barite")])  # fmt: skip
def test_a_mixture_is_taken_apart_and_what_is_left_is_told(
    references: list[Reference], pair: tuple[str, str]
) -> None:
    curve = spectrum(dict.fromkeys(pair, 0.6), np.random.default_rng(13))
    hits, _ = compare(prepare(curve, Measured.TRANSMISSION), references)
    best = min((hit for hit in hits if len(hit.names) == 2), key=lambda hit: hit.unexplained)
    assert set(best.names) == set(pair)
    assert best.unexplained < 0.12
    assert sum(best.amounts) == pytest.approx(1, abs=0.01)
    alone = {hit.names[0]: hit for hit in hits if len(hit.names) == 1}
    assert alone[pair[0]].unexplained > 2 * best.unexplained
    assert alone[pair[0]].left, "the bands of the other must be named"
    told = evaluate(curve, references=references).remarks
    assert any(pair[0] in line and pair[1] in line and "together" in line for line in told)


def test_a_reference_alone_is_never_sure(references: list[Reference]) -> None:
    twin = references[0]
    findings = evaluate(twin.curve, references=references).findings
    (finding,) = [f for f in findings if f.kind == "reference spectrum" and f.label == twin.name]
    assert finding.certainty == Certainty.LIKELY
    assert finding.score == pytest.approx(1, abs=1e-3)


def test_a_reference_that_cannot_be_compared_is_named(references: list[Reference]) -> None:
    x = np.arange(600, 950, 1.0)
    short = Reference("short", Curve(x, np.ones_like(x), Axis.WAVENUMBER, "absorbance"))
    far = Reference("XRF", Curve(x, np.ones_like(x), Axis.ENERGY, "counts"))
    remarks = evaluate(references[0].curve, references=[short, far]).remarks
    assert any("“short” was left out: it shares less than 600" in line for line in remarks)
    assert any("“XRF” was left out: The axis is in keV" in line for line in remarks)


def test_excluded_regions_are_told_and_left_out(references: list[Reference]) -> None:
    curve = references[1].curve
    spoiled = curve.y + 5 * np.exp(-(((curve.x - 1500) / 30) ** 2))
    bad = Curve(curve.x, spoiled, Axis.WAVENUMBER, "absorbance")
    hits, _ = compare(
        prepare(bad, Measured.TRANSMISSION), [references[1]], excluded=((1350, 1650),)
    )
    assert hits[0].correlation > 0.97
    assert hits[0].excluded == ((1350, 1650),)
