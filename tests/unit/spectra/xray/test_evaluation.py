"""Elements in made-up spectra of paints: how many are found, how many are wrong, what stays open.

The spectra come from `generator`, which knows nothing of the library that evaluates them. Run with
`-s` to see the table of precision and recall.
"""

import json
from collections import Counter
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from analyses.spectra.curve import Axis, Curve
from analyses.spectra.findings import Certainty, Evaluation, Finding
from analyses.spectra.xray import XraySettings, evaluate
from tests.unit.spectra.xray.generator import OIL, PAINTS, Instrument, Made, make, mixture

XRF = Instrument(offset_kev=0.004, gain=1.0004)
EDX = Instrument(
    "sem_edx", 20.0, "", air=False, fwhm_mn_ev=130.0, channel_kev=0.01, offset_kev=-0.003
)
INSTRUMENTS = {"xrf": XRF, "sem_edx": EDX}
SETTINGS = {"xrf": XraySettings.xrf(), "sem_edx": XraySettings.sem_edx()}
LEVELS = {"xrf": (1e4, 1e5, 1e6), "sem_edx": (1e5, 1e6)}
OF_THE_OIL = frozenset(OIL)  # carbon and oxygen are everywhere and say little
BANDS = ((5, 10), (10, 50), (50, np.inf))
LEAST_RIGHT = {Certainty.SURE: 0.98, Certainty.LIKELY: 0.95, Certainty.POSSIBLE: 0.8}
SURE_OR_LIKELY = (Certainty.SURE, Certainty.LIKELY)


@cache
def shape_of(technique: str, paint: str) -> Made:
    return make(INSTRUMENTS[technique], mixture(PAINTS[paint]), 1.0)


def at_level(made: Made, counts: float) -> Made:
    parts = {key: part * counts for key, part in made.parts.items()}
    return Made(made.energy_kev, made.expected * counts, parts)


def curve_of(made: Made, seed: int) -> Curve:
    return Curve(made.energy_kev, made.counted(seed), Axis.ENERGY, "counts")


def of(elements: dict[str, float], technique: str, counts: float = 3e5, seed: int = 1) -> Curve:
    """A spectrum of elements by parts of mass in oil."""
    total = sum(elements.values())
    mass = {symbol: 0.8 * part / total for symbol, part in elements.items()}
    mass |= {symbol: 0.2 * part for symbol, part in OIL.items()}
    return curve_of(make(INSTRUMENTS[technique], mass, counts), seed)


def found_in(evaluation: Evaluation) -> dict[str, Finding]:
    return {finding.code: finding for finding in evaluation.findings}


def stated_open(evaluation: Evaluation) -> set[str]:
    return {code for one in evaluation.unsettled for code in one.codes}


class Tally:
    """What was reported against what was there."""

    def __init__(self) -> None:
        self.counts: Counter[tuple[str, ...]] = Counter()

    def add(self, level: str, evaluation: Evaluation, made: Made, true: set[str]) -> None:
        found = found_in(evaluation)
        for finding in evaluation.findings:
            right = "right" if finding.code in true else "wrong"
            self.counts[level, finding.certainty, right] += 1
        for element in true - OF_THE_OIL:
            sigma = made.net_sigma(element)
            for low, high in BANDS:
                if low <= sigma < high:
                    kept = element in found and found[element].certainty in SURE_OR_LIKELY
                    said = kept or element in stated_open(evaluation)
                    self.counts[level, f"{low}", "found" if kept else "missed"] += 1
                    self.counts[level, f"{low}", "said" if said else "unsaid"] += 1

    def share(self, level: str, row: str, good: str, bad: str) -> tuple[int, int]:
        """How many were good, and of how many, at all levels whose name begins so."""
        levels = sorted({key[0] for key in self.counts if key[0].startswith(level)})
        got = sum(self.counts[one, row, good] for one in levels)
        return got, got + sum(self.counts[one, row, bad] for one in levels)

    def table(self) -> str:
        head = f"{'':24}" + "".join(
            f"{name:>12}" for name in (*Certainty, "5-10 σ", "10-50 σ", ">50 σ")
        )
        rows = [head]
        for level in (*sorted({key[0] for key in self.counts}), ""):
            cells = [self.share(level, one, "right", "wrong") for one in Certainty]
            cells += [self.share(level, f"{low}", "found", "missed") for low, _ in BANDS]
            told = "".join(f"{f'{good}/{whole}':>12}" for good, whole in cells)
            rows.append(f"{level or 'all':24}{told}")
        return "\n".join(rows)


