"""Infrared evaluations: how often they are right, and how honest they are where they cannot be."""

import json
from collections import Counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyses.spectra.curve import Axis, Curve
from analyses.spectra.findings import Certainty, Evaluation
from analyses.spectra.infrared import InfraredSettings, Measured, evaluate, groups
from tests.unit.spectra.infrared.generator import KNOWN, UNKNOWN, Conditions, spectrum
from tests.unit.spectra.infrared.test_preparation import oscillators

FIRM = (Certainty.SURE, Certainty.LIKELY)
SUREST = {group.code: group.surest for group in groups() if group.code in KNOWN}


def said(evaluation: Evaluation) -> dict[str, Certainty]:
    return {finding.code: finding.certainty for finding in evaluation.findings}


def draw(rng: np.random.Generator, turn: int) -> dict[str, float]:
    """One substance, two, or with one that the table does not know."""
    known, unknown = list(KNOWN), list(UNKNOWN)
    if turn % 10 == 9:
        return {str(rng.choice(unknown)): 1.0}
    if turn % 5 == 4:
        return {str(rng.choice(unknown)): 0.8, str(rng.choice(known)): rng.uniform(0.4, 1)}
    several = rng.choice(known, 1 + turn % 2, replace=False)
    return {str(name): rng.uniform(0.4, 1) for name in several}


def score(signal: float, count: int) -> Counter[str]:
    rng = np.random.default_rng(int(signal))
    tally: Counter[str] = Counter()
    for turn in range(count):
        parts = draw(rng, turn)
        conditions = Conditions(
            signal=signal, slope=rng.uniform(0, 0.3), step=(2, 1, 4)[turn % 3],
            vapour=0.03 * (turn % 3 == 0),
        )  # fmt: skip
        found = said(evaluate(spectrum(parts, rng, conditions)))
        how = "alone" if len(parts) == 1 else "mixed"
        for name in set(parts) & set(KNOWN):
            tally["there"] += 1
            tally["named"] += name in found
            if SUREST[name] == Certainty.SURE:
                tally["can be sure"] += 1
                tally["is sure"] += found.get(name) == Certainty.SURE
            if SUREST[name] in FIRM:
                tally[f"truth, {how}"] += 1
                tally[f"firm, {how}"] += found.get(name) in FIRM
        for code, certainty in found.items():
            tally[certainty] += 1
            tally[f"{certainty} and right"] += code in parts
    return tally


def test_what_is_called_sure_is_there_and_what_is_there_is_seldom_missed() -> None:
    """Precision and recall by the height of the highest band over the noise; printed with -s.

    'Sure' counts among the groups whose bands alone can be sure, 'firm' is sure or likely.
    """
    total: Counter[str] = Counter()
    print(
        "\nsignal  sure: right wrong recall  likely: right wrong  firm recall: alone mixed  named"
    )
    recall = {}
    for signal in (30, 100, 300, 1000):
        tally = score(signal, 90)
        total += tally
        recall[signal] = (
            tally["firm, alone"] / tally["truth, alone"],
            tally["firm, mixed"] / tally["truth, mixed"],
            tally["named"] / tally["there"],
        )
        sure, likely = (
            (tally[f"{c} and right"], tally[c] - tally[f"{c} and right"])
            for c in (Certainty.SURE, Certainty.LIKELY)
        )
        found = tally["is sure"] / tally["can be sure"]
        print(f"{signal:6d} {sure[0]:12d} {sure[1]:5d} {found:6.2f} {likely[0]:14d} {likely[1]:5d}"
              f" {recall[signal][0]:19.2f} {recall[signal][1]:5.2f}"
              f" {recall[signal][2]:6.2f}")  # fmt: skip
    assert total["sure and right"] >= 0.98 * total["sure"]
    assert total["sure"] >= 40
    assert total["there"] >= 300
    assert total["likely and right"] >= 0.95 * total["likely"]
    for signal in (100, 300, 1000):
        alone, mixed, named = recall[signal]
        assert alone >= 0.9
        assert mixed >= 0.65
        assert named >= 0.9


@pytest.mark.parametrize("code", [c for c, surest in SUREST.items() if surest == Certainty.SURE])
def test_a_group_is_never_sure_without_each_of_its_deciding_bands(code: str) -> None:
    (group,) = [group for group in groups() if group.code == code]
    whole, rng = KNOWN[code], np.random.default_rng(17)
    quiet = Conditions(signal=1000)
    assert said(evaluate(spectrum({code: 0.7}, rng, quiet)))[code] == Certainty.SURE
    for deciding in (band for band in group.bands if band.needed):
        left = tuple(b for b in whole if not deciding.low - 6 <= b[0] <= deciding.high + 6)
        assert len(left) < len(whole), deciding.at
        found = said(evaluate(spectrum({code: 0.7}, rng, quiet, bands={code: left})))
        assert found.get(code) != Certainty.SURE, deciding.at


