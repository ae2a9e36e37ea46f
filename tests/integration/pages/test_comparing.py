"""Comparing images by number: choosing them, what is told, the chart and the file of values."""

import csv
import io
import re
import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import pyvips
from django.contrib.gis.geos import GEOSGeometry
from django.core.files.base import ContentFile
from django.test import Client
from django.urls import reverse
from procrastinate.contrib.django.models import ProcrastinateJob

from records.changes import change
from records.choices import Role, UncertaintyBasis
from records.models import Image, Placement
from tests import builders as make
from tests.integration.pages.conftest import World, signed_in_as
from tests.integration.pages.test_objects import queries_of
from tests.integration.reports.queue import empty_queue, work

WIDTH, HEIGHT = 500, 300  # px; 2 mm each on a face of 1000 × 600 mm


def pixels(changed: bool = False) -> Any:
    rng = np.random.default_rng(5)
    values = 120 + 40 * np.sin(np.arange(WIDTH) / 60) + rng.normal(0, 2, (HEIGHT, WIDTH))
    if changed:
        values[100:150, 200:260] += 60
    return np.clip(values, 0, 255).astype(np.uint8)


def placed(world: World, title: str, values: Any, off_mm: float = 0.5) -> Placement:
    image = make.photograph(
        world.object, title=title, width_px=WIDTH, height_px=HEIGHT, date="1931"
    )
    data = pyvips.Image.new_from_array(values).pngsave_buffer()
    image.file.storage.save(image.file.name, ContentFile(data))
    made: Placement = make.recorded(
        Placement,
        image=image,
        face=world.face,
        matrix=[[2, 0, 0], [0, -2, 600], [0, 0, 1]],
        rms_mm=off_mm,
        uncertainty_mm=off_mm,
        uncertainty_basis=UncertaintyBasis.STATED,
        footprint=world.face.outline.clone(),
    )
    return made


@pytest.fixture
def pair(world: World) -> tuple[Placement, Placement]:
    return placed(world, "before", pixels()), placed(world, "after", pixels(changed=True))


def asked(first: Placement, second: Placement, k: str = "3") -> dict[str, Any]:
    return {"first": first.pk, "second": second.pk, "k": k}


def text(response: Any) -> str:
    words = re.sub(r"<[^>]+>", " ", response.content.decode())
    return re.sub(r"[\s\N{NARROW NO-BREAK SPACE}]+", " ", words)


def test_it_works(conservator: Client, world: World, pair: tuple[Placement, Placement]) -> None:
    address = reverse("face-compare", args=[world.face.pk])
    response = conservator.get(address, asked(pair[0], pair[1], "4"))
    found = response.context["found"]
    # planted: 60 × 50 pixels of 4 mm²
    assert found.certain_mm2 == pytest.approx(60 * 50 * 4, rel=0.12)
    assert found.grid.step_mm == 2
    assert "“after” less “before”" in text(response)
    assert "on a grid of 2.000 mm (500 × 300 cells)" in text(response)
    assert "May lie off one another 0.71 mm" in text(response)
    drawn = conservator.get(response.context["address"])
    image = pyvips.Image.pngload_buffer(drawn.content)
    assert (image.width, image.height) == (WIDTH, HEIGHT)


def test_before_anything_is_chosen_the_page_offers_the_placed_images(
    conservator: Client, world: World, pair: tuple[Placement, Placement]
) -> None:
    page = conservator.get(reverse("face-compare", args=[world.face.pk]))
    assert page.status_code == 200
    assert "before (1931), ± 0.5 mm" in text(page)
    assert "found" not in page.context


def test_an_image_is_not_compared_with_itself_nor_with_one_of_another_face(
    conservator: Client, world: World, pair: tuple[Placement, Placement]
) -> None:
    address = reverse("face-compare", args=[world.face.pk])
    same = conservator.get(address, asked(pair[0], pair[0]))
    assert same.status_code == 422
    assert "another image than the first" in text(same)
    verso = make.face(world.object, name="verso")
    elsewhere = reverse("face-compare", args=[verso.pk])
    wrong = conservator.get(elsewhere, asked(*pair))
    assert wrong.status_code == 422
    picture = reverse("face-difference", args=[verso.pk, pair[0].pk, pair[1].pk])
    assert conservator.get(picture).status_code == 404
    strange = conservator.get(address, {"first": "x", "second": "", "k": "much"})
    assert strange.status_code == 422