CASES = [
    (technique, counts, seed, paint)
    for technique, levels in LEVELS.items()
    for n, counts in enumerate(levels)
    for seed, paint in enumerate(list(PAINTS)[n::3])
]


def test_paints_are_read_with_little_error() -> None:
    """A third of the paints at each level of counts. 'Sure' may be wrong in none of them, and has
    a line that decides; the rows show precision and recall by level of counts and of net signal.
    """
    tally = Tally()
    wrong = []
    for technique, counts, seed, paint in CASES:
        made = at_level(shape_of(technique, paint), counts)
        evaluation = evaluate(curve_of(made, seed), SETTINGS[technique])
        true = set(mixture(PAINTS[paint]))
        tally.add(f"{technique} {counts:9,.0f} counts", evaluation, made, true)
        for finding in evaluation.findings:
            if finding.certainty == Certainty.SURE:
                assert any("decides" in mark.note for mark in finding.marks), (paint, finding)
                if finding.code not in true:
                    wrong.append((paint, finding))
    print("\nRight of all reported, by certainty; found of all there, by net signal:")
    print(tally.table())
    assert not wrong
    for certainty, least in LEAST_RIGHT.items():
        right, told = tally.share("", certainty, "right", "wrong")
        assert right >= least * told, certainty
    for technique, least_there in (("xrf", 100), ("sem_edx", 50)):
        found, there = np.sum(
            [tally.share(technique, f"{low}", "found", "missed") for low, _ in BANDS], axis=0
        )
        assert there >= least_there
        assert found >= 0.9 * there, technique
        sure, _ = tally.share(technique, Certainty.SURE, "right", "wrong")
        assert sure >= 0.2 * there, technique
    said, there = np.sum([tally.share("", f"{low}", "said", "unsaid") for low, _ in BANDS], axis=0)
    assert said >= 0.95 * there


# What is taken for what among the lines of works of art (common practice): what is there, and what
# could be believed to be there as well. Those of `STATED` can hide there from any evaluation.
CONFUSED: dict[str, dict[str, str]] = {
    "xrf": {
        "Pb": "As S Mo Bi Hg Tl Se", "As": "Pb Mg Hg", "Ba": "Ti V Cr Mn", "Ti": "Ba V",
        "Cr": "Mn V", "Mn": "Fe Cr", "Fe": "Co Mn", "Co": "Ni Fe", "Cu": "Zn Ni", "Zn": "Cu Au",
        "Hg": "Au Tl Pb Zn S", "Cd": "K Ca Ag", "Sb": "Ca Sn K", "Mo": "S", "Ca": "Sb Sn K Cl",
    },
    "sem_edx": {
        "Pb": "S Mo Bi", "S": "Pb Mo Bi", "Ba": "Ti Ce V", "Zn": "Na Cu", "P": "Zr Pt Au",
        "Br": "Al", "Sr": "Si", "Ag": "Cl K", "Al": "Br", "Mn": "Cr F", "Hg": "S Au",
    },
}  # fmt: skip
STATED = {
    "xrf": {"Pb": "S Mo Bi", "Ba": "Ti", "Hg": "S Au", "Cd": "K Ca", "Mo": "S"},
    "sem_edx": {
        "Pb": "S Mo Bi", "S": "Pb Mo", "Ba": "Ti", "Zn": "Na", "P": "Zr", "Br": "Al", "Al": "Br",
        "Sr": "Si", "Hg": "S Au",
    },
}  # fmt: skip


@pytest.mark.parametrize(
    ("technique", "there"), [(one, there) for one in CONFUSED for there in CONFUSED[one]]
)
def test_a_likeness_is_never_sure(technique: str, there: str) -> None:
    """Of one element alone: no other is sure, no likeness of it is told without being left open,
    and what could hide beneath its lines is said, with what would settle it or up to how much.
    """
    evaluation = evaluate(of({there: 1.0}, technique), SETTINGS[technique])
    found, open_ = found_in(evaluation), stated_open(evaluation)
    assert there in found or there in open_
    for code, finding in found.items():
        assert code in {there, *OF_THE_OIL} or finding.certainty != Certainty.SURE
    assert open_ >= found.keys() & set(CONFUSED[technique][there].split())
    assert all(one.says and one.settle for one in evaluation.unsettled)
    little = " ".join(one for one in evaluation.remarks if one.startswith("Not shut out"))
    for absent in STATED[technique].get(there, "").split():
        assert absent in open_ or f"{absent} " in little, absent


