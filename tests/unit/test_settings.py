"""What an information sheet asks for: the shipped list, and reading what people type."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from records.vocabulary import read
from records.vocabulary.settings import GROUPS, SETTINGS, SPACE, Setting, tell

UNITS = {
    "W/m²": "w_m2", "px/mm": "px_per_mm", "%": "percent", "°": "deg", "°C": "c", "µm": "um",
    "×": "magnification",
}  # fmt: skip


def test_it_works() -> None:
    assert SETTINGS["voltage_kv"].read("28 kV") == 28
    assert SETTINGS["voltage_kv"].told(28) == f"28{SPACE}kV"


def test_a_code_ends_in_its_unit_and_values_have_a_usual_range() -> None:
    for code, one in SETTINGS.items():
        assert one.group in GROUPS
        assert re.fullmatch(r"[a-z][a-z0-9_]+", code)
        assert one.help.endswith((".", ":")), code
        if one.unit:
            assert code.endswith(UNITS.get(one.unit, one.unit.lower())), code
        if one.kind in {"number", "range"}:
            assert one.usual, code
            assert one.possible, code
            assert one.possible[0] <= one.usual[0] < one.usual[1] <= one.possible[1], code
        if one.kind == "choice":
            assert len(set(one.choices)) == len(one.choices) > 1, code


def test_every_technique_of_examination_asks_for_known_settings() -> None:
    terms = read("techniques")
    for code, term in terms.items():
        if term["group"] == "analysis":
            continue
        step = term
        while not step.get("asks"):
            step = terms[step["broader"]]
        assert set(step["asks"]) <= SETTINGS.keys(), code
        assert len(set(step["asks"])) == len(step["asks"]) > 2, code


def test_x_radiography_asks_for_what_its_cautions_say_to_record() -> None:
    asks = set(read("techniques")["xradiography"]["asks"])
    assert {"voltage_kv", "current_ma", "exposure_s", "source_detector_mm"} <= asks


@pytest.mark.parametrize(
    ("code", "typed", "kept"),
    [
        ("exposure_s", "2.5", 2.5),
        ("exposure_s", "2,5", 2.5),
        ("exposure_s", "1/60 s", pytest.approx(1 / 60)),
        ("aperture_f", "f/8", 8),
        ("room_c", "−3", -3),
        ("band_nm", "900–1700", [900, 1700]),
        ("band_nm", "900 - 1700 nm", [900, 1700]),
        ("band_nm", "900 to 1700", [900, 1700]),
        ("excitation_nm", "365", 365),
        ("magnification", "8–60×", [8, 60]),
        ("light_from", "upper left", "upper left"),
        ("filters", "  Al 1 mm ", "Al 1 mm"),
        ("iso", " ", None),
    ],
)
def test_values_are_read_as_people_write_them(code: str, typed: str, kept: object) -> None:
    assert SETTINGS[code].read(typed) == kept


@pytest.mark.parametrize(
    ("code", "typed", "words"),
    [
        ("voltage_kv", "high", "“high” is not a number in kV"),
        ("voltage_kv", "nan", "cannot be"),
        ("voltage_kv", "inf", "cannot be"),
        ("exposure_s", "1/0", "not a number"),
        ("room_rh_percent", "510", "outside 0 to 100"),
        ("irradiance_w_m2", "1,000", "two ways: write 1000 or 1.000"),
        ("band_nm", "1700–900", "runs backwards: write 900–1700"),
        ("band_nm", "400–700–900", "two ends"),
        ("light_from", "somewhere", "Choose one of"),
    ],
)
def test_what_cannot_be_is_refused_in_words(code: str, typed: str, words: str) -> None:
    with pytest.raises(ValueError, match=re.escape(words)):
        SETTINGS[code].read(typed)


def test_an_unusual_value_is_questioned_and_kept() -> None:
    one = SETTINGS["voltage_kv"]
    assert one.read("280") == 280
    assert one.doubt(280) == f"unusual: mostly 5 to 150{SPACE}kV"
    assert one.doubt(28) == ""
    assert SETTINGS["band_nm"].doubt([300, 4000])
    assert SETTINGS["detector"].doubt("film") == ""


NUMBERS = [one for one in SETTINGS.values() if one.kind in {"number", "range"}]


@given(st.sampled_from(NUMBERS), st.data())
def test_what_is_told_of_a_value_is_read_as_the_same_value(
    one: Setting, data: st.DataObject
) -> None:
    assert one.possible
    least, most = one.possible
    value = data.draw(st.floats(least, most).map(lambda x: float(f"{x:.4g}")))
    if not least <= value <= most or (one.code == "exposure_s" and value < 0.3):
        return
    assert one.read(one.typed(value)) == value
    assert one.read(one.told(value)) == value


def test_a_sheet_tells_what_is_recorded_what_is_missing_and_what_nobody_knows() -> None:
    told = tell({"exposure_s": 0.008, "voltage_kv": 300, "grid": "none"}, ["voltage_kv", "filters"])
    assert [heading for heading, _ in told.sections] == [
        GROUPS["light"],
        GROUPS["detector"],
        "Other settings",
    ]
    assert [(line.label, line.value) for _, lines in told.sections for line in lines] == [
        ("Tube voltage", f"300{SPACE}kV"),
        ("Exposure", f"1/125{SPACE}s"),
        ("grid", "none"),
    ]
    assert [line.label for line in told.doubts] == ["Tube voltage"]
    assert told.missing == ["Filters"]


@pytest.mark.parametrize(
    ("code", "value", "words"),
    [
        ("voltage_kv", 28, ""),
        ("band_nm", [900, 1700], ""),
        ("band_nm", 365.5, ""),
        ("light_from", "above", ""),
        ("voltage_kv", "28 kV", "a number in kV, without its unit"),
        ("voltage_kv", True, "a number in kV"),
        ("voltage_kv", [1, 2], "a number in kV"),
        ("band_nm", [], "a number or two in nm"),
        ("band_nm", [1700, 900], "runs backwards"),
        ("band_nm", [1, 2, 3], "two ends"),
        ("room_rh_percent", 510, "cannot be"),
        ("filters", 3, "told in words"),
        ("light_from", "nowhere", "Choose one of"),
    ],
)
def test_what_a_program_sends_is_held_to_the_same(code: str, value: object, words: str) -> None:
    fault = SETTINGS[code].fault(value)
    assert words in fault if words else fault == ""
