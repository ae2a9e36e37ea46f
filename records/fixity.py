"""Fixity: the SHA-256 of a file, by which it can be shown to be unaltered."""

import hashlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from django.apps import apps
from django.core.files.storage import Storage
from django.db import models
from django.utils import timezone

PIECE = 1024 * 1024


def sha256(file: Any) -> str:
    """Hexadecimal SHA-256 of a Django file, read in pieces; the file is left at its start."""
    digest = hashlib.sha256()
    for piece in file.chunks():
        digest.update(piece)
    file.seek(0)
    return digest.hexdigest()


def sha256_of(path: Path) -> str:
    """Hexadecimal SHA-256 of a file on this machine, read in pieces."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


class KeptFile(NamedTuple):
    """A file of a record, and the SHA-256 that was stated when it came."""

    record: str
    name: str
    storage: Storage
    sha256: str


def kept_files() -> Iterator[KeptFile]:
    """Every file of every record, and of every earlier version whose file was another.

    Yields each file once, with the SHA-256 stated for it when it came.
    """
    told = set()
    # Versions come last, so that a file is named by the record that has it now.
    for model, field, digest in sorted(file_fields(), key=lambda one: hasattr(one[0], "pgh_id")):
        if digest is None:
            continue
        rows = model._default_manager.exclude(**{field.name: ""}).exclude(**{digest: ""})
        for row in rows.only(field.name, digest).order_by("pk").iterator():
            name, stated = str(getattr(row, field.name)), str(getattr(row, digest))
            if (name, stated) not in told:
                told.add((name, stated))
                yield KeptFile(_words(row), name, field.storage, stated)


def _words(row: Any) -> str:
    if hasattr(row, "pgh_obj_id"):
        return f"{row.pgh_tracked_model._meta.verbose_name} {row.pgh_obj_id} as it was before"
    return f"{row._meta.verbose_name} {row.pk}"


def file_fields() -> Iterator[tuple[Any, Any, str | None]]:
    """Every model with a field of files, and the field of their SHA-256.

    That of a field `file` is `sha256`, of `raw_file` `raw_sha256`, of `scan` `scan_sha256`.
    """
    for model in apps.get_models():
        names = {field.name for field in model._meta.concrete_fields}
        for field in model._meta.concrete_fields:
            if isinstance(field, models.FileField) and not model._meta.proxy:
                stem = field.name.removesuffix("file").rstrip("_")
                digest = f"{stem}_sha256" if stem else "sha256"
                yield model, field, digest if digest in names else None


def check(kept: KeptFile) -> str:
    """Read a file, compare it, and keep when that was done; the fault in words, '' for none."""
    from records.models import FileCheck

    digest = hashlib.sha256()
    try:
        with kept.storage.open(kept.name) as file:
            for piece in file.chunks(PIECE):
                digest.update(piece)
        found = digest.hexdigest()
        fault = "" if found == kept.sha256 else f"differs: its SHA-256 is {found}"
    except FileNotFoundError:
        fault = "is missing"
    except OSError as error:
        fault = f"cannot be read: {error.strerror or error}"[:200]
    FileCheck.objects.update_or_create(
        name=kept.name, defaults={"checked_at": timezone.now(), "fault": fault}
    )
    return fault
