"""Dossiers built through the real task queue, and what is guaranteed about them."""

import asyncio
import hashlib
import io
import time
from pathlib import Path
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import FileSystemStorage
from django.core.management import CommandError, call_command
from django.db import DatabaseError, connection, transaction
from procrastinate.contrib.django import app
from procrastinate.contrib.django.models import ProcrastinateJob
from pypdf import PdfReader

from reports import building, pdf
from reports.choices import DossierState
from reports.models import Dossier
from reports.tasks import take_up_abandoned
from reports.verification import Outcome, verify_file
from tests.integration.reports.conftest import Small, small_object
from tests.integration.reports.queue import empty_queue, start_worker, work

pytestmark = pytest.mark.django_db(transaction=True)
REQUEST = "May the painting travel to the summer exhibition?"


@pytest.fixture
def item(transactional_db: None) -> Small:
    empty_queue()
    return small_object()


def asked(item: Small, **given: Any) -> Dossier:
    return building.ask_for(item.object, by=item.conservator, request=REQUEST, **given)


def built(item: Small) -> Dossier:
    dossier = asked(item)
    work()
    dossier.refresh_from_db()
    assert dossier.state == DossierState.READY, dossier.error
    return dossier


def read(dossier: Dossier) -> PdfReader:
    with dossier.file.open("rb") as kept:
        return PdfReader(io.BytesIO(kept.read()))


def text_of(reader: PdfReader) -> str:
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


def test_a_dossier_holds_every_section_and_what_was_recorded(item: Small) -> None:
    dossier = built(item)
    reader = read(dossier)
    text = text_of(reader)
    for title in pdf.TITLES.values():
        assert title in text
    for words in (
        "The Ferry at Low Water",
        REQUEST,
        "One width of linen on a stretcher",
        "150 ± 4 cm²",
        "Glue-paste lining",
        "Spring exhibition",
        "Store 1 → North gallery",
        "Lead throughout the layer.",
        "Letter of the owner",
        "relined before the spring show",
        "The letter confuses two paintings.",
        "titanium white at recto P1",
        "No dry sanding",
        "licensed or qualified practitioners",
        "unaltered",
        "sha256sum",
        "loss, since filled",
    ):
        assert words in text, words


def test_a_finished_dossier_carries_its_fixity_and_its_page_count(item: Small) -> None:
    dossier = built(item)
    with dossier.file.open("rb") as kept:
        assert hashlib.sha256(kept.read()).hexdigest() == dossier.sha256
    assert dossier.page_count == len(read(dossier).pages) > 10
    assert dossier.progress == 100
    assert len(dossier.case_sha256) == 64
    assert dossier.case_sha256[:12] in text_of(read(dossier))


def test_the_pdf_can_be_found_one_s_way_in_without_seeing_it(item: Small) -> None:
    reader = read(built(item))
    assert reader.metadata is not None
    assert "The Ferry at Low Water" in (reader.metadata.title or "")
    root: Any = reader.root_object
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en-GB"
    outline = [entry.title for entry in reader.outline if not isinstance(entry, list)]
    assert [title for title in pdf.TITLES.values() if title in outline] == list(pdf.TITLES.values())


def test_the_evidence_travels_with_the_pdf(item: Small) -> None:
    attached = read(built(item)).attachments
    assert set(attached) == {"case.json", "reconstruction.json"}
    assert b'"evidence"' in attached["case.json"][0]


def test_a_finished_dossier_can_no_longer_be_changed(item: Small) -> None:
    dossier = built(item)
    for change in ({"request": "another"}, {"sha256": "0" * 64}, {"file": "other.pdf"}):
        with pytest.raises(DatabaseError), transaction.atomic():
            Dossier.objects.filter(pk=dossier.pk).update(**change)
    with pytest.raises(DatabaseError), transaction.atomic():
        dossier.delete()


def test_building_a_finished_dossier_again_changes_nothing(item: Small) -> None:
    dossier = built(item)
    building.build(dossier.pk)
    again = Dossier.objects.get(pk=dossier.pk)
    assert (again.sha256, again.file.name) == (dossier.sha256, dossier.file.name)


def test_a_failure_is_told_in_a_sentence_and_can_be_asked_for_again(
    item: Small, monkeypatch: pytest.MonkeyPatch
) -> None:
    dossier = asked(item)

    def full(*_args: Any, **_kwargs: Any) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as disk:
        disk.setattr(FileSystemStorage, "_save", full)
        work()
    dossier.refresh_from_db()
    assert dossier.state == DossierState.FAILED
    assert "No space left on device" in dossier.error
    assert dossier.error.endswith("then ask for it again.")
    assert building.ask_again(dossier)
    work()
    dossier.refresh_from_db()
    assert (dossier.state, dossier.error) == (DossierState.READY, "")
    assert not building.ask_again(dossier)


