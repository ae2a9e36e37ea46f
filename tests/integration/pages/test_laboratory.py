"""The laboratory: from a sampling point to a decided identification."""

import hashlib
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from procrastinate.contrib.django.models import ProcrastinateJob
from pytest_django import DjangoCaptureOnCommitCallbacks

from analyses.models import Analysis, Identification, Layer, Preparation, Sample, SamplingPoint
from records.changes import change
from records.choices import Role
from records.models import Material, MaterialDate
from records.reconstruction import recompute, store
from tests import builders as make
from tests.integration.pages.conftest import World
from tests.integration.pages.test_objects import queries_of


def test_it_works(scientist: Client, world: World) -> None:
    point = {
        "number": "P77",
        "geometry": "120.5, 80",
        "date": "2022-02-11",
        "invasive": "on",
        "permission": "Head of collections, 2022/14",
        "new_taker": "Ida Corvane",
    }
    scientist.post(reverse("sampling-point-new", args=[world.face.pk]), point)
    made = SamplingPoint.objects.get(number="P77")
    assert (made.geometry.x, made.geometry.y) == (120.5, 80)
    scientist.post(reverse("sample-new", args=[made.pk]), {"number": "S77"})
    sample = Sample.objects.get(number="S77")
    scientist.post(
        reverse("preparation-new", args=[sample.pk]), {"kind": "cross_section", "number": "X77"}
    )
    section = Preparation.objects.get(number="X77")
    layer = {"number": 1, "description": "ground", "thickness_min_um": 20, "thickness_max_um": 40}
    scientist.post(reverse("layer-new", args=[section.pk]), layer)
    page = scientist.get(section.get_absolute_url()).content.decode()
    assert "<svg" in page
    assert "20–40 µm" in page
    room = scientist.get(reverse("object-laboratory", args=[world.object.pk])).content.decode()
    assert "X77" in room


def test_removed_material_needs_a_permission(scientist: Client, world: World) -> None:
    given = {"number": "P78", "geometry": "10, 10", "invasive": "on"}
    response = scientist.post(reverse("sampling-point-new", args=[world.face.pk]), given)
    assert "Say who allowed" in str(response.context["form"].errors["permission"])


def test_a_point_off_the_face_is_told_by_how_much(scientist: Client, world: World) -> None:
    given = {"number": "P78", "geometry": "10, -40"}
    response = scientist.post(reverse("sampling-point-new", args=[world.face.pk]), given)
    assert "40.0 mm outside recto" in str(response.context["form"].errors["geometry"])


def rows(layers: list[Layer], **changes: Any) -> dict[str, Any]:
    """The layer editor as a browser sends it, with three empty rows."""
    data: dict[str, Any] = {
        "form-TOTAL_FORMS": len(layers) + 3,
        "form-INITIAL_FORMS": len(layers),
    }
    for index, layer in enumerate(layers):
        data |= {
            f"form-{index}-id": layer.pk,
            f"form-{index}-number": layer.number,
            f"form-{index}-description": layer.description,
        }
    # A browser sends a colour for every row, empty ones too.
    data |= {f"form-{index}-colour_hex": "#e7e3d8" for index in range(len(layers) + 3)}
    return data | {name.replace("__", "-"): value for name, value in changes.items()}


def layers_of(world: World) -> list[Layer]:
    return list(world.preparation.layers.order_by("number"))


def test_a_layer_is_put_between_two_in_the_editor(scientist: Client, world: World) -> None:
    address = reverse("layers-edit", args=[world.preparation.pk])
    given = rows(
        layers_of(world),
        form__1__number=3,
        form__2__number=2,
        form__2__description="thin isolating layer",
        why="seen in the second photograph",
    )
    response = scientist.post(address, given)
    assert response["Location"] == world.preparation.get_absolute_url()
    told = [(layer.number, layer.description) for layer in layers_of(world)]
    assert told == [(1, "layer 1"), (2, "thin isolating layer"), (3, "layer 2")]


def test_rows_left_alone_are_no_change(scientist: Client, world: World) -> None:
    address = reverse("layers-edit", args=[world.preparation.pk])
    assert scientist.get(address).content.decode().count('value="#e7e3d8"') == 5
    before = [layer.updated_at for layer in layers_of(world)]
    assert scientist.post(address, rows(layers_of(world))).status_code == 302
    assert [layer.updated_at for layer in layers_of(world)] == before


