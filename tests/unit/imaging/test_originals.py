"""Image files as they come: what is read from them, and what is refused in words."""

import contextlib
import itertools
import random
import struct
import subprocess
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import pyvips
from PIL import Image as Pillow
from PIL import ImageCms

from records.imaging.originals import OriginalError, probe, read_through


def slope(width: int = 300, height: int = 200) -> Any:
    """A grey picture that grows lighter to the right, 0 to 1."""
    return pyvips.Image.xyz(width, height)[0] / (width - 1)


def whole(path: Path) -> None:
    """Look at the head of a file, then read it to its end."""
    probe(path, path.name)
    read_through(path)


def grey(depth: str = "uchar", top: float = 255) -> Any:
    return (slope() * top).cast(depth)


def colour() -> Any:
    return grey().bandjoin([40, 200]).copy(interpretation="srgb")


def deep_colour() -> Any:
    return grey("ushort", 65535).bandjoin([4000, 20000]).copy(interpretation="rgb16")


def jpeg2000(path: Path, picture: Any) -> None:
    """Written by GDAL, a program that shares nothing with the reader of heads."""
    plain = path.with_suffix(".tif")
    picture.tiffsave(str(plain))
    options = ["-q", "-of", "JP2OpenJPEG", "-co", "QUALITY=100", "-co", "REVERSIBLE=YES"]
    subprocess.run(["gdal_translate", *options, str(plain), str(path)], check=True)
    plain.unlink()


Write = Callable[[Path], Any]
TAKEN: list[Any] = [
    pytest.param("a.tif", lambda p: grey().tiffsave(str(p)), 1, "uint8", id="TIFF grey 8 bit"),
    pytest.param(
        "a.tiff",
        lambda p: grey("ushort", 4095).tiffsave(str(p), compression="deflate"),
        1,
        "uint16",
        id="TIFF grey 16 bit, packed",
    ),
    pytest.param(
        "a.tif",
        lambda p: grey("float", 3.7).tiffsave(str(p), tile=True),
        1,
        "float32",
        id="TIFF float, tiled",
    ),
    pytest.param("a.tif", lambda p: deep_colour().tiffsave(str(p)), 3, "uint16", id="TIFF RGB 16"),
    pytest.param(
        "a.btf",
        lambda p: colour().tiffsave(str(p), bigtiff=True, tile=True, pyramid=True),
        3,
        "uint8",
        id="BigTIFF, tiled, a pyramid of pages",
    ),
    pytest.param(
        "a.tif",
        lambda p: colour().tiffsave(str(p), tile=True, pyramid=True, subifd=True),
        3,
        "uint8",
        id="TIFF, a pyramid of sub-directories",
    ),
    pytest.param("A.JPG", lambda p: colour().jpegsave(str(p)), 3, "uint8", id="JPEG"),
    pytest.param("a.png", lambda p: deep_colour().pngsave(str(p)), 3, "uint16", id="PNG 16 bit"),
    pytest.param("a.jp2", lambda p: jpeg2000(p, colour()), 3, "uint8", id="JPEG 2000"),
    pytest.param(
        "a.jp2", lambda p: jpeg2000(p, grey("ushort", 4095)), 1, "uint16", id="JPEG 2000 16 bit"
    ),
]


@pytest.mark.parametrize(("name", "write", "bands", "sample_type"), TAKEN)
def test_every_format_of_the_list_is_taken(
    tmp_path: Path, name: str, write: Write, bands: int, sample_type: str
) -> None:
    write(tmp_path / name)
    found = probe(tmp_path / name, name)
    assert (found.width_px, found.height_px) == (300, 200)
    assert (found.bands, found.sample_type) == (bands, sample_type)
    assert sum(read_through(tmp_path / name).counts) == 300 * 200 * bands


@pytest.mark.parametrize(("name", "write", "bands", "sample_type"), TAKEN)
@pytest.mark.parametrize("share", [0.97, 0.5, 0.05])
def test_a_file_cut_short_is_refused(
    tmp_path: Path, name: str, write: Write, bands: int, sample_type: str, share: float
) -> None:
    path = tmp_path / name
    write(path)
    content = path.read_bytes()
    path.write_bytes(content[: int(len(content) * share)])
    with pytest.raises(OriginalError, match="not copied to its end") as refusal:
        whole(path)
    assert str(tmp_path) not in str(refusal.value)


def chunk(kind: bytes, content: bytes) -> bytes:
    check = struct.pack(">I", zlib.crc32(kind + content))
    return struct.pack(">I", len(content)) + kind + content + check


def animated(path: Path) -> None:
    frames = [Pillow.new("RGB", (30, 20), shade) for shade in ("red", "blue")]
    frames[0].save(path, save_all=True, append_images=frames[1:])


