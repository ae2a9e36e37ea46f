"""Image files as they come: what they are, what they say of themselves, and whether to refuse them.

Pure: files in, facts out. A file is known by its contents, never by its name; only the readers of
the formats below ever see it, and each reads it from top to bottom in a bounded amount of memory.
JPEG 2000 is unpacked into a plain TIFF first, by GDAL, because libvips as installed cannot read it.
"""

import base64
import contextlib
import re
import struct
import subprocess
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path, PurePath
from typing import Any, NamedTuple

import numpy as np
import pyvips
from numpy.typing import NDArray

from records.imaging import codestream
from records.imaging.metadata import read_metadata

# Nothing but the three readers named below is let near a file that came from outside.
pyvips.block_untrusted_set(True)

MOST_PIXELS = 4_000_000_000
# An interlaced file cannot be read from top to bottom: it has to fit into memory whole.
MOST_INTERLACED_PIXELS = 150_000_000
MOST_BANDS = 4
# Pictures are packed to a hundredth at most; what unpacks further is made to fill the memory.
MOST_DIRECTORIES = 1000
SUSPECT_BYTES, SUSPECT_RATIO = 500_000_000, 500
BINS = 256
CUT = 0.001  # share of the darkest and of the lightest values that a window of itself leaves out
FOLDERS = re.compile(r"/(?:[^\s/]+/)+")


Box = tuple[int, int, int, int]
"""Left, top, width and height of a part in pixels."""


class OriginalError(ValueError):
    """The file is refused; the message is a sentence for people, to follow the file's name."""


class Format(NamedTuple):
    """A format that is kept."""

    words: str
    media_type: str
    endings: tuple[str, ...]


TIFF = Format("a TIFF", "image/tiff", (".tif", ".tiff", ".btf", ".tf8"))
JPEG = Format("a JPEG", "image/jpeg", (".jpg", ".jpeg", ".jpe", ".jfif"))
PNG = Format("a PNG", "image/png", (".png",))
JPEG2000 = Format("a JPEG 2000", "image/jp2", (".jp2", ".jpx", ".jpf", ".j2k", ".j2c", ".jpc"))
FORMATS = (TIFF, JPEG, PNG, JPEG2000)
ENDINGS = tuple(ending for kind in FORMATS for ending in kind.endings)
ACCEPTED = "Keep TIFF, JPEG, PNG or JPEG 2000"

BEGINNINGS: tuple[tuple[bytes, Format], ...] = (
    (b"II*\0", TIFF),
    (b"MM\0*", TIFF),
    (b"II+\0", TIFF),
    (b"MM\0+", TIFF),
    (b"\xff\xd8\xff", JPEG),
    (b"\x89PNG\r\n\x1a\n", PNG),
    (codestream.BOXES, JPEG2000),
    (codestream.BARE, JPEG2000),
)
REFUSED: tuple[tuple[bytes, str], ...] = (
    (b"GIF8", "is a GIF, which may move and has few colours"),
    (b"%PDF", "is a PDF: keep it as a paper, or save its pictures by themselves"),
    (b"PK\x03\x04", "is a packed folder: unpack it first"),
    (b"<svg", "is an SVG drawing, which may hold script"),
    (b"<?xml", "is an XML text (an SVG drawing may hold script)"),
    (b"<!doctype", "is a text with markup"),
    (b"<html", "is a web page"),
    (b"\0\0\0\x0cjxl ", "is a JPEG XL"),
    (b"BM", "is a Windows bitmap"),
)
SAMPLE_TYPES = {
    "uchar": "uint8",
    "char": "int8",
    "ushort": "uint16",
    "short": "int16",
    "uint": "uint32",
    "int": "int32",
    "float": "float32",
    "double": "float64",
}


@dataclass(frozen=True, slots=True)
class Original:
    """What the head of a file says."""

    format: Format
    width_px: int
    height_px: int
    bands: int
    sample_type: str
    metadata: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Histogram:
    """How often each value occurs: `counts` in 256 equal steps from `low` to `high`.

    `dark` and `light` leave out a thousandth of the values at either end. Values that are not
    numbers are not counted.
    """

    low: float
    high: float
    counts: list[int]
    dark: float
    light: float


