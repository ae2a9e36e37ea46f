"""Sampling: numbers proposed, all points on a map and a list, a sample's whole tree."""

import csv
import hashlib
import io
from pathlib import Path

import numpy as np
import pyvips
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from analyses.forms.sampling import PreparationForm
from analyses.models import Identification, NumberingRule, Preparation, Reading, SamplingPoint
from records.changes import change
from records.choices import ImageKind, Role
from records.models import Image
from records.templatetags.records import label_picture
from records.versions import versions_of
from tests import builders as make
from tests.integration.pages.conftest import World
from tests.integration.pages.test_objects import queries_of

GIVEN = {"geometry": "120.5, 80", "invasive": "on", "permission": "Head of collections, 2022/14"}


def number_offered(client: Client, name: str, pk: int) -> str:
    return str(client.get(reverse(name, args=[pk])).context["form"]["number"].value())


def test_it_works(scientist: Client, world: World) -> None:
    """A department sets its rule once; every number is then proposed, and can be written over."""
    address = reverse("numbering-edit", args=[world.object.pk])
    rule = {"points": "F##", "samples": "{point}", "preparations": "{sample}-X#"}
    assert scientist.post(address, rule).status_code == 302
    offered = number_offered(scientist, "sampling-point-new", world.face.pk)
    assert offered == "F01"
    scientist.post(reverse("sampling-point-new", args=[world.face.pk]), GIVEN | {"number": offered})
    assert number_offered(scientist, "sampling-point-new", world.face.pk) == "F02"
    point = SamplingPoint.objects.get(number="F01")
    assert number_offered(scientist, "sample-new", point.pk) == "F01"
    scientist.post(reverse("sample-new", args=[point.pk]), {"number": "F01"})
    assert number_offered(scientist, "sample-new", point.pk) == "F01-2"
    sample = point.samples.get()
    assert number_offered(scientist, "preparation-new", sample.pk) == "F01-X1"
    form = scientist.get(address).context["form"]
    changed = rule | {"points": "G#", "why": "new campaign", "opened": form["opened"].value()}
    assert scientist.post(address, changed).status_code == 302
    assert len(versions_of(NumberingRule.objects.get())) == 2
    assert number_offered(scientist, "sampling-point-new", world.face.pk) == "G1"


def test_the_department_numbers_every_object_that_has_no_rule_of_its_own(
    scientist: Client, world: World
) -> None:
    rule = {"points": "D#", "samples": "{point}-S#", "preparations": "{sample}-X#"}
    assert scientist.post(reverse("numbering"), rule).status_code == 302
    assert number_offered(scientist, "sampling-point-new", world.face.pk) == "D1"
    own = reverse("numbering-edit", args=[world.object.pk])
    page = scientist.get(own)
    assert page.context["form"]["points"].value() == "D#"  # what it departs from
    assert reverse("numbering") in page.content.decode()
    scientist.post(own, rule | {"points": "F#"})
    assert number_offered(scientist, "sampling-point-new", world.face.pk) == "F1"
    other = make.face(make.canvas())
    assert number_offered(scientist, "sampling-point-new", other.pk) == "D1"
    form = scientist.get(reverse("numbering")).context["form"]
    changed = rule | {"points": "E#", "why": "new year", "opened": form["opened"].value()}
    assert scientist.post(reverse("numbering"), changed).status_code == 302
    assert number_offered(scientist, "sampling-point-new", other.pk) == "E1"
    assert NumberingRule.objects.count() == 2


def test_a_rule_that_would_give_all_the_same_number_is_refused(
    scientist: Client, world: World
) -> None:
    address = reverse("numbering-edit", args=[world.object.pk])
    answer = scientist.post(address, {"points": "P", "samples": "S#", "preparations": "X#"})
    assert answer.status_code == 422
    assert "counter" in str(answer.context["form"].errors["points"])
    assert not NumberingRule.objects.exists()


def test_points_are_mapped_listed_and_saved_in_as_many_queries_however_many_they_are(
    scientist: Client, world: World
) -> None:
    address = reverse("object-sampling", args=[world.object.pk])
    before = queries_of(scientist, address)
    point = make.sampling_point(
        world.face, 40, 30, number="P9", invasive=True, permission="=Head of collections"
    )
    make.sample(point, number="S9", remains="half", kept_at="Cabinet 4")
    assert queries_of(scientist, address) <= before + 1  # cautions: a point of it takes material
    page = scientist.get(address).content.decode()
    assert "Cabinet 4" in page
    assert "sharps box" in page
    assert f'<circle class="read" cx="40.0" cy="{world.face.outline.extent[3] - 30:.1f}"' in page
    saved = scientist.get(address, {"save": "csv"})
    rows = list(csv.DictReader(io.StringIO(saved.content.decode())))
    row = next(row for row in rows if row["point"] == "P9")
    assert (row["x_mm"], row["y_mm"], row["remains"]) == ("40.0", "30.0", "half")
    assert row["permission"] == "'=Head of collections"


