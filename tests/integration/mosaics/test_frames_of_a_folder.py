"""Frames that come from the ingest folder, by page and by command."""

import subprocess
from collections import Counter
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import pyvips
from django.conf import settings
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse

from records import frames, mosaics
from records.choices import MosaicStage, Role
from records.fixity import check, kept_files
from records.imaging.originals import readable
from records.models import Examination, Image, Mosaic, MosaicFrame, MosaicStep
from records.versions import versions_of
from tests import builders as make
from tests.integration.mosaics.conftest import TWELVE
from tests.integration.mosaics.test_joining import GRID, joined, middles
from tests.integration.pages.conftest import signed_in_as
from tests.integration.reports.queue import empty_queue, work
from tests.unit.imaging.mosaic.cutting import Cut, cut, laid_on, picture

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def look() -> Examination:
    empty_queue()
    return make.examination(make.canvas())


@pytest.fixture
def folder(tmp_path: Path, settings: Any) -> Path:
    settings.INGEST_ROOT = tmp_path / "ingest"
    made = tmp_path / "ingest" / "plates"
    made.mkdir(parents=True)
    return made


def lay(folder: Path) -> Cut:
    """Twelve numbered frames, a dark and a flat exposure; `2.tif` comes before `10.tif`."""
    made = cut(TWELVE, picture("visible"))
    for number, frame in enumerate(made.frames, 1):
        pyvips.Image.new_from_array(frame).write_to_file(str(folder / f"{number}.tif"))
    for name in ("dark", "flat"):
        values = getattr(made, name)
        pyvips.Image.new_from_array(values).write_to_file(str(folder / f"{name}_1.tif"))
    return made


def pack(folder: Path) -> None:
    """The same pictures as JPEG 2000, without loss."""
    options = ["-q", "-of", "JP2OpenJPEG", "-co", "QUALITY=100", "-co", "REVERSIBLE=YES"]
    for plain in folder.glob("*.tif"):
        packed = plain.with_suffix(".jp2")
        subprocess.run(["gdal_translate", *options, str(plain), str(packed)], check=True)
        plain.unlink()
        packed.with_suffix(".jp2.aux.xml").unlink(missing_ok=True)


def blank(folder: Path, *names: str) -> None:
    """Files that hold nothing worth joining."""
    for shade, name in enumerate(names):
        values = np.full((40, 50), 90 + shade, np.uint8)
        pyvips.Image.new_from_array(values).write_to_file(str(folder / name))


def entered(**more: Any) -> dict[str, Any]:
    return {"title": "From plates", "folder": "plates", **GRID, "freedom": "turn", **more}


def laid_out(look: Examination, **more: Any) -> Mosaic:
    client: Client = signed_in_as(Role.CONSERVATOR)
    answer = client.post(
        reverse("mosaic-new", args=[look.pk]),
        entered(lens="estimated", even_exposure="on", **more),
    )
    assert answer.status_code == 302, answer.context["form"].errors
    return Mosaic.objects.get()


def test_it_works(look: Examination, folder: Path) -> None:
    """Chosen as one folder, fetched by the queue, joined in the order of their numbers."""
    truth = lay(folder)
    client = signed_in_as(Role.CONSERVATOR)
    form = client.get(reverse("mosaic-new", args=[look.pk])).content.decode()
    assert "plates (14 files)" in form
    item = laid_out(look)
    page = client.get(item.get_absolute_url()).content.decode()
    assert "14 files wait in the ingest folder" in page
    form = client.get(reverse("mosaic-new", args=[look.pk])).content.decode()
    assert "plates (14 files)" not in form  # they are on their way
    client.post(item.get_absolute_url())
    assert "Frames are fetched" in client.get(item.get_absolute_url()).content.decode()
    work("mosaics")
    item.refresh_from_db()
    assert (item.stage, item.error) == (MosaicStage.READY, "")
    assert laid_on(middles(item), np.array(truth.middles)).rms_px < 0.5
    roles = dict(item.frames.values_list("name", "role"))
    assert (roles["dark_1.tif"], roles["flat_1.tif"], roles["10.tif"]) == ("dark", "flat", "frame")
    # Kept with the mosaic alone, and gone from the folder; the only image is the mosaic.
    assert not list(folder.iterdir())
    assert Image.objects.get() == item.result
    kept = [file for file in kept_files() if file.record.startswith("mosaic frame")]
    assert len(kept) == 14
    assert {check(file) for file in kept} == {""}
    assert item.frames.filter(file="").count() == 0
    again = joined(item)
    assert again.result == item.result


