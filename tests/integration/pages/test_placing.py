"""Placing images: figures while one works, points on placed images, what passes on to traces."""

from typing import Any

import pytest
from django.contrib.gis.geos import GEOSGeometry
from django.test import Client
from django.urls import reverse
from procrastinate.contrib.django.models import ProcrastinateJob

from records.models import Image, Placement, PointProposal, Sighting
from records.placing import references
from tests import builders as make
from tests.integration.pages.conftest import World

SQUARE = "POLYGON((100 100, 150 100, 150 150, 100 150, 100 100))"
# A photograph of 800 × 480 px shows part of the face, skewed a little.
CORNERS = ((0, 0, 0, 240), (800, 0, 400, 242), (800, 480, 401, 0), (0, 480, 1, 0))
INNER = ((400, 240, 200, 121), (200, 100, 100, 190))


def rows(*points: tuple[float, float, float, float]) -> dict[str, list[str]]:
    names = ("column", "row", "x", "y")
    typed = {
        f"control_points.{name}": [str(point[which]) for point in points]
        for which, name in enumerate(names)
    }
    return typed | {"control_points.found": [""] * len(points)}


def place(client: Client, image: Image, world: World, **given: Any) -> Placement:
    sent = {"face": world.face.pk, "method": "affine", **rows(*CORNERS, *INNER), **given}
    response = client.post(reverse("placement-new", args=[image.pk]), sent)
    assert response.status_code == 302, response.context["form"].errors
    return Placement.objects.get(image=image, withdrawn_at=None)


def test_it_works(
    conservator: Client, world: World, django_capture_on_commit_callbacks: Any
) -> None:
    photo = make.photograph(world.object, title="Second plate")
    with django_capture_on_commit_callbacks(execute=True):
        placement = place(conservator, photo, world, method="projective")
    assert placement.uncertainty_basis == "left_out"
    assert placement.fit["left_out_rms_mm"] == pytest.approx(placement.uncertainty_mm, rel=1e-5)
    assert ProcrastinateJob.objects.filter(task_name="records.tasks.redraw_placement").exists()
    page = conservator.get(photo.get_absolute_url()).content.decode()
    assert "each point foretold by the others" in page
    assert "Redrawing waits for the task worker" in page
    change = conservator.get(reverse("placement-edit", args=[placement.pk]))
    assert 'value="400"' in change.content.decode()


def test_figures_are_told_while_one_works_and_nothing_is_kept(
    conservator: Client, world: World
) -> None:
    address = reverse("placement-fit", args=[world.image.pk])
    before = Placement.objects.count()
    sent: dict[str, Any] = {"method": "affine", **rows(*CORNERS, *INNER)}
    sent["control_points.x"].insert(1, "")  # a row that is not filled yet
    for name in ("column", "row", "y", "found"):
        sent[f"control_points.{name}"].insert(1, "7")
    told = conservator.post(address, sent).json()
    assert set(told["rows"]) == {"0", "2", "3", "4", "5", "6"}
    assert "What is drawn on the image may lie so far" in told["said"]
    few = conservator.post(address, {"method": "affine", **rows(*CORNERS[:2])}).json()
    assert "at least 3 points; there are 2" in few["said"]
    assert few["matrix"] is None
    assert Placement.objects.count() == before


def test_too_few_points_need_an_uncertainty_stated_by_hand(
    conservator: Client, world: World
) -> None:
    photo = make.photograph(world.object, title="Second plate")
    address = reverse("placement-new", args=[photo.pk])
    sent = {"face": world.face.pk, "method": "affine", **rows(*CORNERS[:3])}
    response = conservator.post(address, sent)
    assert "nothing shows the error" in str(response.context["form"].errors["stated_mm"])
    placement = place(conservator, photo, world, **rows(*CORNERS[:3]), stated_mm="4")
    assert (placement.uncertainty_mm, placement.uncertainty_basis) == (4, "stated")


