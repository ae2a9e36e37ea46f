"""The Treatments room: treatments, other occurrences, effects on traces and areas."""

from typing import Any

from django.test import Client
from django.urls import reverse

from records.models import Effect, Occurrence, Person, Treatment, TreatmentArea
from tests import builders as make
from tests.integration.pages.conftest import World
from tests.integration.pages.test_objects import queries_of


def test_it_works(conservator: Client, world: World) -> None:
    given = {
        "kind": world.treatment.kind_id,
        "title": "Wax-resin lining",
        "standing": "inferred",
        "date": "../1968",
        "people": [world.person.pk],
        "new_people": "Jonas Varga, Ada Rook",
        "materials": [world.material.pk],
        "sources": [world.source.pk],
    }
    response = conservator.post(reverse("treatment-new", args=[world.object.pk]), given)
    made = Treatment.objects.get(title="Wax-resin lining")
    assert response["Location"] == made.get_absolute_url()
    assert sorted(p.name for p in made.people.all()) == ["Ada Rook", "Jonas Varga"]
    assert Person.objects.filter(name="Ada Rook").count() == 1
    page = conservator.get(made.get_absolute_url()).content.decode()
    for words in ("Inferred from traces alone", "titanium white", "Letter of the owner"):
        assert words in page


def test_an_occurrence_is_recorded_with_its_journey(conservator: Client, world: World) -> None:
    given = {
        "kind": world.occurrence.kind_id,
        "title": "Lent to the coast",
        "date": "1936-05/1936-09",
        "place_from": "Haldreth",
        "place_to": "Ossel",
    }
    conservator.post(reverse("occurrence-new", args=[world.object.pk]), given)
    assert Occurrence.objects.get(title="Lent to the coast").date_latest.year == 1936
    room = conservator.get(reverse("object-treatments", args=[world.object.pk]))
    assert "Haldreth → Ossel" in room.content.decode()


def test_an_effect_ties_a_trace_to_an_event(conservator: Client, world: World) -> None:
    given = {"kind": "removed", "trace": world.trace.pk, "strength": "firm"}
    address = reverse("occurrence-effect-new", args=[world.occurrence.pk])
    response = conservator.post(address, given)
    effect = Effect.objects.get(occurrence=world.occurrence)
    assert response["Location"] == effect.get_absolute_url()
    again = conservator.post(address, given)
    assert again.status_code == 422
    assert Effect.objects.filter(occurrence=world.occurrence).count() == 1


def test_a_trace_of_another_object_is_not_taken(conservator: Client, world: World) -> None:
    stranger = make.trace()
    given = {"kind": "removed", "trace": stranger.pk, "strength": "firm"}
    address = reverse("treatment-effect-new", args=[world.treatment.pk])
    assert "trace" in conservator.post(address, given).context["form"].errors


def area(world: World, **given: Any) -> dict[str, Any]:
    return {"face": world.face.pk, **given}


def test_a_treatment_works_on_a_face_a_zone_or_an_outline(
    conservator: Client, world: World
) -> None:
    address = reverse("area-new", args=[world.treatment.pk])
    conservator.post(address, area(world, note="whole"))
    conservator.post(address, area(world, zone=world.zone.pk, note="zone"))
    conservator.post(address, area(world, geometry="0, 0; 10, 0; 10, 10", note="part"))
    sizes = {a.note: a.geometry and a.geometry.area for a in TreatmentArea.objects.all()}
    assert sizes == {"": None, "whole": None, "zone": 2500, "part": 50}


def test_a_zone_of_another_face_and_a_shape_outside_are_refused(
    conservator: Client, world: World
) -> None:
    address = reverse("area-new", args=[world.treatment.pk])
    other = make.face(world.object, name="verso")
    wrong = conservator.post(address, {"face": other.pk, "zone": world.zone.pk})
    assert "sky is a zone of recto, not of verso." in str(wrong.context["form"].errors["zone"])
    outside = conservator.post(address, area(world, geometry="0, 0; 2000, 0; 0, 10"))
    assert "1,000.0 mm outside" in str(outside.context["form"].errors["geometry"])
    both = conservator.post(address, area(world, zone=world.zone.pk, geometry="0,0; 9,0; 9,9"))
    assert "geometry" in both.context["form"].errors


def test_the_room_takes_as_many_queries_for_many_events_as_for_few(
    conservator: Client, world: World
) -> None:
    address = reverse("object-treatments", args=[world.object.pk])
    few = queries_of(conservator, address)
    for _ in range(15):
        make.treatment(world.object)
        make.occurrence(world.object)
    assert queries_of(conservator, address) == few
