"""Traces: the list, the page with its sightings, and their forms."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from records.models import Relation, Sighting, Trace
from tests import builders as make
from tests.integration.pages.conftest import SQUARE, World
from tests.integration.pages.test_objects import queries_of


def new_trace(world: World, **given: Any) -> dict[str, Any]:
    return {
        "kind": world.trace.kind_id,
        "number": "77",
        "label": "loss by the mast",
        "look": f"examination:{world.examination.pk}",
        "geometry": "100, 100; 120, 100; 120, 120",
        "uncertainty_mm": "0.5",
    } | given


def test_it_works(conservator: Client, world: World) -> None:
    response = conservator.post(reverse("trace-new", args=[world.face.pk]), new_trace(world))
    trace = Trace.objects.get(number="77")
    assert response["Location"] == trace.get_absolute_url()
    assert trace.sightings.get().area_mm2 == 200
    assert trace.shape is not None
    assert trace.shape.area == 200


def test_a_shape_outside_the_face_is_told_in_millimetres_and_nothing_is_kept(
    conservator: Client, world: World
) -> None:
    given = new_trace(world, geometry="990, 590; 1050, 590; 1050, 580")
    response = conservator.post(reverse("trace-new", args=[world.face.pk]), given)
    assert response.status_code == 422
    (words,) = response.context["form"].errors["geometry"]
    assert "50.0 mm outside recto (1,000 × 600 mm, tolerance 5 mm)" in words
    assert not Trace.objects.filter(number="77").exists()


def test_what_the_database_refuses_is_told_at_the_field_and_nothing_is_half_written(
    conservator: Client, world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Somebody shrinks the face between the form's own question and the save.
    monkeypatch.setattr("records.forms.places.outside_mm", lambda *_: 0.0)
    given = new_trace(world, geometry="990, 590; 1050, 590; 1050, 580")
    response = conservator.post(reverse("trace-new", args=[world.face.pk]), given)
    assert response.status_code == 422
    (words,) = response.context["form"].errors["geometry"]
    assert words == "The shape lies 50.0 mm outside the outline of the face."
    assert not Trace.objects.filter(number="77").exists()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("10, 10; 20", "“20” is not a pair"),
        ("10, 10; 20, 20", "needs at least 3 pairs"),
        ("0,0; 50,50; 50,0; 0,50", "crosses itself"),
        ("POLYGON((0 0, 1 1", "cannot be read"),
        ('{"type": "Polygon"}', "cannot be read"),
    ],
)
def test_a_shape_that_cannot_be_read_says_why(
    conservator: Client, world: World, text: str, words: str
) -> None:
    given = new_trace(world, geometry=text)
    response = conservator.post(reverse("trace-new", args=[world.face.pk]), given)
    assert words in str(response.context["form"].errors["geometry"])


def test_a_number_that_is_taken_on_the_face_is_refused(conservator: Client, world: World) -> None:
    given = new_trace(world, number=world.trace.number)
    response = conservator.post(reverse("trace-new", args=[world.face.pk]), given)
    assert "already has a trace of that number" in response.content.decode()


def test_sightings_stand_in_the_order_of_their_dates_with_their_uncertainty(
    conservator: Client, world: World
) -> None:
    make.sighting(world.trace, SQUARE, image=world.image, uncertainty_mm=1.2)
    sightings = conservator.get(world.trace.get_absolute_url()).context["sightings"]
    assert [s.look for s in sightings] == [world.image, world.examination]
    photographed, examined = sightings
    assert photographed.off_mm == 1.2  # drawn; the image is placed to 0.5 mm
    assert photographed.area_off_mm2 == pytest.approx(240)
    assert examined.area_off_mm2 == pytest.approx(100)


def test_a_second_sighting_in_one_examination_is_refused(conservator: Client, world: World) -> None:
    given = {
        "look": f"examination:{world.examination.pk}",
        "outcome": "seen",
        "strength": "firm",
    }
    response = conservator.post(reverse("sighting-new", args=[world.trace.pk]), given)
    assert response.status_code == 422
    assert "This examination already speaks of the trace." in response.content.decode()


def test_what_was_not_seen_has_no_shape(conservator: Client, world: World) -> None:
    given = {
        "look": f"image:{world.image.pk}",
        "outcome": "not_seen",
        "strength": "firm",
        "geometry": "1, 1; 5, 1; 5, 5",
    }
    response = conservator.post(reverse("sighting-new", args=[world.trace.pk]), given)
    assert "geometry" in response.context["form"].errors
    assert Sighting.objects.count() == 1


def test_an_order_is_recorded_from_the_lower_trace_as_well(
    conservator: Client, world: World
) -> None:
    given = {"side": "lower", "order": "cuts_through", "other": world.patch.pk, "strength": "firm"}
    response = conservator.post(reverse("relation-new", args=[world.trace.pk]), given)
    assert response["Location"] == world.trace.get_absolute_url()
    relation = Relation.objects.get(order="cuts_through")
    assert (relation.upper, relation.lower) == (world.patch, world.trace)


def test_a_form_offers_traces_by_words_and_keeps_what_is_ticked(
    conservator: Client, world: World
) -> None:
    address = reverse("pick-traces", args=[world.object.pk])
    given = {"name": "trace", "trace": world.trace.pk, "trace.search": "canvas patch"}
    offered = conservator.get(address, given).context["offered"]
    assert offered == [(world.trace, True), (world.patch, False)]


def test_the_list_takes_as_many_queries_for_thirty_traces_as_for_three(
    conservator: Client, world: World
) -> None:
    address = reverse("object-traces", args=[world.object.pk])
    few = queries_of(conservator, address)
    for _ in range(30):
        make.trace(world.face)
    assert queries_of(conservator, address) == few