def test_points_set_on_a_placed_image_carry_its_uncertainty(
    conservator: Client, world: World
) -> None:
    known: Placement = world.records["placement"]
    Image.objects.filter(pk=known.image_id).update(pyramid="pyramids/1-x")
    photo = make.photograph(world.object, title="Second plate")
    placement = place(conservator, photo, world, reference=known.pk)
    own = placement.fit["left_out_rms_mm"]
    joined = (own**2 + known.uncertainty_mm**2) ** 0.5
    assert placement.uncertainty_mm == pytest.approx(joined, rel=1e-5)
    # What rests on the photograph cannot vouch for it in turn.
    Image.objects.filter(pk=photo.pk).update(pyramid="pyramids/2-x")
    assert list(references(world.face, known.image)) == []
    assert placement in references(world.face, make.photograph(world.object))


def test_what_is_drawn_on_an_image_is_no_surer_than_its_place(
    conservator: Client, world: World
) -> None:
    photo = make.photograph(world.object, title="Second plate")
    seen = make.sighting(world.trace, SQUARE, image=photo, uncertainty_mm=0.1)
    assert seen.uncertainty_mm == 0.1  # the photograph is not placed yet
    placement = place(conservator, photo, world)
    seen.refresh_from_db()
    assert seen.uncertainty_mm == placement.uncertainty_mm
    address = reverse("sighting-edit", args=[seen.pk])
    given = {
        "look": f"image:{photo.pk}",
        "outcome": "seen",
        "strength": "firm",
        "geometry": SQUARE,
        "why": "measured again",
        "opened": seen.updated_at.isoformat(),
    }
    refused = conservator.post(address, given | {"uncertainty_mm": "0.01"})
    assert "no surer" in str(refused.context["form"].errors["uncertainty_mm"])
    assert conservator.post(address, given | {"uncertainty_mm": ""}).status_code == 302
    seen.refresh_from_db()
    assert seen.uncertainty_mm == placement.uncertainty_mm
    # Larger than that, it is what the person stated.
    other = make.sighting(world.records["patch"], SQUARE, image=photo, uncertainty_mm=50)
    assert Sighting.objects.get(pk=other.pk).uncertainty_mm == 50
    # A shape of an examination is held to the images of it that it lies on.
    Image.objects.filter(pk=photo.pk).update(examination=None)
    away = GEOSGeometry("POINT(1 1)", srid=0)
    assert make.sighting(world.records["patch"], away).uncertainty_mm is None


def test_points_are_proposed_in_the_queue_and_waited_for(conservator: Client, world: World) -> None:
    known: Placement = world.records["placement"]
    Image.objects.filter(pk=known.image_id).update(pyramid="pyramids/1-x")
    photo = make.photograph(world.object, title="Second plate")
    address = reverse("points-new", args=[photo.pk])
    asked = {"face": world.face.pk, "reference": known.pk}
    assert "Look for points" in conservator.get(address, asked).content.decode()
    page = conservator.post(address, asked).content.decode()
    assert "The search waits for the task worker" in page
    proposal = PointProposal.objects.get(image=photo)
    assert ProcrastinateJob.objects.filter(task_name="records.tasks.propose_points").count() == 1
    points = [{"px": [10, 20], "on": [100, 200]}]
    PointProposal.objects.filter(pk=proposal.pk).update(progress=100, points=points, words="Found.")
    page = conservator.get(address, asked).content.decode()
    assert '"mm": [100.0, 280.0]' in page  # by the matrix of the placed image
    assert "Accept all 1" in page


def test_placements_come_as_points_over_the_interface_for_programs(
    conservator: Client, world: World
) -> None:
    photo = make.photograph(world.object, title="Second plate")
    points = [{"px": [c, r], "mm": [x, y]} for c, r, x, y in (*CORNERS, *INNER)]
    sent = {"image": photo.pk, "face": world.face.pk, "method": "affine", "control_points": points}
    response = conservator.post("/api/placements/", sent, content_type="application/json")
    assert response.status_code == 201, response.content
    placement = Placement.objects.get(image=photo)
    assert placement.uncertainty_mm > 0.3
    assert placement.footprint.area == pytest.approx(400 * 240, rel=0.02)
    other = make.photograph(world.object, title="Third plate")
    line = [{"px": [i, i], "mm": [i, i]} for i in range(4)]
    refused = conservator.post(
        "/api/placements/",
        sent | {"image": other.pk, "control_points": line},
        content_type="application/json",
    )
    assert refused.status_code == 400
    assert "one line" in str(refused.json())
