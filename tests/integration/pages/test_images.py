"""The Images room: adding files, describing and placing them; campaigns and their sheets."""

import hashlib
from typing import Any

import pytest
import pyvips
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from procrastinate.contrib.django.models import ProcrastinateJob

from records.models import Campaign, Coverage, Examination, Image, Placement
from records.quantities import millimetres
from tests import builders as make
from tests.integration.pages.conftest import World
from tests.integration.pages.test_objects import queries_of


def picture(name: str = "recto_visible.png", shade: int = 128) -> SimpleUploadedFile:
    pixels = pyvips.Image.black(40, 30) + shade
    return SimpleUploadedFile(name, pixels.cast("uchar").pngsave_buffer(), "image/png")


def upload(world: World, *files: Any, **given: Any) -> dict[str, Any]:
    return {"uploads": list(files), "kind": "historical", **given}


def test_it_works(conservator: Client, world: World) -> None:
    file = picture()
    content = file.read()
    file.seek(0)
    address = reverse("image-new", args=[world.object.pk])
    response = conservator.post(address, upload(world, file, date="1931-06"))
    image = Image.objects.exclude(pk=world.image.pk).get()
    assert response["Location"] == image.get_absolute_url()
    assert image.sha256 == hashlib.sha256(content).hexdigest()
    assert (image.width_px, image.height_px) == (40, 30)
    assert image.title == "recto visible"
    with image.file.open("rb") as kept:
        assert kept.read() == content
    saved = conservator.get(reverse("image-file", args=[image.pk]))
    assert b"".join(saved.streaming_content) == content  # type: ignore[attr-defined]
    assert ProcrastinateJob.objects.filter(queue_name="images").count() == 1


def test_many_files_are_taken_all_or_none(conservator: Client, world: World) -> None:
    address = reverse("image-new", args=[world.object.pk])
    text = SimpleUploadedFile("notes.tif", b"no image at all")
    response = conservator.post(address, upload(world, picture(), text))
    assert response.status_code == 422
    assert "“notes.tif” is not an image that can be opened" in str(
        response.context["form"].errors["uploads"]
    )
    assert Image.objects.count() == 1
    conservator.post(address, upload(world, picture(), picture("verso.png", 90)))
    assert Image.objects.count() == 3


def test_a_file_that_is_there_already_is_recognised(conservator: Client, world: World) -> None:
    address = reverse("image-new", args=[world.object.pk])
    conservator.post(address, upload(world, picture(), title="Recto"))
    response = conservator.post(address, upload(world, picture("other name.png")))
    told = str(response.context["form"].errors["uploads"])
    kept = Image.objects.get(title="Recto")
    assert f"already among the images of this object, as <a href='/images/{kept.pk}/'>" in told
    twice = upload(world, picture("a.png", 7), picture("b.png", 7))
    assert conservator.post(address, twice).status_code == 422


def test_a_technical_image_names_its_examination(conservator: Client, world: World) -> None:
    address = reverse("image-new", args=[world.object.pk])
    response = conservator.post(address, upload(world, picture()) | {"kind": "technical"})
    assert "examination" in response.context["form"].errors


def points(*rows: tuple[float, float, float, float]) -> dict[str, list[str]]:
    names = ("column", "row", "x", "y")
    return {
        f"control_points.{name}": [str(row[number]) for row in rows]
        for number, name in enumerate(names)
    }


def test_an_image_is_placed_by_points_and_tells_its_error(
    conservator: Client, world: World
) -> None:
    photo = make.photograph(world.object, title="Second plate")
    rows = points((0, 0, 0, 240), (800, 0, 400, 240), (800, 480, 400, 0), (0, 480, 1, 0))
    given = {"face": world.face.pk, "method": "similarity", **rows}
    conservator.post(reverse("placement-new", args=[photo.pk]), given)
    placement = Placement.objects.get(image=photo)
    assert 0.3 < placement.rms_mm < 0.5
    assert placement.footprint.area == pytest.approx(400 * 240, rel=0.01)
    page = conservator.get(photo.get_absolute_url()).content.decode()
    assert f"± {millimetres(placement.uncertainty_mm)}" in page