# What readers of spectra take for each other.
CONFUSED = [
    ("calcite", "dolomite"), ("calcite", "hydrocerussite"), ("azurite", "malachite"),
    ("gypsum", "bassanite"), ("gypsum", "whewellite"), ("barite", "anglesite"),
    ("kaolinite", "lazurite"), ("quartz", "lazurite"), ("talc", "kaolinite"),
    ("hydrocerussite", "drying_oil"), ("lead_soap", "zinc_soap"), ("protein", "lead_soap"),
]  # fmt: skip


@pytest.mark.parametrize("pair", CONFUSED)
def test_of_two_that_are_confused_the_absent_one_is_never_sure(pair: tuple[str, str]) -> None:
    for seed in range(3):
        for there, absent in (pair, pair[::-1]):
            curve = spectrum({there: 0.7}, np.random.default_rng(seed), Conditions(signal=500))
            assert said(evaluate(curve)).get(absent) != Certainty.SURE, there


def test_a_resin_is_found_under_oil() -> None:
    """An old varnish of oil and resin: both, from a third of resin on."""
    found = Counter[str]()
    for seed in range(8):
        parts = {"drying_oil": 0.6, "terpenoid_resin": (0.25, 0.4, 0.5)[seed % 3]}
        found.update(said(evaluate(spectrum(parts, np.random.default_rng(seed)))).keys())
    assert found["terpenoid_resin"] >= 7
    assert found["drying_oil"] >= 7


def test_a_band_on_the_flank_of_a_stronger_one_is_hidden_not_missing() -> None:
    """The bend of protein at 1450 cm⁻¹ beside that of shellac at 1466 cm⁻¹."""
    for seed in range(8):
        curve = spectrum(
            {"protein": 0.7, "shellac": 0.7}, np.random.default_rng(seed), Conditions(signal=500)
        )
        (protein,) = [one for one in evaluate(curve).findings if one.code == "protein"]
        assert protein.certainty == Certainty.LIKELY
        assert "Missing" not in " ".join(protein.against)


def test_a_ketone_resin_is_not_taken_for_a_natural_one() -> None:
    for seed in range(4):
        curve = spectrum({"ketone_resin": 0.7}, np.random.default_rng(seed))
        found = said(evaluate(curve))
        assert found["ketone_resin"] == Certainty.POSSIBLE, "a natural resin lies too close"
        assert found.get("terpenoid_resin") != Certainty.SURE
        assert any("ketone_resin" in open_.codes for open_ in evaluate(curve).unsettled)


@pytest.mark.parametrize("unknown", UNKNOWN)
def test_what_the_table_does_not_know_is_never_sure(unknown: str) -> None:
    for seed in range(4):
        evaluation = evaluate(spectrum({unknown: 0.8}, np.random.default_rng(seed)))
        assert Certainty.SURE not in said(evaluation).values()
        assert evaluation.unexplained, "its bands must be listed as not assigned"


def test_grounds_name_bands_and_what_they_leave() -> None:
    curve = spectrum({"calcite": 0.7, "drying_oil": 0.7}, np.random.default_rng(2))
    evaluation = evaluate(curve)
    findings = {finding.code: finding for finding in evaluation.findings}
    assert findings["calcite"].certainty == Certainty.SURE
    assert findings["drying_oil"].certainty == Certainty.LIKELY
    grounds = " ".join(findings["calcite"].grounds)
    assert "bands are there" in grounds
    assert "By itself it leaves" in grounds
    assert any(
        "drying oil" in line and "calcite" in line and "Together" in line
        for line in evaluation.remarks
    )
    marks = {mark.expected: mark for mark in findings["calcite"].marks}
    assert marks[712].x == pytest.approx(712, abs=4)
    assert "Gunasekaran" in marks[712].note
    assert marks[712].sigma is not None
    assert marks[712].sigma > 8


def test_a_paraffin_within_a_wax_is_left_open() -> None:
    evaluation = evaluate(spectrum({"ester_wax": 0.7}, np.random.default_rng(5)))
    found = said(evaluation)
    assert found["ester_wax"] == Certainty.LIKELY
    assert found.get("paraffin", Certainty.POSSIBLE) == Certainty.POSSIBLE
    assert any({"paraffin", "ester_wax"} == set(open_.codes) for open_ in evaluation.unsettled)
    assert all(open_.settle for open_ in evaluation.unsettled)


def test_which_protein_is_not_claimed() -> None:
    evaluation = evaluate(spectrum({"protein": 0.7}, np.random.default_rng(6)))
    assert said(evaluation)["protein"] == Certainty.LIKELY
    (open_,) = [u for u in evaluation.unsettled if "protein" in u.codes]
    assert "Which protein" in open_.settle


def test_bands_below_the_range_are_told_not_claimed() -> None:
    """A detector that ends at 750 cm⁻¹ does not see the bend that parts calcite from dolomite."""
    curve = spectrum({"calcite": 0.7}, np.random.default_rng(7), Conditions(first=750))
    (calcite,) = [f for f in evaluate(curve).findings if f.code == "calcite"]
    assert calcite.certainty == Certainty.POSSIBLE
    assert any("Not measured: 712" in line for line in calcite.against)


