"""Importing by page: who may, the check, the confirmation, the guides and the examples."""

import io
import json
import re
from datetime import timedelta
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from analyses.imports import plan_results
from analyses.imports.columns import COLUMNS
from analyses.imports.results import EXAMPLE as RESULTS_EXAMPLE
from analyses.models import SamplingPoint
from records.choices import Role
from records.imports import Look, plan_survey, uploads
from records.imports.geojson import PROPERTIES
from records.imports.surveys import EXAMPLE as SURVEY_EXAMPLE
from records.models import Face, Object, Technique, Trace, User
from records.vocabulary import load
from tests import builders

pytestmark = pytest.mark.django_db

ROOT = Path(__file__).parents[2]


@pytest.fixture(autouse=True)
def media(settings: Any, tmp_path: Path) -> Path:
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


@pytest.fixture
def face() -> Face:
    builders.trace_kind("crack", short="CRK")
    builders.term(Technique, "visual_inspection", group="surface")
    return builders.face(builders.canvas(accession_number="1999.12"))


@pytest.fixture
def conservator(client: Client) -> User:
    user = builders.user(Role.CONSERVATOR)
    client.force_login(user)
    return user


def survey(kind: str = "crack") -> SimpleUploadedFile:
    point = {"type": "Point", "coordinates": [10, 10]}
    feature = {
        "type": "Feature",
        "properties": {"number": 1, "kind": kind},
        "geometry": point,
    }
    data = json.dumps({"type": "FeatureCollection", "features": [feature]})
    return SimpleUploadedFile("spring.geojson", data.encode())


def answers(face: Face, **more: Any) -> dict[str, Any]:
    technique = Technique.objects.get(code="visual_inspection")
    return {
        "face": face.pk,
        "campaign": "Survey 2024",
        "technique": technique.pk,
        "date": "2024-05",
        "why": "survey of the spring",
        **more,
    }


def hidden(page: str) -> dict[str, str]:
    """What the confirmation sends back."""
    fields = re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', page)
    return {name: value for name, value in fields if name != "csrfmiddlewaretoken"}


def test_it_works(client: Client, face: Face, conservator: User) -> None:
    address = reverse("import-survey", args=[face.object_id])
    assert client.get(address).status_code == 200
    checked = client.post(address, answers(face, file=survey()))
    assert checked.status_code == 200
    page = checked.content.decode()
    assert "What spring.geojson adds" in page
    assert Trace.objects.count() == 0
    sent = hidden(page)
    assert sent["why"] == "survey of the spring"
    done = client.post(address, {**sent, "confirm": "yes"})
    assert done.status_code == 302
    assert done["Location"] == reverse("object-surface", args=[face.object_id])
    trace = Trace.objects.get()
    assert trace.number == "1"
    version = trace.versions.get()  # type: ignore[attr-defined]
    assert version.pgh_context.metadata["user"] == conservator.pk
    assert version.pgh_context.metadata["why"] == "survey of the spring"
    assert default_storage.listdir("imports")[1] == []


def test_the_problems_of_a_file_are_listed_and_nothing_is_written(
    client: Client, face: Face, conservator: User
) -> None:
    address = reverse("import-survey", args=[face.object_id])
    refused = client.post(address, answers(face, file=survey("crak")))
    assert refused.status_code == 422
    page = refused.content.decode()
    assert "1 problem in spring.geojson" in page
    assert "Feature 1, property kind" in page
    assert "nearest: crack" in page
    assert Trace.objects.count() == 0
    assert default_storage.listdir("imports")[1] == []


def test_what_has_changed_since_the_check_stops_the_import(
    client: Client, face: Face, conservator: User
) -> None:
    address = reverse("import-survey", args=[face.object_id])
    sent = hidden(client.post(address, answers(face, file=survey())).content.decode())
    builders.trace(face, builders.trace_kind("loss"), number="1")
    late = client.post(address, {**sent, "confirm": "yes"})
    assert late.status_code == 422
    assert "is recorded as" in late.content.decode()
    assert Trace.objects.count() == 1


def test_a_confirmation_sent_twice_imports_once(
    client: Client, face: Face, conservator: User
) -> None:
    address = reverse("import-survey", args=[face.object_id])
    sent = hidden(client.post(address, answers(face, file=survey())).content.decode())
    client.post(address, {**sent, "confirm": "yes"})
    again = client.post(address, {**sent, "confirm": "yes"})
    assert again.status_code == 422
    assert "no longer waiting" in again.content.decode()
    assert Trace.objects.count() == 1


def test_nobody_else_can_confirm_a_waiting_file(
    client: Client, face: Face, conservator: User
) -> None:
    address = reverse("import-survey", args=[face.object_id])
    sent = hidden(client.post(address, answers(face, file=survey())).content.decode())
    client.force_login(builders.user(Role.CONSERVATOR))
    other = client.post(address, {**sent, "confirm": "yes"})
    assert other.status_code == 422
    assert Trace.objects.count() == 0


