"""What the shipped vocabularies guarantee, checked on the files themselves."""

import re
from collections import Counter
from typing import Any

import pytest

from analyses.spectra.diffraction import phases
from analyses.spectra.infrared import groups
from records.choices import Family, MaterialDateKind, ObjectKind, Shape, TechniqueGroup
from records.history import edtf
from records.vocabulary import SCHEMES, read
from records.vocabulary.files import depth
from records.vocabulary.hazards import STATEMENTS, in_words
from tests.unit.formulae import shares

AT_LEAST = {
    "trace_kinds": 110,
    "treatment_kinds": 50,
    "occurrence_kinds": 25,
    "techniques": 32,
    "materials": 150,
}
ALLOWED = {
    "trace_kinds": {"family", "short", "shape", "suits"},
    "treatment_kinds": {"group"},
    "occurrence_kinds": {"group"},
    "techniques": {"group", "abbreviation", "band", "invasive", "asks"},
    "materials": {
        *("group", "composition", "formula", "elements", "uv", "hazards", "dates"),
        *("marks", "phases", "bands", "colours"),
    },
}
COMMON = {"label", "definition", "broader", "cautions", "note", "identifiers", "translations"}

PERIODIC_TABLE = """
    H He Li Be B C N O F Ne Na Mg Al Si P S Cl Ar K Ca Sc Ti V Cr Mn Fe Co Ni Cu Zn Ga Ge As Se Br
    Kr Rb Sr Y Zr Nb Mo Tc Ru Rh Pd Ag Cd In Sn Sb Te I Xe Cs Ba La Ce Pr Nd Pm Sm Eu Gd Tb Dy Ho
    Er Tm Yb Lu Hf Ta W Re Os Ir Pt Au Hg Tl Pb Bi Po At Rn Fr Ra Ac Th Pa U
"""


def every_term() -> list[tuple[str, str, dict[str, Any]]]:
    return [(scheme, code, term) for scheme in SCHEMES for code, term in read(scheme).items()]


def elements_of(formula: str) -> set[str]:
    """Symbols in a formula; small letters that count or index (n, x) stand for themselves."""
    return set(re.findall(r"[A-Z][a-wyz]?", formula))


@pytest.mark.parametrize("scheme", SCHEMES)
def test_a_department_starts_with_enough_terms(scheme: str) -> None:
    assert len(read(scheme)) >= AT_LEAST[scheme]


@pytest.mark.parametrize("scheme", SCHEMES)
def test_codes_are_slugs_and_labels_are_unique_in_each_language(scheme: str) -> None:
    terms = read(scheme)
    assert [code for code in terms if not re.fullmatch(r"[a-z][a-z0-9_]{1,79}", code)] == []
    for labels in (
        [term["label"] for term in terms.values()],
        [term["translations"]["de"]["label"] for term in terms.values()],
        [term["translations"]["fr"]["label"] for term in terms.values()],
    ):
        assert [label for label, times in Counter(labels).items() if times > 1] == []
        assert [label for label in labels if not label.strip() or len(label) > 120] == []


@pytest.mark.parametrize("scheme", SCHEMES)
def test_every_key_is_a_field_of_the_model(scheme: str) -> None:
    for code, term in read(scheme).items():
        assert set(term) <= COMMON | ALLOWED[scheme], code


def test_every_term_is_defined_in_a_few_sentences() -> None:
    for _scheme, code, term in every_term():
        definition = term["definition"]
        assert definition[0].isupper(), code
        assert definition.endswith("."), code
        assert len(definition.split()) >= 7, code
        assert 1 <= len(re.findall(r"[.](?:\s|$)", definition)) <= 3, code
        assert definition.lower().rstrip(".") != term["label"].lower(), code


def test_no_definition_stands_twice() -> None:
    counted = Counter(term["definition"] for _scheme, _code, term in every_term())
    assert [definition for definition, times in counted.items() if times > 1] == []


@pytest.mark.parametrize("scheme", SCHEMES)
def test_a_broader_term_comes_before_its_narrower_ones(scheme: str) -> None:
    seen: set[str] = set()
    for code, term in read(scheme).items():
        assert term.get("broader", "") in seen | {""}, code
        seen.add(code)