def test_a_samples_tree_leads_from_its_point_to_what_is_concluded(
    scientist: Client, world: World
) -> None:
    sample = world.sample
    found = make.recorded(
        Identification, material=world.material, sample=sample, grounds="Ti and its phase"
    )
    found.readings.set([world.reading])
    address = sample.get_absolute_url()
    before = queries_of(scientist, address)
    analysis = make.analysis(sample=sample)
    made = make.recorded(Reading, analysis=analysis, kind="phase", label="anatase")
    tree = scientist.get(address).context["tree"]
    assert tree.name == world.records["sampling-point"].number
    branch = tree.below[-1]
    assert branch.name == sample.number
    names = {one.name: one for one in branch.below}
    assert names[str(analysis.technique)].below[0].name == made.label
    section = names[world.preparation.number]
    assert [layer.kind for layer in section.below] == ["Layer 1", "Layer 2"]
    assert {one.name for one in section.below[0].below} >= {str(world.material)}
    assert queries_of(scientist, address) == before


def section_jpeg() -> bytes:
    pixels = np.zeros((60, 90, 3), np.uint8)
    pixels[20:40] = (180, 40, 50)
    data: bytes = pyvips.Image.new_from_array(pixels, interpretation="srgb").jpegsave_buffer()
    return data


def stored() -> list[str]:
    """Whatever lies in the store or on its way there."""
    root = Path(default_storage.path(""))
    return sorted(str(path) for path in root.rglob("*") if path.is_file())


def test_a_scientist_adds_the_photograph_with_the_preparation(
    scientist: Client, world: World
) -> None:
    address = reverse("preparation-new", args=[world.sample.pk])
    file = SimpleUploadedFile("Schliff é 1.jpg", section_jpeg(), "image/jpeg")
    given = {"kind": "cross_section", "number": "S-X9", "new_image": file}
    assert scientist.post(address, given).status_code == 302
    made = Preparation.objects.get(number="S-X9")
    assert made.image is not None
    assert made.image.kind == ImageKind.SECTION
    assert made.image.object == world.object
    assert made.image.sha256 == hashlib.sha256(section_jpeg()).hexdigest()
    assert str(made.image) == "Photograph of S-X9"

    again = SimpleUploadedFile("copy.jpg", section_jpeg(), "image/jpeg")
    given = {"kind": "thin_section", "number": "S-X10", "new_image": again}
    assert scientist.post(address, given).status_code == 302
    assert Preparation.objects.get(number="S-X10").image == made.image  # not kept twice


def test_a_photograph_or_a_number_that_is_refused_leaves_nothing_behind(
    scientist: Client, world: World
) -> None:
    address = reverse("preparation-new", args=[world.sample.pk])
    before = stored()
    cut = SimpleUploadedFile("cut.jpg", section_jpeg()[:200], "image/jpeg")
    answer = scientist.post(address, {"kind": "powder", "number": "S-X9", "new_image": cut})
    assert answer.status_code == 422
    assert "cut.jpg" in str(answer.context["form"].errors["new_image"])
    taken = world.preparation.number
    file = SimpleUploadedFile("new.jpg", section_jpeg(), "image/jpeg")
    answer = scientist.post(address, {"kind": "powder", "number": taken, "new_image": file})
    assert answer.status_code == 422
    words = str(answer.context["form"].errors["number"])
    assert "Another preparation has this number" in words
    assert stored() == before
    assert not Image.objects.filter(kind=ImageKind.SECTION).exists()


def test_a_powder_mount_is_offered_no_layers_but_the_analyses_of_its_sample(
    scientist: Client, world: World
) -> None:
    with change(user=None, why="for a test"):
        mount = Preparation.objects.create(sample=world.sample, kind="powder", number="S-M1")
    page = scientist.get(mount.get_absolute_url()).content.decode()
    assert reverse("layers-edit", args=[mount.pk]) not in page
    assert reverse("sample-analysis-new", args=[world.sample.pk]) in page


