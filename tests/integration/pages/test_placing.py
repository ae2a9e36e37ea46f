"""Placing images: figures while one works, points on placed images, what passes on to traces."""

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

from records.choices import Role
from records.models import Image, Placement, PointProposal, Sighting
from records.placing import drawn, redraw, references
from records.tasks import redraw_placement, request_pyramid
from tests import builders as make
from tests.integration.pages.conftest import World, signed_in_as

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
    assert told["short"].startswith("± ")
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


def test_the_page_says_when_the_image_cannot_be_shown_yet(
    conservator: Client, world: World
) -> None:
    photo = make.photograph(world.object)
    address = reverse("placement-new", args=[photo.pk])
    words = "The image cannot be shown yet"
    assert words in conservator.get(address).content.decode()
    Image.objects.filter(pk=photo.pk).update(pyramid="pyramids/1-x")
    assert words not in conservator.get(address).content.decode()


def on_a_reference(client: Client, world: World, **given: Any) -> tuple[Placement, Placement]:
    """A photograph placed on the face, and another by points set on it."""
    first, second = (make.photograph(world.object, title=t) for t in ("Plate A", "Plate B"))
    reference = place(client, first, world, **rows(*CORNERS, *INNER))
    Image.objects.filter(pk=first.pk).update(pyramid="pyramids/1-x")
    return reference, place(client, second, world, reference=reference.pk, **given)


def change_place(client: Client, placement: Placement, **given: Any) -> Any:
    address = reverse("placement-edit", args=[placement.pk])
    form = client.get(address).context["form"]
    sent = {
        "face": placement.face_id,
        "reference": placement.reference_id or "",
        "method": placement.method,
        "why": "Measured again.",
        "opened": form["opened"].value(),
        **given,
    }
    return client.post(address, sent, follow=True)


def versions(placement: Placement) -> Any:
    return placement.versions  # type: ignore[attr-defined]


def moved(points: Any, by: float) -> Any:
    return [(column, row, x + by, y) for column, row, x, y in points]


def test_what_rests_on_an_image_follows_when_that_is_placed_anew(
    conservator: Client, world: World
) -> None:
    reference, resting = on_a_reference(conservator, world)
    third = make.photograph(world.object, title="Plate C")
    Image.objects.filter(pk=resting.image_id).update(pyramid="pyramids/2-x")
    above = place(conservator, third, world, reference=resting.pk)
    seen = make.sighting(world.trace, SQUARE, image=third)
    before = {one.pk: one.control_points for one in (resting, above)}
    rough = moved(CORNERS, 30)
    rough[0] = (0, 0, 34, 244)  # a worse measurement, too
    page = change_place(conservator, reference, **rows(*rough, *moved(INNER, 30)))
    words = page.content.decode()
    assert "Fitted anew with it, as their points were set on it: “Plate B” (±" in words
    for one in (reference, resting, above, seen):
        one.refresh_from_db()
    for one, under in ((resting, reference), (above, resting)):
        # The points lie on the same details, which have moved with the image under them.
        shift = np.subtract(
            [p["mm"] for p in one.control_points], [p["mm"] for p in before[one.pk]]
        )
        assert shift[:, 0] == pytest.approx(30, abs=4)
        own = one.fit["left_out_rms_mm"]
        assert one.uncertainty_mm == pytest.approx(
            (own**2 + under.uncertainty_mm**2) ** 0.5, rel=1e-4
        )
        assert versions(one).count() == 2
    assert seen.uncertainty_mm == above.uncertainty_mm > reference.uncertainty_mm
    told = conservator.get(third.get_absolute_url()).content.decode()
    assert "the points stayed on the same details of it" in told
    # Nothing moves when nothing of the place was changed.
    change_place(conservator, reference, **rows(*rough, *moved(INNER, 30)))
    assert versions(resting).count() == 2