def test_ATR_is_flagged_and_its_shifted_bands_accepted() -> None:  # noqa: N802
    rng = np.random.default_rng(8)
    curve = spectrum({"calcite": 0.6}, rng)
    lower = curve.x - 1 - 12 * np.exp(-(((curve.x - 1425) / 150) ** 2))
    shifted = Curve(curve.x, np.interp(curve.x, lower, curve.y) * 1000 / curve.x,
                    Axis.WAVENUMBER, "absorbance")  # fmt: skip
    plain = evaluate(shifted, InfraredSettings(measured=Measured.ATR))
    corrected = evaluate(shifted, InfraredSettings(measured=Measured.ATR, depth_corrected=True))
    assert any("not corrected for depth" in line for line in plain.remarks)
    assert any("multiplied by ν/1000" in line for line in corrected.remarks)
    assert corrected.parameters["measured"] == "ATR"
    assert "calcite" in said(corrected)


@pytest.mark.parametrize("corrected", [False, True])
def test_groups_are_found_in_ATR_too(corrected: bool) -> None:  # noqa: N802
    """Strong broad bands lie lower there, and heights fall towards high wavenumbers."""
    settings = InfraredSettings(measured=Measured.ATR, depth_corrected=corrected)
    firm = [code for code, surest in SUREST.items() if surest in FIRM]
    missed = []
    for number, code in enumerate(firm):
        lower = tuple(
            (place - 0.09 * width * height * (height > 0.5 and width > 24), width, height)
            for place, width, height in KNOWN[code]
        )
        rng = np.random.default_rng(number)
        curve = spectrum({code: 0.6}, rng, Conditions(signal=500), bands={code: lower})
        curve = Curve(curve.x, curve.y * 1000 / curve.x, Axis.WAVENUMBER, "absorbance")
        found = said(evaluate(curve, settings))
        if found.get(code) not in FIRM:
            missed.append(code)
        assert {c for c, certainty in found.items() if certainty == Certainty.SURE} <= {code}
    assert len(missed) <= 0.1 * len(firm), missed


def test_a_bent_reflection_is_listed_and_assigned_only_after_transformation() -> None:
    x = np.arange(500, 4001, 2.0)
    reflectance = oscillators(x)[0] + np.random.default_rng(9).normal(0, 1e-4, len(x))
    curve = Curve(x, reflectance, Axis.WAVENUMBER, "reflectance")
    plain = evaluate(curve)
    assert plain.findings == ()
    assert plain.background == ()
    assert any("reststrahlen" in mark.note and abs(mark.x - 1030) < 60
               for mark in plain.unexplained)  # fmt: skip
    assert any("bent like a derivative" in mark.note and abs(mark.x - 1730) < 12
               for mark in plain.unexplained)  # fmt: skip
    assert any("Kramers–Kronig" in line for line in plain.remarks)
    transformed = evaluate(curve, InfraredSettings(kramers_kronig=True))
    places = [mark.x for mark in transformed.unexplained] + [
        mark.x for finding in transformed.findings for mark in finding.marks if mark.height
    ]
    assert min(abs(place - 1732) for place in places) < 4
    assert min(abs(place - 1038) for place in places) < 6


def test_an_evaluation_can_be_kept_and_repeated() -> None:
    curve = spectrum({"azurite": 0.7}, np.random.default_rng(10))
    evaluation = evaluate(curve)
    kept = json.loads(json.dumps(evaluation.to_json()))
    assert kept["version"] == evaluation.version
    assert kept["parameters"]["least_sigma"] == 5.0
    assert evaluate(curve) == evaluation
    assert len(evaluation.background) == len(curve.x)


@given(st.integers(0, 10**6), st.floats(0.05, 20), st.sampled_from(sorted(KNOWN)))
@settings(max_examples=25)
def test_the_unit_of_height_does_not_matter(seed: int, factor: float, name: str) -> None:
    curve = spectrum({name: 0.5}, np.random.default_rng(seed), Conditions(signal=500))
    scaled = Curve(curve.x, curve.y * factor, Axis.WAVENUMBER, "absorbance")
    assert said(evaluate(curve)) == said(evaluate(scaled))


@given(st.integers(0, 10**6))
@settings(max_examples=25)
def test_any_curve_over_the_range_is_evaluated_without_a_fault(seed: int) -> None:
    rng = np.random.default_rng(seed)
    x = np.sort(rng.uniform(400, 4000, rng.integers(150, 900)))
    y = rng.normal(0, 1, len(x)) if seed % 2 else np.full(len(x), rng.uniform(-1, 1))
    unit = rng.choice(["absorbance", "transmittance", "reflectance", "log 1/R", ""])
    evaluation = evaluate(Curve(x, y, Axis.WAVENUMBER, str(unit)))
    assert Certainty.SURE not in said(evaluation).values()
    json.dumps(evaluation.to_json())
