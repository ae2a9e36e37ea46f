"""Image files coming in: in pieces over a line that breaks, from the ingest folder, and refused.

The client of the pieces is written from the text of tus 1.0.0, not from the program's own script.
"""

import base64
import hashlib
from pathlib import Path
from typing import Any

import pytest
import pyvips
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse
from procrastinate.contrib.django.models import ProcrastinateJob

from records import arrivals
from records.choices import ArrivalState, Role
from records.models import Arrival, FileCheck, Image
from records.tasks import make_image_pyramid
from tests import builders as make
from tests.integration.pages.conftest import World, signed_in_as

TUS = {"Tus-Resumable": "1.0.0"}
PIECES = "application/offset+octet-stream"


def tiff(shade: int = 100, depth: str = "ushort") -> bytes:
    """A TIFF whose values rise from 0 to `shade` × 10."""
    rising = (pyvips.Image.xyz(400, 300)[0] / 399 * shade * 10).cast(depth)
    return bytes(rising.tiffsave_buffer())


def begin(client: Client, world: World, content: bytes, **told: str) -> Any:
    said = {"filename": "plate 3.tif", "kind": "historical", "date": "1931", **told}
    words = ",".join(f"{n} {base64.b64encode(v.encode()).decode()}" for n, v in said.items())
    return client.post(
        reverse("arrival-new", args=[world.object.pk]),
        content_type="application/octet-stream",
        HTTP_UPLOAD_LENGTH=str(len(content)),
        HTTP_UPLOAD_METADATA=words,
        headers=TUS,
    )


def send(client: Client, address: str, content: bytes, offset: int) -> Any:
    return client.patch(
        address, content, content_type=PIECES, HTTP_UPLOAD_OFFSET=str(offset), headers=TUS
    )


def what_lies_there(root: Path) -> list[str]:
    return sorted(str(path.relative_to(root)) for path in root.rglob("*") if path.is_file())


def settled(address: str) -> Arrival:
    arrival = Arrival.objects.get(pk=address.rsplit("/", 1)[-1])
    arrivals.settle(arrival)
    return arrival


def test_it_works(conservator: Client, world: World, settings: Any) -> None:
    content = tiff()
    begun = begin(conservator, world, content)
    assert begun.status_code == 201
    assert begun["Tus-Resumable"] == "1.0.0"
    address = begun["Location"]
    half = len(content) // 2
    assert send(conservator, address, content[:half], 0)["Upload-Offset"] == str(half)
    # The line breaks; the client asks how much has come, and goes on from there.
    asked = conservator.head(address, headers=TUS)
    assert (asked["Upload-Offset"], asked["Upload-Length"]) == (str(half), str(len(content)))
    assert asked["Cache-Control"] == "no-store"
    assert send(conservator, address, content[half:], half).status_code == 204
    assert conservator.get(address).json()["state"] == "waiting"
    assert ProcrastinateJob.objects.filter(task_name="records.tasks.settle_arrival").count() == 1
    arrival = settled(address)
    assert arrival.state == ArrivalState.KEPT, arrival.problem
    image = arrival.image
    assert image is not None
    assert image.sha256 == hashlib.sha256(content).hexdigest()
    with image.file.open("rb") as kept:
        assert kept.read() == content
    assert (image.title, image.date, image.sample_type) == ("plate 3", "1931", "uint16")
    assert image.format_words == "TIFF, 16-bit grey"
    assert conservator.get(address).json()["image"] == image.get_absolute_url()
    assert what_lies_there(settings.MEDIA_ROOT) == [image.file.name]


def test_settling_twice_keeps_one_image(conservator: Client, world: World) -> None:
    content = tiff()
    address = begin(conservator, world, content)["Location"]
    send(conservator, address, content, 0)
    first, second = settled(address), settled(address)
    assert first.image_id == second.image_id
    assert Image.objects.filter(sha256=hashlib.sha256(content).hexdigest()).count() == 1