def test_points_set_on_the_other_side_are_mirrored_and_follow_it(
    conservator: Client, world: World
) -> None:
    width = world.face.size_mm[0]
    verso = make.face(world.object, name="verso", mirror_of=world.face)
    back, front = (make.photograph(world.object, title=t) for t in ("Plate B", "Plate F"))
    behind = place(conservator, back, world, face=verso.pk)
    Image.objects.filter(pk=back.pk).update(pyramid="pyramids/1-x")
    # The same details of the back plate, where they are seen through from the front.
    through = [(c, r, width - x, y) for c, r, x, y in (*CORNERS, *INNER)]
    seen = place(conservator, front, world, reference=behind.pk, **rows(*through))
    PointProposal.objects.create(
        image=front, reference=behind, progress=100, points=[{"px": [9, 9], "on": [0, 0]}]
    )
    asked = {"face": world.face.pk, "reference": behind.pk}
    page = conservator.get(reverse("points-new", args=[front.pk]), asked)
    assert page.context["points"][0]["mm"] == pytest.approx([width, 240], abs=2)
    change_place(conservator, behind, **rows(*moved((*CORNERS, *INNER), 15)))
    seen.refresh_from_db()
    now = [point["mm"] for point in seen.control_points]
    assert np.array(now) == pytest.approx(
        np.array([(x - 15, y) for _, _, x, y in through]), abs=0.01
    )


def test_an_image_is_not_taken_away_from_under_another(conservator: Client, world: World) -> None:
    reference, _ = on_a_reference(conservator, world)
    edge = make.face(world.object, name="left edge")
    page = change_place(conservator, reference, face=edge.pk, **rows(*CORNERS, *INNER))
    assert page.status_code == 422
    assert "Points of “Plate B”" in page.content.decode()
    reference.refresh_from_db()
    assert reference.face == world.face


def test_what_rests_on_a_withdrawn_place_says_so_and_is_fitted_anew_by_one_button(
    conservator: Client, world: World
) -> None:
    reference, resting = on_a_reference(conservator, world)
    reference.withdraw(user=None, why="A wrong corner.")
    follow = reverse("placement-follow", args=[resting.pk])
    page = conservator.get(resting.image.get_absolute_url()).content.decode()
    assert "rests on a withdrawn place" in page
    assert follow not in page
    told = conservator.post(follow, follow=True).content.decode()
    assert "There is no other place" in told
    now = place(conservator, reference.image, world, **rows(*moved(CORNERS, 8), *moved(INNER, 8)))
    assert follow in conservator.get(resting.image.get_absolute_url()).content.decode()
    scientist = signed_in_as(Role.SCIENTIST)
    assert scientist.post(follow).status_code == 403
    told = conservator.post(follow, follow=True).content.decode()
    assert "“Plate B” is fitted anew on where “Plate A” lies now." in told
    resting.refresh_from_db()
    assert resting.reference == now
    assert resting.control_points[0]["mm"] == pytest.approx([8, 240], abs=0.01)
    assert versions(resting).last().pgh_context.metadata["why"].startswith("“Plate A”")


def test_less_than_the_error_of_the_image_below_cannot_be_stated(
    conservator: Client, world: World
) -> None:
    reference, resting = on_a_reference(
        conservator, world, method="projective", stated_mm="3", **rows(*CORNERS)
    )
    assert (resting.uncertainty_mm, resting.uncertainty_basis) == (3, "stated")
    few = {"method": "projective", **rows(*CORNERS)}
    page = change_place(conservator, resting, stated_mm="0.1", **few)
    assert "“Plate A”, on which the points are set, may itself be off by" in page.content.decode()
    # When the image below becomes less sure, so does what was stated.
    change_place(conservator, reference, stated_mm="20", **rows(*CORNERS, *INNER))
    resting.refresh_from_db()
    assert resting.uncertainty_mm == pytest.approx((20**2 + 3**2) ** 0.5, rel=0.02)


