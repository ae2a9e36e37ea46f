"""Sampling: numbers proposed, all points on a map and a list, a sample's whole tree."""

import csv
import io

from django.test import Client
from django.urls import reverse

from analyses.models import Identification, NumberingRule, Reading, SamplingPoint
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
