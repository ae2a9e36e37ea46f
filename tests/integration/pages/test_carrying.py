"""Shapes drawn on an image that was placed anew since: marked, and carried along by a person."""

from math import hypot, sqrt
from typing import Any

import pytest
import shapely
from django.template.loader import render_to_string
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from records.carrying import left_behind, left_on
from records.changes import change
from records.choices import Role
from records.models import Placement, Sighting
from records.placing import chart
from records.quantities import millimetres
from records.versions import versions_of
from reports.content import compile_object
from tests import builders as make
from tests.integration.pages.conftest import World, signed_in_as
from tests.integration.pages.test_objects import queries_of
from tests.integration.pages.test_placing import (
    CORNERS,
    INNER,
    SQUARE,
    change_place,
    moved,
    place,
    rows,
)

MARK = "drawn before its image moved"
ON_IMAGE = "drawn before the image moved"


def turned(points: Any) -> Any:
    """The same pixels on a face that lies a little turned, larger, and farther right and up."""
    return [(c, r, 90 + 1.1 * x - 0.06 * y, 40 + 0.05 * x + 1.08 * y) for c, r, x, y in points]


def corners_of(wkt: str) -> Any:
    return shapely.get_coordinates(shapely.from_wkt(wkt))


@pytest.fixture
def photo(world: World) -> Any:
    return make.photograph(world.object, title="Plate A")


def drawn_then_placed_anew(client: Client, world: World, photo: Any, **fields: Any) -> Any:
    """A shape on the image at its first place, and the place that it has now."""
    first = place(client, photo, world)
    trace = make.trace(world.face, label="stain")
    seen = make.sighting(trace, SQUARE, image=photo, **fields)
    points = turned((*CORNERS, *INNER))
    points[2] = (800, 480, points[2][2] + 9, points[2][3])  # a worse measurement, too
    page = change_place(client, first, **rows(*points)).content.decode()
    assert "1 shape drawn on it stays where it lay before" in page
    now = Placement.objects.get(pk=first.pk)
    return first, seen, now


def decided(
    client: Client, placement: Placement, why: str = "The corner shows.", **given: str
) -> Any:
    address = reverse("placement-shapes", args=[placement.pk])
    opened = client.get(address).context["form"]["opened"].value()
    return client.post(address, {"why": why, "opened": opened, **given}, follow=True)


def test_it_works(conservator: Client, world: World, photo: Any) -> None:
    first, seen, now = drawn_then_placed_anew(conservator, world, photo, uncertainty_mm=5)
    page = conservator.get(reverse("placement-shapes", args=[now.pk])).content.decode()
    assert "stain" in page
    decided(conservator, now, **{f"shape_{seen.pk}": "carry"})
    carried = Sighting.objects.get(pk=seen.pk)
    assert carried.geometry is not None
    assert carried.uncertainty_mm is not None
    pixels = chart(first).to_image(corners_of(SQUARE))
    on_detail = chart(now).to_face(pixels)
    assert corners_of(carried.geometry.wkt) == pytest.approx(on_detail, abs=1e-3)
    own = sqrt(5**2 - first.uncertainty_mm**2)
    joined = hypot(1.09 * own, now.uncertainty_mm)  # the image is 1.09 times as large now
    assert carried.uncertainty_mm == pytest.approx(joined, rel=0.02)
    assert carried.uncertainty_mm >= max(5, hypot(own, now.uncertainty_mm))
    told = versions_of(carried)[0]
    assert told.why == "The corner shows."
    assert {one.label for one in told.differences} >= {"Geometry", "Uncertainty mm"}
    assert left_on(photo) == []
    page = conservator.get(photo.get_absolute_url()).content.decode()
    assert "Shapes that the image has left" not in page


def test_the_mark_stands_wherever_the_shape_is_used(
    conservator: Client, world: World, photo: Any
) -> None:
    place_now = drawn_then_placed_anew(conservator, world, photo)[2]
    make.sighting(world.records["patch"], image=photo)  # seen, not drawn
    (left,) = left_on(photo)
    by = millimetres(left.moved_mm)
    told = conservator.get(photo.get_absolute_url()).content.decode()
    assert told.count(ON_IMAGE) == 1
    assert by in told
    trace = left.sighting.trace
    address = reverse("placement-shapes", args=[place_now.pk])
    for page in (trace.get_absolute_url(), reverse("trace-beside", args=[trace.pk])):
        told = conservator.get(page).content.decode()
        assert MARK in told, page
        assert by in told
        assert address in told
        reader = signed_in_as(Role.SCIENTIST).get(page).content.decode()
        assert MARK in reader
    content = compile_object(world.object, timezone.now())
    dossier = render_to_string("reports/dossier/open.html", {"content": content})
    assert f"the same detail lies {by} away now" in dossier


def test_a_shape_that_is_right_where_it_is_stays_and_is_not_asked_for_again(
    conservator: Client, world: World, photo: Any
) -> None:
    _, seen, now = drawn_then_placed_anew(conservator, world, photo)
    decided(conservator, now, "Measured on the object.", **{f"shape_{seen.pk}": "stay"})
    kept = Sighting.objects.get(pk=seen.pk)
    assert kept.geometry == seen.geometry
    assert left_on(photo) == []
    assert versions_of(kept)[0].why == "Measured on the object."
    # A note is no confirmation: only the place that it was confirmed at counts.
    change_place(conservator, now, **rows(*moved(CORNERS, 9), *moved(INNER, 9)))
    assert len(left_on(photo)) == 1


