"""From an examination's frames to one image of it, through pages and the real task queue."""

import asyncio
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import pyvips
from django.conf import settings
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from procrastinate.contrib.django import app
from procrastinate.contrib.django.models import ProcrastinateJob

from records import mosaics
from records.changes import change
from records.choices import FrameRole, MosaicStage, Role
from records.frames import lay
from records.models import Image, Mosaic, MosaicStep
from reports.tasks import take_up_abandoned
from tests import builders as make
from tests.integration.mosaics.conftest import TWELVE, Taken
from tests.integration.pages.conftest import signed_in_as
from tests.integration.reports.queue import empty_queue, start_worker, work
from tests.unit.imaging.mosaic.cutting import cut, laid_on, picture

pytestmark = pytest.mark.django_db(transaction=True)
GRID = {
    "layout": "grid", "rows": 3, "columns": 4, "order": "rows",
    "overlap_across": 30, "overlap_down": 30,
}  # fmt: skip


def entered(taken: Taken, **more: Any) -> dict[str, Any]:
    """What a conservator fills in."""
    return {
        "title": "Visible light, whole",
        "frames": [image.pk for image in taken.frames] + [taken.dark.pk, taken.flat.pk],
        "darks": [taken.dark.pk],
        "flats": [taken.flat.pk],
        **GRID,
        "pixel_mm": 0.05,
        "freedom": "turn",
        "lens": "estimated",
        "even_exposure": "on",
        **more,
    }


def laid_out(taken: Taken, **more: Any) -> Mosaic:
    client = signed_in_as(Role.CONSERVATOR)
    answer = client.post(reverse("mosaic-new", args=[taken.examination.pk]), entered(taken, **more))
    assert answer.status_code == 302, answer.context["form"].errors
    return Mosaic.objects.get()


def joined(item: Mosaic) -> Mosaic:
    mosaics.begin(item)
    work("mosaics")
    item.refresh_from_db()
    return item


def middles(item: Mosaic) -> Any:
    places = item.frames.filter(role="frame", place__isnull=False).order_by("number")
    return np.array([place[:2] for place in places.values_list("place", flat=True) if place])


def test_it_works(taken: Taken) -> None:
    """Laid out on a page, joined by a worker, read on the page again."""
    item = laid_out(taken)
    client = signed_in_as(Role.CONSERVATOR)
    page = item.get_absolute_url()
    assert "not begun" in client.get(page).content.decode()
    client.post(page)
    shown = client.get(page).content.decode()
    assert "Frames are checked" in shown
    assert "0 of 12" in shown
    work("mosaics")
    item.refresh_from_db()
    assert (item.stage, item.error) == (MosaicStage.READY, "")
    shown = client.get(page).content.decode()
    assert "None: every frame has its place." in shown
    assert "frames of <span" not in shown
    fit = laid_on(middles(item), np.array(taken.cut.middles))
    assert fit.rms_px < 0.5
    report = client.get(reverse("mosaic-report", args=[item.pk])).json()
    assert report["rms_mm"] == pytest.approx(report["rms_px"] * 0.05)
    assert len(report["overlaps"]) == 17
    assert report["seam_median"] < 1


def test_the_result_is_an_image_of_the_examination(taken: Taken) -> None:
    item = joined(laid_out(taken))
    image = item.result
    assert image is not None
    assert image.examination == taken.examination
    page = signed_in_as(Role.SCIENTIST).get(image.get_absolute_url()).content.decode()
    assert f'href="{item.get_absolute_url()}"' in page
    assert str(image.file.name).endswith(".tif")
    assert "Mosaic of 12 frames." in image.note
    assert "k1 =" in image.note
    with image.file.open("rb") as file:
        kept = pyvips.Image.new_from_buffer(file.read(), "")
    assert (kept.width, kept.height) == (image.width_px, image.height_px)
    assert kept.get("n-pages") > 1  # a pyramid inside
    assert kept.xres == pytest.approx(20)  # px per mm
    assert image.width_px > TWELVE.step[0] * 3 + TWELVE.width - 30
    assert not MosaicStep.objects.filter(stage__in=["blocks", "joining"]).exists()
    assert not list((Path(settings.MEDIA_ROOT) / "mosaics").rglob("*.tif"))


def test_joining_again_gives_the_very_same_image(taken: Taken) -> None:
    first = joined(laid_out(taken))
    again = joined(first)
    assert (again.stage, again.result) == (MosaicStage.READY, first.result)
    other = Mosaic.objects.get(pk=first.pk)
    MosaicStep.objects.all().delete()
    assert joined(other).result == first.result
    assert Image.objects.filter(made_as_mosaic__isnull=False).count() == 1