def test_a_circle_of_broader_terms_is_refused() -> None:
    terms = {"a": {"broader": "b"}, "b": {"broader": "c"}, "c": {"broader": "b"}}
    with pytest.raises(ValueError, match="circle"):
        depth("a", terms)


def test_an_unknown_broader_term_is_refused() -> None:
    with pytest.raises(ValueError, match="nowhere is not in the list"):
        depth("a", {"a": {"broader": "nowhere"}})


def test_narrower_kinds_of_trace_stay_in_the_family() -> None:
    kinds = read("trace_kinds")
    for code, kind in kinds.items():
        if "broader" in kind:
            assert kinds[kind["broader"]]["family"] == kind["family"], code


def test_techniques_of_every_group_say_whether_they_are_invasive() -> None:
    groups = {term["group"] for term in read("techniques").values()}
    assert groups == set(TechniqueGroup.values)
    assert all(isinstance(term["invasive"], bool) for term in read("techniques").values())


def test_kinds_of_trace_can_be_told_apart_on_a_map() -> None:
    kinds = read("trace_kinds")
    shorts = [kind["short"] for kind in kinds.values()]
    assert len(set(shorts)) == len(shorts)
    assert all(re.fullmatch(r"[A-Z0-9]{2,4}", short) for short in shorts)
    for code, kind in kinds.items():
        assert kind["family"] in Family.values, code
        assert kind["shape"] in Shape.values, code
        assert set(kind.get("suits", [])) <= set(ObjectKind.values), code


@pytest.mark.parametrize(
    "kind_of_object", ["canvas", "panel", "wall", "sculpture", "paper", "textile"]
)
def test_every_kind_of_object_has_terms_of_every_family(kind_of_object: str) -> None:
    counted = Counter(
        kind["family"]
        for kind in read("trace_kinds").values()
        if kind_of_object in kind.get("suits", [kind_of_object])
    )
    assert min(counted[family] for family in Family.values) >= 8, counted


@pytest.mark.parametrize(
    ("codes", "word"),
    [
        (
            (
                "xradiography",
                "computed_tomography",
                "beta_radiography",
                "xrf",
                "xrf_mapping",
                "xrd",
            ),
            "staff|interlock",
        ),
        (("uv_fluorescence", "uv_reflected", "uv_inspection"), "goggles"),
        (("raman", "speckle_interferometry"), "goggles"),
        (("solubility_test",), "extraction"),
    ],
)
def test_dangerous_techniques_say_how_to_stay_safe(codes: tuple[str, ...], word: str) -> None:
    techniques = read("techniques")
    for code in codes:
        assert re.search(word, techniques[code]["cautions"]), code


def test_dangerous_traces_carry_a_caution() -> None:
    kinds = read("trace_kinds")
    for code in ("mould", "droppings", "corrosion", "flaking", "rodent_damage"):
        assert kinds[code]["cautions"], code


def test_elements_agree_with_the_formula() -> None:
    for code, material in read("materials").items():
        listed = material["elements"]
        assert listed, code
        assert len(set(listed)) == len(listed), code
        assert set(listed) <= set(PERIODIC_TABLE.split()), code
        if formula := material.get("formula"):
            assert elements_of(formula) == set(listed), code


NAMED_AS = """
    lead Pb  zinc Zn  copper Cu  cobalt Co  chrom Cr  arsen As  mercur Hg  cadmium Cd  barium Ba
    strontium Sr  iron Fe  tin Sn  mangan Mn  nickel Ni  antimon Sb  titan Ti  gold Au  silver Ag
    bismuth Bi  alum Al  calcium Ca  magnesium Mg  potassium K  sodium Na  sulf S  phosph P
    chlor Cl
"""


