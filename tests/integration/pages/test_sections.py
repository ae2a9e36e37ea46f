"""The section editor: drawing on the photograph, taking measures over, one sequence of layers."""

import re
from typing import Any, cast

import numpy as np
import pytest
import pyvips
from django.core.files.base import ContentFile
from django.test import Client
from django.urls import reverse

from analyses.models import Identification, Layer, Preparation
from records.changes import change
from records.choices import ImageKind, Role
from records.models import Image
from records.reconstruction.gather import gather
from tests import builders as make
from tests.integration.pages.conftest import World, signed_in_as
from tests.integration.pages.test_objects import queries_of

WIDTH, HEIGHT = 200, 120
# Two layers of 40 px each, of known colour, under resin.
LINES = "0, 100; 200, 100\n0, 20; 200, 20\n0, 60; 200, 60"


def photograph(world: World) -> Image:
    pixels = np.full((HEIGHT, WIDTH, 3), 20, np.uint8)
    pixels[60:100] = (230, 225, 210)
    pixels[20:60] = (180, 40, 50)
    data = pyvips.Image.new_from_array(pixels, interpretation="srgb").pngsave_buffer()
    image = make.photograph(
        world.object, kind=ImageKind.SECTION, width_px=WIDTH, height_px=HEIGHT, title="Section"
    )
    image.file.storage.save(image.file.name, ContentFile(data))
    return image


@pytest.fixture
def section(world: World) -> Preparation:
    made: Preparation = world.preparation
    with change(user=None, why="for a test"):
        made.image = photograph(world)
        made.save()
    return made


def draw(client: Client, section: Preparation, **given: Any) -> Any:
    address = reverse("section-edit", args=[section.pk])
    page = client.get(address).content.decode()
    opened = re.search(r'name="opened" value="([^"]+)"', page)
    assert opened
    filled = {
        "scale_line": "10, 110; 110, 110", "length_um": "50", "lines": LINES,
        "why": "Drawn on the photograph.", "opened": opened[1],
    }  # fmt: skip
    return client.post(address, filled | given)


def test_it_works(scientist: Client, section: Preparation) -> None:
    response = draw(scientist, section)
    assert response["Location"] == reverse("measures-edit", args=[section.pk])
    section.refresh_from_db()
    assert section.um_per_px == 0.5
    assert section.scale == {"points": [[10, 110], [110, 110]], "length_um": 50}
    assert [line[0][1] for line in section.boundaries] == [100, 60, 20]
    page = scientist.get(response["Location"]).content.decode()
    assert "20.0–20.0, mean 20.0 ± 0.0" in page
    assert "#b42832" in page  # 180, 40, 50
    given = {"thickness_1": "on", "colour_2": "on", "why": "Measured on the photograph."}
    scientist.post(response["Location"], given)
    lower, upper = cast(Any, section.layers).order_by("number")
    assert (lower.thickness_min_um, lower.thickness_max_um, lower.thickness_mean_um) == (20, 20, 20)
    assert (lower.colour_hex, upper.thickness_min_um) == ("", None)  # not ticked, not taken
    assert upper.colour_hex == "#b42832"
    assert upper.colour_lab == pytest.approx([40.3, 55.4, 29.7], abs=0.1)
    assert "Measured on the photograph." in str(
        upper.versions.order_by("pgh_id").last().pgh_context.metadata
    )


def test_a_layer_that_is_not_recorded_yet_is_recorded_once_it_is_described(
    scientist: Client, section: Preparation
) -> None:
    draw(scientist, section, lines=f"{LINES}\n0, 10; 200, 10")
    address = reverse("measures-edit", args=[section.pk])
    form = scientist.get(address).context["form"]
    assert form["thickness_3"].value()  # a person drew it
    assert form["colour_3"].value()
    silent = scientist.post(address, {"thickness_3": "on", "why": "measured"})
    assert silent.status_code == 422
    assert "Say what layer 3 is" in silent.content.decode()
    assert section.layers.count() == 2
    given = {"thickness_3": "on", "description_3": "varnish", "why": "measured"}
    scientist.post(address, given)
    assert section.layers.get(number=3).thickness_mean_um == 5


