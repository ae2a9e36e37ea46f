"""Images in the real task queue: a worker that is killed, and what the next one makes of it."""

import asyncio
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import pyvips
from django.db import connection
from procrastinate.contrib.django import app

from records import arrivals
from records.changes import change
from records.choices import ArrivalState, Role
from records.models import Arrival, Image, Object, Placement
from records.placing import settle, stamp
from records.tasks import request_redrawing
from reports.tasks import take_up_abandoned
from tests import builders as make
from tests.integration.reports.queue import empty_queue, start_worker, work

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def media(settings: pytest.FixtureRequest) -> Iterator[Path]:
    empty_queue()
    yield Path(settings.MEDIA_ROOT)  # type: ignore[attr-defined]
    empty_queue()


def noise(path: Path) -> Path:
    """Nothing packs worse: making its tiles takes a while."""
    values = np.random.default_rng(7).integers(0, 65535, (4000, 4000), np.uint16)
    pyvips.Image.new_from_array(values).tiffsave(str(path))
    return path


def kept(item: Object, path: Path) -> Image:
    with change(user=None, why="for a test"):
        found = arrivals.examine(path, path.name, item)
        return arrivals.keep(found, item, {"kind": "historical", "title": "Noise"})


def contents(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def free_the_job() -> None:
    """What the program does by itself once a worker has given no sign of life for 30 s."""
    job = app.connector.get_sync_connector().execute_query_one(
        "SELECT id FROM procrastinate_jobs WHERE status = 'doing'"
    )
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT procrastinate_retry_job_v2(%s, now(), null, null, null)", [job["id"]]
        )


def killed_amid_tiles(media: Path, part: Path) -> None:
    """Start a worker, and kill it once it has written tiles into the folder `part`."""
    worker = start_worker(media, "images")
    try:
        deadline = time.monotonic() + 300
        while not list(part.rglob("*.jpg")):
            assert worker.poll() is None, (media / "worker.log").read_text()
            assert time.monotonic() < deadline, "no worker took the work up"
            time.sleep(0.01)
    finally:
        worker.kill()
        worker.wait()
    assert part.exists()
    free_the_job()


def test_tiles_whose_worker_is_killed_are_made_by_the_next_and_are_the_same(
    media: Path, tmp_path: Path
) -> None:
    image = kept(make.canvas(), noise(tmp_path / "noise.tif"))
    part = media / "pyramids" / f"{image.pk}-{image.tiles_stamp}.part"
    killed_amid_tiles(media, part)
    image.refresh_from_db()
    assert (image.pyramid, image.pyramid_error) == ("", "")
    work("images")
    image.refresh_from_db()
    assert (image.pyramid_progress, image.pyramid_error) == (100, "")
    assert not part.exists()
    whole = kept(make.canvas(), tmp_path / "noise.tif")
    work("images")
    whole.refresh_from_db()
    assert contents(media / image.pyramid) == contents(media / whole.pyramid)


def placed(path: Path) -> Placement:
    """A kept image, placed askew; its redrawing is all that waits in the queue."""
    item = make.canvas()
    image = kept(item, path)
    empty_queue()
    px = [(0, 0), (4000, 0), (4000, 4000), (0, 4000), (2000, 1500)]
    points = [{"px": [c, r], "mm": [50 + 0.1 * c + 0.02 * r, 500 - 0.1 * r]} for c, r in px]
    placement = Placement(image=image, face=make.face(item), method="affine", control_points=points)
    settle(placement)
    with change(user=None, why="for a test"):
        placement.save()
        request_redrawing(placement)
    placement.refresh_from_db()
    return placement


def test_a_redrawn_image_whose_worker_is_killed_is_made_by_the_next_and_is_the_same(
    media: Path, tmp_path: Path
) -> None:
    placement = placed(noise(tmp_path / "noise.tif"))
    part = media / "rectified" / f"{placement.pk}-{stamp(placement)}.part"
    killed_amid_tiles(media, part)
    placement.refresh_from_db()
    assert (placement.rectified, placement.rectified_error) == ("", "")
    work("images")
    placement.refresh_from_db()
    assert (placement.rectified_progress, placement.rectified_error) == (100, "")
    assert not part.exists()
    whole = placed(tmp_path / "noise.tif")
    work("images")
    whole.refresh_from_db()
    made, wanted = (contents(media / one.rectified) for one in (placement, whole))
    assert len(made) > 50
    assert made == wanted


def test_a_file_whose_check_was_interrupted_is_checked_again(media: Path) -> None:
    arrival = Arrival(
        object=make.canvas(),
        user=make.user(Role.CONSERVATOR),
        filename="a.png",
        byte_size=1,
        described={"kind": "historical", "title": "A"},
        state=ArrivalState.CHECKING,
    )
    arrival.path.parent.mkdir(parents=True)
    pyvips.Image.black(30, 20).pngsave(str(arrival.path))
    arrival.save()
    # A worker was stopped between the store and the record.
    with change(user=None, why="for a test"):
        found = arrivals.examine(arrival.path, "a.png", arrival.object)
    left = arrivals._store(found, arrival.object)
    arrivals.settle(arrival)
    assert arrival.state == ArrivalState.KEPT
    assert Image.objects.get().file.name == left
    assert [p.name for p in media.rglob("*.png")] == ["a.png"]


def test_an_image_that_stops_every_worker_is_given_up_with_a_sentence(
    media: Path, tmp_path: Path
) -> None:
    path = tmp_path / "a.png"
    pyvips.Image.black(30, 20).pngsave(str(path))
    image = kept(make.canvas(), path)
    with connection.cursor() as cursor:
        cursor.execute("UPDATE procrastinate_jobs SET status = 'doing', attempts = 3")

    async def run() -> None:
        with app.replace_connector(app.connector.get_worker_connector()) as working:  # type: ignore[attr-defined]
            async with working.open_async():
                await take_up_abandoned(0)

    asyncio.run(run())
    image.refresh_from_db()
    assert image.pyramid_progress is None
    assert "stopped 3 times" in image.pyramid_error
