"""Kept files as paths on this machine, wherever they are stored."""

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.core.files.storage import FileSystemStorage


@contextmanager
def at_hand(file: Any) -> Iterator[Path]:
    """The path of a stored file on this machine; of a copy, while it is kept elsewhere."""
    if isinstance(file.storage, FileSystemStorage):
        yield Path(file.path)
    else:
        with tempfile.NamedTemporaryFile(suffix=Path(file.name).suffix) as copy:
            with file.open("rb") as opened:
                shutil.copyfileobj(opened, copy, 1024 * 1024)
            copy.flush()
            yield Path(copy.name)