MIXED = [
    ("xrf", {"Pb": 0.7, "As": 0.3}, "As"),
    ("xrf", {"Ba": 0.6, "Ti": 0.4}, "Ti"),
    ("xrf", {"Mn": 0.4, "Fe": 0.6}, "Mn"),
    ("xrf", {"Fe": 0.5, "Co": 0.5}, "Co"),
    ("xrf", {"Hg": 0.5, "Au": 0.5}, "Au"),
    ("sem_edx", {"Ba": 0.5, "Ti": 0.5}, "Ti"),
]


@pytest.mark.parametrize(("technique", "there", "second"), MIXED)
def test_both_of_two_that_overlap_are_found(
    technique: str, there: dict[str, float], second: str
) -> None:
    found = found_in(evaluate(of(there, technique), SETTINGS[technique]))
    assert second in found
    assert found[second].certainty in SURE_OR_LIKELY


def test_what_cannot_be_told_says_what_would_settle_it() -> None:
    """Sulfur beneath lead's M lines: said, with a way out, and sulfur is not claimed."""
    evaluation = evaluate(of({"Pb": 0.9, "S": 0.1}, "sem_edx"), SETTINGS["sem_edx"])
    about = [one for one in evaluation.unsettled if {"Pb", "S"} <= set(one.codes)]
    assert about
    assert "keV" in about[0].says
    assert "wavelength-dispersive" in about[0].settle or "XRD" in about[0].settle
    found = found_in(evaluation)
    assert "S" not in found or found["S"].certainty != Certainty.SURE


def test_tube_and_air_are_not_the_objects() -> None:
    evaluation = evaluate(of({"Ca": 0.5, "Fe": 0.5}, "xrf", 1e6), SETTINGS["xrf"])
    assert not {"Rh", "Ar"} & set(found_in(evaluation))
    told = " ".join(evaluation.remarks)
    assert "Rh Kα" in told
    assert "Ar Kα" in told
    assert "mass fractions" in told


def test_a_coating_is_not_the_objects() -> None:
    made = make(EDX, mixture(PAINTS["chalk ground"]), 3e5, coating="Au")
    plain = found_in(evaluate(curve_of(made, 1), SETTINGS["sem_edx"]))
    assert "Au" in plain
    coated = evaluate(curve_of(made, 1), replace(SETTINGS["sem_edx"], coating=("Au",)))
    assert "Au" not in found_in(coated)
    assert any("coating" in remark and "Au" in remark for remark in coated.remarks)


def test_escape_and_sum_peaks_are_not_elements() -> None:
    """Iron alone at a high rate: 4.66 keV escapes, 12.8 keV are two photons at once."""
    fast = replace(XRF, pile_up=0.02)
    evaluation = evaluate(curve_of(make(fast, {"Fe": 1.0}, 2e6), 1), SETTINGS["xrf"])
    reported = {
        code for code, one in found_in(evaluation).items() if one.certainty in SURE_OR_LIKELY
    }
    assert reported == {"Fe"}
    told = " ".join(evaluation.remarks)
    assert "escape of Fe Kα" in told
    assert "sum peaks" in told


def test_sulfur_beside_arsenic_is_not_taken_for_molybdenum() -> None:
    """Lines that stand on others say nothing of the axis: moved by them, it would favour Mo Lα."""
    made = at_level(shape_of("sem_edx", "orpiment"), 1e5)
    for seed in (3, 4):
        found = found_in(evaluate(curve_of(made, seed), SETTINGS["sem_edx"]))
        assert found["S"].certainty in SURE_OR_LIKELY
        assert "Mo" not in found