def test_points_that_do_not_decide_a_place_are_refused(conservator: Client, world: World) -> None:
    photo = make.photograph(world.object, title="Second plate")
    address = reverse("placement-new", args=[photo.pk])
    given = {"face": world.face.pk, "method": "affine"}
    line = points((0, 0, 0, 0), (10, 10, 5, 5), (20, 20, 10, 10))
    response = conservator.post(address, given | line)
    assert "one line" in str(response.context["form"].errors["control_points"])
    response = conservator.post(address, given | points((0, 0, 0, 0)))
    assert "at least 3 points" in str(response.context["form"].errors["control_points"])
    bad: Any = points((0, 0, 0, 0))
    bad["control_points.x"] = ["left"]
    response = conservator.post(address, given | bad)
    assert "Row 1 needs four numbers" in str(response.context["form"].errors["control_points"])


def test_an_information_sheet_keeps_its_settings_by_name(conservator: Client, world: World) -> None:
    given = {
        "technique": world.technique.pk,
        "date": "2024-03-14",
        "new_operator": "Nils Ahrend",
        "instrument": "camera 2",
        "settings.name": ["exposure time", "aperture", ""],
        "settings.value": ["2.5 s", "f/8", ""],
        "faces": [world.face.pk],
    }
    conservator.post(reverse("examination-new", args=[world.campaign.pk]), given)
    look = Examination.objects.get(date="2024-03-14")
    assert look.settings == {"exposure time": "2.5 s", "aperture": "f/8"}
    assert str(look.operator) == "Nils Ahrend"
    assert Coverage.objects.get(examination=look).face == world.face
    page = conservator.get(reverse("examination-edit", args=[look.pk])).content.decode()
    assert 'value="exposure time"' in page
    assert 'value="2.5 s"' in page


def test_a_setting_without_a_name_is_refused(conservator: Client, world: World) -> None:
    given = {
        "technique": world.technique.pk,
        "settings.name": [""],
        "settings.value": ["2.5 s"],
    }
    response = conservator.post(reverse("examination-new", args=[world.campaign.pk]), given)
    assert "Row 1 needs its setting" in str(response.context["form"].errors["settings"])


def test_a_campaign_is_nested_but_never_in_itself(conservator: Client, world: World) -> None:
    top = world.campaign
    given = {"title": "Phase two", "purpose": "survey", "parent": top.pk}
    conservator.post(reverse("phase-new", args=[top.pk]), given)
    phase = Campaign.objects.get(title="Phase two")
    assert phase.parent == top
    given = {"title": top.title, "purpose": top.purpose, "parent": phase.pk, "why": "a try"}
    response = conservator.post(reverse("campaign-edit", args=[top.pk]), given)
    assert "phase of itself" in str(response.context["form"].errors["parent"])


def test_cautions_of_the_technique_are_shown(conservator: Client, world: World) -> None:
    xray = make.term(type(world.technique), "x-ray", group="imaging", cautions="Lead white hides.")
    response = conservator.get(reverse("technique-cautions"), {"technique": xray.pk})
    assert "Lead white hides." in response.content.decode()


def test_the_room_takes_as_many_queries_for_many_images_as_for_few(
    conservator: Client, world: World
) -> None:
    address = reverse("object-images", args=[world.object.pk])
    make.photograph(world.object, kind="technical", examination=world.examination)
    few = queries_of(conservator, address)
    for _ in range(10):
        make.photograph(world.object)
        make.photograph(world.object, kind="technical", examination=world.examination)
    assert queries_of(conservator, address) == few


def test_a_file_is_not_left_behind_when_the_database_refuses(
    conservator: Client, world: World, monkeypatch: pytest.MonkeyPatch, settings: Any
) -> None:
    # Two people add the same file at once: the second passes the form's own question.
    address = reverse("image-new", args=[world.object.pk])
    conservator.post(address, upload(world, picture()))
    before = sorted(settings.MEDIA_ROOT.rglob("*.png"))
    monkeypatch.setattr("records.arrivals._known", lambda item, digest: None)
    response = conservator.post(address, upload(world, picture("again.png")))
    assert response.status_code == 422
    assert "already among the object" in response.content.decode()
    assert sorted(settings.MEDIA_ROOT.rglob("*.png")) == before
    assert not list(settings.MEDIA_ROOT.rglob("arrivals/*"))
