"""Fixity: the SHA-256 of a file, by which it can be shown to be unaltered."""

import hashlib
from typing import Any


def sha256(file: Any) -> str:
    """Hexadecimal SHA-256 of a Django file, read in pieces; the file is left at its start."""
    digest = hashlib.sha256()
    for piece in file.chunks():
        digest.update(piece)
    file.seek(0)
    return digest.hexdigest()