@pytest.mark.parametrize(
    ("given", "field", "words"),
    [
        ({"lines": "0, 100; 200, 100"}, "lines", "One boundary encloses no layer"),
        ({"lines": "0, 100; 200, 100\n0, 60; 900, 60"}, "lines", "outside the photograph"),
        ({"lines": "0, 100; 200, 60\n0, 60; 200, 100"}, "lines", "cross"),
        ({"lines": "0, 100; here"}, "lines", "Line 1: “here” is not a pair of pixels"),
        ({"lines": "0, 90; 90, 90; 90, 40; 50, 99\n0, 10; 200, 10"}, "lines", "crosses itself"),
        ({"lines": "0, 100\n0, 60"}, "lines", "at least two points"),
        ({"length_um": ""}, "length_um", "needs both"),
        ({"scale_line": ""}, "scale_line", "needs both"),
        ({"scale_line": "10, 10; 10, 11"}, "scale_line", "coincide"),
        ({"length_um": "-5"}, "scale_line", "more than 0"),
        ({"length_um": "long"}, "length_um", "number"),
        ({"scale_line": "", "length_um": "", "um_per_px": "-1"}, "um_per_px", "more than 0"),
        ({"why": ""}, "why", "required"),
    ],
)
def test_what_cannot_be_measured_is_refused_and_nothing_is_kept(
    scientist: Client, section: Preparation, given: dict[str, str], field: str, words: str
) -> None:
    response = draw(scientist, section, **given)
    assert response.status_code == 422
    errors = response.context["form"].errors
    assert words in str(errors.get(field) or errors)
    section.refresh_from_db()
    assert (section.boundaries, section.um_per_px) == ([], None)


def test_a_typed_scale_stands_without_two_points(scientist: Client, section: Preparation) -> None:
    draw(scientist, section, scale_line="", length_um="", um_per_px="0.25")
    section.refresh_from_db()
    assert (section.um_per_px, section.scale) == (0.25, {})


def test_without_a_scale_only_colours_are_told(scientist: Client, section: Preparation) -> None:
    draw(scientist, section, scale_line="", length_um="")
    page = scientist.get(reverse("measures-edit", args=[section.pk])).content.decode()
    assert "Without a scale no thickness can be told." in page
    assert "#b42832" in page
    assert "thickness_1" not in page


def test_a_photograph_that_is_gone_leaves_the_thickness(
    scientist: Client, section: Preparation
) -> None:
    draw(scientist, section)
    assert section.image
    section.image.file.storage.delete(str(section.image.file.name))
    page = scientist.get(reverse("measures-edit", args=[section.pk])).content.decode()
    assert "The photograph cannot be read" in page
    assert "20.0–20.0" in page


def test_a_preparation_without_a_photograph_says_what_to_do(
    scientist: Client, world: World
) -> None:
    page = scientist.get(reverse("section-edit", args=[world.preparation.pk])).content.decode()
    assert "No photograph yet" in page
    page = scientist.get(reverse("measures-edit", args=[world.preparation.pk])).content.decode()
    assert "Nothing is drawn yet" in page


# Munsell


def layer_form(client: Client, layer: Layer, **given: Any) -> Any:
    address = reverse("layer-edit", args=[layer.pk])
    opened = re.search(r'name="opened" value="([^"]+)"', client.get(address).content.decode())
    assert opened
    filled = {
        "number": layer.number, "description": layer.description, "colour_hex": "#e7e3d8",
        "opened": opened[1], "why": "Looked at again.",
    }  # fmt: skip
    return client.post(address, filled | given)


def test_a_munsell_colour_by_eye_is_checked_and_drawn(scientist: Client, world: World) -> None:
    response = layer_form(scientist, world.layer, munsell="2.5yr 5/6", interpretation="Red ground")
    assert response.status_code == 302
    world.layer.refresh_from_db()
    assert world.layer.munsell == "2.5YR 5/6"
    assert world.layer.colour_hex == "#a76b4e"
    page = scientist.get(world.layer.get_absolute_url()).content.decode()
    assert "2.5YR 5/6" in page
    assert "Red ground" in page
    refused = layer_form(scientist, world.layer, munsell="reddish")
    assert "is not a Munsell notation" in str(refused.context["form"].errors["munsell"])


# One sequence


def stack(world: World, *layers: dict[str, Any]) -> list[Layer]:
    made = make.section(make.sample(make.sampling_point(world.face)))
    return [
        make.recorded(Layer, preparation=made, number=number, **layer)
        for number, layer in enumerate(layers, 1)
    ]


@pytest.fixture
def two(world: World) -> tuple[list[Layer], list[Layer]]:
    """Two sections with a ground, a red that only one has, and a varnish tied in one of them."""
    ground = {"description": "white ground", "colour_lab": [90, 0, 3]}
    red = {"description": "red glaze", "colour_lab": [35, 40, 20]}
    varnish = {
        "description": "varnish", "fluorescence": "greenish", "colour_lab": [60, 5, 30],
    }  # fmt: skip
    one = stack(world, ground, red, varnish | {"trace": world.patch})
    other = stack(world, ground, varnish)
    chalk = make.material("chalk")
    for layer in (one[0], other[0]):
        make.recorded(
            Identification, material=chalk, layer=layer, grounds="Ca", decision="proposed"
        )
    return one, other


