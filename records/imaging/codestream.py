"""The head of a JPEG 2000 file: its size, and the profile and notes that it carries.

Boxes after ISO/IEC 15444-1 annex I, the size of the codestream after its annex A.5.1.
"""

import struct
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, BinaryIO

import pyvips

BOXES = b"\0\0\0\x0cjP  \r\n\x87\n"
BARE = b"\xff\x4f\xff\x51"
# Which universal identifiers mark a box of XMP and of EXIF: from memory, checked by a test against
# a file that another program has written.
XMP = bytes.fromhex("be7acfcb97a942e89c71999491e3afac")
EXIF = b"JpgTiffExif->JP2"
LONGEST_NOTE = 16 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class Head:
    """What stands before the pixels."""

    width: int
    height: int
    bands: int
    bits: int
    notes: dict[str, bytes] = field(default_factory=dict)

    def as_image(self) -> Any:
        """An empty picture that carries the notes under the names libvips has for them."""
        image = pyvips.Image.black(1, 1).copy()
        for name, value in self.notes.items():
            image.set_type(pyvips.GValue.blob_type, name, value)
        return image


def read_head(path: Path) -> Head:
    """Read the head of a file. Raises ValueError when it is not as the standard says."""
    notes: dict[str, bytes] = {}
    with path.open("rb") as file:
        if file.read(4) == BARE:
            return _sized(file, 0, notes)
        for kind, start, length in _boxes(file, 0, path.stat().st_size):
            if kind == b"jp2h":
                for inner, at, size in list(_boxes(file, start, start + length)):
                    if inner == b"colr" and (text := _content(file, at, size))[:1] == b"\x02":
                        notes["icc-profile-data"] = text[3:]
            elif kind == b"uuid":
                text = _content(file, start, length)
                if text[:16] == XMP:
                    notes["xmp-data"] = text[16:]
                elif text[:16] == EXIF:
                    notes["exif-data"] = text[16:]
            elif kind == b"jp2c":
                return _sized(file, start, notes)
    raise ValueError("it has no codestream")


def _boxes(file: BinaryIO, start: int, end: int) -> Iterator[tuple[bytes, int, int]]:
    """Kind, start and length of the contents of each box."""
    while start + 8 <= end:
        file.seek(start)
        length, kind = struct.unpack(">I4s", file.read(8))
        head = 8
        if length == 1:
            (length,) = struct.unpack(">Q", file.read(8))
            head = 16
        length = length or end - start
        if length < head:
            raise ValueError("a box ends before it begins")
        yield kind, start + head, length - head
        start += length


def _content(file: BinaryIO, start: int, length: int) -> bytes:
    file.seek(start)
    return file.read(min(length, LONGEST_NOTE))


def _sized(file: BinaryIO, start: int, notes: dict[str, bytes]) -> Head:
    file.seek(start)
    head = file.read(43)
    if len(head) < 43 or head[:4] != BARE:
        raise ValueError("its codestream does not begin with a size")
    right, bottom, left, top = struct.unpack_from(">4I", head, 8)
    bands, bits = struct.unpack_from(">HB", head, 40)
    if right <= left or bottom <= top or not bands:
        raise ValueError("its size is nothing")
    return Head(right - left, bottom - top, bands, (bits & 0x7F) + 1, notes)