def test_the_editor_asks_why_and_refuses_two_layers_of_one_number(
    scientist: Client, world: World
) -> None:
    address = reverse("layers-edit", args=[world.preparation.pk])
    silent = scientist.post(address, rows(layers_of(world), form__0__description="lower ground"))
    assert silent.status_code == 422
    assert "Say why a layer is changed." in silent.content.decode()
    twice = rows(layers_of(world), form__2__number=1, form__2__description="again")
    response = scientist.post(address, twice)
    assert "Two layers have the number 1" in response.content.decode()
    assert len(layers_of(world)) == 2


def test_swapped_layers_are_refused_in_words_and_nothing_is_half_saved(
    scientist: Client, world: World
) -> None:
    address = reverse("layers-edit", args=[world.preparation.pk])
    given = rows(layers_of(world), form__0__number=2, form__1__number=1, why="the wrong way up")
    response = scientist.post(address, given)
    told = [(layer.number, layer.description) for layer in layers_of(world)]
    assert response.status_code == 422
    assert "give one a free number first" in response.content.decode()
    assert told == [(1, "layer 1"), (2, "layer 2")]


def test_a_reading_is_not_added_to_a_signed_analysis(scientist: Client, world: World) -> None:
    scientist.post(reverse("sign", args=["analyses", "analysis", world.analysis.pk]))
    given = {"kind": "element", "label": "Zn", "amount": "major"}
    response = scientist.post(reverse("reading-new", args=[world.analysis.pk]), given)
    assert response["Location"] == world.analysis.get_absolute_url()
    assert world.analysis.readings.count() == 1


def test_raw_data_are_kept_with_their_fixity(scientist: Client, world: World) -> None:
    content = b"energy,counts\n4.51,812\n"
    given = {
        "technique": world.analysis.technique_id,
        "raw_file": SimpleUploadedFile("spot.csv", content),
        "settings.name": ["voltage"],
        "settings.value": ["40 kV"],
    }
    response = scientist.post(
        reverse("point-analysis-new", args=[world.records["sampling-point"].pk]), given
    )
    made = Analysis.objects.latest("pk")
    assert response["Location"] == made.get_absolute_url()
    assert made.raw_sha256 == hashlib.sha256(content).hexdigest()
    assert made.settings == {"voltage": "40 kV"}
    saved = scientist.get(reverse("analysis-raw", args=[made.pk]))
    assert b"".join(saved.streaming_content) == content  # type: ignore[attr-defined]


def test_a_value_needs_its_unit(scientist: Client, world: World) -> None:
    given = {"kind": "peak", "label": "1730 C=O", "value": "1730", "amount": ""}
    response = scientist.post(reverse("reading-new", args=[world.analysis.pk]), given)
    assert "A value needs its unit." in str(response.context["form"].errors["unit"])


def test_a_proposal_is_accepted_by_a_person_with_grounds(scientist: Client, world: World) -> None:
    given = {
        "material": world.material.pk,
        "confidence": "probable",
        "grounds": "Ti in EDX",
        "readings": [world.reading.pk],
    }
    address = reverse("layer-identification-new", args=[world.layer.pk])
    scientist.post(address, given)
    found = Identification.objects.latest("pk")
    assert found.decision == "proposed"
    assert found.decided_by is None
    decided = {
        "decision": "accepted",
        "confidence": "certain",
        "grounds": "Ti in EDX and anatase in XRD",
        "why": "the diffraction agrees",
    }
    scientist.post(reverse("decide", args=[found.pk]), decided)
    found.refresh_from_db()
    assert (found.decision, found.confidence) == ("accepted", "certain")
    assert str(found.decided_by) == "Scientist Tester"
    page = scientist.get(found.get_absolute_url()).content.decode()
    assert "the diffraction agrees" in page
    assert "by Scientist Tester" in page


