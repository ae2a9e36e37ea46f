"""The column chooser: what a person says of a raw file that is a table of several columns."""

from pathlib import Path
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from analyses.models import Analysis
from records.choices import Role
from records.models import Technique
from records.versions import versions_of
from tests import builders as make
from tests.integration.pages.conftest import World
from tests.unit.spectra.readers.samples import EMSA, jcampdx

TABLE = b"""scan of the ground, 40 kV
channel;energy eV;live;fitted
1;1000;4;4.5
2;1010;9;8.5
3;1020;7;7.5
"""
SPECTRUM = jcampdx([1000, 1004], [3, 4], "AFFN").encode()
CHOICE = {"x": "2", "x_unit": "eV", "y": "3", "y_unit": "counts", "why": "as the program exports"}


@pytest.fixture(autouse=True)
def _files(tmp_path: Path, settings: Any) -> None:
    settings.MEDIA_ROOT = str(tmp_path)


@pytest.fixture
def table(world: World) -> Analysis:
    file = ContentFile(TABLE, "ground.txt")
    return make.analysis("xrf", sample=world.sample, raw_file=file, settings={"Filter": "Al"})


def chooser(analysis: Analysis) -> str:
    return reverse("analysis-columns", args=[analysis.pk])


def answer(client: Client, analysis: Analysis, **said: str) -> Any:
    form = client.get(chooser(analysis)).context["form"]
    return client.post(chooser(analysis), CHOICE | {"opened": form["opened"].value()} | said)


def test_it_works(scientist: Client, table: Analysis) -> None:
    """The page says that a choice is needed; the choice is kept, shown and used."""
    page = scientist.get(table.get_absolute_url()).content.decode()
    assert "Choose which holds the places" in page
    assert chooser(table) in page
    shown = scientist.get(chooser(table))
    assert shown.context["columns"] == ("channel", "energy eV", "live", "fitted")
    assert '<td class="num">1020</td>' in shown.content.decode()
    assert shown.context["form"]["x_unit"].value() == "keV"  # what XRF files usually hold
    assert answer(scientist, table).status_code == 302
    table.refresh_from_db()
    assert table.settings["Filter"] == "Al"
    page = scientist.get(table.get_absolute_url()).content.decode()
    assert "places column 2, eV; values column 3, counts" in page
    assert "3 values, 1 to 1.02 keV, counts" in page
    curve = scientist.get(reverse("analysis-spectrum", args=[table.pk])).json()
    assert (curve["x"], curve["y"]) == ([1.0, 1.01, 1.02], [4, 9, 7])
    assert len(versions_of(table)) == 2
    with table.raw_file.open("rb") as file:
        assert file.read() == TABLE
    again = scientist.get(chooser(table)).context["form"]
    assert [again[name].value() for name in ("x", "x_unit", "y", "y_unit")] == [
        "2", "eV", "3", "counts",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("said", "field", "words"),
    [
        ({"y": "2"}, "y", "two columns"),
        ({"x": "0"}, "start", "first place"),
        ({"x": "9"}, "x", "not one of the available choices"),
        ({"x_unit": "cm⁻¹"}, "x_unit", "is a curve over cm⁻¹"),
        ({"x": "4"}, "__all__", "Line 5: the place 7.5 breaks the order"),
    ],
)
def test_a_choice_that_makes_no_curve_is_refused_at_its_field(
    scientist: Client, table: Analysis, said: dict[str, str], field: str, words: str
) -> None:
    refused = answer(scientist, table, **said)
    assert refused.status_code == 422
    assert words in " ".join(refused.context["form"].errors[field])
    table.refresh_from_db()
    assert table.settings == {"Filter": "Al"}


def test_places_that_no_column_holds_follow_from_a_start_and_a_step(
    scientist: Client, table: Analysis
) -> None:
    said = {"x": "0", "x_unit": "keV", "start": "2", "step": "0.5", "y": "4"}
    assert answer(scientist, table, **said).status_code == 302
    curve = scientist.get(reverse("analysis-spectrum", args=[table.pk])).json()
    assert (curve["x"], curve["y"]) == ([2.0, 2.5, 3.0], [4.5, 8.5, 7.5])


def test_cells_divided_wrongly_are_divided_anew(scientist: Client, world: World) -> None:
    rows = ContentFile(b"1,5 2,25\n1,6 3,5\n", "commas.txt")
    analysis = make.analysis("xrf", sample=world.sample, raw_file=rows)
    asked = {"separator": "blanks", "decimal": ","}
    page = scientist.get(chooser(analysis), asked)
    assert page.context["form"].table.rows[0] == (1, ("1.5", "2.25"))
    assert answer(scientist, analysis, x="1", y="2", x_unit="keV", **asked).status_code == 302
    curve = scientist.get(reverse("analysis-spectrum", args=[analysis.pk])).json()
    assert (curve["x"], curve["y"]) == ([1.5, 1.6], [2.25, 3.5])