def test_images_that_do_not_meet_and_files_that_are_gone_are_told(
    conservator: Client, world: World, pair: tuple[Placement, Placement]
) -> None:
    address = reverse("face-compare", args=[world.face.pk])
    response = conservator.get(address, asked(pair[0], world.placement))
    assert response.status_code == 422
    assert "“Glass negative”: The file of an image cannot be read" in text(response)
    aside = placed(world, "aside", pixels())
    left = "POLYGON((0 0, 10 0, 10 10, 0 10, 0 0))"
    right = "POLYGON((900 0, 1000 0, 1000 10, 900 10, 900 0))"
    with change(user=None, why="for a test"):
        pair[0].footprint, aside.footprint = GEOSGeometry(left), GEOSGeometry(right)  # type: ignore[assignment]
        pair[0].save()
        aside.save()
    response = conservator.get(address, asked(pair[0], aside))
    assert "do not overlap" in text(response)


def packed(world: World, tmp_path: Path) -> Placement:
    """An image that is long to read: it is a JPEG 2000."""
    made = placed(world, "packed", pixels(changed=True))
    plain, path = tmp_path / "plate.tif", tmp_path / "plate.jp2"
    pyvips.Image.new_from_array(pixels(changed=True)).tiffsave(str(plain))
    options = ["-q", "-of", "JP2OpenJPEG", "-co", "QUALITY=100", "-co", "REVERSIBLE=YES"]
    subprocess.run(["gdal_translate", *options, str(plain), str(path)], check=True)
    name = str(made.image.file.name)
    made.image.file.storage.delete(name)
    made.image.file.storage.save(name, ContentFile(path.read_bytes()))
    Image.objects.filter(pk=made.image_id).update(media_type="image/jp2")
    made.image.refresh_from_db()
    return made


@pytest.mark.django_db(transaction=True)
def test_a_page_waits_for_an_image_that_is_long_to_read_and_then_shows_what_is_asked(
    conservator: Client, world: World, tmp_path: Path
) -> None:
    empty_queue()
    first, second = placed(world, "before", pixels()), packed(world, tmp_path)
    address = reverse("face-compare", args=[world.face.pk])
    page = conservator.get(address, asked(first, second))
    assert page.status_code == 200
    assert "“packed” is large; reading it waits for the task worker" in text(page)
    assert "found" not in page.context
    line: dict[str, Any] = {"line": "100, 300; 900, 300", "bands": [first.pk, second.pk]}
    profile = reverse("face-profile", args=[world.face.pk])
    assert "waits for the task worker" in text(conservator.get(profile, line))
    drawn = reverse("face-difference", args=[world.face.pk, first.pk, second.pk])
    assert conservator.get(drawn).status_code == 404
    Image.objects.filter(pk=second.image_id).update(pyramid_progress=40)
    asking = {"HX-Request": "true"}
    still = conservator.get(address, asked(first, second), headers=asking)
    assert "“packed” is large and is read once" in text(still)
    assert "<h1" not in still.content.decode()
    assert ProcrastinateJob.objects.filter(queue_name="images").count() == 1  # asked for once
    work("images")
    assert conservator.get(address, asked(first, second), headers=asking)["HX-Refresh"] == "true"
    # The original is not opened again.
    second.image.file.storage.delete(str(second.image.file.name))
    page = conservator.get(address, asked(first, second, "4"))
    assert page.context["found"].certain_mm2 == pytest.approx(60 * 50 * 4, rel=0.12)
    assert len(conservator.get(profile, line).context["chart"].curves) == 2


def test_an_image_whose_tiles_could_not_be_made_is_told_and_not_waited_for(
    conservator: Client, world: World, tmp_path: Path
) -> None:
    first, second = placed(world, "before", pixels()), packed(world, tmp_path)
    Image.objects.filter(pk=second.image_id).update(pyramid_error="The file is damaged.")
    address = reverse("face-compare", args=[world.face.pk])
    page = conservator.get(address, asked(first, second))
    assert page.status_code == 422
    assert "“packed”: The file is damaged." in text(page)