def test_layers_of_two_sections_are_proposed_as_one_and_tied_by_a_person(
    scientist: Client, world: World, two: tuple[list[Layer], list[Layer]]
) -> None:
    address = reverse("layers-correlate", args=[world.object.pk])
    response = scientist.get(address)
    rows = [row for row in response.context["form"].rows if len(row.layers) > 1]
    assert [[layer.description for layer in row.layers] for row in rows] == [
        ["varnish", "varnish"],
        ["white ground", "white ground"],
    ]
    assert rows[0].trace == world.patch
    assert "both hold chalk" in " ".join(rows[1].grounds)
    upper = two[1][1]
    given = {
        f"layer_{upper.pk}": "on",
        f"trace_{rows[0].key}": world.patch.pk,
        "why": "The same greenish glow above the same ground.",
    }
    assert scientist.post(address, given).status_code == 302
    upper.refresh_from_db()
    assert upper.trace == world.patch
    two[1][0].refresh_from_db()
    assert two[1][0].trace is None  # proposed, not ticked


def test_a_course_that_changed_meanwhile_ties_nothing_to_the_trace_of_another(
    scientist: Client, world: World, two: tuple[list[Layer], list[Layer]]
) -> None:
    address = reverse("layers-correlate", args=[world.object.pk])
    opened = {
        layer.pk: row.key
        for row in scientist.get(address).context["form"].rows
        for layer in row.layers
    }
    ground = two[1][0]
    with change(user=None, why="meanwhile"):
        ground.trace = world.trace
        ground.save()
        two[0][0].trace = world.patch  # the two grounds are no longer one course
        two[0][0].save()
    varnish = two[1][1]
    given = {
        f"layer_{varnish.pk}": "on",
        f"trace_{opened[ground.pk]}": world.trace.pk,
        "why": "seen",
    }
    answer = scientist.post(address, given)
    assert answer.status_code == 422
    assert "name the trace" in answer.content.decode()
    varnish.refresh_from_db()
    assert varnish.trace is None


def test_a_confirmed_course_bears_on_the_history(
    scientist: Client, world: World, two: tuple[list[Layer], list[Layer]]
) -> None:
    """Two ties in one section order their traces."""

    def orders() -> list[str]:
        return [name for name in gather(world.object).items if name.startswith("layers:")]

    before = len(orders())
    address = reverse("layers-correlate", args=[world.object.pk])
    rows = {
        layer.pk: row.key
        for row in scientist.get(address).context["form"].rows
        for layer in row.layers
    }
    ground, varnish = two[1]
    given = {
        f"layer_{ground.pk}": "on",
        f"trace_{rows[ground.pk]}": world.trace.pk,
        f"layer_{varnish.pk}": "on",
        f"trace_{rows[varnish.pk]}": world.patch.pk,
        "why": "Seen in both sections.",
    }
    assert scientist.post(address, given).status_code == 302
    assert len(orders()) > before


def test_a_ticked_layer_needs_the_trace_of_its_course_and_a_reason(
    scientist: Client, world: World, two: tuple[list[Layer], list[Layer]]
) -> None:
    address = reverse("layers-correlate", args=[world.object.pk])
    ground = two[0][0]
    response = scientist.post(address, {f"layer_{ground.pk}": "on", "why": "alike"})
    assert response.status_code == 422
    assert "name the trace" in response.content.decode()
    silent = scientist.post(address, {f"layer_{ground.pk}": "on"})
    assert "why" in silent.context["form"].errors
    ground.refresh_from_db()
    assert ground.trace is None


def test_the_sequence_takes_as_many_queries_for_many_sections_as_for_few(
    scientist: Client, world: World, two: tuple[list[Layer], list[Layer]]
) -> None:
    address = reverse("layers-correlate", args=[world.object.pk])
    queries_of(scientist, address)
    few = queries_of(scientist, address)
    for _ in range(3):
        stack(world, {"description": "ground"}, {"description": "paint", "trace": world.trace})
    assert queries_of(scientist, address) == few


def test_roles(world: World, section: Preparation) -> None:
    committee, conservator = signed_in_as(Role.COMMITTEE), signed_in_as(Role.CONSERVATOR)
    for name, key in (
        ("section-edit", section.pk),
        ("measures-edit", section.pk),
        ("layers-correlate", world.object.pk),
    ):
        address = reverse(name, args=[key])
        assert committee.get(address).status_code == 403
        assert committee.post(address, {}).status_code == 403
        assert conservator.get(address).status_code == 200