def test_a_form_without_a_file_or_with_a_date_not_understood_says_so(
    client: Client, face: Face, conservator: User
) -> None:
    address = reverse("import-survey", args=[face.object_id])
    page = client.post(address, answers(face, date="last May")).content.decode()
    assert "Choose the file to import." in page
    assert "is no date that can be read" in page


def test_a_file_left_waiting_is_removed_after_a_day(
    media: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    left = uploads.keep(b"old", "old.csv")
    later = timezone.now() + timedelta(days=1, minutes=1)
    monkeypatch.setattr(timezone, "now", lambda: later)
    uploads.keep(b"new", "new.csv")
    assert not default_storage.exists(left.stored)
    assert len(default_storage.listdir("imports")[1]) == 1


def test_results_are_imported_by_a_scientist(client: Client, face: Face) -> None:
    client.force_login(builders.user(Role.SCIENTIST))
    address = reverse("import-results", args=[face.object_id])
    file = SimpleUploadedFile("points.csv", b"point,x_mm,y_mm,porpose\nP1,10,20,why\n")
    checked = client.post(address, {"file": file, "why": "spring"})
    page = checked.content.decode()
    assert checked.status_code == 200
    assert "1 remark" in page
    assert SamplingPoint.objects.count() == 0
    done = client.post(address, {**hidden(page), "confirm": "yes"})
    assert done["Location"] == reverse("object-laboratory", args=[face.object_id])
    assert SamplingPoint.objects.get().number == "P1"


@pytest.mark.parametrize(
    ("role", "survey_status", "results_status"),
    [
        (Role.CONSERVATOR, 200, 200),
        (Role.SCIENTIST, 403, 200),
        (Role.COMMITTEE, 403, 403),
        (Role.ADMINISTRATOR, 200, 200),
    ],
)
def test_each_role_reaches_what_it_may_import(
    client: Client, face: Face, role: Role, survey_status: int, results_status: int
) -> None:
    client.force_login(builders.user(role))
    pages = [reverse(name, args=[face.object_id]) for name in ("import-survey", "import-results")]
    assert [client.get(page).status_code for page in pages] == [survey_status, results_status]
    assert client.get(reverse("import")).status_code == results_status


def test_the_door_leads_to_the_import_of_an_object(
    client: Client, face: Face, conservator: User
) -> None:
    found = client.get(reverse("import"), {"number": "1999.12", "what": "results"})
    assert found["Location"] == reverse("import-results", args=[face.object_id])
    lost = client.get(reverse("import"), {"number": "2000.1", "what": "survey"})
    assert lost.status_code == 422
    assert "There is no object" in lost.content.decode()


def test_a_scientist_is_not_offered_what_only_conservators_import(
    client: Client, face: Face
) -> None:
    client.force_login(builders.user(Role.SCIENTIST))
    assert "survey of one face" not in client.get(reverse("import")).content.decode()


def test_the_guides_name_every_property_and_column(client: Client, conservator: User) -> None:
    guide = client.get(reverse("import-survey-guide")).content.decode()
    readme = (ROOT / "records/imports/README.md").read_text("utf-8")
    for prop in PROPERTIES:
        assert f"<code>{prop.name}</code>" in guide
        assert f"| `{prop.name}` | {prop.needed} |" in readme
    guide = client.get(reverse("import-results-guide")).content.decode()
    readme = (ROOT / "analyses/imports/README.md").read_text("utf-8")
    for column in COLUMNS:
        assert f"<code>{column.name}</code>" in guide
        assert f"| `{column.name}` | {column.needed} | {column.meaning} |" in readme


def test_the_examples_pass_their_own_check(client: Client, conservator: User) -> None:
    load()
    item: Object = builders.canvas()
    face = builders.face(item)
    technique = Technique.objects.get(code="visual_inspection")
    example = b"".join(client.get(reverse("import-survey-example")))
    assert example == SURVEY_EXAMPLE.read_bytes()
    plan = plan_survey(example, Look(face, "Survey", technique, "2024"))
    assert (plan.problems, plan.remarks, len(plan.traces)) == ([], [], 4)

    table = client.get(reverse("import-results-example", args=["csv"])).content
    assert table == RESULTS_EXAMPLE.read_bytes()
    results = plan_results(table, item)
    assert (results.problems, results.remarks) == ([], [])
    workbook = client.get(reverse("import-results-example", args=["xlsx"])).content
    assert openpyxl.load_workbook(io.BytesIO(workbook)).worksheets[0]["A2"].value == "P1"
    assert plan_results(workbook, item).summary == results.summary