def test_a_note_written_meanwhile_decides_nothing(
    conservator: Client, world: World, photo: Any
) -> None:
    _, seen, now = drawn_then_placed_anew(conservator, world, photo)
    kept = Sighting.objects.get(pk=seen.pk)
    kept.note = "Brown."
    with change(user=None, why="for a test"):
        kept.save()
    (left,) = left_on(photo)
    assert left.placement == now


def test_withdrawn_and_placed_again_it_has_moved_all_the_same(
    conservator: Client, world: World, photo: Any
) -> None:
    first = place(conservator, photo, world)
    seen = make.sighting(world.trace, SQUARE, image=photo)
    first.withdraw(user=None, why="Begun anew.")
    assert left_on(photo) == []  # it lies nowhere
    between = make.sighting(world.records["patch"], SQUARE, image=photo)
    place(conservator, photo, world, **rows(*moved(CORNERS, 9), *moved(INNER, 9)))
    after = make.sighting(make.trace(world.face), SQUARE, image=photo)
    (left,) = left_on(photo)
    assert left.sighting == seen
    assert left.moved_mm == pytest.approx(9, abs=0.01)
    assert left.way == f"{millimetres(9)} to the right"
    assert {between.pk, after.pk}.isdisjoint({left.sighting.pk})


def test_of_an_examination_only_its_one_image_on_the_face_is_meant(
    conservator: Client, world: World
) -> None:
    look = make.examination(world.object)
    photo = make.photograph(world.object, title="Plate A", examination=look)
    _, _, now = drawn_then_placed_anew(conservator, world, photo)
    by_look = make.sighting(world.records["patch"], SQUARE, examination=look)
    change_place(conservator, now, **rows(*moved(CORNERS, 9), *moved(INNER, 9)))
    sure = {one.sighting.pk: one.is_sure for one in left_on(photo)}
    assert sure.pop(by_look.pk) is False
    assert list(sure.values()) == [True]
    other = make.photograph(world.object, title="Plate B", examination=look)
    place(conservator, other, world)
    assert by_look.pk not in {one.sighting.pk for one in left_on(photo)}


def test_what_would_leave_the_face_is_not_offered(
    conservator: Client, world: World, photo: Any
) -> None:
    first = place(conservator, photo, world)
    seen = make.sighting(world.trace, SQUARE, image=photo)
    far = [(c, r, x + 880, y) for c, r, x, y in (*CORNERS, *INNER)]
    change_place(conservator, first, **rows(*far))
    page = conservator.get(reverse("placement-shapes", args=[first.pk]))
    assert "beyond the face: draw it anew" in page.content.decode()
    refused = decided(conservator, first, **{f"shape_{seen.pk}": "carry"})
    assert refused.status_code == 422
    assert Sighting.objects.get(pk=seen.pk).geometry == seen.geometry


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"why": "  "}, "Why?"),
        ({"shape": ""}, "Decide on one shape at least"),
        ({"opened": "2020-01-01"}, "placed anew meanwhile"),
    ],
)
def test_what_is_not_decided_well_is_refused_in_words(
    conservator: Client, world: World, photo: Any, given: dict[str, str], words: str
) -> None:
    _, seen, now = drawn_then_placed_anew(conservator, world, photo)
    sent = {f"shape_{seen.pk}": given.pop("shape", "carry"), **given}
    answer = decided(conservator, now, **sent)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert len(left_on(photo)) == 1


def test_only_those_who_write_records_decide(conservator: Client, world: World, photo: Any) -> None:
    now = drawn_then_placed_anew(conservator, world, photo)[2]
    address = reverse("placement-shapes", args=[now.pk])
    for role in (Role.SCIENTIST, Role.COMMITTEE):
        assert signed_in_as(role).get(address).status_code == 403
        assert signed_in_as(role).post(address).status_code == 403
    now.withdraw(user=None, why="Begun anew.")
    assert conservator.get(address).status_code == 302


def test_many_shapes_take_as_many_queries_as_few(
    conservator: Client, world: World, photo: Any, django_assert_num_queries: Any
) -> None:
    with django_assert_num_queries(1):  # nothing was placed anew
        assert left_behind(Sighting.objects.all(), [world.face.pk]) == []
    drawn_then_placed_anew(conservator, world, photo)
    queries_of(conservator, photo.get_absolute_url())
    few = queries_of(conservator, photo.get_absolute_url())
    placement = Placement.objects.get(image=photo)
    for _ in range(4):
        make.sighting(make.trace(world.face), SQUARE, image=photo)
    change_place(conservator, placement, **rows(*moved(CORNERS, 9), *moved(INNER, 9)))
    with django_assert_num_queries(4):
        assert len(left_behind(Sighting.objects.all(), [world.face.pk])) == 5
    assert queries_of(conservator, photo.get_absolute_url()) == few
