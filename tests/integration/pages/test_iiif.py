"""Served tiles against the IIIF consortium's validator: Image API 3.0, level 0."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import pyvips
from django.core.files.base import ContentFile
from django.test import Client
from iiif_validator import validator
from iiif_validator.tests.test import ValidatorError

from records.models import Image
from records.tasks import make_image_pyramid, redraw_placement
from tests import builders as make
from tests.integration.pages.conftest import World
from tests.integration.pages.test_placing import place, rows

VERSION = "3.0"


class Served(validator.ImageAPI):
    """What the validator asks for comes from the program, for somebody who has signed in."""

    def __init__(self, client: Client, address: str) -> None:
        *prefix, name = address.strip("/").split("/")
        super().__init__(name, "testserver", "/".join(prefix), version=VERSION, debug=False)
        self.client = client

    def fetch(self, url: str) -> bytes:
        answer = self.client.get(url.removeprefix("http://testserver"))
        self.last_headers = answer.headers
        self.last_status, self.last_url = answer.status_code, url
        self.urls.append(url)
        return b"".join(answer) if answer.streaming else answer.content


def faults(client: Client, address: str, *, leave_out: str = "") -> dict[str, str]:
    """What the validator finds wrong at level 0, by the name of its test."""
    suite = validator.TestSuite(validator.ValidationInfo())
    levels = {name: told["level"] for name, told in suite.list_tests(VERSION).items()}
    chosen = [name for name, level in levels.items() if level == 0 and name != leave_out]
    assert len(chosen) >= 4
    found = {}
    for name in chosen:
        try:
            told = suite.run_test(name, Served(client, address)).exception
        except (ValidatorError, OSError, KeyError) as error:
            told = error
        if told:
            found[name] = str(told)
    return found


@pytest.fixture
def image(world: World) -> Image:
    """The consortium's test image: ten by ten squares of 100 pixels, each of its own colour."""
    colours = np.array(validator.ValidationInfo().colorInfo, np.uint8).swapaxes(0, 1)
    squares = colours.repeat(100, axis=0).repeat(100, axis=1)
    made = make.photograph(world.object, title="Squares", width_px=1000, height_px=1000)
    file = pyvips.Image.new_from_array(squares, interpretation="srgb").tiffsave_buffer()
    made.file.storage.save(made.file.name, ContentFile(file))
    make_image_pyramid.func(image_id=made.pk)
    made.refresh_from_db()
    return made


def test_it_works(conservator: Client, image: Image) -> None:
    assert faults(conservator, image.tiles_address) == {}
    assert faults(conservator, f"/images/{image.pk}/iiif") == {}


def test_a_picture_redrawn_square_to_the_face_is_served_alike(
    conservator: Client, image: Image, world: World
) -> None:
    turned = [(c, r, 300 + 0.2 * c + 0.1 * r, 400 + 0.1 * c - 0.2 * r)
              for c, r in ((0, 0), (1000, 0), (1000, 1000), (0, 1000))]  # fmt: skip
    placement = place(conservator, image, world, method="similarity", **rows(*turned))
    redraw_placement.func(placement_id=placement.pk)
    placement.refresh_from_db()
    stamp = placement.rectified.partition(f"/{placement.pk}-")[2]
    # Turned, its squares are no longer where the validator looks for them.
    address = f"/placements/{placement.pk}/iiif/{stamp}"
    assert faults(conservator, address, leave_out="id_squares") == {}


def test_of_a_large_image_the_whole_is_a_smaller_one_and_says_so(
    conservator: Client, world: World
) -> None:
    made = make.photograph(world.object, title="Wide", width_px=3000, height_px=500)
    file = pyvips.Image.black(3000, 500).pngsave_buffer()
    made.file.storage.save(made.file.name, ContentFile(file))
    make_image_pyramid.func(image_id=made.pk)
    made.refresh_from_db()
    assert faults(conservator, made.tiles_address, leave_out="id_squares") == {}
    told = conservator.get(f"{made.tiles_address}/info.json").json()
    assert told["maxWidth"] == 1024
    answer = conservator.get(f"{made.tiles_address}/full/max/0/default.jpg")
    whole = pyvips.Image.new_from_buffer(b"".join(answer), "")
    assert (whole.width, whole.height) == (1024, 171)


def without(name: str) -> Callable[[dict[str, Any]], Any]:
    return lambda told: told.pop(name)


@pytest.mark.parametrize(
    ("damage", "words"),
    [
        (without("protocol"), "protocol"),
        (without("profile"), "profile"),
        (without("type"), "type"),
        (without("@context"), "@context"),
        (lambda told: told.update(width="1000"), "type-is-int: width"),
        (lambda told: told["tiles"][0].pop("scaleFactors"), "scaleFactors"),
        (lambda told: told.update(profile="level 0"), "profile-compliance"),
    ],
)
def test_a_broken_info_json_is_refused_by_the_same_check(
    conservator: Client, image: Image, settings: Any, damage: Callable[[Any], Any], words: str
) -> None:
    file = Path(settings.MEDIA_ROOT) / image.pyramid / "info.json"
    told = json.loads(file.read_text())
    damage(told)
    file.write_text(json.dumps(told))
    assert words in faults(conservator, image.tiles_address)["info_json"]


def test_missing_tiles_are_found_by_the_same_check(
    conservator: Client, image: Image, settings: Any
) -> None:
    folder = Path(settings.MEDIA_ROOT) / image.pyramid
    (folder / "full" / "max" / "0" / "default.jpg").unlink()
    assert set(faults(conservator, image.tiles_address)) == {"id_basic", "id_squares", "format_jpg"}
