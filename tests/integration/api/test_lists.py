"""Lists through the interface for programs: filters, pages, shapes, a fixed number of queries."""

from typing import Any

import pytest
import shapely
from django.contrib.gis.geos import GEOSGeometry
from django.db import connection
from django.test.utils import CaptureQueriesContext
from rest_framework.test import APIClient

from deploy.api import router
from records.choices import Family, Role
from records.models import Zone
from tests import builders

pytestmark = pytest.mark.django_db

COLLECTIONS = sorted(prefix for prefix, _, _ in router.registry)


@pytest.fixture
def client() -> APIClient:
    made = APIClient()
    made.force_authenticate(builders.user(Role.CONSERVATOR))
    return made


def square(x: float, y: float, side: float = 20) -> str:
    return f"POLYGON(({x} {y},{x + side} {y},{x + side} {y + side},{x} {y + side},{x} {y}))"


def numbers_of(response: Any) -> set[str]:
    assert response.status_code == 200, response.data
    return {feature["properties"]["number"] for feature in response.data["features"]}


def test_it_works(client: APIClient) -> None:
    made = builders.trace(number="7")
    builders.sighting(made, square(10, 10))
    response = client.get("/api/traces/", {"face": made.face_id})
    assert response.data["type"] == "FeatureCollection"
    (feature,) = response.data["features"]
    assert feature["geometry"]["type"] == "Polygon"
    assert feature["geometry"]["coordinates"][0][2] == [30.0, 30.0]
    assert feature["properties"]["family"] == "alteration"


@pytest.mark.parametrize("name", COLLECTIONS)
def test_every_collection_can_be_listed(client: APIClient, name: str) -> None:
    assert client.get(f"/api/{name}/").status_code == 200


def test_traces_are_found_by_place_kind_family_and_campaign(client: APIClient) -> None:
    on = builders.face()
    patch = builders.trace_kind("patch", Family.INTERVENTION)
    looked = builders.examination(on.object)
    for number, x, kind in [("a", 0, None), ("b", 300, patch), ("c", 600, None)]:
        made = builders.trace(on, kind, number=number)
        builders.sighting(made, square(x, 100), examination=looked)
    elsewhere = builders.trace(builders.face(on.object, name="verso"), number="d")
    builders.sighting(elsewhere, square(300, 100))
    zone = builders.recorded(
        Zone, face=on, name="sky", geometry=GEOSGeometry(square(290, 90, 400), srid=0)
    )

    def found(**query: Any) -> set[str]:
        return numbers_of(client.get("/api/traces/", query))

    assert found(face=on.pk) == {"a", "b", "c"}
    assert found(object=on.object_id) == {"a", "b", "c", "d"}
    assert found(face=on.pk, bbox="310,90,700,200") == {"b", "c"}
    assert found(face=on.pk, near="340,110", within_mm=20) == {"b"}
    assert found(face=on.pk, near="340,110", within_mm=19.9) == set()
    assert found(zone=zone.pk) == {"b", "c"}
    assert found(kind="patch") == {"b"}
    assert found(family="intervention") == {"b"}
    assert found(campaign=looked.campaign_id) == {"a", "b", "c"}
    assert found(q="patch") == {"b"}


def test_a_distance_agrees_with_shapely(client: APIClient) -> None:
    # Outside check: shapely's planar distance.
    on = builders.face()
    made = builders.trace(on, number="t")
    shape = "POLYGON((100 100,180 90,230 160,140 220,100 100))"
    builders.sighting(made, shape)
    distance = shapely.distance(shapely.Point(400, 300), shapely.from_wkt(shape))
    for margin, expected in [(1e-6, {"t"}), (-1e-6, set())]:
        query: dict[str, Any] = {"face": on.pk, "near": "400,300", "within_mm": distance + margin}
        assert numbers_of(client.get("/api/traces/", query)) == expected


def test_a_filter_that_is_not_understood_is_named(client: APIClient) -> None:
    response = client.get("/api/traces/", {"bbox": "1,2,3"})
    assert response.status_code == 400
    assert "4 numbers in millimetres" in str(response.data["bbox"][0])
    upside_down = client.get("/api/traces/", {"bbox": "10,10,0,0"})
    assert "lower left" in str(upside_down.data["bbox"][0])
    no_object = client.get("/api/traces/", {"certainly_present_on": "1952-01-01"})
    assert no_object.status_code == 400
    assert "object" in str(no_object.data["certainly_present_on"][0])


def test_traces_are_found_by_their_state_on_a_day(client: APIClient) -> None:
    on = builders.face(builders.canvas(date="1900"))
    seen = builders.trace(on, number="seen")
    never = builders.trace(on, number="undated")
    builders.sighting(seen, image=builders.photograph(on.object, "1931-06-15"))
    query: dict[str, Any] = {"object": on.object_id}
    certain = client.get("/api/traces/", {**query, "certainly_present_on": "1931-06-15"})
    assert numbers_of(certain) == {"seen"}
    possible = client.get("/api/traces/", {**query, "possibly_present_on": "1931-06-15"})
    assert numbers_of(possible) == {"seen", never.number}


def test_withdrawn_records_are_left_out_unless_asked_for(client: APIClient) -> None:
    made = builders.trace(number="w")
    made.withdraw(user=None, why="recorded twice")
    assert numbers_of(client.get("/api/traces/", {"face": made.face_id})) == set()
    asked = client.get(f"/api/traces/?face={made.face_id}&withdrawn=true")
    assert numbers_of(asked) == {"w"}


def test_pages_follow_each_other_without_gaps(client: APIClient) -> None:
    on = builders.face()
    for number in range(7):
        builders.trace(on, number=f"n{number}")
    url: str | None = f"/api/traces/?face={on.pk}&page_size=3"
    seen: list[str] = []
    while url:
        page = client.get(url).data
        seen += [f["properties"]["number"] for f in page["features"]]
        url = page["next"]
    assert seen == [f"n{number}" for number in range(7)]


@pytest.mark.parametrize("name", ["traces", "sightings", "treatments", "campaigns", "materials"])
def test_a_list_runs_the_same_queries_however_long_it_is(client: APIClient, name: str) -> None:
    on = builders.face()

    def grow(by: int) -> None:
        for _ in range(by):
            builders.sighting(builders.trace(on), square(10, 10))
            builders.treatment(on.object, title="t")
            builders.material(f"pigment-{builders.next_number()}")

    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as captured:
            assert client.get(f"/api/{name}/").status_code == 200
        return len(captured)

    grow(2)
    few = queries()
    grow(8)
    assert queries() == few <= 4


def test_the_schema_describes_every_collection(client: APIClient) -> None:
    schema = client.get("/api/schema/", HTTP_ACCEPT="application/json").data
    for name in COLLECTIONS:
        assert f"/api/{name}/" in schema["paths"]
