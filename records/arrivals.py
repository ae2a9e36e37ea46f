"""How an image file becomes a record: the one way for page, ingest folder, command and interface.

A file is examined where it lies on this machine, then kept. What is refused leaves nothing behind:
no record, no file in the store. Whatever is interrupted can be done again.
"""

import contextlib
import os
import shutil
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import timedelta
from pathlib import Path, PurePath
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.core.files.base import File
from django.core.files.storage import default_storage
from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.text import get_valid_filename

from records.changes import change
from records.choices import ArrivalState
from records.fixity import sha256_of
from records.imaging.originals import (
    ENDINGS,
    Histogram,
    Original,
    OriginalError,
    probe,
    read_through,
)
from records.models import Arrival, Image, Object, User
from records.models.arrivals import FOLDER
from records.refusals import explain

LONGEST_NAME = 50
GOES_STALE = timedelta(days=7)
SETTLED = (ArrivalState.KEPT, ArrivalState.KNOWN, ArrivalState.REFUSED)


class KnownError(Exception):
    """The very file is among the object's images already."""

    def __init__(self, image: Image) -> None:
        super().__init__(f"is already among the images of this object, as “{image}”. Leave it out.")
        self.image = image


@dataclass(frozen=True, slots=True)
class Examined:
    """A file that may be kept: where it lies, and all that was found in it."""

    path: Path
    filename: str
    sha256: str
    byte_size: int
    original: Original
    histogram: Histogram


def lay(file: Any) -> Path:
    """Write a file that came with a request to this machine's disk, in a folder of its own."""
    path = Path(settings.MEDIA_ROOT) / FOLDER / uuid4().hex / "file"
    path.parent.mkdir(parents=True)
    with path.open("wb") as copy:
        for piece in file.chunks():
            copy.write(piece)
    return path


def examine(path: Path, filename: str, item: Object) -> Examined:
    """Read a file to its end. Raises OriginalError or KnownError, in words, for what is refused."""
    original = probe(path, filename, most_pixels=settings.MOST_IMAGE_PIXELS)
    digest = sha256_of(path)
    if (there := _known(item, digest)) is not None:
        raise KnownError(there)
    return Examined(path, filename, digest, path.stat().st_size, original, read_through(path))


def _known(item: Object, digest: str) -> Image | None:
    return Image.objects.filter(object=item, sha256=digest, withdrawn_at=None).first()


def facts(original: Original, histogram: Histogram) -> dict[str, Any]:
    """What is read from a file, as fields of its image."""
    return {
        "width_px": original.width_px,
        "height_px": original.height_px,
        "media_type": original.format.media_type,
        "bands": original.bands,
        "sample_type": original.sample_type,
        "metadata": original.metadata,
        "histogram": asdict(histogram),
    }


def keep(file: Examined, item: Object, described: Mapping[str, Any]) -> Image:
    """Put an examined file into the store, record it and ask for its tiles, within a `change`.

    `described` has fields of the image. The file at its first place is left for the caller to
    remove once the change is done; the stored one is removed here when the change is refused.
    """
    from records.tasks import request_pyramid

    image = Image(
        object=item,
        sha256=file.sha256,
        byte_size=file.byte_size,
        **facts(file.original, file.histogram),
        **described,
    )
    image.file.name = _store(file, item)
    try:
        with transaction.atomic():
            image.save()
    except BaseException:
        default_storage.delete(image.file.name)
        raise
    request_pyramid(image.pk)
    return image


def _store(file: Examined, item: Object) -> str:
    """Copy or link the file into the store; returns its name there.

    The name follows from the contents, so that doing it again after an interruption replaces what
    was left instead of adding to it.
    """
    plain = PurePath(get_valid_filename(PurePath(file.filename).name))
    name = f"images/{item.pk}/{file.sha256[:16]}/{plain.stem[:LONGEST_NAME]}{plain.suffix.lower()}"
    if default_storage.exists(name) and not Image.objects.filter(file=name).exists():
        default_storage.delete(name)
    spare = file.path.with_name(file.path.name + ".link")
    spare.unlink(missing_ok=True)
    try:
        os.link(file.path, spare)
    except OSError:
        shutil.copyfile(file.path, spare)
    try:
        with Moving(spare) as moving:
            return default_storage.save(name, moving)
    finally:
        spare.unlink(missing_ok=True)


class Moving(File):  # type: ignore[type-arg]
    """A file that a store on the same disk may take by moving it."""

    def __init__(self, path: Path) -> None:
        super().__init__(path.open("rb"), name=path.name)
        self._path = path

    def temporary_file_path(self) -> str:
        return str(self._path)