def format_of(path: Path) -> Format:
    """The format of a file by how it begins. Raises OriginalError for any other."""
    with path.open("rb") as file:
        start = file.read(64)
    if not start:
        raise OriginalError("is empty: it may not have been copied to its end.")
    for beginning, kind in BEGINNINGS:
        if start.startswith(beginning):
            return kind
    plain = start.lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    words = next((words for mark, words in REFUSED if plain.startswith(mark.lower())), "")
    if start.startswith(b"RIFF") and start[8:12] == b"WEBP":
        words = "is a WebP, which may move"
    if start[4:8] == b"ftyp":
        words = "is a HEIF picture or a film"
    raise OriginalError(f"{words or 'is not an image that can be opened'}. {ACCEPTED}.")


def probe(path: Path, name: str, *, most_pixels: int = MOST_PIXELS) -> Original:
    """Read the head of a file that somebody calls `name`.

    Raises OriginalError, saying why and what to do, for what is no still picture of one of the
    accepted formats, for a name that does not fit it, and for what would not fit into memory.
    """
    kind = format_of(path)
    ending = PurePath(name).suffix.lower()
    if ending not in kind.endings:
        other = next((one.words for one in FORMATS if ending in one.endings), "")
        called = f"its name says {other}" if other else f"its name ends in “{ending}”"
        if not ending:
            called = "its name has no ending"
        raise OriginalError(
            f"is {kind.words} by its contents, but {called}. If it is what you mean, name it "
            f"{kind.endings[0]}; raw camera files have to be developed first."
        )
    try:
        original = _probe_jpeg2000(path) if kind is JPEG2000 else _probe_by_vips(path, kind)
    except pyvips.Error as error:
        raise _damaged(error) from error
    _refuse_bombs(original, path.stat().st_size, most_pixels)
    return original


def _probe_by_vips(path: Path, kind: Format) -> Original:
    image = _load(path, kind)
    if kind is TIFF:
        _refuse_broken_chain(path)
        _refuse_pages(path, image)
    if kind is PNG and _moves(path):
        raise OriginalError("is an animated PNG. Save the picture that is meant by itself.")
    if image.format not in SAMPLE_TYPES:
        raise OriginalError(f"holds values of a type that cannot be shown ({image.format}).")
    if _is_interlaced(image) and image.width * image.height > MOST_INTERLACED_PIXELS:
        raise OriginalError(
            f"is interlaced (or progressive) and has {image.width} × {image.height} pixels, too "
            "many to be read that way. Save it without interlacing."
        )
    return Original(
        kind,
        image.width,
        image.height,
        image.bands,
        SAMPLE_TYPES[image.format],
        read_metadata(path, image, tiff=kind is TIFF),
    )


def _probe_jpeg2000(path: Path) -> Original:
    try:
        head = codestream.read_head(path)
    except ValueError as error:
        raise OriginalError(
            f"is damaged: its head cannot be read as JPEG 2000 ({error})."
        ) from error
    return Original(
        JPEG2000,
        head.width,
        head.height,
        head.bands,
        "uint8" if head.bits <= 8 else "uint16",
        read_metadata(path, head.as_image(), tiff=False),
    )


def _refuse_pages(path: Path, image: Any) -> None:
    """Many pages are well when each is the one before it made smaller."""
    pages = image.get("n-pages") if image.get_typeof("n-pages") else 1
    width, height = image.width, image.height
    for number in range(1, pages):
        page = pyvips.Image.tiffload(str(path), page=number)
        same_shape = abs(page.width * height - page.height * width) <= 2 * max(width, height)
        if not (same_shape and page.width < width):
            raise OriginalError(
                f"holds {pages} pages that are different pictures. Save each by itself."
            )
        width, height = page.width, page.height