def along(world: World, *bands: Placement, **given: Any) -> dict[str, Any]:
    return {"line": "100, 300; 900, 300", "bands": [b.pk for b in bands], **given}


def test_grey_values_along_a_line_are_drawn_listed_and_saved(
    conservator: Client, world: World, pair: tuple[Placement, Placement]
) -> None:
    address = reverse("face-profile", args=[world.face.pk])
    response = conservator.get(address, along(world, *pair))
    assert len(response.context["chart"].curves) == 2
    assert response.context["length_mm"] == 800
    assert "of 401 values" in text(response)
    saved = conservator.get(address, along(world, *pair, save="csv"))
    assert "grey values.csv" in saved["Content-Disposition"]
    rows = list(csv.reader(io.StringIO(saved.content.decode())))
    assert rows[0][0] == "distance_mm"
    values = np.array([[float(cell) for cell in row] for row in rows[1:402]])
    # y = 300 mm lies on the edge between the pixel rows 149 and 150
    expected = pixels()[149:151].astype(float).mean(axis=0)
    at = (100 + values[:, 0]) / 2 - 0.5
    assert values[:, 1] == pytest.approx(np.interp(at, np.arange(WIDTH), expected), abs=1e-3)
    assert rows[-1] == ["line on the face in mm: 100, 300; 900, 300"]


def test_a_band_that_does_not_reach_the_line_says_so(
    conservator: Client, world: World, pair: tuple[Placement, Placement]
) -> None:
    address = reverse("face-profile", args=[world.face.pk])
    response = conservator.get(address, along(world, pair[0], world.placement))
    assert "not shown" in text(response)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"line": ""}, "Line: This field is required"),
        ({"line": "10, 10"}, "at least 2 pairs"),
        ({"line": "10, 10; 10, 10"}, "Line:"),
        ({"line": "POLYGON((0 0, 5 0, 5 5, 0 0))"}, "Give one line"),
        ({"bands": []}, "Images: This field is required"),
        ({"bands": ["999999"]}, "Images:"),
        ({"width_mm": "-4"}, "Averaged across"),
        ({"width_mm": "wide"}, "Averaged across"),
    ],
)
def test_what_cannot_be_read_along_is_refused_in_words(
    conservator: Client,
    world: World,
    pair: tuple[Placement, Placement],
    given: dict[str, Any],
    words: str,
) -> None:
    address = reverse("face-profile", args=[world.face.pk])
    response = conservator.get(address, along(world, *pair) | given)
    assert response.status_code == 422
    assert words in text(response)


def test_a_name_that_looks_like_a_formula_is_plain_in_the_file(
    conservator: Client, world: World
) -> None:
    one = placed(world, "=1+1", pixels())
    address = reverse("face-profile", args=[world.face.pk])
    saved = conservator.get(address, along(world, one, save="csv")).content.decode()
    assert saved.splitlines()[0].split(",")[1].startswith(("\"'=1+1", "'=1+1"))


def test_the_page_takes_as_many_queries_for_many_images_as_for_few(
    conservator: Client, world: World, pair: tuple[Placement, Placement]
) -> None:
    address = reverse("face-compare", args=[world.face.pk])
    queries_of(conservator, address)  # kinds of records are looked up once
    few = queries_of(conservator, address)
    for number in range(5):
        placed(world, f"more {number}", pixels())
    assert queries_of(conservator, address) == few


def test_those_who_see_records_compare_and_nobody_else(
    world: World, pair: tuple[Placement, Placement]
) -> None:
    keys = [world.face.pk, pair[0].pk, pair[1].pk]
    scientist, committee = signed_in_as(Role.SCIENTIST), signed_in_as(Role.COMMITTEE)
    for address in (
        reverse("face-compare", args=keys[:1]),
        reverse("face-profile", args=keys[:1]),
        reverse("face-difference", args=keys),
    ):
        assert scientist.get(address).status_code == 200
        assert committee.get(address).status_code == 403
        assert Client().get(address).status_code == 302