def pages(path: Path) -> None:
    both = pyvips.Image.arrayjoin([colour(), colour().invert()], across=1).copy()
    both.set_type(pyvips.GValue.gint_type, "page-height", 200)
    both.tiffsave(str(path))


def bomb(path: Path) -> None:
    """A PNG of a kilobyte that says it has 30,000 × 30,000 pixels."""
    head = struct.pack(">IIBBBBB", 30_000, 30_000, 8, 0, 0, 0, 0)
    rows = zlib.compress(bytes(1_000_000))
    parts = (chunk(b"IHDR", head), chunk(b"IDAT", rows), chunk(b"IEND", b""))
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + b"".join(parts))


def cube(path: Path) -> None:
    pyvips.Image.black(30, 20, bands=12).tiffsave(str(path))


def complex_values(path: Path) -> None:
    pyvips.Image.black(30, 20).cast("complex").tiffsave(str(path))


SVG = (
    b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'
)


@pytest.mark.parametrize(
    ("name", "write", "words"),
    [
        ("a.tif", lambda p: p.write_bytes(b""), "is empty"),
        ("a.tif", lambda p: p.write_bytes(b"no image at all"), "not an image that can be opened"),
        ("a.tif", lambda p: colour().jpegsave(str(p)), "a JPEG by its contents.*says a TIFF"),
        ("a.png", lambda p: p.write_bytes(SVG), "XML text"),
        ("a.svg", lambda p: p.write_bytes(SVG[21:]), "SVG drawing, which may hold script"),
        ("a.gif", lambda p: Pillow.new("L", (9, 9)).save(p), "is a GIF"),
        ("a.webp", lambda p: Pillow.new("L", (9, 9)).save(p), "is a WebP"),
        ("a.pdf", lambda p: Pillow.new("L", (9, 9)).save(p), "is a PDF"),
        ("a.png", animated, "animated"),
        ("a.tif", pages, "holds 2 pages"),
        ("a.dng", lambda p: colour().tiffsave(str(p)), "developed first"),
        ("noending", lambda p: colour().tiffsave(str(p)), "no ending"),
        ("a.tif", cube, "12 bands"),
        ("a.tif", complex_values, "cannot be read as an image"),
        ("a.png", bomb, "no picture does"),
        ("a.jp2", lambda p: p.write_bytes(b"\xff\x4f\xff\x51" + bytes(60)), "size is nothing"),
    ],
)
def test_what_is_no_still_picture_is_refused_with_what_to_do(
    tmp_path: Path, name: str, write: Write, words: str
) -> None:
    written = {"noending": "a.tif", "a.dng": "a.tif"}.get(name, name)
    written = "a.jpg" if "says a TIFF" in words else written
    write(tmp_path / written)
    (tmp_path / written).rename(tmp_path / name)
    with pytest.raises(OriginalError, match=words):
        probe(tmp_path / name, name)


def test_more_pixels_than_the_installation_allows_are_refused(tmp_path: Path) -> None:
    grey().tiffsave(str(tmp_path / "a.tif"))
    with pytest.raises(OriginalError, match="at most 0 million are taken"):
        probe(tmp_path / "a.tif", "a.tif", most_pixels=59_999)
    assert probe(tmp_path / "a.tif", "a.tif", most_pixels=60_000).width_px == 300


def test_a_tiff_whose_directories_go_round_in_a_circle_is_refused(tmp_path: Path) -> None:
    entry = struct.pack("<HHII", 256, 4, 1, 30)
    (tmp_path / "a.tif").write_bytes(
        b"II*\0" + struct.pack("<I", 8) + struct.pack("<H", 1) + entry + struct.pack("<I", 8)
    )
    with pytest.raises(OriginalError):
        probe(tmp_path / "a.tif", "a.tif")


def test_whatever_bytes_are_broken_the_answer_is_words(tmp_path: Path) -> None:
    """Every single damage is either harmless or told: nothing else may come out."""
    chance = random.Random(1931)
    for (name, write), round_ in itertools.product(
        [
            ("a.tif", lambda p: grey("ushort", 4095).tiffsave(str(p), compression="lzw")),
            ("a.jpg", lambda p: colour().jpegsave(str(p))),
            ("a.png", lambda p: colour().pngsave(str(p))),
            ("a.jp2", lambda p: jpeg2000(p, grey())),
        ],
        range(6),
    ):
        path = tmp_path / f"{round_}-{name}"
        write(path)
        content = bytearray(path.read_bytes())
        for _ in range(8):
            content[chance.randrange(len(content))] = chance.randrange(256)
        path.write_bytes(content)
        with contextlib.suppress(OriginalError):
            whole(path)