def _refuse_broken_chain(path: Path) -> None:
    """Each directory of a TIFF tells where the next one is: all have to lie inside the file.

    libtiff takes a chain that leads out of the file as ended, so that a pyramid without its last
    levels would pass. Layout after TIFF 6.0, section 2; of BigTIFF as libtiff documents it.
    """
    size = path.stat().st_size
    with path.open("rb") as file:
        head = file.read(16)
        order = "<" if head[:2] == b"II" else ">"
        big = head[2:4] in (b"+\0", b"\0+")
        count, entry, link = ("Q", 20, "Q") if big else ("H", 12, "I")
        (at,) = struct.unpack_from(order + link, head, 8 if big else 4)
        for _ in range(MOST_DIRECTORIES):
            if not at:
                return
            file.seek(at)
            start = file.read(struct.calcsize(count))
            if at >= size or len(start) < struct.calcsize(count):
                raise _damaged(f"its directory at byte {at} is missing")
            file.seek(struct.unpack(order + count, start)[0] * entry, 1)
            end = file.read(struct.calcsize(link))
            if len(end) < struct.calcsize(link):
                raise _damaged(f"its directory at byte {at} is cut short")
            (at,) = struct.unpack(order + link, end)
    raise OriginalError(f"has more than {MOST_DIRECTORIES} pages: it is no picture.")


def _moves(path: Path) -> bool:
    """Whether a PNG says, before its first pixels, that it is animated."""
    with path.open("rb") as file:
        file.seek(8)
        while len(head := file.read(8)) == 8 and head[4:] != b"IDAT":
            if head[4:] == b"acTL":
                return True
            file.seek(int.from_bytes(head[:4], "big") + 4, 1)
    return False


def _is_interlaced(image: Any) -> bool:
    return bool(image.get_typeof("interlaced") and image.get("interlaced"))


def _refuse_bombs(original: Original, packed: int, most_pixels: int) -> None:
    pixels = original.width_px * original.height_px
    size = f"{original.width_px} × {original.height_px} pixels"
    if pixels > most_pixels:
        raise OriginalError(
            f"has {size}; at most {most_pixels / 1e6:.0f} million are taken. Cut it into parts."
        )
    if original.bands > MOST_BANDS + 1:
        raise OriginalError(
            f"holds {original.bands} bands in each pixel: a spectral cube. Save the bands that are "
            "meant as pictures of their own."
        )
    unpacked = pixels * original.bands * np.dtype(original.sample_type).itemsize
    if unpacked > SUSPECT_BYTES and unpacked > SUSPECT_RATIO * packed:
        raise OriginalError(
            f"unpacks to {size} out of {packed} bytes, {unpacked // packed} times as much, which "
            "no picture does. If it is meant, save it without compression."
        )


@contextlib.contextmanager
def readable(path: Path, box: Box | None = None) -> Iterator[Path]:
    """The file itself, or, of a JPEG 2000, an unpacked copy that lasts as long as it is needed.

    `box`: of a JPEG 2000, unpack no more than this part.
    """
    if format_of(path) is not JPEG2000:
        yield path
        return
    head = codestream.read_head(path)
    options = ["TILED=YES", "BIGTIFF=IF_SAFER", f"NBITS={8 if head.bits <= 8 else 16}"]
    if profile := head.notes.get("icc-profile-data"):
        # GDAL passes it over.
        options.append(f"SOURCE_ICC_PROFILE={base64.b64encode(profile).decode()}")
    with tempfile.TemporaryDirectory() as desk:
        copy, told = Path(desk) / "unpacked.tif", Path(desk) / "options"
        told.write_text("".join(f"-co {option}\n" for option in options))  # too long for a command
        command = ["gdal_translate", "-q", "-if", "JP2OpenJPEG", "-of", "GTiff"]
        if box:
            command += ["-srcwin", *map(str, box)]
        command += ["--optfile", str(told), "--config", "GDAL_CACHEMAX", "256"]
        command += [str(path), str(copy)]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        if done.returncode or not copy.exists() or "ERROR" in done.stderr:
            raise _damaged(done.stderr)
        yield copy


@contextlib.contextmanager
def part(path: Path, box: Box) -> Iterator[Any]:
    """A part of a file as an image of libvips that is read once, from top to bottom."""
    with readable(path, box) as file:
        image = stream(file)
        yield image if file != path else image.crop(*box)


def size_px(path: Path) -> tuple[int, int]:
    """Width and height by the head of a file."""
    if format_of(path) is JPEG2000:
        try:
            head = codestream.read_head(path)
        except ValueError as error:
            raise _damaged(error) from error
        return head.width, head.height
    image = stream(path)
    return image.width, image.height


