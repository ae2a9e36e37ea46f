"""Bytes of a file to its lines, and the one error that every reader raises."""

import codecs
import re
from pathlib import Path

MOST_BYTES = 64 * 1024 * 1024
MOST_POINTS = 2_000_000


class Unreadable(ValueError):  # noqa: N818 - what is told of a file, not a fault of the program
    """The file cannot be read as it stands; says which line (counted from 1) and what to do."""

    def __init__(self, words: str, line: int | None = None) -> None:
        self.words, self.line = words, line
        super().__init__(f"Line {line}: {words}" if line else words)


class ChoiceNeeded(Unreadable):
    """The file is sound, but only a person can say which of its columns are meant."""


def bytes_of(data: bytes | Path) -> bytes:
    """The content, unless there is too much of it."""
    size = data.stat().st_size if isinstance(data, Path) else len(data)
    if size > MOST_BYTES:
        raise Unreadable(
            f"The file has {size / 2**20:.0f} MB; up to {MOST_BYTES // 2**20} MB are read. "
            "Export the measurement by itself."
        )
    if not size:
        raise Unreadable("The file is empty. Export the measurement again.")
    return data.read_bytes() if isinstance(data, Path) else data


def decode(data: bytes) -> str:
    """Text in UTF-8 or UTF-16 (by its byte order mark), else in Windows-1252 or Latin-1.

    Line ends become plain newlines; nothing else is changed.
    """
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        try:
            text = data.decode("utf-16")
        except UnicodeDecodeError as error:
            raise Unreadable(
                "The file begins as UTF-16 text and breaks off. Export it again."
            ) from error
    else:
        if b"\x00" in data:
            where = data[: data.index(b"\x00")].count(b"\n") + 1
            raise Unreadable(
                "holds bytes that no text has. Programs keep measurements in formats of their own: "
                "export as EMSA/MAS, JCAMP-DX, pdCIF or columns of text.",
                where,
            )
        for encoding in ("utf-8-sig", "cp1252", "latin-1"):
            try:
                text = data.decode(encoding)
                break
            except UnicodeDecodeError:
                continue
    if not text.strip():
        raise Unreadable("The file holds nothing but blanks. Export the measurement again.")
    return re.sub(r"\r\n?", "\n", text)


def number(word: str, line: int, what: str) -> float:
    """A finite number with a decimal point."""
    try:
        found = float(word)
    except ValueError:
        found = float("nan")
    if not abs(found) < float("inf"):
        raise Unreadable(f"{what} “{shown(word)}” is no number. Mend it or export again.", line)
    return found


def shown(word: str) -> str:
    """At most 40 characters of what stands in the file."""
    return word if len(word) <= 40 else f"{word[:39]}…"