def test_pieces_that_do_not_follow_on_are_refused(conservator: Client, world: World) -> None:
    content = tiff()
    address = begin(conservator, world, content)["Location"]
    send(conservator, address, content[:100], 0)
    assert send(conservator, address, content[:100], 0).status_code == 409
    assert send(conservator, address, content[200:], 200).status_code == 409
    other = conservator.patch(
        address, content, content_type="text/plain", HTTP_UPLOAD_OFFSET="100", headers=TUS
    )
    assert other.status_code == 415
    old = conservator.patch(address, content, content_type=PIECES, HTTP_UPLOAD_OFFSET="100")
    assert (old.status_code, old["Tus-Version"]) == (412, "1.0.0")
    # More than was announced is not taken in.
    assert send(conservator, address, content[100:] + b"more", 100)["Upload-Offset"] == str(
        len(content)
    )
    assert send(conservator, address, b"more", len(content)).status_code == 410


def test_what_cannot_begin_is_told_at_once(
    conservator: Client, world: World, settings: Any
) -> None:
    refused = begin(conservator, world, tiff(), kind="technical")
    assert refused.status_code == 422
    assert "made in an examination" in refused.content.decode()
    undated = begin(conservator, world, tiff(), date="soon")
    assert undated.status_code == 422
    assert "soon" in undated.content.decode()
    settings.MOST_UPLOAD_BYTES = 1000
    assert begin(conservator, world, tiff()).status_code == 413
    assert not Arrival.objects.exists()
    assert what_lies_there(settings.MEDIA_ROOT) == []


def test_an_upload_is_its_owners_alone_and_can_be_given_up(
    conservator: Client, world: World, settings: Any
) -> None:
    address = begin(conservator, world, tiff())["Location"]
    assert signed_in_as(Role.CONSERVATOR).head(address, headers=TUS).status_code == 404
    assert conservator.delete(address, headers=TUS).status_code == 204
    assert conservator.head(address, headers=TUS).status_code == 404
    assert what_lies_there(settings.MEDIA_ROOT) == []
    options = conservator.options(reverse("arrival-new", args=[world.object.pk]))
    assert options["Tus-Extension"] == "creation,termination"


SVG = b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'


@pytest.mark.parametrize(
    ("filename", "content", "words"),
    [
        ("a.tif", tiff()[:-500], "not copied to its end"),
        ("a.tif", b"no image", "not an image"),
        ("a.tif", b"", "is empty"),
        ("a.png", tiff(), "is a TIFF by its contents"),
        ("a.svg", SVG, "may hold script"),
    ],
)
def test_a_refused_file_leaves_nothing(
    conservator: Client, world: World, settings: Any, filename: str, content: bytes, words: str
) -> None:
    images, jobs = Image.objects.count(), ProcrastinateJob.objects.count()
    # in one go, with the form …
    file = SimpleUploadedFile(filename, content)
    address = reverse("image-new", args=[world.object.pk])
    page = conservator.post(address, {"uploads": [file], "kind": "historical"})
    assert page.status_code == 422
    # … in pieces …
    upload = begin(conservator, world, content, filename=filename)["Location"]
    if content:
        assert words in page.content.decode()
        send(conservator, upload, content, 0)
    arrival = settled(upload)
    assert arrival.state == ArrivalState.REFUSED
    assert words in arrival.problem
    assert f"“{filename}”" in conservator.get(upload).json()["problem"]
    # … and of all that only the answer is left.
    assert Image.objects.count() == images
    left = ProcrastinateJob.objects.exclude(task_name="records.tasks.settle_arrival")
    assert left.count() == jobs
    assert what_lies_there(settings.MEDIA_ROOT) == []


def test_a_file_that_is_there_already_is_told_with_a_link(
    conservator: Client, world: World, settings: Any
) -> None:
    content = tiff()
    addresses = [begin(conservator, world, content)["Location"] for _ in range(2)]
    for address in addresses:
        send(conservator, address, content, 0)
    first, second = (settled(address) for address in addresses)
    assert (first.state, second.state) == (ArrivalState.KEPT, ArrivalState.KNOWN)
    assert conservator.get(addresses[1]).json()["image"] == first.image.get_absolute_url()  # type: ignore[union-attr]
    assert len(what_lies_there(settings.MEDIA_ROOT)) == 1


@pytest.fixture
def folder(settings: Any, tmp_path: Path) -> Path:
    settings.INGEST_ROOT = tmp_path / "ingest"
    (settings.INGEST_ROOT / "day 2").mkdir(parents=True)
    (settings.INGEST_ROOT / "day 2" / "plate.tif").write_bytes(tiff())
    (settings.INGEST_ROOT / "broken.tif").write_bytes(tiff(90)[:-300])
    (settings.INGEST_ROOT / "notes.txt").write_text("not listed")
    (settings.INGEST_ROOT / ".half.tif").write_bytes(b"not listed")
    made: Path = settings.INGEST_ROOT
    return made