def test_barium_is_likely_by_lines_that_stand_clear_of_titanium() -> None:
    """No softer lines of titanium are paid for misfits elsewhere, and one clear line counts."""
    for paint in ("viridian", "titanium and barium white"):
        made = at_level(shape_of("sem_edx", paint), 1e6)
        found = found_in(evaluate(curve_of(made, 20), SETTINGS["sem_edx"]))
        assert found["Ba"].certainty == Certainty.LIKELY, paint


def test_a_small_fault_of_the_energy_axis_is_mended() -> None:
    off = replace(XRF, offset_kev=0.012, gain=1.0015)
    made = make(off, mixture(PAINTS["retouching of today"]), 3e5)
    evaluation = evaluate(curve_of(made, 1), SETTINGS["xrf"])
    assert any("mended" in remark for remark in evaluation.remarks)
    iron = found_in(evaluation)["Fe"]
    assert iron.certainty == Certainty.SURE
    (alpha,) = [mark for mark in iron.marks if mark.label == "Fe Kα"]
    assert alpha.expected == pytest.approx(6.40, abs=0.01)
    assert alpha.x == pytest.approx(6.40 * 1.0015 + 0.012, abs=0.01)


def test_a_large_fault_of_the_energy_axis_leaves_nothing_sure() -> None:
    off = replace(XRF, offset_kev=0.06, gain=1.008)
    made = make(off, mixture(PAINTS["retouching of today"]), 3e5)
    evaluation = evaluate(curve_of(made, 1), SETTINGS["xrf"])
    assert any("calibrate" in remark for remark in evaluation.remarks)
    assert {one.certainty for one in evaluation.findings} <= {Certainty.POSSIBLE}


def test_a_peak_of_nothing_known_is_listed() -> None:
    """At 29.0 keV, between the Kα of iodine and of caesium."""
    curve = of({"Ca": 0.9, "Fe": 0.1}, "xrf")
    bell = 1600 * np.exp(-0.5 * ((curve.x - 29.0) / 0.12) ** 2)
    strange = Curve(curve.x, np.round(curve.y + bell), Axis.ENERGY, "counts")
    evaluation = evaluate(strange, SETTINGS["xrf"])
    assert [mark.x for mark in evaluation.unexplained] == [pytest.approx(29.0, abs=0.05)]
    assert found_in(evaluation).keys() >= {"Ca", "Fe"}


def test_the_same_spectrum_gives_the_same_answer_as_plain_data() -> None:
    curve = of({"Cu": 0.6, "Zn": 0.4}, "xrf", 1e5)
    one, other = (evaluate(curve, SETTINGS["xrf"]) for _ in range(2))
    assert json.dumps(one.to_json()) == json.dumps(other.to_json())
    assert one.parameters["settings"]["voltage_kv"] == 40
    assert len(one.background) == len(curve.x)


def test_rates_are_read_as_counts_are() -> None:
    curve = of({"Cu": 0.6, "Zn": 0.4}, "xrf", 1e5)
    rates = Curve(curve.x, curve.y / 87.3, Axis.ENERGY, "counts/s")
    evaluation = evaluate(rates, SETTINGS["xrf"])
    found = found_in(evaluation)
    assert {"Cu", "Zn"} <= {code for code, one in found.items() if one.certainty == Certainty.SURE}
    assert any("not whole counts" in remark for remark in evaluation.remarks)


def test_what_cannot_be_evaluated_says_why() -> None:
    curve = of({"Cu": 1.0}, "xrf", 1e4)
    with pytest.raises(ValueError, match="energy axis in keV"):
        evaluate(Curve(curve.x, curve.y, Axis.WAVENUMBER, "counts"), SETTINGS["xrf"])
    with pytest.raises(ValueError, match="below zero"):
        evaluate(Curve(curve.x, curve.y - 5, Axis.ENERGY, "counts"), SETTINGS["xrf"])
    with pytest.raises(ValueError, match="fewer than 200 counts"):
        evaluate(Curve(curve.x, np.zeros_like(curve.y), Axis.ENERGY, "counts"), SETTINGS["xrf"])
    with pytest.raises(ValueError, match="Fewer than 50 channels"):
        evaluate(Curve(curve.x * 1000, curve.y, Axis.ENERGY, "counts"), SETTINGS["xrf"])
    with pytest.raises(ValueError, match="voltage"):
        XraySettings.xrf(voltage_kv=0.2)
