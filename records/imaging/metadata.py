"""What an image file says of itself: EXIF, XMP, the colour profile, the resolution.

Everything comes from outside and is read with limits: long values are cut, broken ones left out.
"""

import io
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

from PIL import ExifTags, ImageCms
from PIL.Image import Exif
from PIL.TiffImagePlugin import ImageFileDirectory_v2

MOST_ENTRIES, LONGEST = 200, 500
# How the pixels are stored is told otherwise; tables and packed blocks are nothing to read.
NOT_TOLD = frozenset({
    "ImageWidth", "ImageLength", "BitsPerSample", "Compression", "PhotometricInterpretation",
    "StripOffsets", "StripByteCounts", "RowsPerStrip", "SamplesPerPixel", "PlanarConfiguration",
    "TileWidth", "TileLength", "TileOffsets", "TileByteCounts", "SubIFDs", "ExifOffset", "GPSInfo",
    "XResolution", "YResolution", "ResolutionUnit", "MakerNote", "InterColorProfile", "XMLPacket",
    "SampleFormat", "Predictor", "ExtraSamples", "YCbCrPositioning", "JPEGTables", "ColorMap",
    "ImageResources", "IPTCNAA", "ComponentsConfiguration", "ExifInteroperabilityOffset",
    "NewSubfileType", "FillOrder", "PageNumber", "ReferenceBlackWhite", "YCbCrSubSampling",
    "ExifImageWidth", "ExifImageHeight", "FlashPixVersion", "ExifVersion",
})  # fmt: skip
EXIF_BLOCK = 0x8769
RDF = "{http://www.w3.org/1999/02/22-rdf-syntax-ns#}"


def read_metadata(path: Path, image: Any, *, tiff: bool) -> dict[str, Any]:
    """EXIF, XMP, profile and resolution of an opened file, as words and numbers.

    `image` carries the packed blocks under libvips' names; the tags of a TIFF are its EXIF.
    """
    told = {
        "exif": _exif(path, image, tiff=tiff),
        "xmp": _xmp(_blob(image, "xmp-data")),
        "icc": _profile(_blob(image, "icc-profile-data")),
        # libvips says one pixel to a millimetre where a file says nothing.
        "px_per_mm": round(image.xres, 4) if image.xres != 1 else None,
    }
    return {name: value for name, value in told.items() if value}


def _blob(image: Any, name: str) -> bytes:
    return bytes(image.get(name)) if image.get_typeof(name) else b""


def _exif(path: Path, image: Any, *, tiff: bool) -> dict[str, str]:
    try:
        if tiff:
            return _named(_tags(path))
        block = _blob(image, "exif-data")
        exif = Exif()
        exif.load(block if block.startswith(b"Exif") or not block else b"Exif\0\0" + block)
        return _named([*exif.items(), *exif.get_ifd(EXIF_BLOCK).items()])
    except Exception:
        # Whatever a broken block makes the reader stumble over: the picture is kept without it.
        return {}


def _tags(path: Path) -> list[tuple[int, Any]]:
    """The tags of the first directory of a TIFF or BigTIFF, and of the EXIF that it points to."""
    with path.open("rb") as file:
        head = file.read(16)
        first = ImageFileDirectory_v2(head if 43 in head[2:4] else head[:8])
        file.seek(first.next)
        first.load(file)
        tags = list(first.items())
        if at := first.get(EXIF_BLOCK):
            inner = ImageFileDirectory_v2(head if 43 in head[2:4] else head[:8])
            file.seek(int(at))
            inner.load(file)
            tags += inner.items()
    return tags


def _named(tags: list[tuple[int, Any]]) -> dict[str, str]:
    told: dict[str, str] = {}
    for number, value in tags:
        name = ExifTags.TAGS.get(number, "")
        if name and name not in NOT_TOLD and len(told) < MOST_ENTRIES and (text := _text(value)):
            told[name] = text
    return told


def _text(value: Any) -> str:
    if isinstance(value, bytes):
        value = value.decode("latin-1") if value.isascii() else ""
    if isinstance(value, tuple):
        value = ", ".join(_text(one) for one in value[:16])
    if not isinstance(value, str):
        value = f"{float(value):g}"
    words = " ".join(value.split())
    return "".join(c for c in words if c.isprintable())[:LONGEST]


def _xmp(packet: bytes) -> dict[str, str]:
    """Each property of the packet that is a text or a list of texts."""
    # A packet of XMP defines no entities; one that does is made to blow up its reader.
    if not packet or b"<!" in packet.replace(b"<!--", b""):
        return {}
    try:
        root = ElementTree.fromstring(packet.strip(b"\0 \r\n"))
    except (ElementTree.ParseError, ValueError):
        return {}
    told: dict[str, str] = {}
    for about in root.iter(f"{RDF}Description"):
        for name, value in about.attrib.items():
            _note(told, name, value)
        for entry in about:
            _note(told, entry.tag, ", ".join(text.strip() for text in entry.itertext()))
    return told


def _note(told: dict[str, str], name: str, value: str) -> None:
    plain = name.split("}")[-1]
    if value.strip(", ") and not name.startswith(RDF) and len(told) < MOST_ENTRIES:
        told.setdefault(plain, _text(value))


def _profile(packed: bytes) -> str:
    if not packed:
        return ""
    try:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(packed))
        return ImageCms.getProfileDescription(profile).strip()[:LONGEST] or "without a name"
    except (ImageCms.PyCMSError, OSError):
        return "damaged"