def test_files_of_the_ingest_folder_are_taken_by_the_page(
    conservator: Client, world: World, folder: Path
) -> None:
    address = reverse("image-ingest-new", args=[world.object.pk])
    page = conservator.get(address).content.decode()
    assert "day 2/plate.tif" in page
    assert "notes.txt" not in page
    assert ".half" not in page
    chosen = {"chosen": ["day 2/plate.tif", "broken.tif"], "kind": "historical", "title": "Plates"}
    conservator.post(address, chosen)
    assert "day 2/plate.tif" not in conservator.get(address).content.decode().split("</form>")[0]
    for arrival in Arrival.objects.all():
        arrivals.settle(arrival)
    assert Image.objects.filter(title="Plates, plate").count() == 1
    # What is kept is gone from the folder, what is refused lies there still.
    assert what_lies_there(folder) == [".half.tif", "broken.tif", "notes.txt"]
    told = conservator.get(address).content.decode()
    assert "not copied to its end" in told
    outside = {"chosen": ["../../etc/passwd"], "kind": "historical"}
    assert conservator.post(address, outside).status_code == 422


def test_a_file_of_the_folder_stays_when_it_is_not_kept_safely(
    world: World, folder: Path, monkeypatch: pytest.MonkeyPatch, conservator: Client
) -> None:
    user = world.account

    def full(*given: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("records.arrivals.keep", full)
    waiting = arrivals.pick_up(Path("day 2/plate.tif"), world.object, user, {"kind": "historical"})
    with pytest.raises(OSError, match="No space"):
        arrivals.settle(waiting)
    assert (folder / "day 2" / "plate.tif").exists()
    monkeypatch.undo()


def test_the_command_takes_what_lies_in_the_folder(
    world: World, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    user = make.user(Role.CONSERVATOR).username
    given = ["--object", world.object.accession_number, "--user", user, "--kind", "historical"]
    call_command("ingest_images", *given, "--dry-run")
    assert "2 to take; nothing was taken" in capsys.readouterr().out
    with pytest.raises(CommandError, match="still lies in the ingest folder"):
        call_command("ingest_images", *given)
    assert "1 of 2 kept" in capsys.readouterr().out
    assert what_lies_there(folder) == [".half.tif", "broken.tif", "notes.txt"]
    with pytest.raises(CommandError, match="no image file in the ingest folder"):
        call_command("ingest_images", *given, "../elsewhere.tif")
    with pytest.raises(CommandError, match="Nothing was taken"):
        call_command("ingest_images", *given[:4])  # technical, without an examination


def kept_image(conservator: Client, world: World, content: bytes) -> Image:
    address = begin(conservator, world, content)["Location"]
    send(conservator, address, content, 0)
    arrival = settled(address)
    assert arrival.image is not None
    return arrival.image


def test_every_kept_file_is_checked_against_its_sha256(
    conservator: Client, world: World, capsys: pytest.CaptureFixture[str]
) -> None:
    sound = kept_image(conservator, world, tiff(50))
    altered = kept_image(conservator, world, tiff(60))
    Path(altered.file.path).write_bytes(tiff(61))
    stray = Path(sound.file.path).with_name("stray.tif")
    stray.write_bytes(b"nobody's")
    with pytest.raises(CommandError, match="2 files not as they came"):
        call_command("check_files", "--strays")
    said = capsys.readouterr()
    assert f"image {altered.pk}: “{altered.file.name}” differs" in said.err
    assert f"image {world.image.pk}: “{world.image.file.name}” is missing" in said.err
    assert "stray.tif" in said.out
    assert FileCheck.objects.get(name=sound.file.name).fault == ""
    page = conservator.get(altered.get_absolute_url()).content.decode()
    assert "not as it came" in page
    assert "as it came" in conservator.get(sound.get_absolute_url()).content.decode()


def tiles(image: Image) -> None:
    make_image_pyramid.func(image_id=image.pk)
    image.refresh_from_db()


def test_a_window_is_kept_and_the_tiles_are_made_anew(
    conservator: Client, world: World, settings: Any
) -> None:
    image = kept_image(conservator, world, tiff())
    tiles(image)
    before = image.tiles_address
    page = conservator.get(image.get_absolute_url()).content.decode()
    assert "How it is shown" in page
    given = {"window_low": "400", "window_high": "600", "why": "A narrower window."}
    address = reverse("image-window-edit", args=[image.pk])
    assert conservator.post(address, given).status_code == 302
    assert ProcrastinateJob.objects.filter(queueing_lock=f"pyramid-{image.pk}").count() == 1
    tiles(image)
    assert image.tiles_address != before
    name = f"{image.tiles_address}/full/400,300/0/default.jpg"
    answer = conservator.get(name)
    content = b"".join(answer.streaming_content)  # type: ignore[attr-defined]
    seen = pyvips.Image.new_from_buffer(content, "").numpy()[150]
    assert seen[150] < 10  # 376 of 1000
    assert seen[250] > 245  # 627 of 1000
    assert answer["Cache-Control"] == f"private, max-age={365 * 24 * 3600}"
    plain = conservator.get(reverse("image-tiles", args=[image.pk, "info.json"]))
    assert plain.json()["id"] == f"http://testserver/images/{image.pk}/iiif"
    stamped = conservator.get(f"{image.tiles_address}/info.json").json()
    assert stamped["id"] == f"http://testserver{image.tiles_address}"
    # Tiles of the window before are gone; its addresses answer no more.
    assert len(list((settings.MEDIA_ROOT / "pyramids").iterdir())) == 1
    assert conservator.get(f"{before}/full/400,300/0/default.jpg").status_code == 404
    bad = {"window_low": "600", "window_high": "400", "why": "x"}
    assert conservator.post(address, bad).status_code == 422
    assert conservator.post(address, {"window_low": "6", "why": "x"}).status_code == 422
    assert conservator.post(address, {"why": "By itself again."}).status_code == 302


def test_tiles_are_served_to_those_who_may_see_them_only(
    conservator: Client, committee: Client, world: World, settings: Any
) -> None:
    image = kept_image(conservator, world, tiff())
    tiles(image)
    for address in (f"{image.tiles_address}/info.json", reverse("image-file", args=[image.pk])):
        assert conservator.get(address).status_code == 200
        assert committee.get(address).status_code == 403
        assert Client().get(address).status_code == 302
    settings.PROTECTED_MEDIA_PREFIX = "/protected/"
    sent = conservator.get(f"{image.tiles_address}/full/400,300/0/default.jpg")
    assert sent["X-Accel-Redirect"] == f"/protected/{image.pyramid}/full/400%2C300/0/default.jpg"
    # nginx takes an address: letters beyond ASCII are packed as in any.
    image.file.name = "images/1/Frühling 50%.tif"
    Image.objects.filter(pk=image.pk).update(file=image.file.name)
    sent = conservator.get(reverse("image-file", args=[image.pk]))
    assert sent["X-Accel-Redirect"] == "/protected/images/1/Fr%C3%BChling%2050%25.tif"


def test_programs_bring_files_in_by_the_same_check(
    conservator: Client, world: World, settings: Any
) -> None:
    told = {"object": world.object.pk, "kind": "historical", "title": "Plate", "date": "1931"}
    broken = SimpleUploadedFile("a.tif", tiff()[:-400])
    refused = conservator.post("/api/images/", told | {"file": broken})
    assert refused.status_code == 400
    assert "not copied to its end" in refused.json()["file"][0]
    assert what_lies_there(settings.MEDIA_ROOT) == []
    made = conservator.post("/api/images/", told | {"file": SimpleUploadedFile("a.tif", tiff())})
    assert made.status_code == 201, made.content
    image = Image.objects.get(pk=made.json()["id"])
    assert image.sha256 == hashlib.sha256(tiff()).hexdigest()
    assert what_lies_there(settings.MEDIA_ROOT) == [image.file.name]
    again = conservator.post("/api/images/", told | {"file": SimpleUploadedFile("b.tif", tiff())})
    assert "already among the images" in again.json()["file"][0]
    window = {"window_low": 10, "window_high": 90, "why": "Darker."}
    address = f"/api/images/{image.pk}/"
    answer = conservator.patch(address, window, content_type="application/json")
    assert answer.status_code == 200, answer.content
    assert ProcrastinateJob.objects.filter(queueing_lock=f"pyramid-{image.pk}").count() == 1