def test_a_new_file_leads_to_the_chooser_and_loses_the_choice_of_the_one_before(
    scientist: Client, table: Analysis
) -> None:
    answer(scientist, table)
    address = reverse("analysis-edit", args=[table.pk])
    form = scientist.get(address).context["form"]
    said = {
        "technique": table.technique_id, "opened": form["opened"].value(), "why": "measured again",
        "settings.name": list(form.instance.settings),
        "settings.value": list(form.instance.settings.values()),
        "raw_file": SimpleUploadedFile("again.txt", TABLE.replace(b"energy eV", b"position")),
    }  # fmt: skip
    assert scientist.post(address, said).url == chooser(table)  # type: ignore[attr-defined]
    table.refresh_from_db()
    assert table.settings == {"Filter": "Al"}


def test_a_format_that_names_its_axes_leaves_nothing_to_choose(
    scientist: Client, world: World
) -> None:
    spectrum = ContentFile(jcampdx([1000, 1004], [3, 4], "AFFN").encode(), "a.dx")
    analysis = make.analysis("ftir", sample=world.sample, raw_file=spectrum)
    assert scientist.get(chooser(analysis)).url == analysis.get_absolute_url()  # type: ignore[attr-defined]


def test_a_file_that_is_no_table_says_so_where_it_would_be_chosen(
    scientist: Client, world: World
) -> None:
    analysis = make.analysis("xrf", sample=world.sample, raw_file=ContentFile(b"none\n", "a.txt"))
    page = scientist.get(chooser(analysis)).content.decode()
    assert "neither this nor any later line is a row of numbers" in page
    page = scientist.get(analysis.get_absolute_url()).content.decode()
    assert "neither this nor any later line is a row of numbers" in page


def upload(client: Client, world: World, name: str, data: bytes, **said: Any) -> Any:
    address = reverse("sample-analysis-new", args=[world.sample.pk])
    technique = make.term(Technique, "ftir", group="analysis")
    file = SimpleUploadedFile(name, data)
    return client.post(address, {"technique": technique.pk, "raw_file": file} | said)


@pytest.mark.parametrize(
    ("table", "words"),
    [
        (b"places;values\n400,5;0,1\n401,5;0,2\n402,5;0,3\n", "names no unit for the axis"),
        (b"energy keV,counts\n1,4\n2,9\n3,7\n", "is a curve over keV"),
    ],
)
def test_a_table_that_is_no_clear_curve_leads_to_its_columns_and_says_why(
    scientist: Client, world: World, table: bytes, words: str
) -> None:
    response = upload(scientist, world, "spot.csv", table)
    made = Analysis.objects.latest("pk")
    assert response["Location"] == chooser(made)
    page = scientist.get(chooser(made)).content.decode()
    assert words in page
    assert "To say which columns of the file are meant." in page  # a first choice changes nothing
    page = scientist.get(made.get_absolute_url()).content.decode()
    assert words in page
    assert reverse("analysis-evaluate", args=[made.pk]) not in page


def test_a_curve_of_another_technique_is_refused_and_not_kept(
    scientist: Client, world: World
) -> None:
    refused = upload(scientist, world, "ground.msa", EMSA.encode())
    assert refused.status_code == 422
    assert "is a curve over keV" in str(refused.context["form"].errors["raw_file"])
    assert not Analysis.objects.exclude(raw_file="").exists()


def test_a_file_that_is_kept_already_is_refused_with_the_way_to_it(
    scientist: Client, world: World
) -> None:
    assert upload(scientist, world, "spot.dx", SPECTRUM).status_code == 302
    made = Analysis.objects.latest("pk")
    refused = upload(scientist, world, "copy.dx", SPECTRUM)
    assert refused.status_code == 422
    assert made.get_absolute_url() in str(refused.context["form"].errors["raw_file"])
    made.withdraw(user=make.user(Role.SCIENTIST), why="another spot")
    assert upload(scientist, world, "copy.dx", SPECTRUM).status_code == 302


def test_lists_name_the_files_so_that_analyses_can_be_told_apart(
    scientist: Client, world: World
) -> None:
    upload(scientist, world, "spot one.dx", SPECTRUM)
    made = Analysis.objects.latest("pk")
    assert made.file_name == "spot_one.dx"
    for address in (
        made.get_absolute_url(),
        world.sample.get_absolute_url(),
        reverse("object-laboratory", args=[world.object.pk]),
        reverse("object-curves", args=[world.object.pk]),
    ):
        assert "spot_one.dx" in scientist.get(address).content.decode(), address
    made.settings = {"File": "day 1/spot one.dx"}  # as a batch names it
    assert made.file_name == "day 1/spot one.dx"


def test_a_form_that_is_refused_says_that_its_file_has_to_be_chosen_again(
    scientist: Client, world: World
) -> None:
    again = "Choose the file again"
    assert again in upload(scientist, world, "a.dx", SPECTRUM, date="2026-13").content.decode()
    address = reverse("sample-analysis-new", args=[world.sample.pk])
    assert again not in scientist.post(address, {"date": "2026-13"}).content.decode()