def test_the_composition_names_no_element_that_is_not_listed() -> None:
    """What comes after 'with', 'or' or a comma may be there or not."""
    held = 0
    names = NAMED_AS.split()
    for code, material in read("materials").items():
        kept, *_rest = re.split(r"[,;:]| with | or | coated ", material["composition"].lower())
        for word, symbol in zip(names[::2], names[1::2], strict=True):
            if re.search(rf"\b{word}", kept):
                held += 1
                assert symbol in material["elements"], (code, symbol)
    assert held >= 100


# Phases that the material turns into or that another companion brings.
ALTERED = {
    ("lime_binder", "calcite"),
    ("nanolime", "calcite"),
    ("barium_hydroxide", "witherite"),
    ("portland_cement", "portlandite"),
    ("iron_rust", "akaganeite"),
}
MIXED_CRYSTALS = {"cadmium_red"}  # of any proportion


def test_phases_hold_the_elements_of_their_material_in_its_proportions() -> None:
    """Hydrogen is left out where a structure does not place it."""
    known = phases()
    held = 0
    for code, material in read("materials").items():
        own = [known[phase] for phase in material.get("phases", []) if phase in known]
        for phase in own:
            if (code, phase.code) not in ALTERED:
                assert set(shares(phase.formula)) <= set(material["elements"]), (code, phase.code)
        parts = [re.sub(r"^\d+", "", part) for part in material.get("formula", "").split("·")]
        lasting = [phase for phase in own if (code, phase.code) not in ALTERED]
        variable = re.search(r"n$|[^IZMS]n[A-Z]|\(1-x\)", material.get("formula", ""))
        if not parts[0] or not lasting or variable or code in MIXED_CRYSTALS:
            continue
        held += 1
        wholes = [material["formula"], *parts]
        assert any(
            shares(phase.formula, without) == shares(whole, without)
            for phase in lasting
            for whole in wholes
            for without in [frozenset() if "H" in phase.formula else frozenset("H")]
        ), code
    assert held >= 60


def test_hazards_are_codes_of_ghs_statements() -> None:
    for code, material in read("materials").items():
        for hazard in material.get("hazards", []):
            assert hazard in STATEMENTS, (code, hazard)


def test_a_material_with_a_hazard_says_how_to_stay_safe() -> None:
    for code, material in read("materials").items():
        if material.get("hazards"):
            assert material.get("cautions"), code


def test_there_are_many_materials_of_every_group_each_with_its_composition() -> None:
    materials = read("materials")
    assert len(materials) >= 150
    assert all(material["composition"].strip() for material in materials.values())
    counted = Counter(material["group"] for material in materials.values())
    asked = ("pigment", "filler", "binder", "varnish", "adhesive", "consolidant", "fibre", "metal")
    assert min(counted[group] for group in asked) >= 8, counted


@pytest.mark.parametrize(
    ("element", "word"),
    [("Pb", "lead"), ("As", "arsenic"), ("Hg", "mercury"), ("Cd", "cadmium"), ("Co", "cobalt")],
)
def test_materials_with_a_poisonous_element_warn_of_it(element: str, word: str) -> None:
    for code, material in read("materials").items():
        if element in material["elements"]:
            warning = material.get("cautions", "").lower()
            assert word in warning or "poison" in warning or "toxic" in warning, code


def test_every_date_of_a_material_reads_and_names_its_source() -> None:
    for code, material in read("materials").items():
        for row in material.get("dates", []):
            assert set(row) <= {"kind", "date", "source", "note"}, code
            assert row["kind"] in MaterialDateKind.values, code
            assert row["source"].strip(), code
            interval = edtf.read(row["date"])
            assert interval.earliest is not None, (code, row["date"])
            assert interval.latest is not None, (code, row["date"])


def test_a_material_without_a_date_says_why() -> None:
    for code, material in read("materials").items():
        assert material.get("dates") or material.get("note"), code


def test_use_begins_before_it_ends() -> None:
    for code, material in read("materials").items():
        bounds: dict[str, list[Any]] = {}
        for row in material.get("dates", []):
            bounds.setdefault(row["kind"], []).append(edtf.read(row["date"]))
        starts = bounds.get("first_attested", []) + bounds.get("common_from", [])
        ends = bounds.get("common_until", []) + bounds.get("last_attested", [])
        assert all(a.earliest < b.latest for a in starts for b in ends), code
        for first in bounds.get("first_attested", [])[:1]:
            assert all(first.earliest <= c.latest for c in bounds.get("common_from", [])), code


