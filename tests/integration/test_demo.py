"""The demonstration in the database: complete, told truthfully, and solved by the engine."""

import json
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import pyvips
from django.db import connection, transaction
from django.test import override_settings
from pytest_django.fixtures import Settings
from pytest_django.plugin import DjangoDbBlocker

from analyses.models import Analysis, Identification, Layer, Preparation, SamplingPoint
from fixtures.loading import ACCOUNTS, PASSWORD, Loaded, load_demo
from fixtures.scenario.truth import FILE
from records.choices import Role, Seen, Standing
from records.history import Case, solve
from records.models import (
    Image,
    Object,
    Occurrence,
    Placement,
    Sighting,
    Source,
    Trace,
    Treatment,
    User,
)
from records.reconstruction.evidence import Evidence
from records.reconstruction.gather import gather

CANVAS = "HM 1931.47"
QUICK_HASHER = ["django.contrib.auth.hashers.MD5PasswordHasher"]
NUMBERS = (CANVAS, "HM 1958.12", "HM 1949.5")
TRUTH: dict[str, Any] = json.loads(FILE.read_text(encoding="utf-8"))["objects"]


@pytest.fixture(scope="module")
def media(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("demo-media")


@pytest.fixture(scope="module")
def demo(
    django_db_setup: None, django_db_blocker: DjangoDbBlocker, media: Path
) -> Iterator[Loaded]:
    """The demonstration, loaded once for this module and rolled back after it."""
    with (
        override_settings(MEDIA_ROOT=media, PASSWORD_HASHERS=QUICK_HASHER),
        django_db_blocker.unblock(),
        transaction.atomic(),
    ):
        yield load_demo(images=False)
        transaction.set_rollback(True)
    connection.close()


@pytest.fixture(scope="module")
def evidence(demo: Loaded) -> dict[str, Evidence]:
    objects = Object.objects.filter(accession_number__in=NUMBERS)
    return {o.accession_number: gather(o, date(2026, 6, 1)) for o in objects}


@pytest.fixture(scope="module")
def solved(evidence: dict[str, Evidence]) -> dict[str, dict[str, Any]]:
    return {
        number: solve(Case.from_json(found.case())).to_json() for number, found in evidence.items()
    }


def test_the_whole_painting_is_recorded(demo: Loaded) -> None:
    item = Object.objects.get(accession_number=CANVAS)
    assert Occurrence.objects.filter(object=item).count() >= 14
    treatments = Treatment.objects.filter(object=item)
    assert treatments.count() == 8
    assert treatments.filter(standing=Standing.INFERRED).count() == 2
    traces = Trace.objects.filter(face__object=item)
    assert traces.count() >= 150
    assert traces.values("kind").distinct().count() >= 25
    assert Source.objects.filter(object=item).count() >= 40
    assert SamplingPoint.objects.filter(face__object=item).count() >= 30
    assert Analysis.objects.of_object(item).count() >= 70
    sections = Preparation.objects.filter(sample__point__face__object=item)
    assert sections.count() == 6
    assert Layer.objects.filter(preparation__in=sections, trace__isnull=False).count() >= 30
    assert Identification.objects.of_object(item).filter(decision="accepted").count() >= 20


def test_loading_again_changes_nothing(demo: Loaded) -> None:
    before = Trace.objects.count(), Image.objects.count(), User.objects.count()
    again = load_demo(images=False)
    assert demo.new
    assert not again.new
    assert before == (Trace.objects.count(), Image.objects.count(), User.objects.count())


def test_each_role_has_an_account_that_can_sign_in(demo: Loaded) -> None:
    for name, role, *_ in ACCOUNTS:
        user = User.objects.get(username=name)
        assert user.role == role
        assert user.check_password(PASSWORD)
    assert {role for _, role, *_ in ACCOUNTS} == set(Role)


def test_every_record_says_who_made_it_and_why(demo: Loaded) -> None:
    item = Object.objects.get(accession_number=CANVAS)
    (first,) = item.versions.select_related("pgh_context")
    assert first.pgh_context.metadata["why"].startswith("Demonstration data")
    assert first.pgh_context.metadata["user"] == User.objects.get(username="conservator").pk


def test_every_picture_is_a_real_file_that_lies_on_its_face(
    demo: Loaded, media: Path, settings: Settings
) -> None:
    settings.MEDIA_ROOT = media
    for image in Image.objects.all():
        with image.file.open("rb") as opened:
            picture = pyvips.Image.new_from_buffer(opened.read(), "")
        assert (picture.width, picture.height) == (image.width_px, image.height_px)
        assert picture.deviate() > 5
    for placement in Placement.objects.select_related("face", "image"):
        width, height = placement.face.size_mm
        assert placement.rms_mm < 0.02 * width
        assert placement.footprint.area > 0.9 * width * height


def test_old_photographs_show_only_what_was_there(demo: Loaded) -> None:
    item = Object.objects.get(accession_number=CANVAS)
    tear = Trace.objects.get(face__object=item, label="tear, lower left")
    looks = Sighting.objects.filter(trace=tear, image__isnull=False)
    told = {s.image.date: s.outcome for s in looks if s.image}
    assert told["1912-06~"] == told["1924-22"] == Seen.NOT_SEEN


def test_no_statement_is_lost_on_the_way_to_the_engine(evidence: dict[str, Evidence]) -> None:
    assert [unused for found in evidence.values() for unused in found.unused] == []


def test_the_planted_letter_is_the_one_contradiction(
    evidence: dict[str, Evidence], solved: dict[str, dict[str, Any]]
) -> None:
    found = solved[CANVAS]
    (conflict,) = found["conflicts"]
    (withdrawn,) = found["withdrawal"]
    assert withdrawn in conflict
    assert evidence[CANVAS].items[withdrawn].says == TRUTH[CANVAS]["false_statements"][0]
    assert all(solved[number]["consistent"] for number in NUMBERS if number != CANVAS)


def test_the_work_that_nobody_recorded_is_found(
    evidence: dict[str, Evidence], solved: dict[str, dict[str, Any]]
) -> None:
    needed = solved[CANVAS]["campaigns_needed"]
    assert needed["undocumented"] == 1
    (group,) = needed["groups"]
    labels = {evidence[CANVAS].entities[key].label for key in group["traces"]}
    assert {f"retouching in the landing {i}" for i in range(1, 7)} <= labels
    (truth,) = TRUTH[CANVAS]["unrecorded_campaigns"]
    assert group["window"][0] <= truth["start"] <= truth["end"] <= group["window"][1]


@pytest.mark.parametrize("number", NUMBERS)
def test_no_bound_excludes_the_truth(
    number: str, demo: Loaded, solved: dict[str, dict[str, Any]]
) -> None:
    item = Object.objects.get(accession_number=number)
    wrong = []
    for entity, points in _truth(item).items():
        group = "traces" if entity.startswith("trace:") else "events"
        for point, day in points.items():
            earliest, latest = solved[number][group][entity][point]
            # No day stands for 'still there', which only an open upper end allows.
            fits = latest is None if day is None else earliest <= day <= (latest or day)
            if not fits:
                wrong.append((entity, point, day, earliest, latest))
    assert wrong == []


def _truth(item: Object) -> dict[str, dict[str, str | None]]:
    """The true days of an object by the engine's ids."""
    told = TRUTH[item.accession_number]
    found: dict[str, dict[str, str | None]] = {}
    for event in told["events"]:
        match event["record"]:
            case "examination":
                record = item.campaigns.get(title=event["campaign"]).examinations.get(
                    technique__code=event["technique"], date=event["date"]
                )
            case kind:
                record = getattr(item, f"{kind}s").get(title=event["title"])
        found[f"{event['record']}:{record.pk}"] = {"start": event["start"], "end": event["end"]}
    traces = {
        (face, number): pk
        for pk, face, number in Trace.objects.filter(face__object=item).values_list(
            "pk", "face__name", "number"
        )
    }
    for trace in told["traces"]:
        pk = traces[trace["face"], trace["number"]]
        found[f"trace:{pk}"] = {"made": trace["made"], "gone": trace["gone"]}
    return found