def test_the_form_of_a_point_leads_to_the_map_where_it_can_be_set(
    scientist: Client, world: World
) -> None:
    page = scientist.get(reverse("sampling-point-new", args=[world.face.pk])).content.decode()
    surface = reverse("object-surface", args=[world.object.pk])
    assert f'href="{surface}?face={world.face.pk}#place-point"' in page
    assert 'id="set-point"' in scientist.get(surface).content.decode()
    drawn = scientist.get(reverse("draw-point", args=[world.face.pk])).content.decode()
    assert "Before material is removed." in drawn
    at = {"geometry": "POINT(120.5 80)"}
    drawn = scientist.get(reverse("draw-point", args=[world.face.pk]), at).content.decode()
    assert ">\n120.5, 80</textarea>" in drawn  # as one would type it
    assert "#place-point" not in drawn


def test_a_place_that_is_no_pair_of_numbers_is_refused_in_plain_words(
    scientist: Client, world: World
) -> None:
    address = reverse("sampling-point-new", args=[world.face.pk])
    for typed in ("abc", "here", "120,5, 80,5", "nan, 3"):
        answer = scientist.post(address, GIVEN | {"number": "X", "geometry": typed})
        words = str(answer.context["form"].errors["geometry"])
        assert "with decimal points, for example 120, 80" in words, typed
        assert "WKB" not in words


def test_an_empty_laboratory_leads_to_the_import_of_points(scientist: Client) -> None:
    item = make.face(make.canvas()).object
    page = scientist.get(reverse("object-laboratory", args=[item.pk])).content.decode()
    assert reverse("import-results", args=[item.pk]) in page


def test_points_stand_in_the_order_of_their_numbers(scientist: Client, world: World) -> None:
    for number in ("Z10", "Z2", "Z1"):
        make.sampling_point(world.face, number=number)
    table = scientist.get(reverse("object-laboratory", args=[world.object.pk])).context["points"]
    numbers = [row.record.number for row in table.rows if row.record.number.startswith("Z")]
    assert numbers == ["Z1", "Z2", "Z10"]


def test_the_list_of_sampling_can_be_printed_and_opens_in_a_spreadsheet(
    scientist: Client, world: World
) -> None:
    address = reverse("object-sampling", args=[world.object.pk])
    make.sampling_point(world.face, date="2022-02", taken_by=world.person)
    page = scientist.get(address).content.decode()
    assert "data-print" in page
    assert "February 2022, Ada Rook" in page
    assert scientist.get(address, {"save": "csv"}).content.startswith(b"\xef\xbb\xbfface,point")


def test_the_photograph_of_a_section_does_not_stand_for_the_object(world: World) -> None:
    section = make.photograph(world.object, kind=ImageKind.SECTION, pyramid="tiles/1")
    assert label_picture(world.object) != section


def test_a_scientist_adds_photographs_of_samples_by_the_dozen_and_no_others(
    scientist: Client, world: World
) -> None:
    address = reverse("image-new", args=[world.object.pk])
    lab = scientist.get(reverse("object-laboratory", args=[world.object.pk])).content.decode()
    assert f"{address}?kind=section" in lab
    assert [value for value, _ in scientist.get(address).context["form"]["kind"].field.choices] == [
        "section"
    ]
    files = [SimpleUploadedFile(f"X{n}.jpg", section_jpeg() + bytes([n])) for n in (1, 2)]
    given = {"kind": "section", "uploads": files}
    assert scientist.post(address, given).status_code == 302
    assert Image.objects.filter(object=world.object, kind="section").count() == 2
    offered = scientist.get(reverse("preparation-new", args=[world.sample.pk])).context["form"]
    assert [str(image) for image in offered.fields["image"].queryset] == ["X1", "X2"]
    other = SimpleUploadedFile("old.jpg", section_jpeg())
    refused = scientist.post(address, {"kind": "historical", "uploads": [other]})
    assert refused.status_code == 422
    assert Image.objects.filter(kind="historical", title="old").count() == 0


def test_a_number_taken_in_the_last_moment_leaves_no_photograph_behind(world: World) -> None:
    file = SimpleUploadedFile("new.jpg", section_jpeg(), "image/jpeg")
    form = PreparationForm(
        {"kind": "cross_section", "number": "S-X9"},
        {"new_image": file},
        instance=Preparation(sample=world.sample),
        user=make.user(Role.SCIENTIST),
    )
    assert form.is_valid()
    before = stored()
    make.section(world.sample, number="S-X9")  # somebody else, meanwhile
    assert not form.store()
    assert "unique" in str(form.errors["number"])
    assert stored() == before
    assert not Image.objects.filter(kind=ImageKind.SECTION).exists()
