"""Who may open which page: every address of the program, for every role."""

from typing import Any

from django.test import Client
from django.urls import URLPattern, reverse

import analyses.urls
import records.urls
import reports.urls
from records.choices import Role
from tests.integration.pages.conftest import World, signed_in_as

# What a committee member may open; every other page is closed to them.
OPEN_TO_ALL = {"desk", "objects", "object", "read-date"}

# The kind of record whose key an address holds, by how the address begins.
BEGINNINGS = {
    "vocabulary/trace-kinds": "trace-kind",
    "vocabulary/treatment-kinds": "treatment-kind",
    "vocabulary/occurrence-kinds": "occurrence-kind",
    "vocabulary/techniques": "technique",
    "vocabulary/materials": "material",
    "analyses": "analysis",
    "areas": "area",
    "campaigns": "campaign",
    "components": "component",
    "coverage": "coverage",
    "effects": "effect",
    "examinations": "examination",
    "faces": "face",
    "identifications": "identification",
    "images": "image",
    "layers": "layer",
    "material-dates": "material-date",
    "mosaics": "mosaic",
    "occurrences": "occurrence",
    "papers": "source",
    "people": "person",
    "placements": "placement",
    "preparations": "preparation",
    "readings": "reading",
    "relations": "relation",
    "samples": "sample",
    "sampling-points": "sampling-point",
    "sightings": "sighting",
    "statements": "statement",
    "traces": "trace",
    "treatments": "treatment",
    "zones": "zone",
    "accounts": "account",
}
WITHOUT_FILE = {
    *("image-file", "image-small", "image-tiles", "source-scan", "analysis-raw"),
    "analysis-columns",
}
ADMINISTRATION = {"accounts", "account-new", "account-edit", "account-password"}
LABORATORY = {
    address.name for address in analyses.urls.urlpatterns if isinstance(address, URLPattern)
}
FOR_THE_LABORATORY = {
    *("material-new", "material-edit", "material-date-new", "material-date-edit"),
    *("image-new", "arrival-new"),  # of samples
}

ROUTES = {
    str(address.name): str(address.pattern)
    for address in [
        *records.urls.urlpatterns,
        *analyses.urls.urlpatterns,
        *reports.urls.urlpatterns,
    ]
    if isinstance(address, URLPattern)
}


def pages() -> list[str]:
    """Names of the pages that these tests open: those with one key of a record, or none."""
    named = [*records.urls.urlpatterns, *analyses.urls.urlpatterns, *reports.urls.urlpatterns]
    simple = [
        address
        for address in named
        if isinstance(address, URLPattern)
        and address.name
        and address.name not in WITHOUT_FILE
        and set(address.pattern.converters) <= {"pk"}
    ]
    return sorted({str(address.name) for address in simple if _known(str(address.name))})


# Rooms and deeds that have tests of their own.
ELSEWHERE = (
    "surface", "draw", "shapes", "history", "dossier", "import", "evaluat", "spectrum", "follow",
)  # fmt: skip


def _known(name: str) -> bool:
    return not any(word in name for word in ELSEWHERE)


def address_of(name: str, world: World) -> str:
    beginning = ROUTES[name].split("/<int:pk>")[0]
    if beginning == ROUTES[name]:
        return reverse(name)
    record: Any = world.object
    if beginning != "objects":
        record = world.records[BEGINNINGS[beginning]]
    return reverse(name, args=[record.pk])


def writes(name: str) -> bool:
    return name.endswith(("-new", "-edit")) or name == "decide"


def answers(client: Client, world: World) -> dict[str, int]:
    """The status of every page by its name."""
    return {name: client.get(address_of(name, world)).status_code for name in pages()}


def test_it_works(world: World) -> None:
    assert len(pages()) > 100
    assert Client().get(reverse("login")).status_code == 200


def test_a_conservator_opens_every_page(world: World) -> None:
    found = answers(signed_in_as(Role.CONSERVATOR), world)
    assert {name for name, status in found.items() if status == 403} == ADMINISTRATION
    assert {status for name, status in found.items() if name not in ADMINISTRATION} == {200}


def test_an_administrator_opens_every_page(world: World) -> None:
    found = answers(signed_in_as(Role.ADMINISTRATOR), world)
    assert {name: status for name, status in found.items() if status != 200} == {}


def test_a_committee_member_sees_objects_and_dossiers_only(world: World) -> None:
    found = answers(signed_in_as(Role.COMMITTEE), world)
    assert {name for name, status in found.items() if status == 200} == OPEN_TO_ALL
    assert {status for name, status in found.items() if name not in OPEN_TO_ALL} == {403}


def test_a_scientist_reads_everything_and_writes_in_the_laboratory(world: World) -> None:
    found = answers(signed_in_as(Role.SCIENTIST), world)
    open_to_laboratory = LABORATORY | FOR_THE_LABORATORY
    closed = {name for name in pages() if writes(name) and name not in open_to_laboratory}
    closed |= ADMINISTRATION
    assert {name for name, status in found.items() if status == 403} == closed
    assert {status for name, status in found.items() if name not in closed} == {200}


def test_nobody_sees_anything_without_signing_in(world: World) -> None:
    client = Client()
    for name in pages():
        response = client.get(address_of(name, world))
        assert response.status_code == 302, name
        assert response["Location"].startswith(reverse("login")), name


def test_a_committee_member_is_shown_no_way_into_a_closed_page(world: World) -> None:
    client = signed_in_as(Role.COMMITTEE)
    for page in (reverse("desk"), reverse("objects"), world.object.get_absolute_url()):
        text = client.get(page).content.decode()
        for address in set(_links(text)):
            assert client.get(address).status_code in (200, 302, 405), (page, address)


def _links(text: str) -> list[str]:
    return [
        part.split('"', 1)[0].split("#")[0]
        for part in text.split('href="')[1:]
        if part.startswith("/") and not part.startswith("/static")
    ]