def test_the_histogram_is_that_of_numpy(tmp_path: Path) -> None:
    chance = np.random.default_rng(47)
    values = chance.gamma(3, 400, (200, 300)).astype(np.uint16)
    pyvips.Image.new_from_array(values).tiffsave(str(tmp_path / "a.tif"))
    found = read_through(tmp_path / "a.tif")
    assert (found.low, found.high) == (values.min(), values.max())
    wanted, _ = np.histogram(values, 256, (values.min(), values.max()))
    assert found.counts == wanted.tolist()
    assert found.dark == pytest.approx(np.quantile(values, 0.001), abs=2)
    assert found.light == pytest.approx(np.quantile(values, 0.999), abs=2)


def test_values_that_are_not_numbers_are_left_out(tmp_path: Path) -> None:
    values = np.linspace(290, 300, 60_000, dtype=np.float32).reshape(200, 300)
    values[:50], values[50:60] = np.nan, np.inf
    pyvips.Image.new_from_array(values).tiffsave(str(tmp_path / "a.tif"))
    found = read_through(tmp_path / "a.tif")
    assert found.low == pytest.approx(float(values[60, 0]))
    assert found.high == pytest.approx(300)
    assert sum(found.counts) == 140 * 300
    pyvips.Image.new_from_array(values * np.nan).tiffsave(str(tmp_path / "b.tif"))
    with pytest.raises(OriginalError, match="no pixel whose value is a number"):
        read_through(tmp_path / "b.tif")


PACKET = b"""<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF
 xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description rdf:about=""
 xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xmp="http://ns.adobe.com/xap/1.0/"
 xmp:CreatorTool="Bench 3"><dc:creator><rdf:Seq><rdf:li>Ilse Tamm</rdf:li><rdf:li>Nils
Ahrend</rdf:li></rdf:Seq></dc:creator></rdf:Description></rdf:RDF></x:xmpmeta>"""


def described(path: Path, **options: Any) -> None:
    """A picture with EXIF, XMP and a colour profile, written by Pillow."""
    exif = Pillow.Exif()
    exif[271], exif[272] = "Rook Works", "View camera 2"
    exif.get_ifd(0x8769)[33434] = 2.5
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    picture = Pillow.new("RGB", (300, 200), "grey")
    if path.suffix == ".tif":
        options["tiffinfo"] = {700: PACKET, 271: "Rook Works", 272: "View camera 2"}
    picture.save(path, exif=exif, icc_profile=profile, dpi=(254, 254), **options)


@pytest.mark.parametrize("name", ["a.jpg", "a.tif", "a.png"])
def test_what_a_file_says_of_itself_is_read(tmp_path: Path, name: str) -> None:
    options: dict[str, Any] = {"xmp": PACKET} if name == "a.jpg" else {}
    described(tmp_path / name, **options)
    told = probe(tmp_path / name, name).metadata
    assert "sRGB" in told["icc"]
    assert told["exif"]["Make"] == "Rook Works"
    assert told["px_per_mm"] == pytest.approx(10, rel=0.001)
    if name != "a.png":
        assert told["xmp"] == {"CreatorTool": "Bench 3", "creator": "Ilse Tamm, Nils Ahrend"}
    if name == "a.jpg":
        assert told["exif"]["ExposureTime"] == "2.5"


def test_the_profile_of_a_jpeg_2000_is_read(tmp_path: Path) -> None:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    body = bytearray()
    jpeg2000(tmp_path / "a.jp2", colour())
    content = (tmp_path / "a.jp2").read_bytes()
    # The box of the enumerated colour space is replaced by one of a restricted profile (I.5.3.3).
    start = content.index(b"colr") - 4
    length = int.from_bytes(content[start : start + 4], "big")
    box = struct.pack(">I", 11 + len(profile)) + b"colr" + b"\x02\0\0" + profile
    outer = content.index(b"jp2h") - 4
    size = int.from_bytes(content[outer : outer + 4], "big") + len(box) - length
    body += content[:outer] + struct.pack(">I", size) + content[outer + 4 : start]
    body += box + content[start + length :]
    (tmp_path / "b.jp2").write_bytes(body)
    assert "sRGB" in probe(tmp_path / "b.jp2", "b.jp2").metadata["icc"]


def test_a_packet_that_would_blow_up_its_reader_is_left_out(tmp_path: Path) -> None:
    laughs = b'<!DOCTYPE x [<!ENTITY a "haha"><!ENTITY b "&a;&a;&a;">]><x>&b;</x>'
    Pillow.new("RGB", (30, 20)).save(tmp_path / "a.jpg", xmp=laughs)
    assert "xmp" not in probe(tmp_path / "a.jpg", "a.jpg").metadata