def test_programs_move_what_rests_on_an_image_too(conservator: Client, world: World) -> None:
    reference, resting = on_a_reference(conservator, world)
    points = [{"px": [c, r], "mm": [x, y]} for c, r, x, y in moved((*CORNERS, *INNER), 12)]
    address = f"/api/placements/{reference.pk}/"
    sent = {"control_points": points, "why": "Measured again."}
    response = conservator.patch(address, sent, content_type="application/json")
    assert response.status_code == 200, response.content
    resting.refresh_from_db()
    assert resting.control_points[0]["mm"] == pytest.approx([12, 240], abs=0.01)


def test_a_transformation_that_does_better_is_named(conservator: Client, world: World) -> None:
    address = reverse("placement-fit", args=[world.image.pk])
    jitter = ((3, -2), (-3, 1), (2, 3), (-2, -3), (1, -1), (-1, 2))
    plain = [
        (c, r, c / 2 + x, 240 - r / 2 + y)
        for (c, r, *_), (x, y) in zip((*CORNERS, *INNER), jitter, strict=True)
    ]
    told = conservator.post(address, {"method": "projective", **rows(*plain)}).json()
    assert "similarity does better" in told["said"]
    told = conservator.post(address, {"method": "similarity", **rows(*plain)}).json()
    assert "does better" not in told["said"]


# Redrawing


def plate(world: World) -> Image:
    """A photograph whose file is there."""
    photo = make.photograph(world.object, title="Second plate", width_px=800, height_px=480)
    grey = (pyvips.Image.xyz(800, 480)[0] / 4).cast("uchar").pngsave_buffer()
    photo.file.storage.save(photo.file.name, ContentFile(grey))
    return photo


@pytest.mark.parametrize("method", ["similarity", "affine", "projective", "spline"])
def test_a_picture_in_the_frame_of_the_face_is_made_by_every_transformation(
    conservator: Client, world: World, method: str, django_capture_on_commit_callbacks: Any
) -> None:
    photo = plate(world)
    with django_capture_on_commit_callbacks(execute=True):
        placement = place(conservator, photo, world, method=method)
    jobs = ProcrastinateJob.objects.filter(task_name="records.tasks.redraw_placement")
    assert jobs.get().lock == f"placement-{placement.pk}"
    redraw_placement.func(placement_id=placement.pk)
    placement.refresh_from_db()
    assert placement.rectified_error == ""
    shown = drawn(placement)
    assert shown is not None
    (per_px, turned, _), (_, down, _), _ = shown["matrix"]
    assert turned == 0
    assert down == -per_px
    told = conservator.get(f"{shown['tiles']}/info.json").json()
    assert (told["width"], told["height"]) == (shown["width"], shown["height"])
    # A new window of values is shown by the redrawn picture too.
    request_pyramid(photo.pk)
    assert jobs.count() == 1
    with django_capture_on_commit_callbacks(execute=True):
        request_pyramid(photo.pk)
    assert jobs.count() == 2


def test_what_is_redrawn_of_a_place_that_is_no_more_is_not_shown(
    conservator: Client, world: World
) -> None:
    photo = plate(world)
    placement = place(conservator, photo, world)
    change_place(conservator, placement, **rows(*moved(CORNERS, 7), *moved(INNER, 7)))
    redraw(placement, Path(photo.file.path))  # begun before the change
    placement.refresh_from_db()
    assert (placement.rectified, placement.rectified_progress) == ("", 0)
    redraw(placement, Path(photo.file.path))
    placement.refresh_from_db()
    assert placement.rectified_progress == 100


def test_an_image_that_lies_square_is_shown_by_its_own_tiles(
    conservator: Client, world: World, django_capture_on_commit_callbacks: Any
) -> None:
    photo = make.photograph(world.object, title="Flatbed scan")
    exact = [(c, r, c / 2, 240 - r / 2) for c, r, *_ in (*CORNERS, *INNER)]
    with django_capture_on_commit_callbacks(execute=True):
        placement = place(conservator, photo, world, **rows(*exact))
    assert placement.rectified_progress is None
    jobs = ProcrastinateJob.objects.filter(task_name="records.tasks.redraw_placement")
    assert not jobs.exists()
    page = conservator.get(photo.get_absolute_url()).content.decode()
    assert "It lies square to the face as it is" in page


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
