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
    """Every file of every record that carries a SHA-256 for it.

    The SHA-256 of a field `file` is `sha256` (or `file_sha256`), that of `raw_file` `raw_sha256`.
    """
    for model in apps.get_models():
        if model._meta.proxy or model.__name__.endswith("Version"):
            continue
        names = {field.name for field in model._meta.concrete_fields}
        for field in model._meta.concrete_fields:
            if not isinstance(field, models.FileField):
                continue
            stem = field.name.removesuffix("file").rstrip("_")
            wanted = [f"{field.name}_sha256", f"{stem}_sha256" if stem else "sha256"]
            digest = next((name for name in wanted if name in names), None)
            if digest is None:
                continue
            rows = model._default_manager.exclude(**{field.name: ""}).exclude(**{digest: ""})
            for row in rows.only(field.name, digest).order_by("pk").iterator():
                words = f"{model._meta.verbose_name} {row.pk}"
                file = getattr(row, field.name)
                yield KeptFile(words, str(file.name), field.storage, str(getattr(row, digest)))


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
