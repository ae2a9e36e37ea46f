"""The list of objects, an object's page, its parts, faces and zones."""

from typing import Any

from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from records.models import Component, Face, Object, Zone
from tests import builders as make
from tests.integration.pages.conftest import World

OBJECT = {
    "accession_number": "1994.12",
    "title": "The Ferry at Low Water",
    "kind": "canvas",
    "date": "1889~",
    "height_mm": "620",
    "width_mm": "940.5",
}


def queries_of(client: Client, address: str) -> int:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(connection) as captured:
        assert client.get(address).status_code == 200
    return len(captured)


def test_it_works(conservator: Client, world: World) -> None:
    response = conservator.get(reverse("objects"))
    assert world.object.title in response.content.decode()


def test_a_conservator_records_an_object_and_gives_it_a_rectangular_face(
    conservator: Client,
) -> None:
    response = conservator.post(reverse("object-new"), OBJECT)
    item = Object.objects.get()
    assert response["Location"] == item.get_absolute_url()
    assert item.date_in_words.startswith("about 1889")
    face = {"name": "recto", "kind": "recto", "width_mm": 940.5, "height_mm": 620}
    face |= {"tolerance_mm": 5, "position": 0}
    conservator.post(reverse("face-new", args=[item.pk]), face)
    assert Face.objects.get().size_mm == (940.5, 620)
    page = conservator.get(item.get_absolute_url()).content.decode()
    assert "941 × 620 mm" in page or "940 × 620 mm" in page


def test_an_outline_that_starts_elsewhere_is_moved_to_the_corner(
    conservator: Client, world: World
) -> None:
    face = {"name": "left side", "kind": "unrolled", "tolerance_mm": 2, "position": 1}
    face["outline_text"] = "100, 50; 300, 50; 200, 250"
    conservator.post(reverse("face-new", args=[world.object.pk]), face)
    made = Face.objects.get(name="left side")
    assert made.outline.extent == (0, 0, 200, 200)


def test_a_number_that_is_taken_is_refused_at_its_field(conservator: Client, world: World) -> None:
    given = OBJECT | {"accession_number": world.object.accession_number}
    response = conservator.post(reverse("object-new"), given)
    assert response.status_code == 422
    assert "accession_number" in response.context["form"].errors
    assert Object.objects.count() == 1


def test_a_date_that_is_not_understood_is_told_at_its_field(conservator: Client) -> None:
    response = conservator.post(reverse("object-new"), OBJECT | {"date": "spring of 1951"})
    (words,) = response.context["form"].errors["date"]
    assert "spring of 1951" in words
    assert "1951" in words


def test_a_shrunken_outline_that_leaves_records_outside_is_refused(
    conservator: Client, world: World
) -> None:
    face = world.face
    given = {
        "name": face.name,
        "kind": face.kind,
        "width_mm": 50,
        "height_mm": 50,
        "tolerance_mm": 0,
        "position": 0,
        "why": "measured again",
    }
    response = conservator.post(reverse("face-edit", args=[face.pk]), given)
    assert response.status_code == 422
    assert "leaves records outside" in response.content.decode()
    face.refresh_from_db()
    assert face.size_mm == (1000, 600)


def test_a_zone_outside_the_face_is_told_by_how_much(conservator: Client, world: World) -> None:
    zone = {"name": "sea", "geometry": "0, 0; 1200, 0; 1200, 100; 0, 100"}
    response = conservator.post(reverse("zone-new", args=[world.face.pk]), zone)
    (words,) = response.context["form"].errors["geometry"]
    assert "200.0 mm outside recto" in words
    assert not Zone.objects.filter(name="sea").exists()


def test_a_component_cannot_become_a_part_of_its_own_part(
    conservator: Client, world: World
) -> None:
    top = world.component
    part = make.recorded(Component, object=world.object, name="bar", parent=top)
    given = {"name": top.name, "parent": part.pk, "why": "a try"}
    response = conservator.post(reverse("component-edit", args=[top.pk]), given)
    assert "cannot be a part of itself" in str(response.context["form"].errors["parent"])


def test_typing_narrows_the_list(conservator: Client, world: World) -> None:
    make.canvas(title="Harbour with Crane", accession_number="1950.1")
    page = conservator.get(reverse("objects"), {"q": "harb 1950"}).content.decode()
    assert "Harbour with Crane" in page
    assert world.object.title not in page


def test_the_list_takes_as_many_queries_for_thirty_objects_as_for_three(
    conservator: Client,
) -> None:
    for _ in range(3):
        make.canvas()
    few = queries_of(conservator, reverse("objects"))
    for _ in range(27):
        make.canvas()
    assert queries_of(conservator, reverse("objects")) == few == 4


def test_the_page_takes_as_many_queries_for_many_faces_as_for_one(
    conservator: Client, world: World, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    address = world.object.get_absolute_url()
    few = queries_of(conservator, address)
    for number in range(5):
        face = make.face(world.object, name=f"side {number}")
        make.recorded(Zone, face=face, name="edge", geometry="POLYGON((0 0,9 0,9 9,0 9,0 0))")
        make.recorded(Component, object=world.object, name=f"bar {number}")
    assert queries_of(conservator, address) == few


def test_the_condition_counts_what_was_last_seen(conservator: Client, world: World) -> None:
    context = conservator.get(reverse("object-condition", args=[world.object.pk])).context
    amounts: dict[str, Any] = {
        amount.kind.code: amount for family in context["condition"] for amount in family.amounts
    }
    assert amounts["loss"].certain == 1
    assert amounts["loss"].area_mm2 == 2500
    assert amounts["loss"].area_uncertainty_mm2 == 100  # 200 mm of edge, each 0.5 mm off
    make.sighting(
        world.trace,
        None,
        outcome="not_seen",
        examination=make.examination(world.object, date="2023"),
    )
    context = conservator.get(reverse("object-condition", args=[world.object.pk])).context
    kinds = {a.kind.code for family in context["condition"] for a in family.amounts}
    assert "loss" not in kinds