def test_a_material_is_not_in_common_use_before_it_is_attested() -> None:
    held = 0
    for code, material in read("materials").items():
        begins: dict[str, list[Any]] = {"first_attested": [], "common_from": []}
        for row in material.get("dates", []):
            begins.setdefault(row["kind"], []).append(edtf.read(row["date"]).earliest)
        if attested := begins["first_attested"]:
            held += 1
            assert all(min(attested) <= common for common in begins["common_from"]), code
    assert held >= 80


def test_a_date_from_memory_says_so_and_any_other_names_what_was_read() -> None:
    printed = 0
    for code, material in read("materials").items():
        for row in material.get("dates", []):
            if "memory" in row["source"]:
                assert re.search(r"(^|\W)from memory$", row["source"]), (code, row["source"])
            else:
                printed += 1
                # A title, a year of publication or a page, after a name.
                assert re.match(r"[A-Z‘]", row["source"]), (code, row["source"])
                assert re.search(r"‘.+’|\b(19|20)\d\d\b|p\. \d", row["source"]), code
    assert printed >= 60


def test_disputed_dates_carry_each_view_with_a_note() -> None:
    disputed = 0
    for code, material in read("materials").items():
        counted = Counter(row["kind"] for row in material.get("dates", []))
        for row in material.get("dates", []):
            if counted[row["kind"]] > 1:
                disputed += 1
                assert row.get("note"), code
    assert disputed >= 8


def test_published_identifiers_name_their_scheme() -> None:
    for _scheme, code, term in every_term():
        for identifier in term.get("identifiers", []):
            assert set(identifier) in ({"scheme", "code"}, {"scheme", "uri"}), code
            if identifier["scheme"] == "Colour Index":
                assert re.fullmatch(
                    r"C\.I\. (Pigment|Natural) (White|Black|Red|Orange|Yellow|Green|Blue|Violet|"
                    r"Brown|Metal) \d+(:\d)?",
                    identifier["code"],
                ), code


COLOURS = {
    *("white", "black", "grey", "brown", "red", "orange", "yellow", "green", "blue", "violet"),
    *("colourless", "metallic"),
}


def test_what_marks_a_material_is_among_its_elements() -> None:
    for code, material in read("materials").items():
        assert set(material.get("marks", [])) <= set(material["elements"]), code
        assert set(material.get("colours", [])) <= COLOURS, code


def test_every_inorganic_pigment_and_filler_can_be_told_by_an_element_or_a_phase() -> None:
    for code, material in read("materials").items():
        inorganic = not {"C", "H"} <= set(material["elements"]) and material.get("formula") != "C"
        if material["group"] in ("pigment", "filler") and inorganic and "formula" in material:
            assert material.get("marks"), code


NO_PATTERN_YET = {"emerald_green", "plumbonacrite"}  # their structures are not at hand


def test_phases_of_materials_have_a_reference_pattern() -> None:
    named = {
        phase for material in read("materials").values() for phase in material.get("phases", [])
    }
    assert named - set(phases()) == NO_PATTERN_YET


def test_materials_show_the_groups_of_bands_that_the_table_of_groups_says() -> None:
    shown: dict[str, set[str]] = {group.code: set() for group in groups()}
    for code, material in read("materials").items():
        bands = material.get("bands", [])
        assert len(set(bands)) == len(bands), code
        for band in bands:
            shown[band].add(code)  # a KeyError: no such group
    assert shown == {group.code: set(group.materials) for group in groups()}
    # Water is everywhere and no material of the list.
    assert [code for code, materials in shown.items() if not materials] == ["water"]


def test_a_hazard_code_is_told_by_its_letters_or_else_by_its_number() -> None:
    assert in_words(["H360Df", "H302x", "H999"]) == [
        ("H360Df", "May damage the unborn child; suspected of damaging fertility"),
        ("H302x", "Harmful if swallowed"),
        ("H999", ""),
    ]
