"""Information sheets: what a technique asks for, what was covered, and the page to take away."""

import io
import re
from typing import Any

import pytest
from django.contrib.gis.geos import GEOSGeometry
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from records.changes import change
from records.choices import Role
from records.coverage import covered_faces, faces_not_told
from records.models import Coverage, Examination, Technique, Zone
from reports import sheets
from reports.pdf import Files
from tests import builders as make
from tests.integration.pages.conftest import World, signed_in_as
from tests.integration.pages.test_objects import queries_of


def xray(**fields: Any) -> Technique:
    found: Technique = make.term(
        Technique,
        "x-radiography",
        group="imaging",
        asks=["voltage_kv", "exposure_s", "filters", "room_rh_percent"],
        cautions="Ionising radiation: controlled area.",
        **fields,
    )
    return found


def sheet(world: World, **given: Any) -> dict[str, Any]:
    return {"technique": xray().pk, "date": "2024-03-14", **given}


def test_it_works(conservator: Client, world: World) -> None:
    given = sheet(world, voltage_kv="28 kV", exposure_s="1/2", filters="Al 1 mm")
    given |= {"settings.name": ["grid"], "settings.value": ["none"], "faces": [world.face.pk]}
    response = conservator.post(reverse("examination-new", args=[world.campaign.pk]), given)
    look = Examination.objects.get(date="2024-03-14")
    assert response["Location"] == look.get_absolute_url()
    assert look.settings == {
        "voltage_kv": 28, "exposure_s": 0.5, "filters": "Al 1 mm", "grid": "none",
    }  # fmt: skip
    page = conservator.get(look.get_absolute_url()).content.decode()
    assert "28\N{NARROW NO-BREAK SPACE}kV" in page
    assert "Not recorded: relative humidity of the room." in page
    assert "Ionising radiation: controlled area." in page


def test_the_form_asks_for_what_the_technique_chosen_needs(
    conservator: Client, world: World
) -> None:
    address = reverse("examination-new", args=[world.campaign.pk])
    bare = conservator.get(address).content.decode()
    assert 'name="voltage_kv"' not in bare
    assert "Choose a technique" in bare
    asked: dict[str, Any] = {
        "part": "settings",
        "technique": xray().pk,
        "detector": "film",
        "voltage_kv": "30",
    }
    part = conservator.get(address, asked).content.decode()
    assert 'name="voltage_kv" value="30"' in part
    assert 'name="detector" value="film"' in part  # typed for another technique: not lost
    assert part.count("Ionising radiation: controlled area.") == 2  # in the form, in the grounds
    assert "<form" not in part


def test_a_narrower_technique_asks_for_what_the_broader_one_does(
    conservator: Client, world: World
) -> None:
    paper = make.term(Technique, "beta", group="imaging", broader=xray())
    assert paper.asked() == xray().asked()
    address = reverse("examination-new", args=[world.campaign.pk])
    part = conservator.get(address, {"part": "settings", "technique": paper.pk})
    assert 'name="voltage_kv"' in part.content.decode()


