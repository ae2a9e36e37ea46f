"""Keeping an uploaded file between its check and its import.

The file waits in the media store under `imports/`; the page carries a signed token for it, which
only the person who uploaded it can use, for one day. Files left waiting are removed after that.
"""

from dataclasses import dataclass
from datetime import timedelta
from pathlib import PurePosixPath
from uuid import uuid4

from django.core import signing
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.utils import timezone

from records.models import User

FOLDER = "imports"
SALT = "records.imports.uploads"
WAITS = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Upload:
    """A file that waits, and its name on the person's own machine."""

    stored: str
    filename: str

    def read(self) -> bytes:
        with default_storage.open(self.stored) as file:
            content: bytes = file.read()
        return content

    def discard(self) -> None:
        default_storage.delete(self.stored)

    def token(self, user: User) -> str:
        return signing.dumps([user.pk, self.stored, self.filename], salt=SALT)


def keep(data: bytes, filename: str) -> Upload:
    """Keep a file until it is imported or a day has passed."""
    _sweep()
    stored = default_storage.save(f"{FOLDER}/{uuid4().hex}", ContentFile(data))
    return Upload(stored, PurePosixPath(filename).name)


def waiting(token: str, user: User) -> Upload | None:
    """The file of a token; None when it is somebody else's, too old, or imported already."""
    try:
        owner, stored, filename = signing.loads(token, salt=SALT, max_age=WAITS)
    except signing.BadSignature:
        return None
    if owner != user.pk or not default_storage.exists(stored):
        return None
    return Upload(stored, filename)


def _sweep() -> None:
    if not default_storage.exists(FOLDER):
        return
    for name in default_storage.listdir(FOLDER)[1]:
        stored = f"{FOLDER}/{name}"
        if timezone.now() - default_storage.get_modified_time(stored) > WAITS:
            default_storage.delete(stored)