def test_a_material_too_young_for_its_layer_surfaces_in_the_history_by_itself(
    scientist: Client,
    world: World,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    """The patch came with the lining of 1951 to 1952; its paint was first sold in 1963."""
    young = make.term(Material, "acrylic-emulsion", group="binder")
    make.recorded(
        MaterialDate, material=young, kind="first_attested", date="1963", source="from memory"
    )
    make.recorded(Layer, preparation=world.preparation, number=3, description="paint on the patch",
                  trace=world.patch)  # fmt: skip
    found = make.recorded(
        Identification,
        material=young,
        layer=world.preparation.layers.get(number=3),
        grounds="ester bands",
    )
    contradictions = reverse("object-history-contradictions", args=[world.object.pk])
    list(store.compute(world.object))
    assert "acrylic emulsion" not in scientist.get(contradictions).content.decode().casefold()
    decided = {"decision": "accepted", "confidence": "certain", "grounds": "ester bands",
               "why": "no doubt is left"}  # fmt: skip
    with django_capture_on_commit_callbacks(execute=True):
        scientist.post(reverse("decide", args=[found.pk]), decided)
    asked = ProcrastinateJob.objects.filter(args__object_pk=world.object.pk)
    assert [job.task_name for job in asked] == [recompute.TASK]
    list(store.compute(world.object))
    told = scientist.get(contradictions).content.decode()
    assert "cannot all be true" in told
    assert "acrylic emulsion" in told.casefold()
    assert "1963" in told
    assert found.get_absolute_url() in told


def test_a_decision_needs_a_reason(scientist: Client, world: World) -> None:
    given = {"decision": "rejected", "confidence": "possible", "grounds": "no Ti after all"}
    response = scientist.post(reverse("decide", args=[world.identification.pk]), given)
    assert "why" in response.context["form"].errors
    world.identification.refresh_from_db()
    assert world.identification.decision == "proposed"


def test_the_room_takes_as_many_queries_for_many_analyses_as_for_few(
    scientist: Client, world: World
) -> None:
    address = reverse("object-laboratory", args=[world.object.pk])
    few = queries_of(scientist, address)
    for _ in range(10):
        point = make.sampling_point(world.face)
        section = make.section(make.sample(point), layers=3)
        make.analysis(layer=section.layers.first())
        make.analysis(point=point)
        make.recorded(Identification, material=world.material, point=point, grounds="Ti found")
    assert queries_of(scientist, address) == few


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"thickness_max_um": "-50"}, "from 0 to 100,000 µm"),
        ({"thickness_min_um": "-1", "thickness_max_um": "3"}, "from 0 to 100,000 µm"),
        ({"thickness_max_um": "1e300"}, "from 0 to 100,000 µm"),
        ({"thickness_min_um": "60", "thickness_max_um": "50"}, "from the least to the most"),
        ({"number": "0"}, "counted from 1"),
        ({"number": "2"}, "has a layer of that number already"),
        ({"munsell": "2.5YR 5/60"}, "is the chroma too high"),
    ],
)
def test_an_impossible_layer_is_refused_in_words_on_its_page_and_in_the_table(
    scientist: Client, world: World, given: dict[str, str], words: str
) -> None:
    form = {"number": "3", "description": "glaze"} | given
    answer = scientist.post(reverse("layer-new", args=[world.preparation.pk]), form)
    assert answer.status_code == 422
    assert words in str(answer.context["form"].errors)
    layers = list(world.preparation.layers.order_by("number"))
    row = {f"form__2__{name}": value for name, value in form.items()}
    answer = scientist.post(
        reverse("layers-edit", args=[world.preparation.pk]), rows(layers, **row)
    )
    assert answer.status_code == 422
    page = answer.content.decode()
    assert words in page or "Two layers have the number 2" in page
    assert world.preparation.layers.count() == 2


def test_a_munsell_colour_in_the_table_is_drawn_and_a_new_layer_gets_the_next_number(
    scientist: Client, world: World
) -> None:
    layers = list(world.preparation.layers.order_by("number"))
    row = {"number": "3", "description": "red glaze", "munsell": "2.5yr 5/6"}
    given = rows(layers, **{f"form__2__{name}": value for name, value in row.items()})
    assert scientist.post(reverse("layers-edit", args=[world.preparation.pk]), given).url  # type: ignore[attr-defined]
    made = world.preparation.layers.get(number=3)
    assert (made.munsell, made.colour_hex) == ("2.5YR 5/6", "#a76b4e")
    made.withdraw(user=make.user(Role.SCIENTIST), why="dirt")
    form = scientist.get(reverse("layer-new", args=[world.preparation.pk])).context["form"]
    assert form["number"].value() == 3


def test_a_section_shows_what_its_layers_hold_and_are_taken_for(
    scientist: Client, world: World
) -> None:
    with change(user=None, why="for a test"):
        world.layer.particles = "few black, 2 to 5 µm"
        world.layer.interpretation = "imprimatura"
        world.layer.save()
    page = scientist.get(world.preparation.get_absolute_url()).content.decode()
    assert "few black, 2 to 5 µm" in page
    assert "Taken for: imprimatura" in page


def test_layers_of_a_withdrawn_section_are_left_as_they_are(
    scientist: Client, world: World
) -> None:
    world.preparation.withdraw(user=make.user(Role.SCIENTIST), why="the wrong sample")
    address = reverse("layers-edit", args=[world.preparation.pk])
    given = rows(layers_of(world), form__2__number=3, form__2__description="late", why="late")
    answer = scientist.post(address, given, follow=True)
    assert "is withdrawn" in answer.content.decode()
    assert len(layers_of(world)) == 2
