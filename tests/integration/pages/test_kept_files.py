"""Fixity of every kind of kept file: stated when it comes, told when it was altered."""

import contextlib
import hashlib
from pathlib import Path
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from records.changes import change
from records.fixity import file_fields
from records.models import MosaicFrame, Source
from reports.models import Dossier
from tests import builders as make
from tests.integration.pages.conftest import World


def digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def scanned(client: Client, paper: Source, content: bytes) -> None:
    """Keep a scan with a paper, instead of one that is there."""
    address = reverse("source-edit", args=[paper.pk])
    form = client.get(address).context["form"]
    given = {name: form[name].value() or "" for name in form.fields}
    scan = SimpleUploadedFile("letter.pdf", content)
    response = client.post(address, given | {"scan": scan, "why": "Scanned."})
    assert response.status_code == 302
    paper.refresh_from_db()


@pytest.fixture
def kept(world: World, conservator: Client) -> dict[str, Any]:
    """The file of each kind of record by the words that a check has for it."""
    paper: Source = world.source
    scanned(conservator, paper, b"first scan")
    before = paper.scan.name
    scanned(conservator, paper, b"better scan")
    plate = make.photograph(world.object, sha256=digest(b"plate"))
    plate.file.storage.save(plate.file.name, ContentFile(b"plate"))
    section = make.photograph(
        world.object, kind="technical", examination=world.examination, sha256=digest(b"section")
    )
    section.file.storage.save(section.file.name, ContentFile(b"section"))
    with change(user=None, why="for a test"):
        world.preparation.image = section
        world.preparation.save()
    analysis = make.analysis(
        point=world.records["sampling-point"], raw_file=ContentFile(b"spectrum", "spectrum.xy")
    )
    frame = make.recorded(
        MosaicFrame,
        mosaic=world.mosaic,
        number=1,
        name="f1",
        file=ContentFile(b"frame", "f1.tif"),
        sha256=digest(b"frame"),
    )
    dossier = Dossier.objects.create(
        object=world.object,
        requested_by=world.account,
        state="ready",
        file=ContentFile(b"dossier", "dossier.pdf"),
        sha256=digest(b"dossier"),
        page_count=1,
        finished_at=timezone.now(),
    )
    return {
        f"source {paper.pk}": paper.scan.name,
        f"source {paper.pk} as it was before": before,
        f"image {plate.pk}": plate.file.name,
        f"image {section.pk}": section.file.name,
        f"analysis {analysis.pk}": analysis.raw_file.name,
        f"mosaic frame {frame.pk}": frame.file.name,
        f"dossier {dossier.pk}": dossier.file.name,
    }


def test_a_file_of_any_kind_is_named_when_it_is_not_as_it_came(
    kept: dict[str, str], world: World, settings: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(CommandError):
        call_command("check_files")
    told = capsys.readouterr()
    assert f"{len(kept)} files as they came" in told.out
    # The image of the world around the tests has no file.
    assert told.err == f"image {world.image.pk}: “{world.image.file.name}” is missing.\n"
    root = Path(settings.MEDIA_ROOT)
    for number, name in enumerate(kept.values()):
        if number % 2:
            (root / name).write_bytes(b"altered")
        else:
            (root / name).unlink()
    with pytest.raises(CommandError, match=f"{len(kept) + 1} files not as they came"):
        call_command("check_files")
    said = capsys.readouterr().err.splitlines()
    for number, (record, name) in enumerate(kept.items()):
        fault = f"differs: its SHA-256 is {digest(b'altered')}" if number % 2 else "is missing"
        assert f"{record}: “{name}” {fault}." in said


def test_the_sha_256_of_a_scan_is_stated_on_its_paper(
    kept: dict[str, str], world: World, conservator: Client
) -> None:
    page = conservator.get(world.source.get_absolute_url()).content.decode()
    assert digest(b"better scan") in page
    with contextlib.suppress(FileNotFoundError):
        world.source.scan.delete(save=False)
    with change(user=None, why="for a test"):
        world.source.save()
    assert world.source.scan_sha256 == ""


def test_no_record_holds_files_without_their_sha_256() -> None:
    bare = [f"{model.__name__}.{field.name}" for model, field, named in file_fields() if not named]
    assert bare == []
