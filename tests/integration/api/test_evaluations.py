"""Evaluations through the interface for programs: asked for, found, taken as readings."""

from pathlib import Path
from typing import Any

import pytest
from django.core.files.base import ContentFile
from rest_framework.test import APIClient

from analyses import evaluating
from analyses.models import Analysis, Evaluation, Reading
from records.choices import Role
from tests import builders
from tests.unit.spectra.diffraction.synthetic import pattern

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _files(tmp_path: Path, settings: Any) -> None:
    settings.MEDIA_ROOT = str(tmp_path)


def client(role: Role = Role.SCIENTIST) -> APIClient:
    made = APIClient()
    made.force_authenticate(builders.user(role))
    return made


@pytest.fixture
def rutile() -> Analysis:
    curve = pattern({"rutile": 1.0}, seed=3)
    rows = "\n".join(f"{x:.3f},{y:.0f}" for x, y in zip(curve.x, curve.y, strict=True))
    file = ContentFile(f"two_theta_deg,counts\n{rows}\n".encode(), "layer.csv")
    return builders.analysis("xrd", point=builders.sampling_point(builders.face()), raw_file=file)


def test_a_program_asks_for_one_finds_it_and_takes_readings(rutile: Analysis) -> None:
    scientist = client()
    asked = scientist.post(
        "/api/evaluations/",
        {"analysis": rutile.pk, "given": {"elements": "Ti, O"}},
        format="json",
    )
    assert asked.status_code == 201, asked.data
    assert asked.data["given"] == {"elements": ["Ti", "O"]}
    assert asked.data["done_at"] is None
    evaluating.carry_out(Evaluation.objects.get(pk=asked.data["id"]))

    item = rutile.at_point.face.object_id
    narrowings: list[tuple[dict[str, Any], int]] = [
        ({"object": item, "found": "rutile", "done": True}, 1),
        ({"found": "calcite"}, 0),
        ({"technique": "xrf"}, 0),
        ({"done": False}, 0),
    ]
    for narrowed, count in narrowings:
        assert len(scientist.get("/api/evaluations/", narrowed).data["results"]) == count, narrowed
    address = f"/api/evaluations/{asked.data['id']}/"
    (finding,) = scientist.get(address).data["result"]["findings"]
    assert (finding["code"], finding["certainty"]) == ("rutile", "sure")

    taken = scientist.post(f"{address}take/", {"findings": ["rutile"]}, format="json")
    assert taken.status_code == 201, taken.data
    assert [reading["code"] for reading in taken.data] == ["rutile"]
    assert scientist.post(f"{address}take/", {"findings": ["rutile"]}, format="json").data == []
    assert Reading.objects.get().evaluation_id == asked.data["id"]


def test_what_cannot_be_asked_is_refused_at_its_field(rutile: Analysis) -> None:
    scientist = client()

    def refused(**said: Any) -> dict[str, Any]:
        answer = scientist.post("/api/evaluations/", said, format="json")
        assert answer.status_code == 400
        told: dict[str, Any] = answer.data
        return told

    bare = builders.analysis("xrd", point=rutile.point)
    assert "raw file" in str(refused(analysis=bare.pk)["analysis"])
    assert "anoda" in str(refused(analysis=rutile.pk, given={"anoda": "Cu"})["given"])
    told = refused(analysis=rutile.pk, given={"elements": "Ti, Xx"})
    assert "'Xx' is not the symbol of an element" in str(told["given"])
    evaluation = Evaluation.objects.create(analysis=rutile, result={"findings": []})
    answer = scientist.post(
        f"/api/evaluations/{evaluation.pk}/take/", {"findings": ["gold"]}, format="json"
    )
    assert "Not found there: gold" in str(answer.data["findings"])
    assert not Reading.objects.exists()


def test_only_who_writes_analyses_asks(rutile: Analysis) -> None:
    assert client(Role.COMMITTEE).get("/api/evaluations/").status_code == 403
    reader = client(Role.COMMITTEE)
    assert reader.post("/api/evaluations/", {"analysis": rutile.pk}).status_code == 403