def test_frames_in_jpeg_2000_make_the_very_image_that_the_same_in_tiff_make(
    look: Examination, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    lay(folder)
    plain = joined(laid_out(look))
    lay(folder)
    pack(folder)
    client = signed_in_as(Role.CONSERVATOR)
    given = entered(lens="estimated", even_exposure="on")
    client.post(reverse("mosaic-new", args=[look.pk]), given)
    opened: Counter[str] = Counter()

    def counting(path: Path) -> Any:
        opened[path.name] += path.suffix == ".jp2"
        return readable(path)

    monkeypatch.setattr(mosaics, "readable", counting)
    packed = joined(Mosaic.objects.exclude(pk=plain.pk).get())
    assert opened.total() == 12 + 2  # each is unpacked once
    assert not list((Path(settings.MEDIA_ROOT) / "mosaics").rglob("*.tif"))
    assert (packed.stage, packed.error) == (MosaicStage.READY, "")
    assert set(packed.frames.values_list("unplaced_why", flat=True)) == {""}
    assert {Path(name).suffix for name in packed.frames.values_list("file", flat=True)} == {".jp2"}
    assert packed.result == plain.result
    frame = packed.frames.all()[0]
    small = client.get(reverse("mosaic-frame-small", args=[packed.pk, frame.pk]))
    assert pyvips.Image.new_from_buffer(small.content, "").width == TWELVE.width


def test_what_cannot_be_a_frame_is_named_and_stays_until_it_is_mended_or_left_out(
    look: Examination, folder: Path
) -> None:
    lay(folder)
    whole = (folder / "3.tif").read_bytes()
    (folder / "3.tif").write_bytes(whole[: len(whole) // 2])
    (folder / "7.tif").write_text("<svg xmlns='http://www.w3.org/2000/svg'/>")
    item = joined(laid_out(look))
    assert item.stage == MosaicStage.FAILED
    assert "2 of the files cannot be frames. “3.tif” is damaged" in item.error
    assert "“7.tif” is an SVG drawing" in item.error
    assert "/tmp" not in item.error
    assert {path.name for path in folder.iterdir()} == {"3.tif", "7.tif"}
    assert item.frames.count() == 12
    (folder / "3.tif").write_bytes(whole)
    client = signed_in_as(Role.CONSERVATOR)
    page = client.get(item.get_absolute_url()).content.decode()
    assert "Try again" in page
    step = MosaicStep.objects.get(mosaic=item, inputs__path="plates/7.tif")
    assert f'name="leave_out" value="{step.pk}"' in page
    client.post(item.get_absolute_url(), {"leave_out": step.pk})
    item = joined(item)
    # The place of the seventh in the grid stays empty; nobody takes its place.
    assert (item.stage, item.error) == (MosaicStage.READY, "")
    assert item.frames.filter(role="frame", place__isnull=False).count() == 11
    assert {path.name for path in folder.iterdir()} == {"7.tif"}


def test_a_file_that_a_killed_worker_had_kept_is_not_kept_twice(
    look: Examination, folder: Path
) -> None:
    blank(folder, "1.tif", "2.tif")
    item = laid_out(look, rows=1, columns=2)
    mosaics.begin(item)
    (first, second) = MosaicStep.objects.order_by("number")
    result = frames.fetch(first)
    source = folder / "1.tif"
    assert not source.exists()
    assert frames.fetch(first) == result
    assert MosaicFrame.objects.get().name == "1.tif"
    (folder / "2.tif").unlink()
    assert frames.fetch(second) == {"refused": "“2.tif” is no longer in the ingest folder."}


def test_a_table_names_files_of_the_folder(look: Examination, folder: Path) -> None:
    blank(folder, "a.tif", "b.tif")
    table = "a, 0, 0\nb.tif, 30, 0"
    item = laid_out(look, layout="stage_px", positions=table)
    places = [step.inputs["place"] for step in MosaicStep.objects.order_by("number")]
    assert places == [[0.0, 0.0], [30.0, 0.0]]
    assert item.stage == MosaicStage.NEW


def test_frames_that_do_not_fill_the_grid_are_counted(look: Examination, folder: Path) -> None:
    blank(folder, "a.tif", "b.tif", "dark.tif")
    answer = signed_in_as(Role.CONSERVATOR).post(
        reverse("mosaic-new", args=[look.pk]), entered(lens="none")
    )
    assert answer.status_code == 422
    assert "3 rows of 4 need 12 frames; 2 lie in the folder." in answer.content.decode()


def command(look: Examination, *more: str) -> list[str]:
    return [
        "join_frames", "plates", f"--examination={look.pk}", "--user=kim", "--title=From plates",
        "--rows=3", "--columns=4", "--overlap-across=30", "--overlap-down=30", *more,
    ]  # fmt: skip


def test_the_command_joins_a_folder_and_tells_what_is_left(
    look: Examination, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lay(folder)
    make.user(Role.CONSERVATOR, username="kim")
    call_command(*command(look, "--dry-run"))
    assert "12 frames; nothing was made" in capsys.readouterr().out
    assert not Mosaic.objects.exists()
    call_command(*command(look, "--lens=estimated", "--pixel-mm=0.05", "--work"))
    told = capsys.readouterr().out
    item = Mosaic.objects.get()
    assert item.stage == MosaicStage.READY
    assert f"12 frames, mosaic {item.pk}" in told
    assert f"mm. Image {item.result_id}." in told
    # Without a folder the images of the examination are its frames; a mosaic is none.
    with pytest.raises(CommandError):
        call_command("join_frames", *command(look)[2:])
    assert "--frames: A mosaic needs two frames at least." in capsys.readouterr().err
    (version,) = versions_of(item.frames.get(name="1.tif"))
    assert version.who == "kim"


def test_the_command_refuses_in_words(
    look: Examination, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    blank(folder, "a.tif", "b.tif")
    make.user(Role.CONSERVATOR, username="kim")
    with pytest.raises(CommandError, match="Nothing was made"):
        call_command(*command(look))
    assert "--rows: 3 rows of 4 need 12 frames" in capsys.readouterr().err
    with pytest.raises(CommandError):
        call_command("join_frames", "elsewhere", *command(look)[2:])
    assert "FOLDER: Select a valid choice" in capsys.readouterr().err
    assert not Mosaic.objects.exists()
