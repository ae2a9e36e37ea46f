"""The room Surface: what a map is answered, what is drawn and saved, who may see it."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from analyses.models import SamplingPoint
from records.choices import Family
from records.models import Face, Image, Sighting, Trace, Zone
from records.surface import Choice, Window, places_geojson, traces_geojson
from records.tasks import make_image_pyramid
from tests import builders as make
from tests.integration.pages.conftest import World

WHOLE = Window(0, 0, 1000, 600, mm_per_px=1)
BOX = "POLYGON(({x} {y}, {x2} {y}, {x2} {y2}, {x} {y2}, {x} {y}))"


def box(x: float, y: float, side: float = 10) -> str:
    return BOX.format(x=x, y=y, x2=x + side, y2=y + side)


def features(text: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads(text)["features"]
    return found


def drawn(face: Face, x: float, y: float, side: float = 10, **fields: Any) -> Trace:
    trace = make.trace(face, **fields)
    make.sighting(trace, box(x, y, side))
    return trace


@pytest.fixture
def face(db: None) -> Face:
    return make.face()


def test_a_map_gets_the_traces_in_its_window_in_one_query(face: Face) -> None:
    inside = drawn(face, 100, 100)
    drawn(face, 800, 500)
    with CaptureQueriesContext(
        connection,
    ) as asked:
        text = traces_geojson(face, Window(50, 50, 300, 300, 1))
    assert len(asked) == 1
    (feature,) = features(text)
    assert feature["id"] == inside.pk
    assert feature["geometry"]["type"] == "Polygon"
    assert [100, 100] in feature["geometry"]["coordinates"][0]


def test_detail_follows_the_size_of_a_pixel(face: Face) -> None:
    trace = make.trace(face)
    steps = ", ".join(f"{x} {100 + (x % 2) * 0.2}" for x in range(100, 200))
    make.sighting(trace, f"LINESTRING({steps})")
    (far,) = features(traces_geojson(face, Window(0, 0, 1000, 600, 1)))
    (near,) = features(traces_geojson(face, Window(0, 0, 1000, 600, 0.01)))
    assert len(far["geometry"]["coordinates"]) == 2
    assert len(near["geometry"]["coordinates"]) == 100


def test_too_many_traces_are_gathered_and_none_is_left_uncounted(face: Face) -> None:
    for number in range(12):
        drawn(face, 20 + number * 2, 20, side=1 + number / 10)
    drawn(face, 600, 300, side=50)
    text = traces_geojson(face, WHOLE, most=3)
    shapes = [f for f in features(text) if "many" not in f["properties"]]
    rest = [f["properties"]["many"] for f in features(text) if "many" in f["properties"]]
    assert len(shapes) == 3
    assert sum(rest) == 10
    assert json.loads(text)["found"] == 13


def test_what_lies_behind_is_mirrored_at_half_the_width(face: Face) -> None:
    back = make.face(face.object, name="verso", mirror_of=face)
    drawn(back, 100, 200)
    window = Window(850, 150, 950, 250, 1)  # in the frame of the recto
    (feature,) = features(traces_geojson(back, window, behind=True))
    across = sorted({x for x, _ in feature["geometry"]["coordinates"][0]})
    assert across == [890, 900]
    assert features(traces_geojson(back, window)) == []


def test_a_trace_is_seen_unclear_or_gone_by_its_latest_look(face: Face) -> None:
    item = face.object
    early, late = make.examination(item, date="1986"), make.examination(item, date="2021")
    gone, doubtful, kept = (make.trace(face) for _ in range(3))
    for trace in (gone, doubtful, kept):
        make.sighting(trace, box(100, 100), examination=early)
    make.sighting(gone, examination=late, outcome="not_seen")
    make.sighting(doubtful, box(100, 100), examination=late, outcome="unclear")
    make.sighting(kept, box(100, 100), examination=late)
    states = {f["id"]: f["properties"]["state"] for f in features(traces_geojson(face, WHOLE))}
    assert states == {gone.pk: "not_seen", doubtful.pk: "unclear", kept.pk: "seen"}


def test_a_survey_shows_the_shapes_drawn_then(face: Face) -> None:
    item = face.object
    early, late = make.examination(item, date="1986"), make.examination(item, date="2021")
    grown, new = make.trace(face), make.trace(face)
    make.sighting(grown, box(100, 100, 5), examination=early)
    make.sighting(grown, box(100, 100, 50), examination=late)
    make.sighting(new, box(300, 300), examination=late)
    (then,) = features(traces_geojson(face, WHOLE, Choice(campaign=early.campaign)))
    assert then["id"] == grown.pk
    assert max(x for x, _ in then["geometry"]["coordinates"][0]) == 105
    assert len(features(traces_geojson(face, WHOLE, Choice(campaign=late.campaign)))) == 2


def test_traces_are_chosen_by_family_kind_zone_and_words(face: Face) -> None:
    patch_kind = make.trace_kind("patch", Family.INTERVENTION)
    loss = drawn(face, 100, 100, label="loss 100% through")
    patch = drawn(face, 500, 300, kind=patch_kind)
    sky = make.recorded(Zone, face=face, name="sky", geometry=box(450, 250, 200))

    def chosen(**fields: Any) -> set[int]:
        return {f["id"] for f in features(traces_geojson(face, WHOLE, Choice(**fields)))}

    assert chosen(families=["intervention"]) == {patch.pk}
    assert chosen(kind=patch_kind) == {patch.pk}
    assert chosen(zone=sky) == {patch.pk}
    assert chosen(words="100%") == {loss.pk}
    assert chosen(words="'; drop") == set()
    assert chosen() == {loss.pk, patch.pk}


def test_withdrawn_records_are_not_on_the_map(face: Face) -> None:
    trace = drawn(face, 100, 100)
    zone = make.recorded(Zone, face=face, name="sky", geometry=box(0, 0, 100))
    point = make.sampling_point(face)
    for record in (trace, zone, point):
        record.withdraw(user=None, why="entered twice")
    assert features(traces_geojson(face, WHOLE)) == []
    assert features(places_geojson(face, "zones")) == []
    assert features(places_geojson(face, "points")) == []


def test_the_room_opens_on_the_face_of_what_is_asked_for(conservator: Client, world: World) -> None:
    verso = make.face(world.object, name="verso", mirror_of=world.face)
    there = drawn(verso, 10, 10)
    page = conservator.get(reverse("object-surface", args=[world.object.pk]), {"trace": there.pk})
    assert page.context["face"] == verso
    assert page.context["set_up"]["asked"] == {"trace": there.pk}


def test_an_object_without_faces_teaches_what_a_face_is(conservator: Client, db: None) -> None:
    page = conservator.get(reverse("object-surface", args=[make.canvas().pk]))
    assert "Add the first face" in page.content.decode()


def test_the_list_holds_what_the_map_holds(conservator: Client, face: Face) -> None:
    for number in range(70):
        drawn(face, 10 + number * 5, 10, number=f"R{number}", label=f"loss {number}")
    page = conservator.get(reverse("face-traces", args=[face.pk]), {"page": 2})
    assert page.context["page_obj"].paginator.count == 70
    assert len(page.context["traces"]) == 10
    found = conservator.get(reverse("face-traces", args=[face.pk]), {"q": "69"})
    assert [trace.label for trace in found.context["traces"]] == ["loss 69"]


def test_a_map_that_asks_for_no_window_is_told_so(conservator: Client, face: Face) -> None:
    answer = conservator.get(reverse("face-trace-shapes", args=[face.pk]), {"xmin": "left"})
    assert answer.status_code == 400
    assert set(answer.json()["errors"]) == {"xmin", "ymin", "xmax", "ymax", "mm_per_px"}


def test_drawing_a_trace_keeps_it_with_its_first_sighting(
    conservator: Client, world: World
) -> None:
    entry = {
        "kind": world.records["trace-kind"].pk,
        "number": "77",
        "look": f"examination:{world.examination.pk}",
        "geometry": "POLYGON((100 100,160 100,160 150,100 100))",
    }
    answer = conservator.post(reverse("draw-trace", args=[world.face.pk]), entry, follow=True)
    trace = Trace.objects.get(face=world.face, number="77")
    assert f'data-subject="trace:{trace.pk}"' in answer.content.decode()
    assert 'data-saved="yes"' in answer.content.decode()
    assert Sighting.objects.get(trace=trace).area_mm2 == 1500


def test_a_shape_off_the_face_is_refused_by_how_far_it_lies_outside(
    conservator: Client, world: World
) -> None:
    entry = {
        "kind": world.records["trace-kind"].pk,
        "number": "78",
        "look": f"examination:{world.examination.pk}",
        "geometry": "POINT(1017.5 300)",
    }
    answer = conservator.post(reverse("draw-trace", args=[world.face.pk]), entry)
    assert answer.status_code == 422
    assert "17.5 mm outside" in answer.content.decode()
    assert not Trace.objects.filter(number="78").exists()


def test_drawing_a_known_trace_again_adds_a_sighting(conservator: Client, world: World) -> None:
    later = make.examination(world.object, date="2024")
    entry = {
        "look": f"examination:{later.pk}",
        "outcome": "seen",
        "strength": "firm",
        "geometry": box(10, 10, 80),
    }
    answer = conservator.post(reverse("draw-sighting", args=[world.trace.pk]), entry, follow=True)
    assert answer.status_code == 200
    assert world.trace.sightings.count() == 2
    world.trace.refresh_from_db()
    assert world.trace.shape.area == 6400


def test_zones_and_sampling_points_are_drawn_too(conservator: Client, world: World) -> None:
    zone = {"name": "water", "geometry": box(0, 0, 300)}
    conservator.post(reverse("draw-zone", args=[world.face.pk]), zone)
    assert Zone.objects.get(face=world.face, name="water").geometry.area == 90000
    point = {"number": "P77", "geometry": "POINT(12.5 30)", "date": "2024"}
    conservator.post(reverse("draw-point", args=[world.face.pk]), point)
    assert SamplingPoint.objects.get(number="P77").geometry.coords == (12.5, 30)


def test_a_scientist_sets_sampling_points_but_draws_no_traces(
    scientist: Client, world: World
) -> None:
    assert scientist.get(reverse("draw-point", args=[world.face.pk])).status_code == 200
    assert scientist.get(reverse("draw-trace", args=[world.face.pk])).status_code == 403


def test_committee_members_see_no_surface(committee: Client, world: World) -> None:
    for address in (
        reverse("object-surface", args=[world.object.pk]),
        reverse("face-trace-shapes", args=[world.face.pk]),
        reverse("face-traces-save", args=[world.face.pk]),
        reverse("trace-beside", args=[world.trace.pk]),
    ):
        assert committee.get(address).status_code == 403


@pytest.mark.parametrize("what", ["zones", "points", "areas"])
def test_places_are_told_beside_the_map(conservator: Client, world: World, what: str) -> None:
    record = {"zones": "zone", "points": "sampling-point", "areas": "area"}[what]
    key = world.records[record].pk
    shapes = conservator.get(reverse("face-shapes", args=[world.face.pk, what]))
    assert key in [feature["id"] for feature in shapes.json()["features"]]
    told = conservator.get(reverse("place-beside", args=[what, key]))
    assert f'data-subject="{what}:{key}"' in told.content.decode()


def test_saved_traces_are_whole_and_unsimplified(conservator: Client, face: Face) -> None:
    for number in range(5):
        drawn(face, 10 + number * 20, 10)
    answer = conservator.get(reverse("face-traces-save", args=[face.pk]))
    assert "attachment" in answer["Content-Disposition"]
    assert len(features(answer.content.decode())) == 5


@pytest.fixture
def tiled(world: World, a_picture: Callable[[int, int], bytes]) -> Image:
    stored = Path(settings.MEDIA_ROOT) / world.image.file.name
    stored.parent.mkdir(parents=True, exist_ok=True)
    stored.write_bytes(a_picture(800, 480))
    make_image_pyramid(image_id=world.image.pk)
    world.image.refresh_from_db()
    return world.image  # type: ignore[no-any-return]


@pytest.fixture
def a_picture() -> Callable[[int, int], bytes]:
    import pyvips

    def picture(width: int, height: int) -> bytes:
        grey = pyvips.Image.xyz(width, height)[0] * (255 / width)
        made: bytes = grey.cast("uchar").jpegsave_buffer()
        return made

    return picture


def test_an_image_is_served_as_tiles_to_people_who_have_signed_in(
    conservator: Client, tiled: Image
) -> None:
    told = conservator.get(reverse("image-tiles", args=[tiled.pk, "info.json"])).json()
    assert told["id"] == f"http://testserver/images/{tiled.pk}/iiif"
    tile = reverse("image-tiles", args=[tiled.pk, "0,0,512,480/512,480/0/default.jpg"])
    answer = conservator.get(tile)
    assert answer["Content-Type"] == "image/jpeg"
    assert "private" in answer["Cache-Control"]
    again = conservator.get(tile, headers={"If-Modified-Since": answer["Last-Modified"]})
    assert again.status_code == 304
    assert Client().get(tile).status_code == 302


def test_the_committee_sees_the_picture_on_the_label_but_no_tiles(
    committee: Client, tiled: Image
) -> None:
    assert committee.get(reverse("image-small", args=[tiled.pk])).status_code == 200
    tile = reverse("image-tiles", args=[tiled.pk, "info.json"])
    assert committee.get(tile).status_code == 403


def test_no_file_outside_the_tiles_can_be_had(conservator: Client, tiled: Image) -> None:
    for path in ("../../images/secret.jpg", "%2e%2e/%2e%2e/x", "0,0,512,480"):
        answer = conservator.get(f"/images/{tiled.pk}/iiif/{path}")
        assert answer.status_code == 404


def test_behind_a_web_server_the_file_is_left_to_it(
    conservator: Client, tiled: Image, settings: Any
) -> None:
    settings.PROTECTED_MEDIA_PREFIX = "/protected/"
    answer = conservator.get(reverse("image-small", args=[tiled.pk]))
    assert answer["X-Accel-Redirect"] == f"/protected/{tiled.pyramid}/small.jpg"
    assert answer.content == b""


def test_a_file_that_cannot_be_tiled_says_so_with_the_image(world: World) -> None:
    stored = Path(settings.MEDIA_ROOT) / world.image.file.name
    stored.parent.mkdir(parents=True, exist_ok=True)
    stored.write_bytes(b"not a picture")
    make_image_pyramid(image_id=world.image.pk)
    world.image.refresh_from_db()
    assert world.image.pyramid == ""
    assert "cannot be read" in world.image.pyramid_error
