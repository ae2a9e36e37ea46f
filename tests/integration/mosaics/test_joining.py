"""From an examination's frames to one image of it, through pages and the real task queue."""

import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import pyvips
from django.conf import settings
from django.db import connection
from django.test import Client
from django.urls import reverse

from records import mosaics
from records.choices import MosaicStage, Role
from records.models import Image, Mosaic, MosaicStep
from tests import builders as make
from tests.integration.mosaics.conftest import TWELVE, Taken
from tests.integration.pages.conftest import signed_in_as
from tests.integration.reports.queue import empty_queue, start_worker, work
from tests.unit.imaging.mosaic.cutting import laid_on

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


def test_two_workers_share_the_work(taken: Taken) -> None:
    item = laid_out(taken)
    mosaics.begin(item)
    media = Path(settings.MEDIA_ROOT)
    workers = [start_worker(media, "mosaics") for _ in range(2)]
    try:
        _wait_until(lambda: Mosaic.objects.get().stage in (MosaicStage.READY, MosaicStage.FAILED))
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
