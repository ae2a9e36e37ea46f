"""Writing through the interface for programs: reasons, refusals, roles, tokens, withdrawal."""

from typing import Any

import pytest
from django.contrib.contenttypes.models import ContentType
from rest_framework.test import APIClient

from analyses.models import Identification
from deploy.api import router
from records.choices import Role
from records.models import Sighting, Trace
from tests import builders

pytestmark = pytest.mark.django_db


def versions_of(record: Any) -> Any:
    """The kept versions of a record, oldest first."""
    return record.versions.order_by("pgh_id")


def client_of(role: Role) -> APIClient:
    made = APIClient()
    made.force_authenticate(builders.user(role))
    return made


@pytest.fixture
def conservator() -> APIClient:
    return client_of(Role.CONSERVATOR)


def test_it_works(conservator: APIClient) -> None:
    on, kind = builders.face(), builders.trace_kind()
    answer = conservator.post(
        "/api/traces/",
        {
            "type": "Feature",
            "geometry": None,
            "properties": {"face": on.pk, "kind": kind.pk, "number": "1"},
        },
    )
    assert answer.status_code == 201, answer.data
    version = versions_of(Trace.objects.get()).get()
    assert version.pgh_context.metadata["why"] == "recorded"
    assert version.pgh_context.metadata["user"] is not None


def test_a_change_needs_a_reason_and_keeps_what_was_before(conservator: APIClient) -> None:
    made = builders.trace(label="tear")
    refused = conservator.patch(f"/api/traces/{made.pk}/", {"label": "cut"})
    assert refused.status_code == 400
    assert "why" in refused.data
    changed = conservator.patch(
        f"/api/traces/{made.pk}/", {"label": "cut", "why": "edges are clean"}
    )
    assert changed.status_code == 200, changed.data
    before, after = versions_of(made)
    assert (before.label, after.label) == ("tear", "cut")
    assert after.pgh_context.metadata["why"] == "edges are clean"


def test_a_shape_outside_the_face_is_refused_in_millimetres(conservator: APIClient) -> None:
    made = builders.trace(builders.face(width=1000, height=600))
    looked = builders.examination(made.face.object)
    answer = conservator.post(
        "/api/sightings/",
        {
            "type": "Feature",
            "geometry": {"type": "Point", "coordinates": [1012.5, 10]},
            "properties": {"trace": made.pk, "examination": looked.pk, "outcome": "seen"},
        },
    )
    assert answer.status_code == 400
    assert "12.5 mm outside" in str(answer.data["geometry"][0])
    assert not Sighting.objects.exists()


def test_a_refusal_names_the_rule_in_words(conservator: APIClient) -> None:
    made = builders.trace()
    answer = conservator.post("/api/relations/", {"upper": made.pk, "lower": made.pk})
    assert answer.status_code == 400
    assert "cannot lie over itself" in str(answer.data)


def test_a_material_that_no_evaluation_could_find_is_refused_word_by_word() -> None:
    scientist = client_of(Role.SCIENTIST)
    given = {"code": "white", "label": "white", "definition": "A white.", "group": "pigment"}
    wrong = {"elements": ["Xx"], "phases": ["calcit"], "hazards": ["H999"]}
    answer = scientist.post("/api/materials/", given | wrong)
    assert answer.status_code == 400
    assert set(answer.data) == set(wrong)
    assert "nearest: calcite" in str(answer.data["phases"])
    right = {"elements": ["Ca", "C", "O"], "phases": ["calcite"], "hazards": []}
    assert scientist.post("/api/materials/", given | right).status_code == 201


def test_a_date_that_is_not_understood_names_the_part(conservator: APIClient) -> None:
    item = builders.canvas()
    answer = conservator.patch(f"/api/objects/{item.pk}/", {"date": "1951-13", "why": "dated"})
    assert answer.status_code == 400
    assert "13" in str(answer.data["date"][0])


def test_nothing_is_deleted_but_withdrawn_with_a_reason(conservator: APIClient) -> None:
    made = builders.trace()
    assert conservator.delete(f"/api/traces/{made.pk}/").status_code == 405
    assert conservator.post(f"/api/traces/{made.pk}/withdraw/", {}).status_code == 400
    answer = conservator.post(f"/api/traces/{made.pk}/withdraw/", {"why": "recorded twice"})
    assert answer.status_code == 200
    made.refresh_from_db()
    assert made.withdrawn_why == "recorded twice"


def test_an_identification_is_decided_by_whose_token_it_is() -> None:
    scientist = client_of(Role.SCIENTIST)
    point = builders.sampling_point(builders.face())
    made = scientist.post(
        "/api/identifications/",
        {"material": builders.material().pk, "point": point.pk, "grounds": "Ti in XRF"},
    )
    assert made.status_code == 201, made.data
    accepted = scientist.patch(
        f"/api/identifications/{made.data['id']}/",
        {"decision": "accepted", "why": "two ways"},
    )
    assert accepted.status_code == 200, accepted.data
    found = Identification.objects.get()
    assert found.decided_by is not None
    assert found.decided_by.role == Role.SCIENTIST


@pytest.mark.parametrize(
    ("role", "reads", "writes_traces", "writes_samples"),
    [
        (Role.CONSERVATOR, True, True, True),
        (Role.SCIENTIST, True, False, True),
        (Role.COMMITTEE, False, False, False),
        (Role.ADMINISTRATOR, True, True, True),
    ],
)
def test_roles_decide_what_is_read_and_written(
    role: Role, reads: bool, writes_traces: bool, writes_samples: bool
) -> None:
    client = client_of(role)
    assert client.get("/api/objects/").status_code == 200
    assert client.get("/api/dossiers/").status_code == 200
    assert (client.get("/api/traces/").status_code == 200) is reads
    assert (client.post("/api/traces/", {}).status_code == 400) is writes_traces
    assert (client.post("/api/samples/", {}).status_code == 400) is writes_samples


def test_what_a_scientist_writes_is_what_the_pages_let_a_scientist_write() -> None:
    client = client_of(Role.SCIENTIST)
    kinds = [name for name, _, _ in router.registry]
    writable = {
        name for name in kinds if client.post(f"/api/{name}/", {}).status_code in (201, 400)
    }
    assert writable == {
        *("sampling-points", "samples", "preparations", "layers", "numbering-rules"),
        *("analyses", "evaluations", "readings", "identifications", "materials", "material-dates"),
    }


def test_an_amendment_is_written_by_those_who_may_write_what_it_amends() -> None:
    client = client_of(Role.SCIENTIST)
    for model, status in ((Trace, 403), (Identification, 201)):
        kind = ContentType.objects.get_for_model(model)
        given = {"content_type": kind.pk, "object_id": 1, "text": "the date was misread"}
        answer = client.post("/api/amendments/", given)
        assert answer.status_code == status, answer.data
    assert client.post("/api/amendments/", {"content_type": "none"}).status_code == 403


def test_a_program_signs_in_with_a_token() -> None:
    builders.user(Role.CONSERVATOR, username="lena")
    client = APIClient()
    assert client.get("/api/objects/").status_code == 401
    token = client.post("/api/token/", {"username": "lena", "password": "correct horse"}).data[
        "token"
    ]
    client.credentials(HTTP_AUTHORIZATION=f"Token {token}")
    assert client.get("/api/objects/").status_code == 200
