"""The table of groups: whole in itself, in step with the vocabulary, and with published places."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

import records.vocabulary
from analyses.spectra.findings import Certainty
from analyses.spectra.infrared import Group, groups, materials_of
from analyses.spectra.infrared.assignment import SHIFT_IN_ATR, SHIFTED
from analyses.spectra.infrared.groups import TABLE, TableBand

MATERIALS = Path(records.vocabulary.__file__).with_name("materials.toml")


@pytest.mark.parametrize("group", groups(), ids=lambda group: group.code)
def test_a_group_is_whole(group: Group) -> None:
    assert any(band.needed for band in group.bands)
    assert "vs" in {band.strength for band in group.bands}
    assert group.surest == Certainty.SURE or group.settle or group.code in ("cellulose_nitrate",
                                                                           "epoxy")  # fmt: skip
    for band in group.bands:
        assert band.low <= band.at <= band.high
        assert band.source
        assert band.what
        assert band.least_width < band.most_width
    places = [band.at for band in group.bands]
    assert len(set(places)) == len(places)
    for proportion in group.proportions:
        assert {proportion.of, proportion.to} <= set(places)


def test_every_material_named_is_in_the_vocabulary() -> None:
    known = tomllib.loads(MATERIALS.read_text())
    assert {code for group in groups() for code in group.materials} <= set(known)
    assert materials_of("hydrocerussite") == ("lead_white",)
    assert materials_of("nothing") == ()


def test_the_table_covers_what_paintings_are_made_of() -> None:
    assert {
        "protein", "drying_oil", "ester_wax", "terpenoid_resin", "polysaccharide",
        "acrylic_copolymer", "polyvinyl_acetate", "alkyd", "cellulose_nitrate", "calcite",
        "hydrocerussite", "malachite", "azurite", "gypsum", "barite", "whewellite", "lead_soap",
        "zinc_soap", "kaolinite", "talc", "quartz", "lazurite", "prussian_blue", "hydroxyapatite",
    } <= {group.code for group in groups()}  # fmt: skip
    assert "from memory" in TABLE.read_text()


def test_the_published_bend_parts_calcite_from_dolomite() -> None:
    bends = {
        group.code: band
        for group in groups()
        if group.code in ("calcite", "dolomite")
        for band in group.bands
        if "in plane" in band.what
    }
    assert bends["calcite"].high < 728
    assert bends["dolomite"].low > 712


PRINTED = {
    code: tables
    for half in ("organic.toml", "inorganic.toml")
    for code, tables in tomllib.loads(
        (Path(__file__).parent / "published" / half).read_text()
    ).items()
}
WHOLE = (
    "protein", "calcite", "kaolinite", "quartz", "drying_oil", "prussian_blue", "dolomite",
    "anhydrite", "copper_oxalate", "hydroxyapatite", "terpenoid_resin", "paraffin", "cellulose",
    "lignin", "polyester", "polyurethane", "talc",
)  # fmt: skip


def _accepts(band: TableBand, place: float, table: dict[str, Any]) -> bool:
    shifts = table.get("in_atr", False) and band.weight >= 0.6 and band.at < SHIFTED
    give: float = table.get("step", 0) / 2
    return band.low - (SHIFT_IN_ATR if shifts else 0) - give <= place <= band.high + give


@pytest.mark.parametrize("code", PRINTED)
def test_places_in_printed_tables_are_accepted_and_the_others_are_named(code: str) -> None:
    (group,) = [group for group in groups() if group.code == code]
    for table in PRINTED[code]:
        accepted = {
            place
            for place in table["places"] + table.get("outside", [])
            if any(_accepts(band, place, table) for band in group.bands)
        }
        assert accepted == set(table["places"]), table["source"]


@pytest.mark.parametrize("code", WHOLE)
def test_every_needed_band_is_in_a_printed_table(code: str) -> None:
    (group,) = [group for group in groups() if group.code == code]
    for band in group.bands:
        assert not band.needed or any(
            _accepts(band, place, table) for table in PRINTED[code] for place in table["places"]
        )
