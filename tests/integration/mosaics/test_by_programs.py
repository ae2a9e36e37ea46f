"""Mosaics through the interface for programs: laid out with frames, begun, their report read."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import pyvips
from rest_framework.test import APIClient

from records.choices import MosaicStage, Role
from records.models import Image, Mosaic, MosaicStep
from tests import builders as make
from tests.integration.mosaics.conftest import Taken
from tests.integration.mosaics.test_joining import GRID
from tests.integration.reports.queue import empty_queue, work

pytestmark = pytest.mark.django_db(transaction=True)
PAIR = {**GRID, "rows": 1, "columns": 2}


def client_of(role: Role) -> APIClient:
    made = APIClient()
    made.force_authenticate(make.user(role))
    return made


@pytest.fixture
def pair(keep_image: Callable[..., Image]) -> list[Image]:
    """Two images of one examination, too plain to be joined."""
    empty_queue()
    look = make.examination(make.canvas())
    return [keep_image(look, f"frame {k}", np.full((40, 50), k, np.uint8)) for k in (1, 2)]


def entered(images: list[Image], **more: Any) -> dict[str, Any]:
    look = images[0].examination_id
    return {"examination": look, "title": "By a program", **PAIR, **more}


def test_it_works(taken: Taken) -> None:
    """Created with its frames, joined by a worker, told by its report."""
    client = client_of(Role.CONSERVATOR)
    answer = client.post(
        "/api/mosaics/",
        {
            **entered(taken.frames, **GRID, lens="estimated", pixel_mm=0.05),
            "frames": [image.pk for image in reversed(taken.frames)],
            "darks": [taken.dark.pk],
            "flats": [taken.flat.pk],
        },
        format="json",
    )
    assert answer.status_code == 201, answer.data
    address = f"/api/mosaics/{answer.data['id']}/"
    assert "report" not in answer.data
    laid = client.get("/api/mosaic-frames/", {"mosaic": answer.data["id"], "role": "frame"}).data
    assert [frame["name"] for frame in laid["results"]] == [f"frame {k}" for k in range(1, 13)]
    assert laid["results"][0]["sha256"] == taken.frames[0].sha256
    begun = client.post(f"{address}join/")
    assert (begun.status_code, begun.data["stage"]) == (200, "frames")
    told = client.get(f"{address}report/").data
    assert told == {"stage": "frames", "error": "", "done": 0, "total": 12}
    work("mosaics")
    told = client_of(Role.SCIENTIST).get(f"{address}report/").data
    assert told["stage"] == "ready"
    assert told["rms_px"] < 0.5
    assert told["rms_mm"] == pytest.approx(told["rms_px"] * 0.05)
    assert len(told["overlaps"]) == 17
    image = client.get(address).data["result"]
    assert client.get(f"/api/images/{image}/").data["title"] == "By a program"


@pytest.mark.parametrize(
    ("more", "field", "words"),
    [
        ({"rows": 3}, "rows", "3 rows of 2 need 6 frames; 2 are ticked"),
        ({"folder": "nowhere"}, "folder", "Select a valid choice"),
        ({"layout": "stage_px"}, "positions", "2 frames have no position"),
        ({"layout": "stage_px", "positions": {"frame 1": [0]}}, "positions", "at least 2"),
        ({"lens": "given"}, "k1", "needs k1"),
    ],
)
def test_what_is_wrong_is_said_at_its_field(
    pair: list[Image], more: dict[str, Any], field: str, words: str
) -> None:
    given = {"frames": [image.pk for image in pair], **more}
    answer = client_of(Role.CONSERVATOR).post(
        "/api/mosaics/", entered(pair, **given), format="json"
    )
    assert answer.status_code == 400
    assert words in str(answer.data[field])
    assert not Mosaic.objects.exists()


def test_images_of_another_examination_are_refused(
    pair: list[Image], keep_image: Callable[..., Image]
) -> None:
    other = keep_image(make.examination(make.canvas()), "else", np.zeros((40, 50), np.uint8))
    answer = client_of(Role.CONSERVATOR).post(
        "/api/mosaics/", entered(pair, frames=[pair[0].pk, other.pk]), format="json"
    )
    assert answer.status_code == 400
    assert "frames" in answer.data


def test_a_table_lays_frames(pair: list[Image]) -> None:
    answer = client_of(Role.CONSERVATOR).post(
        "/api/mosaics/",
        entered(
            pair,
            layout="stage_px",
            frames=[image.pk for image in pair],
            positions={"frame 1": [0, 0], "frame 2": [35.5, 2]},
        ),
        format="json",
    )
    assert answer.status_code == 201, answer.data
    (_, second) = Mosaic.objects.get().frames.order_by("number")
    assert (second.stage_x, second.stage_y) == (35.5, 2)


def test_a_folder_of_the_ingest_folder_becomes_frames(
    pair: list[Image], tmp_path: Path, settings: Any
) -> None:
    settings.INGEST_ROOT = tmp_path
    (tmp_path / "plates").mkdir()
    for name in ("2.tif", "10.tif"):
        pyvips.Image.black(50, 40).write_to_file(str(tmp_path / "plates" / name))
    answer = client_of(Role.CONSERVATOR).post(
        "/api/mosaics/", entered(pair, folder="plates"), format="json"
    )
    assert answer.status_code == 201, answer.data
    steps = MosaicStep.objects.order_by("number").values_list("inputs__path", flat=True)
    assert list(steps) == ["plates/2.tif", "plates/10.tif"]


def test_frames_of_a_mosaic_that_is_there_are_added_one_by_one(pair: list[Image]) -> None:
    client = client_of(Role.CONSERVATOR)
    made = client.post("/api/mosaics/", entered(pair), format="json").data
    refused = client.patch(
        f"/api/mosaics/{made['id']}/", {"frames": [pair[0].pk], "why": "more"}, format="json"
    )
    assert refused.status_code == 400
    assert "mosaic-frames" in str(refused.data["frames"])
    added = client.post(
        "/api/mosaic-frames/",
        {"mosaic": made["id"], "number": 9, "name": "frame 1", "image": pair[0].pk},
    )
    assert added.status_code == 201, added.data
    client.post(f"/api/mosaics/{made['id']}/join/")
    work("mosaics")
    assert "two frames at least" in client.get(f"/api/mosaics/{made['id']}/report/").data["error"]


def test_only_those_who_write_records_join_and_nobody_joins_what_is_withdrawn(
    pair: list[Image],
) -> None:
    client = client_of(Role.CONSERVATOR)
    made = client.post("/api/mosaics/", entered(pair), format="json").data
    address = f"/api/mosaics/{made['id']}/"
    assert client_of(Role.SCIENTIST).post(f"{address}join/").status_code == 403
    assert client_of(Role.COMMITTEE).get(f"{address}report/").status_code == 403
    client.post(f"{address}withdraw/", {"why": "begun twice"})
    assert client.post(f"{address}join/").status_code == 404
    assert Mosaic.objects.get().stage == MosaicStage.NEW
