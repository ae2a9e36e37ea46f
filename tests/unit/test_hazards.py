"""Hazards of the shipped materials, held against outside lists.

Harmonised classifications stand in `harmonised.toml`. Carcinogens of the IARC, flash points and the
formulae of CAS numbers are read from the wheel of the package `chemicals` (its tables of the IARC's
list, of DIPPR, IEC 60079-20-1 and NFPA 497, and of PubChem).
"""

import csv
import re
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from records.vocabulary import read
from records.vocabulary.hazards import STATEMENTS
from tests.unit.formulae import shares
from tests.unit.spectra.open.packages import carried

HARMONISED = tomllib.loads(Path(__file__).with_name("harmonised.toml").read_text("utf-8"))
SCHEMES = {
    "Regulation (EC) 1272/2008, Annex VI": r"\d{3}-\d{3}-\d{2}-[\dX]",
    "International Chemical Safety Card": r"\d{4}",
    "CAS Registry": r"\d{2,7}-\d{2}-\d",
}

ARSENIC = (
    *("orpiment", "realgar", "pararealgar", "arsenic_sulfide_glass"),
    *("emerald_green", "scheeles_green"),
)

# Statements that stand here without standing in the harmonised row, and why.
BEYOND = {
    "ethanol": {"H319": "suppliers, from memory"},
    "dimethylformamide": {"H226": "its flash point"},
    "ammonia_solution": {"H335": "the limit of 5 per cent of the same row, from memory"},
    "white_spirit": {
        "H226": "its flash point",
        **dict.fromkeys(("H336", "H411"), "suppliers, from memory"),
    },
    **{code: {"H410": "the same row, from memory"} for code in ARSENIC},
}
# Statements of the harmonised row that do not stand here, and why.
WITHOUT = {
    "white_spirit": dict.fromkeys(("H340", "H350"), "note P: less than 0.1 % of benzene"),
}
# What is excepted from the class of its element, and why.
EXCEPTED = {
    "smalt": "bound in glass, and a companion only",
    "vermilion": "the row of inorganic mercury compounds excepts mercuric sulphide",
    "cadmium_red": "the row of cadmium compounds excepts cadmium sulphoselenide",
}
NOT_BY_WORK = {"ethanol"}  # listed as drink
CHROMIUM_III = {"viridian", "chromium_oxide", "cobalt_chromite"}

# CAS numbers under which the package has something else than the material, and what.
PUBCHEM_DIFFERS = {
    "talc": "a metasilicate",
}


def numbers(material: dict[str, Any], scheme: str) -> list[str]:
    return [i["code"] for i in material.get("identifiers", []) if i["scheme"] == scheme]


def rows_of(material: dict[str, Any]) -> list[dict[str, Any]]:
    """The outside rows that a material names."""
    clp, icsc, _cas = SCHEMES
    return [HARMONISED[code] for scheme in (clp, icsc) for code in numbers(material, scheme)]


@cache
def table(name: str) -> list[dict[str, str]]:
    text = carried("chemicals", f"chemicals/{name}").decode("utf-8")
    return list(csv.DictReader(text.splitlines(), delimiter="\t"))


@cache
def pubchem() -> dict[str, str]:
    """Formulae by CAS numbers without their dashes, as the package has them."""
    found = {}
    for name in ("chemical identifiers pubchem large", "chemical identifiers pubchem small"):
        text = carried("chemicals", f"chemicals/Identifiers/{name}.tsv").decode("utf-8")
        for line in text.splitlines():
            _cid, cas, formula, _rest = line.split("\t", 3)
            found[cas.replace("-", "")] = formula
    return found


def test_numbers_of_outside_lists_are_written_as_the_lists_write_them() -> None:
    for code, material in read("materials").items():
        for scheme, pattern in SCHEMES.items():
            for number in numbers(material, scheme):
                assert re.fullmatch(pattern, number), (code, number)
        for cas in numbers(material, "CAS Registry"):
            digits = [int(digit) for digit in reversed(cas.replace("-", ""))]
            assert sum(i * digit for i, digit in enumerate(digits)) % 10 == digits[0], (code, cas)


def test_every_outside_row_belongs_to_a_material_and_reads() -> None:
    named = {
        number
        for material in read("materials").values()
        for scheme in list(SCHEMES)[:2]
        for number in numbers(material, scheme)
    }
    assert named == set(HARMONISED)
    for row in HARMONISED.values():
        assert set(row["hazards"]) <= set(STATEMENTS)
        assert row["hazards"] == sorted(row["hazards"])