def test_an_unusual_value_is_kept_and_questioned(conservator: Client, world: World) -> None:
    address = reverse("examination-new", args=[world.campaign.pk])
    response = conservator.post(address, sheet(world, voltage_kv="280"), follow=True)
    page = response.content.decode()
    assert Examination.objects.get(date="2024-03-14").settings == {"voltage_kv": 280}
    assert "is unusual: mostly 5 to 150" in page
    again = conservator.get(response.redirect_chain[-1][0]).content.decode()
    assert "unusual: mostly 5 to 150" in again  # with the record, not only once


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("voltage_kv", "high", "is not a number in kV"),
        ("room_rh_percent", "510", "This cannot be"),
        ("voltage_kv", "1,000", "can be read in two ways"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field_and_nothing_is_kept(
    conservator: Client, world: World, field: str, typed: str, words: str
) -> None:
    address = reverse("examination-new", args=[world.campaign.pk])
    response = conservator.post(address, sheet(world, **{field: typed}))
    assert response.status_code == 422
    assert words in str(response.context["form"].errors[field])
    assert f'value="{typed}"' in response.content.decode()
    assert not Examination.objects.filter(date="2024-03-14").exists()


def test_a_setting_with_a_field_of_its_own_is_not_kept_twice(
    conservator: Client, world: World
) -> None:
    given = sheet(world) | {"settings.name": ["tube voltage"], "settings.value": ["28 kV"]}
    response = conservator.post(reverse("examination-new", args=[world.campaign.pk]), given)
    assert "has a field of its own above (Tube voltage)" in str(
        response.context["form"].errors["settings"]
    )


def test_a_change_keeps_settings_that_the_new_technique_does_not_ask_for(
    conservator: Client, world: World
) -> None:
    look = make.examination(world.object, technique=xray(), settings={"voltage_kv": 28})
    other = make.term(Technique, "other", group="imaging", asks=["iso"])
    page = conservator.get(reverse("examination-edit", args=[look.pk])).content.decode()
    given = {
        "technique": other.pk, "voltage_kv": "28", "iso": "100", "why": "It was another one.",
        "opened": re.search(r'name="opened" value="([^"]+)"', page)[1],  # type: ignore[index]
    }  # fmt: skip
    conservator.post(reverse("examination-edit", args=[look.pk]), given)
    look.refresh_from_db()
    assert look.settings == {"voltage_kv": 28, "iso": 100}


# What was covered


def cover(world: World, client: Client, shape: str, **given: Any) -> Any:
    look = make.examination(world.object)
    given = {"face": world.face.pk, "geometry": shape, **given}
    return look, client.post(reverse("coverage-new", args=[look.pk]), given)


def test_what_was_not_covered_is_the_face_without_what_was(
    conservator: Client, world: World
) -> None:
    make.recorded(Zone, face=world.face, name="border", geometry=GEOSGeometry(
        "POLYGON((0 0, 1000 0, 1000 50, 0 50, 0 0))"
    ))  # fmt: skip
    look, response = cover(
        world, conservator, "0, 0; 400, 0; 400, 600; 0, 600", rest_why="Hidden by the frame."
    )
    assert response.status_code == 302
    (told,) = covered_faces(look)
    assert (told.covered_mm2, told.left_mm2) == (240_000, 360_000)
    kept = Coverage.objects.get(examination=look).geometry
    assert kept
    assert kept.area == 240_000
    assert told.left.startswith("M")
    page = conservator.get(look.get_absolute_url()).content.decode()
    assert "60\N{NARROW NO-BREAK SPACE}% of the face" in page
    assert "Hidden by the frame." in page
    assert "url(#not-examined" in page


def test_several_areas_that_overlap_count_once(conservator: Client, world: World) -> None:
    shape = (
        "MULTIPOLYGON(((0 0, 200 0, 200 200, 0 200, 0 0)),"
        " ((100 0, 300 0, 300 200, 100 200, 100 0)),"
        " ((500 500, 600 500, 600 600, 500 600, 500 500)))"
    )
    look, _ = cover(world, conservator, shape)
    (told,) = covered_faces(look)
    assert told.covered_mm2 == pytest.approx(300 * 200 + 100 * 100)
    assert told.left_mm2 + told.covered_mm2 == pytest.approx(told.face_mm2)


def test_a_face_covered_as_a_whole_leaves_nothing(world: World) -> None:
    (told,) = covered_faces(world.examination)
    assert told.is_whole
    assert told.left == ""
    verso = make.face(world.object, name="verso")
    assert faces_not_told(world.examination) == [verso]


@pytest.mark.parametrize(
    ("shape", "words"),
    [
        ("0, 0; 5000, 0; 5000, 600", "outside"),
        ("POINT(10 10)", "is an area"),
        ("LINESTRING(10 10, 20 20)", "is an area"),
        ("0, 0; 10, 10; 10, 0; 0, 10", "crosses itself"),
        ("MULTIPOLYGON(((0 0, 1", "cannot be read"),
        ("here", "cannot be read"),
    ],
)
def test_a_shape_that_is_no_area_on_the_face_is_refused(
    conservator: Client, world: World, shape: str, words: str
) -> None:
    look, response = cover(world, conservator, shape)
    assert response.status_code == 422
    assert words in str(response.context["form"].errors["geometry"])
    assert not look.coverage.exists()


def test_a_face_is_told_once_and_again_after_it_was_withdrawn(
    conservator: Client, world: World
) -> None:
    look, _ = cover(world, conservator, "")
    again = reverse("coverage-new", args=[look.pk])
    response = conservator.post(again, {"face": world.face.pk})
    assert "recorded already: change that" in str(response.context["form"].errors["face"])
    look.coverage.get().withdraw(user=None, why="The wrong face.")
    assert conservator.post(again, {"face": world.face.pk}).status_code == 302
    assert len(covered_faces(look)) == 1


def test_the_page_takes_as_many_queries_for_many_faces_as_for_few(
    conservator: Client, world: World
) -> None:
    look = make.examination(world.object)
    for name in ("left edge", "right edge"):
        make.recorded(Coverage, examination=look, face=make.face(world.object, name=name))
    queries_of(conservator, look.get_absolute_url())  # kinds of records are looked up once
    few = queries_of(conservator, look.get_absolute_url())
    for name in "abcdef":
        make.recorded(Coverage, examination=look, face=make.face(world.object, name=name))
    assert queries_of(conservator, look.get_absolute_url()) == few


# The page to take away


def pages_of(pdf: bytes) -> int:
    return len(PdfReader(io.BytesIO(pdf)).pages)


def test_the_sheet_is_one_tagged_page(conservator: Client, world: World) -> None:
    response = conservator.get(reverse("examination-sheet", args=[world.examination.pk]))
    assert response["Content-Type"] == "application/pdf"
    pdf = response.content
    assert pages_of(pdf) == 1
    read = PdfReader(io.BytesIO(pdf))
    root: Any = read.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in root
    words = read.pages[0].extract_text()
    assert "Information sheet" in words
    assert world.object.title in words


def test_the_sheet_says_what_the_record_says(world: World) -> None:
    look = make.examination(
        world.object,
        technique=xray(),
        operator=world.person,
        instrument="Cabinet 3",
        settings={"voltage_kv": 280, "grid": "none"},
        conditions="Unframed",
        not_covered="The edges.",
    )
    image = make.photograph(world.object, kind="technical", examination=look, title="Plate 1")
    half = "POLYGON((0 0, 500 0, 500 600, 0 600, 0 0))"
    make.recorded(Coverage, examination=look, face=world.face, geometry=half, rest_why="No time.")
    with change(user=None, why="for a test"):
        look.sign(user=make.user(Role.CONSERVATOR, first_name="Ada", last_name="Rook"))
    html = sheets.page_html(sheets.gather(look), sheets.FITS[0], Files())
    words = re.sub(r"<[^>]+>|\s+|\N{NARROW NO-BREAK SPACE}", " ", html)
    words = re.sub(r"\s+", " ", words).replace(" )", ")")
    for said in (
        "Tube voltage 280 kV (unusual: mostly 5 to 150 kV)",
        "grid none",
        "Not recorded: exposure; filters; relative humidity of the room.",
        "Ionising radiation: controlled area.",
        "Operator Ada Rook",
        "Examined: 3 000 cm² (50 %). Not examined: 3 000 cm² (50 %): No time.",
        "The edges.",
        image.sha256,
        "signed by Ada Rook",
    ):
        assert said in words, said


def test_the_sheet_fits_one_page_however_much_is_recorded(world: World) -> None:
    long = "The lamp was moved twice because the floor gave way under the stand. " * 30
    look = make.examination(
        world.object,
        technique=xray(),
        instrument=long[:200],
        conditions=long,
        not_covered=long,
        note=long,
        settings={f"setting {number}": "a value with its unit" for number in range(60)},
    )
    for number in range(6):
        face = make.face(world.object, name=f"face {number}")
        make.recorded(
            Coverage, examination=look, face=face, rest_why=long,
            geometry="POLYGON((0 0, 500 0, 500 600, 0 600, 0 0))",
        )  # fmt: skip
    for _ in range(40):
        make.photograph(world.object, kind="technical", examination=look, title=long[:190])
    assert pages_of(sheets.render(sheets.gather(look))) == 1


def test_only_those_who_see_records_take_a_sheet_away(world: World) -> None:
    address = reverse("examination-sheet", args=[world.examination.pk])
    assert signed_in_as(Role.SCIENTIST).get(address).status_code == 200
    assert signed_in_as(Role.COMMITTEE).get(address).status_code == 403
    assert Client().get(address).status_code == 302