def stream(path: Path) -> Any:
    """An image of libvips that reads the file once, from top to bottom, and stops where it ends."""
    return _load(path, format_of(path), access="sequential")


def opened(path: Path) -> Any:
    """An image of libvips whose pixels may be asked for in any order."""
    return _load(path, format_of(path))


def _load(path: Path, kind: Format, **options: Any) -> Any:
    load = {TIFF: "tiffload", JPEG: "jpegload", PNG: "pngload"}[kind]
    # libvips passes over tiles that are missing from a TIFF unless it is to stop at any error.
    strictness = "error" if kind is TIFF else "truncated"
    # A file may have been replaced by another of the same name since libvips saw it last.
    options |= {"fail_on": strictness, "revalidate": True}
    return getattr(pyvips.Image, load)(str(path), **options)


def _damaged(error: object) -> OriginalError:
    """Told without folders: the file is mostly a copy that nobody finds."""
    told = FOLDERS.sub("", " ".join(str(error).split()))[:200] or "nothing more is known"
    return OriginalError(
        f"is damaged or was not copied to its end: it cannot be read as an image ({told})."
    )


def read_through(path: Path) -> Histogram:
    """Read every pixel, and count the values of all colour bands together.

    Raises OriginalError when the file ends before its picture does, or is damaged.
    """
    try:
        with readable(path) as file:
            _read_smaller_levels(file)
            image = _colours(stream(file))
            if image.format in ("uchar", "ushort"):
                return _counted(image)
            return _measured(file)
    except pyvips.Error as error:
        raise _damaged(error) from error


def _read_smaller_levels(file: Path) -> None:
    """Of a TIFF that is a pyramid, the other levels too: a file cut short may lack only those."""
    if (kind := format_of(file)) is not TIFF:
        return
    head = _load(file, kind)
    for option, count in (("page", "n-pages"), ("subifd", "n-subifds")):
        first = 1 if option == "page" else 0
        for number in range(first, head.get(count) if head.get_typeof(count) else 0):
            _load(file, kind, access="sequential", **{option: number}).avg()


def _colours(image: Any) -> Any:
    return image[: image.bands - 1] if image.hasalpha() else image


def _counted(image: Any) -> Histogram:
    """Of whole numbers without sign: each value is counted."""
    counts = image.hist_find().numpy().reshape(-1, image.bands).sum(axis=1, dtype=np.int64)
    if image.format == "uchar":
        return _told(np.concatenate([counts, np.zeros(256 - len(counts), np.int64)]), 0, 255)
    found = np.flatnonzero(counts)
    low, high = int(found[0]), max(int(found[-1]), int(found[0]) + 1)
    return _told(np.resize(counts[low : high + 1], high - low + 1), low, high)


def _measured(file: Path) -> Histogram:
    """Of any other numbers: their range first, then fine steps of it."""
    low, high = np.inf, -np.inf
    for values in _strips(file):
        if values.size:
            low, high = min(low, float(values.min())), max(high, float(values.max()))
    if not np.isfinite(low):
        raise OriginalError("holds no pixel whose value is a number.")
    high = high if high > low else low + 1
    counts = np.zeros(2**16, np.int64)
    for values in _strips(file):
        counts += np.histogram(values, bins=len(counts), range=(low, high))[0]
    return _told(counts, low, high)


def _strips(file: Path) -> Iterator[NDArray[np.float64]]:
    image = _colours(stream(file))
    region = pyvips.Region.new(image)
    for top in range(0, image.height, 256):
        rows = min(256, image.height - top)
        kind = SAMPLE_TYPES[image.format]
        values = np.frombuffer(region.fetch(0, top, image.width, rows), kind).astype(float)
        yield values[np.isfinite(values)]


def _told(counts: NDArray[np.int64], low: float, high: float) -> Histogram:
    """Fine counts of equal steps from `low` to `high`, summed up into 256 steps."""
    values = np.linspace(low, high, len(counts))
    bins, _ = np.histogram(values, BINS, (low, high), weights=counts.astype(float))
    below = np.cumsum(counts) / counts.sum()
    dark, light = (
        float(values[min(int(np.searchsorted(below, share)), len(values) - 1)])
        for share in (CUT, 1 - CUT)
    )
    return Histogram(float(low), float(high), [int(n) for n in bins], dark, light)