def test_a_missing_or_altered_image_is_told_and_does_not_stop_the_dossier(item: Small) -> None:
    with item.picture.file.open("rb") as kept:
        content = kept.read()
    Path(item.picture.file.path).write_bytes(content + b"\0")
    other = item.object.images.exclude(pk=item.picture.pk).get()
    Path(other.file.path).unlink()
    text = text_of(read(built(item)))
    assert "file differs" in text
    assert "file is missing" in text


def test_progress_is_seen_while_the_dossier_is_being_made(
    item: Small, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(building, "TELL_EVERY_S", 0)
    seen: list[tuple[int, str]] = []
    row_of = building.Telling.__call__

    def told(self: building.Telling, percent: float, words: str) -> None:
        row_of(self, percent, words)
        row = Dossier.objects.get(pk=dossier.pk)
        seen.append((row.progress, row.step))

    monkeypatch.setattr(building.Telling, "__call__", told)
    dossier = asked(item)
    work()
    percents = [percent for percent, _ in seen]
    assert percents == sorted(percents)
    steps = " ".join(step for _, step in seen)
    for words in ("Working out the history", "Drawing surface maps", "Laying out page"):
        assert words in steps


def test_a_build_whose_worker_is_killed_is_taken_up_again(item: Small, media: Path) -> None:
    dossier = asked(item)
    worker = start_worker(media)
    try:
        deadline = time.monotonic() + 300
        while not _is_under_way(dossier):
            assert worker.poll() is None, (media / "worker.log").read_text()
            assert time.monotonic() < deadline, "no worker took the dossier up"
            time.sleep(0.05)
    finally:
        worker.kill()
        worker.wait()
    assert Dossier.objects.get(pk=dossier.pk).state == DossierState.BUILDING
    work()  # finds nothing to do: the job still belongs to the dead worker
    assert Dossier.objects.get(pk=dossier.pk).state == DossierState.BUILDING
    _let_time_pass()
    _take_up()
    work()
    dossier.refresh_from_db()
    assert dossier.state == DossierState.READY
    with dossier.file.open("rb") as kept:
        assert hashlib.sha256(kept.read()).hexdigest() == dossier.sha256
    assert [p.suffix for p in (media / "dossiers").iterdir()] == [".pdf"]


def test_a_build_that_kills_every_worker_is_given_up_with_a_sentence(item: Small) -> None:
    dossier = asked(item)
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE procrastinate_jobs SET status = 'doing', attempts = 3 WHERE task_name = %s",
            ["build_dossier"],
        )
    _take_up()
    dossier.refresh_from_db()
    assert dossier.state == DossierState.FAILED
    assert "stopped 3 times" in dossier.error
    assert ProcrastinateJob.objects.get(task_name="build_dossier").status == "failed"


def test_the_command_builds_follows_and_prints_the_path(item: Small) -> None:
    told, steps = io.StringIO(), io.StringIO()
    call_command(
        "build_dossier", "T.1", work=True, by=item.conservator.username, stdout=told, stderr=steps
    )
    path = Path(told.getvalue().split()[-1])
    assert path.read_bytes().startswith(b"%PDF-")
    verdict = io.StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command("verify_dossier", str(path), stdout=verdict)
    assert ended.value.code == 0
    assert "as it was made" in verdict.getvalue()


def test_an_altered_copy_still_tells_which_dossier_it_was(item: Small) -> None:
    dossier = built(item)
    with dossier.file.open("rb") as kept:
        content = bytearray(kept.read())
    content[len(content) // 2] ^= 1
    verdict = verify_file(ContentFile(bytes(content)))
    assert (verdict.outcome, verdict.dossier) == (Outcome.DIFFERS, dossier)
    assert f"says that it is dossier {dossier.pk}" in verdict.words


def test_the_command_names_what_it_does_not_find(item: Small) -> None:
    with pytest.raises(CommandError, match=r"no object with the number 'T\.99'"):
        call_command("build_dossier", "T.99")
    with pytest.raises(CommandError, match="no account 'nobody'"):
        call_command("build_dossier", "T.1", by="nobody")


def _is_under_way(dossier: Dossier) -> bool:
    row = Dossier.objects.get(pk=dossier.pk)
    return row.state == DossierState.BUILDING and row.step != "Starting"


def _let_time_pass() -> None:
    """Make the last signs of life of every worker a minute old."""
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE procrastinate_workers SET last_heartbeat = now() - interval '1 minute'"
        )


def _take_up() -> None:
    async def run() -> None:
        connector = app.connector.get_worker_connector()  # type: ignore[attr-defined]
        with app.replace_connector(connector) as working:
            async with working.open_async():
                await take_up_abandoned(0)

    asyncio.run(run())
