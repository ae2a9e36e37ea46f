"""A scientist's day: a raw file evaluated, findings taken, a material proposed and decided."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from django.core.files.base import ContentFile
from django.test import Client
from django.urls import reverse

from analyses import evaluating
from analyses.models import Analysis, Identification, Reading
from records.models import Material
from records.vocabulary import load
from tests import builders as make
from tests.integration.pages.conftest import World
from tests.unit.spectra.diffraction.synthetic import pattern


@pytest.fixture(autouse=True)
def _files(tmp_path: Path, settings: Any) -> None:
    settings.MEDIA_ROOT = str(tmp_path)


@pytest.fixture
def rutile(world: World) -> Analysis:
    """An XRD of the layer: rutile and barite, as a two-column file."""
    curve = pattern({"rutile": 1.0, "barite": 0.6}, seed=3)
    rows = "\n".join(f"{x:.3f},{y:.0f}" for x, y in zip(curve.x, curve.y, strict=True))
    file = ContentFile(f"two_theta_deg,counts\n{rows}\n".encode(), "layer.csv")
    return make.analysis("xrd", layer=world.layer, raw_file=file)


def evaluated(analysis: Analysis, **given: Any) -> Any:
    evaluation = evaluating.ask(analysis, given, None)
    evaluating.carry_out(evaluation)
    evaluation.refresh_from_db()
    return evaluation


def test_phases_are_found_and_taken_as_readings(scientist: Client, rutile: Analysis) -> None:
    evaluation = evaluated(rutile)
    assert evaluation.error == ""
    page = scientist.get(rutile.get_absolute_url()).content.decode()
    assert "Rutile" in page
    assert "Take what is ticked" in page
    scientist.post(reverse("evaluation-take", args=[evaluation.pk]), {"finding": ["rutile"]})
    taken = Reading.objects.get(analysis=rutile)
    assert (taken.code, taken.certainty, taken.kind) == ("rutile", "sure", "phase")
    assert taken.evaluation == evaluation
    scientist.post(reverse("evaluation-take", args=[evaluation.pk]), {"finding": ["rutile"]})
    assert Reading.objects.filter(analysis=rutile).count() == 1


def test_what_was_read_proposes_a_material_that_a_person_decides(
    scientist: Client, rutile: Analysis
) -> None:
    load()
    evaluation = evaluated(rutile)
    scientist.post(
        reverse("evaluation-take", args=[evaluation.pk]), {"finding": ["rutile", "barite"]}
    )
    assert rutile.layer is not None
    address = reverse("layer-proposals", args=[rutile.layer.pk])
    page = scientist.get(address).content.decode()
    assert "Titanium white, rutile" in page
    answer = scientist.post(address, {"material": "titanium_white_rutile"})
    found = Identification.objects.get(material__code="titanium_white_rutile")
    assert answer.url == found.get_absolute_url()  # type: ignore[attr-defined]
    assert found.decision == "proposed"
    assert found.decided_by is None
    # The layer has titanium by SEM-EDX already: both speak for it.
    assert {reading.label for reading in found.readings.all()} == {"Ti", "Rutile"}
    assert "rutile" in found.grounds.lower()
    # What was put forward stands on the page with its decision, and is not offered again.
    page = scientist.get(address).content.decode()
    assert f'Put forward: <a href="{found.get_absolute_url()}">' in page
    assert "Propose titanium white, rutile" not in page


def test_asking_again_with_other_settings_keeps_both(scientist: Client, rutile: Analysis) -> None:
    evaluated(rutile)
    address = reverse("analysis-evaluate", args=[rutile.pk])
    scientist.post(address, {"evaluation-elements": "Ti, O"})
    assert [e.given for e in rutile.evaluations.all()] == [{"elements": ["Ti", "O"]}, {}]
    refused = scientist.post(address, {"evaluation-elements": "Ti, Xx"})
    assert refused.status_code == 422
    assert "&#x27;Xx&#x27; is not the symbol of an element" in refused.content.decode()


def test_a_file_that_cannot_be_read_says_where(world: World, scientist: Client) -> None:
    broken = ContentFile(b"two_theta_deg,counts\n10,5\n10.1,many\n", "broken.csv")
    analysis = make.analysis("xrd", layer=world.layer, raw_file=broken)
    evaluation = evaluated(analysis)
    assert "3" in evaluation.error
    assert evaluation.result is None
    assert evaluation.error.split("(")[0][:30] in scientist.get(
        reverse("analysis-evaluation", args=[analysis.pk])
    ).content.decode().replace("&#x27;", "'").replace("&quot;", '"')


def test_the_curve_is_drawn_with_few_points_and_no_lost_peak() -> None:
    from analyses.views.evaluations import thinned

    x = np.linspace(0, 40, 100_000)
    y = np.zeros_like(x)
    y[54_321] = 7
    few, values = thinned(x, y)
    assert len(few) <= 4000
    assert values.max() == 7
    assert few[values.argmax()] == x[54_321]


def test_figures_are_made_and_made_alike_again(scientist: Client, rutile: Analysis) -> None:
    evaluated(rutile)
    svg = scientist.get(reverse("analysis-figure", args=[rutile.pk, "svg"]))
    assert svg.content.startswith(b"<?xml")
    text = svg.content.decode()
    assert "rutile 3.2" in text
    assert "Angle, ° 2θ" in text
    assert "background" in text
    again = scientist.get(reverse("analysis-figure", args=[rutile.pk, "svg"]))
    assert again.content == svg.content
    pdf = scientist.get(reverse("analysis-figure", args=[rutile.pk, "pdf"]))
    assert pdf.content.startswith(b"%PDF")


def test_what_was_found_is_drawn_with_its_background_and_its_places_told_in_a_table(
    scientist: Client, rutile: Analysis
) -> None:
    evaluated(rutile)
    address = reverse("analysis-spectrum", args=[rutile.pk])
    drawn = scientist.get(address).json()
    under = drawn["background"]
    assert len(under["x"]) == len(under["y"]) <= evaluating.MOST_OF_BACKGROUND
    assert max(under["y"]) < max(drawn["y"]) / 2
    assert drawn["x_axis"] == "Angle, ° 2θ"
    words = {mark["word"] for found in drawn["findings"] for mark in found["marks"]}
    assert any(word.startswith("rutile 3.2") and word.endswith(" Å") for word in words)
    page = scientist.get(rutile.get_absolute_url()).content.decode()
    assert "Expected, ° 2θ" in page
    assert 'data-spectrum-show="rutile"' in page
    # Another file has come in since: nothing found in the earlier one is drawn on it.
    rutile.evaluations.update(raw_sha256="0" * 64)
    drawn = scientist.get(address).json()
    assert (drawn["background"], drawn["findings"], drawn["unexplained"]) == (None, [], [])


def test_a_figure_of_several_curves_names_each_in_the_order_asked_for(
    scientist: Client, world: World, rutile: Analysis
) -> None:
    curve = ContentFile(b"20,3\n20.1,4\n20.2,3\n", "other.csv")
    other = make.analysis("xrd", sample=world.sample, raw_file=curve)
    address = reverse("analysis-figure", args=[other.pk, "svg"])
    text = scientist.get(address, {"with": rutile.pk}).content.decode()
    first, second = (text.index(str(one.target)) for one in (other, rutile))
    assert first < second
    assert "each to its own height" in text
    missing = reverse("analysis-figure", args=[999_999, "svg"])
    assert scientist.get(missing).status_code == 404


def test_points_are_mapped_by_what_was_read_there(scientist: Client, rutile: Analysis) -> None:
    evaluation = evaluated(rutile)
    scientist.post(reverse("evaluation-take", args=[evaluation.pk]), {"finding": ["rutile"]})
    item = rutile.at_point.face.object
    make.sampling_point(rutile.at_point.face, 700, 300, number="none")
    page = scientist.get(reverse("reading-map", args=[item.pk]), {"read": "Rutile"})
    ((_, looks),) = page.context["maps"]
    found = {look.point.number: (look.state, len(look.curves)) for look in looks}
    assert found == {rutile.at_point.number: ("read", 1), "none": ("not_looked", 0)}
    assert 'class="read"' in page.content.decode()


def test_a_curve_leads_to_its_point_on_the_surface_and_the_point_to_its_curves(
    scientist: Client, rutile: Analysis
) -> None:
    point = rutile.at_point
    surface = reverse("object-surface", args=[point.face.object_id])
    lit = f"{surface}?face={point.face_id}&amp;point={point.pk}"
    assert lit in scientist.get(rutile.get_absolute_url()).content.decode()
    beside = scientist.get(reverse("place-beside", args=["points", point.pk])).content.decode()
    assert f'{rutile.get_absolute_url()}#evaluation">' in beside
    drawn = scientist.get(reverse("analysis-spectrum", args=[rutile.pk])).json()
    assert drawn["surface"] == lit.replace("&amp;", "&")


def test_curves_lie_over_each_other_and_over_references(
    scientist: Client, world: World, rutile: Analysis
) -> None:
    elsewhere = make.sampling_point(make.face())
    reference = make.analysis(
        "xrd", point=elsewhere, raw_file=ContentFile(b"20,3\n20.1,4\n", "known.csv"),
        reference_for=make.term(Material, "rutile-powder", group="pigment"),
    )  # fmt: skip
    address = reverse("object-curves", args=[world.object.pk])
    page = scientist.get(address, {"analysis": [rutile.pk, reference.pk, 999]})
    assert page.context["chosen"] == [rutile.pk, reference.pk]
    assert "rutile powder" in page.content.decode().casefold()
    figure = reverse("analysis-figure", args=[rutile.pk, "svg"])
    assert f"{figure}?with={reference.pk}" in page.content.decode()


def test_a_committee_member_sees_none_of_it(committee: Client, rutile: Analysis) -> None:
    for name in ("analysis-evaluation", "analysis-spectrum"):
        assert committee.get(reverse(name, args=[rutile.pk])).status_code == 403