def test_a_material_carries_what_its_outside_rows_say_and_no_more_without_a_reason() -> None:
    held = 0
    for code, material in read("materials").items():
        rows = rows_of(material)
        if not rows:
            continue
        held += 1
        said = {hazard for row in rows for hazard in row["hazards"]}
        carries = set(material.get("hazards", []))
        assert said - carries == set(WITHOUT.get(code, {})), code
        assert carries - said == set(BEYOND.get(code, {})), code
    assert held >= 55


@pytest.mark.parametrize(
    ("element", "pattern"),
    [
        ("Pb", "H360"),
        ("As", "H30[01]"),
        ("Hg", "H30[0-2]"),
        ("Cd", "H350"),
        ("Cr", "H350"),
        ("U", "H300"),
    ],
)
def test_a_material_with_a_poisonous_element_carries_its_class(element: str, pattern: str) -> None:
    held = 0
    for code, material in read("materials").items():
        if element not in material["elements"] or code in EXCEPTED or code in CHROMIUM_III:
            continue
        held += 1
        assert any(re.match(pattern, hazard) for hazard in material["hazards"]), code
    assert held


def test_what_the_iarc_lists_as_causing_cancer_is_said_to() -> None:
    groups = {row["CAS"]: row["group"] for row in table("Safety/IARC Carcinogen Database.tsv")}
    # Groups 1, 2A and 2B; the package writes the latter two as 11 and 12.
    listed = {cas for cas, group in groups.items() if group in ("1", "11", "12")}
    of_element = {"As": "7440-38-2", "Cd": "7440-43-9", "Pb": "7439-92-1"}
    chromates = "18540-29-9"
    assert {*of_element.values(), chromates} <= listed
    held = []
    for code, material in read("materials").items():
        cas = set(numbers(material, "CAS Registry"))
        cas |= {number for element, number in of_element.items() if element in material["elements"]}
        if "Cr" in material["elements"] and code not in CHROMIUM_III:
            cas.add(chromates)
        if cas & listed and code not in NOT_BY_WORK:
            held.append(code)
            told = {"H350", "H350i", "H351"} & set(material.get("hazards", []))
            assert told or "cancer" in material.get("cautions", ""), code
    assert len(held) >= 40
    assert {"quartz", "carbon_black", "titanium_white_rutile", "lindane", "orpiment"} <= set(held)


def flash_points(cas: str) -> list[float]:
    """Flash points in °C, one for each list that has the substance."""
    found = []
    for name, separator in (
        ("DIPPR T_flash Serat.csv", "\t"),
        ("IS IEC 60079-20-1 2010.tsv", "\t"),
        ("NFPA 497 2008.tsv", "\t"),
    ):
        text = carried("chemicals", f"chemicals/Safety/{name}").decode("utf-8")
        for row in csv.DictReader(text.splitlines(), delimiter=separator):
            if row["CAS"] == cas and row["T_flash"]:
                found.append(float(row["T_flash"]) - 273.15)
    return found


def test_flammable_liquids_are_classed_by_their_flash_points() -> None:
    """GHS 2.6: below 23 °C H225 (all boil above 35 °C), up to 60 °C H226; lists err by 2 °C."""
    held = 0
    for code, material in read("materials").items():
        for point in [
            point for cas in numbers(material, "CAS Registry") for point in flash_points(cas)
        ]:
            if material["group"] not in ("solvent", "consolidant"):
                continue
            held += 1
            flammable = {"H224", "H225", "H226"} & set(material.get("hazards", []))
            allowed = {
                *({"H225"} if point < 25 else set()),
                *({"H226"} if 21 < point < 62 else set()),
                *({""} if point > 58 else set()),
            }
            assert (flammable or {""}) <= allowed, (code, point)
    assert held >= 15


def test_cas_numbers_and_formulae_belong_together() -> None:
    held = 0
    for code, material in read("materials").items():
        formula = material.get("formula", "")
        for cas in numbers(material, "CAS Registry"):
            known = pubchem().get(cas.replace("-", ""))
            if known is None or not formula:
                continue
            agree = shares(known) == shares(formula)
            assert agree != (code in PUBCHEM_DIFFERS), (code, formula, known)
            held += 1
    assert held >= 65