def test_a_killed_worker_is_followed_by_another_and_nothing_is_done_twice(taken: Taken) -> None:
    whole = joined(laid_out(taken))
    assert whole.result is not None
    sums = whole.result.sha256
    Mosaic.objects.filter(pk=whole.pk).update(stage=MosaicStage.NEW, result=None, report=None)
    MosaicStep.objects.all().delete()
    empty_queue()
    mosaics.begin(whole)
    worker = start_worker(Path(settings.MEDIA_ROOT), "mosaics")
    _wait_until(lambda: MosaicStep.objects.filter(stage="offsets", done_at__isnull=False).exists())
    worker.kill()
    worker.wait()
    done = dict(MosaicStep.objects.filter(done_at__isnull=False).values_list("pk", "done_at"))
    assert len(done) > 12
    # What the killed worker held is begun again once it has given no sign of life.
    with connection.cursor() as cursor:
        cursor.execute("UPDATE procrastinate_jobs SET status = 'todo' WHERE status = 'doing'")
    work("mosaics")
    whole.refresh_from_db()
    assert whole.stage == MosaicStage.READY
    kept = dict(MosaicStep.objects.filter(pk__in=done).values_list("pk", "done_at"))
    assert kept == {pk: at for pk, at in done.items() if pk in kept}
    assert whole.result is not None
    assert whole.result.sha256 == sums


def test_a_step_that_stops_every_worker_is_given_up_with_a_sentence_and_can_be_tried_again(
    taken: Taken,
) -> None:
    item = laid_out(taken)
    mosaics.begin(item)
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE procrastinate_jobs SET status = 'doing', attempts = 3 WHERE id ="
            " (SELECT min(id) FROM procrastinate_jobs WHERE queue_name = 'mosaics')"
        )
    work("mosaics")

    async def take_up() -> None:
        with app.replace_connector(app.connector.get_worker_connector()) as working:  # type: ignore[attr-defined]
            async with working.open_async():
                await take_up_abandoned(0)

    asyncio.run(take_up())
    item.refresh_from_db()
    assert item.stage == MosaicStage.FAILED
    assert "stopped 3 times" in item.error
    done = item.steps.filter(done_at__isnull=False)
    assert done.count() == 11
    client = signed_in_as(Role.CONSERVATOR)
    page = item.get_absolute_url()
    assert "Try again" in client.get(page).content.decode()
    client.post(page)
    work("mosaics")
    item.refresh_from_db()
    assert (item.stage, item.error) == (MosaicStage.READY, "")


def test_a_worker_that_died_between_two_stages_is_followed_by_whoever_asks(taken: Taken) -> None:
    item = laid_out(taken)
    mosaics.begin(item)
    empty_queue()
    for step in item.steps.all():
        MosaicStep.objects.filter(pk=step.pk).update(
            result=mosaics.TAKES[MosaicStage.FRAMES](step), done_at=timezone.now()
        )
    assert mosaics.progress(Mosaic.objects.get()) == (12, 12)
    mosaics.begin(item)
    assert Mosaic.objects.get().stage == MosaicStage.OFFSETS


def test_what_the_program_did_not_foresee_is_told_too(
    taken: Taken, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(step: MosaicStep) -> dict[str, Any]:
        raise MemoryError

    item = laid_out(taken)
    mosaics.begin(item)
    monkeypatch.setitem(mosaics.TAKES, MosaicStage.FRAMES, broken)
    with pytest.raises(MemoryError):
        mosaics.take(item.steps.order_by("number")[0].pk)
    item.refresh_from_db()
    assert item.stage == MosaicStage.FAILED
    assert item.error.startswith("Frames are checked, step 1: MemoryError. The task worker's log")


def test_two_workers_share_the_work(taken: Taken) -> None:
    item = laid_out(taken)
    mosaics.begin(item)
    media = Path(settings.MEDIA_ROOT)
    workers = [start_worker(media, "mosaics") for _ in range(2)]
    busy: set[int] = set()

    def ended() -> bool:
        doing = ProcrastinateJob.objects.filter(status="doing", worker__isnull=False)
        busy.update(doing.values_list("worker", flat=True))
        return Mosaic.objects.get().stage in (MosaicStage.READY, MosaicStage.FAILED)

    try:
        _wait_until(ended)
    finally:
        for worker in workers:
            worker.kill()
            worker.wait()
    item.refresh_from_db()
    assert (item.stage, item.error) == (MosaicStage.READY, "")
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT count(*), count(DISTINCT args->>'step_id') FROM procrastinate_jobs"
            " WHERE task_name = 'records.tasks.take_mosaic_step'"
        )
        jobs, steps = cursor.fetchone()
    assert jobs == steps
    assert len(busy) == 2