def describe(given: Mapping[str, Any], filename: str, *, many: bool) -> dict[str, Any]:
    """Fields of an image from what a form says of one or many files."""
    name = PurePath(filename).stem.replace("_", " ")
    title = given.get("title") or name
    if given.get("title") and many:
        title = f"{given['title']}, {name}"
    look, paper = given.get("examination"), given.get("source")
    return {
        "kind": given["kind"],
        "examination_id": look.pk if look else None,
        "source_id": paper.pk if paper else None,
        "title": title[:200],
        "date": given.get("date") or "",
    }


def in_ingest_folder() -> list[Path]:
    """Image files that lie in the ingest folder, by their path in it; hidden ones are left out."""
    root = Path(settings.INGEST_ROOT)
    found = [
        path.relative_to(root)
        for path in root.rglob("*")
        if path.suffix.lower() in ENDINGS and path.is_file() and not path.is_symlink()
    ]
    return sorted(path for path in found if not any(part.startswith(".") for part in path.parts))


def pick_up(name: Path, item: Object, user: User, described: Mapping[str, Any]) -> Arrival:
    """Announce a file of the ingest folder; `settle` does the rest."""
    size = (Path(settings.INGEST_ROOT) / name).stat().st_size
    return Arrival.objects.create(
        object=item,
        user=user,
        filename=name.name,
        byte_size=size,
        described=dict(described),
        in_folder=str(name),
        state=ArrivalState.WAITING,
    )


def settle(arrival: Arrival) -> None:
    """Check a file that has come and keep it, or refuse it in words. Bears being done again.

    A file of the ingest folder is copied first and removed there once it is kept.
    """
    if arrival.state in SETTLED:
        clear(arrival)
        return
    arrival.state = ArrivalState.CHECKING
    arrival.save()
    try:
        if arrival.in_folder:
            _fetch(arrival)
        examined = examine(arrival.path, arrival.filename, arrival.object)
        with change(user=arrival.user, why="recorded"):
            arrival.image = keep(examined, arrival.object, arrival.described)
            arrival.state = ArrivalState.KEPT
            arrival.save()
    except OriginalError as error:
        _end(arrival, ArrivalState.REFUSED, f"“{arrival.filename}” {error}")
    except KnownError as known:
        arrival.image = known.image
        _end(arrival, ArrivalState.KNOWN, f"“{arrival.filename}” {known}")
    except IntegrityError as error:
        words = " ".join(explain(error, Image).values())
        _end(arrival, ArrivalState.REFUSED, f"“{arrival.filename}” was not kept: {words}")
    except FileNotFoundError:
        _end(arrival, ArrivalState.REFUSED, f"“{arrival.filename}” is no longer there.")
    clear(arrival)


def _end(arrival: Arrival, state: ArrivalState, problem: str) -> None:
    arrival.state, arrival.problem = state, problem
    arrival.save()


def _fetch(arrival: Arrival) -> None:
    arrival.path.parent.mkdir(parents=True, exist_ok=True)
    copy_unaltered(Path(settings.INGEST_ROOT) / arrival.in_folder, arrival.path)


def copy_unaltered(source: Path, target: Path) -> None:
    """Copy a file of the ingest folder, and see that the copy is what lies there.

    Raises OriginalError when it is not, FileNotFoundError when the file is gone.
    """
    before = source.stat()
    shutil.copyfile(source, target)
    with target.open("rb") as copy:
        os.fsync(copy.fileno())
    after = source.stat()
    if (before.st_size, before.st_mtime_ns) != (after.st_size, after.st_mtime_ns):
        raise OriginalError("is still being written: take it once it is whole.")
    if sha256_of(source) != sha256_of(target):
        raise OriginalError("could not be copied unaltered. Check the disk, then try again.")


def clear(arrival: Arrival) -> None:
    """Remove what a settled arrival leaves on the disk: its bytes, and in the ingest folder the
    original, if it was kept."""
    if arrival.in_folder and arrival.state == ArrivalState.KEPT:
        (Path(settings.INGEST_ROOT) / arrival.in_folder).unlink(missing_ok=True)
    shutil.rmtree(arrival.path.parent, ignore_errors=True)


def discard(arrival: Arrival) -> None:
    """Give up a file that has not come to its end."""
    shutil.rmtree(arrival.path.parent, ignore_errors=True)
    arrival.delete()


def sweep() -> None:
    """Forget what nobody has gone on with for a week."""
    with contextlib.suppress(OSError):
        for arrival in Arrival.objects.filter(changed_at__lt=timezone.now() - GOES_STALE):
            discard(arrival)