@pytest.fixture
def store_elsewhere(settings: Any) -> None:
    """A store that no path of this machine leads to."""
    settings.STORAGES = {
        **settings.STORAGES,
        "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    }


@pytest.mark.usefixtures("store_elsewhere")
def test_frames_blocks_and_mosaic_may_lie_in_a_store_that_is_no_disk(
    keep_image: Callable[..., Image], transactional_db: None
) -> None:
    """What workers on several machines share is the database and this store alone."""
    empty_queue()
    look = make.examination(make.canvas())
    made = cut(replace(TWELVE, rows=1, columns=2, k1=0, k2=0), picture("visible"))
    pair = [keep_image(look, f"frame {k}", values) for k, values in enumerate(made.frames)]
    item = make.mosaic(look, rows=1, columns=2, overlap_across=30, overlap_down=30)
    with change(user=None, why="for a test"):
        lay(item, FrameRole.FRAME, pair)
    item = joined(item)
    assert (item.stage, item.error) == (MosaicStage.READY, "")
    assert item.result is not None
    assert item.result.file.storage.exists(str(item.result.file.name))
    assert not Path(item.result.file.path).exists()


def test_frames_without_a_place_are_named(taken: Taken, keep_image: Callable[..., Image]) -> None:
    wrong = np.ascontiguousarray(taken.cut.frames[3][::-1, ::-1])
    taken.frames[6] = keep_image(taken.examination, "frame 7 wrong", wrong)
    deep = taken.cut.frames[9].astype(np.uint16) * 257
    taken.frames[9] = keep_image(taken.examination, "frame 10 deep", deep)
    item = joined(laid_out(taken))
    assert item.stage == MosaicStage.READY
    named = dict(item.frames.exclude(unplaced_why="").values_list("number", "unplaced_why"))
    assert set(named) == {7, 10}
    assert "was recognised" in named[7]
    assert "16 bit" in named[10]
    shown = signed_in_as(Role.SCIENTIST).get(item.get_absolute_url()).content.decode()
    assert "frame 7 wrong" in shown
    assert "their grey values do not mean the same" in shown


def test_a_frame_left_out_with_a_reason_is_not_joined(taken: Taken) -> None:
    item = joined(laid_out(taken, layout="stage_px", positions=_table(taken)))
    first = item.result
    frame = item.frames.get(role="frame", number=4)
    frame.withdraw(user=make.user(Role.CONSERVATOR), why="The lamp was off.")
    again = joined(item)
    assert again.result not in (None, first)
    assert again.report is not None
    assert len(again.report["frames"]) == 11


def test_a_table_of_positions_lays_the_frames(taken: Taken) -> None:
    item = joined(laid_out(taken, layout="stage_px", positions=_table(taken)))
    assert item.stage == MosaicStage.READY
    assert laid_on(middles(item), np.array(taken.cut.middles)).rms_px < 0.5


def test_a_missing_file_stops_the_work_with_a_sentence(taken: Taken) -> None:
    item = laid_out(taken)
    image = taken.frames[2]
    image.file.storage.delete(str(image.file.name))
    item = joined(item)
    assert item.stage == MosaicStage.READY
    (named,) = item.frames.exclude(unplaced_why="")
    assert named.number == 3


def test_frames_that_share_nothing_are_told_so(
    taken: Taken, keep_image: Callable[..., Image]
) -> None:
    rng = np.random.default_rng(3)
    taken.frames = [
        keep_image(taken.examination, f"noise {k}", rng.integers(90, 110, (170, 220), np.uint8))
        for k in range(12)
    ]
    item = joined(laid_out(taken))
    assert item.stage == MosaicStage.FAILED
    assert "No overlap was recognised" in item.error
    assert "where chance alone gives" in item.error
    assert (
        "was not made" in signed_in_as(Role.SCIENTIST).get(item.get_absolute_url()).content.decode()
    )


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"rows": 5}, "5 rows of 4 need 20 frames; 12 are ticked"),
        ({"overlap_down": ""}, "A grid needs this."),
        ({"lens": "given"}, "A lens that is given needs k1"),
        ({"layout": "stage_mm", "pixel_mm": ""}, "Positions in millimetres need the size"),
        ({"layout": "stage_px"}, "12 frames have no position: frame 1, frame 2"),
        ({"layout": "stage_px", "positions": "frame 1, 0, 0\nframe 2, x"}, "Line 2 needs a name"),
    ],
)
def test_what_is_missing_is_said_at_its_field(
    taken: Taken, more: dict[str, Any], words: str
) -> None:
    client: Client = signed_in_as(Role.CONSERVATOR)
    answer = client.post(reverse("mosaic-new", args=[taken.examination.pk]), entered(taken, **more))
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not Mosaic.objects.exists()


def test_a_scientist_reads_and_does_not_begin(taken: Taken) -> None:
    item = laid_out(taken)
    client = signed_in_as(Role.SCIENTIST)
    assert client.get(item.get_absolute_url()).status_code == 200
    assert client.post(item.get_absolute_url()).status_code == 403
    assert Mosaic.objects.get().stage == MosaicStage.NEW


def _table(taken: Taken) -> str:
    lines = ["name, x, y"]
    for image, (x, y) in zip(taken.frames, taken.cut.middles, strict=True):
        lines.append(f"{image.title}, {x + 3:.1f}, {y - 4:.1f}")
    return "\n".join(lines)


def _wait_until(so: Callable[[], bool], most_s: float = 120) -> None:
    deadline = time.monotonic() + most_s
    while not so():
        assert time.monotonic() < deadline, "The worker did not come so far."
        time.sleep(0.1)
