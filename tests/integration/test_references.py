"""The department's reference spectra: which analyses are, and what is compared with them."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from django.core.files.base import ContentFile
from django.db import IntegrityError, connection
from django.test.utils import CaptureQueriesContext

from analyses import evaluating
from analyses.models import Analysis, Reading
from analyses.proposing import Proposed, proposals_for
from analyses.references import infrared_references
from analyses.spectra.infrared import Measured, evaluate
from records.choices import Role
from records.models import Material
from records.vocabulary import load
from tests import builders
from tests.unit.spectra.infrared.generator import Conditions, spectrum

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def media(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path


def table_of(name: str, seed: int) -> bytes:
    curve = spectrum({name: 0.6}, np.random.default_rng(seed), Conditions(step=4))
    rows = [f"{x:.2f};{y:.5f}" for x, y in zip(curve.x, curve.y, strict=True)]
    return "\n".join(["Wavenumber (cm-1);Absorbance", *rows]).encode()


def kept(name: str, seed: int, of: Material | None = None, **settings: str) -> Analysis:
    point = builders.sampling_point(builders.face(builders.canvas()))
    file = ContentFile(table_of(name, seed), f"{name}.csv")
    return builders.analysis(
        "ftir", point=point, raw_file=file, settings=settings, reference_for=of
    )


def test_curves_of_a_material_are_references() -> None:
    chalk = builders.term(Material, "chalk", group="filler")
    kept("calcite", 1, chalk, Measured="ATR")
    kept("barite", 3)
    asked = kept("calcite", 4, chalk)
    (found,) = infrared_references(asked)
    assert (found.code, found.measured) == ("chalk", Measured.ATR)
    assert found.name.casefold().startswith("chalk (analysis ")


def test_a_reference_without_its_curve_is_refused() -> None:
    point = builders.sampling_point(builders.face(builders.canvas()))
    with pytest.raises(IntegrityError, match="reference_has_raw_file"):
        builders.analysis(
            "ftir", point=point, reference_for=builders.term(Material, "chalk", group="filler")
        )


def test_a_spectrum_finds_its_reference_by_the_material() -> None:
    chalk = builders.term(Material, "chalk", group="filler")
    gypsum = builders.term(Material, "gypsum", group="filler")
    for name, material in (("calcite", chalk), ("gypsum", gypsum)):
        kept(name, 5, material)
    asked = kept("calcite", 6)
    curve = spectrum({"calcite": 0.6}, np.random.default_rng(7))
    evaluation = evaluate(curve, references=infrared_references(asked))
    named = [f for f in evaluation.findings if f.kind == "reference spectrum"]
    assert [finding.code for finding in named] == ["chalk"]


def test_a_file_that_cannot_be_read_is_left_out_and_queries_do_not_grow() -> None:
    asked = kept("calcite", 8)
    gypsum = builders.term(Material, "gypsum", group="filler")
    for more in (1, 4):
        for seed in range(more):
            kept("gypsum", seed, gypsum)
        with CaptureQueriesContext(connection) as queries:
            infrared_references(asked)
        assert len(queries) == 1
    point = builders.sampling_point(builders.face(builders.canvas()))
    builders.analysis("ftir", point=point, raw_file=ContentFile(b"\x00", "x.spc"),
                      reference_for=gypsum)  # fmt: skip
    assert len(infrared_references(asked)) == 5


def test_what_resembles_a_reference_speaks_for_every_material_of_its_bands() -> None:
    """Bands do not part linseed from other drying oils, however well one of them correlates."""
    load()
    kept("drying_oil", 5, Material.objects.get(code="linseed_oil"))
    asked = kept("drying_oil", 6)
    evaluation = evaluating.ask(asked, {}, None)
    evaluating.carry_out(evaluation)
    evaluation.refresh_from_db()
    (reading,) = evaluating.take(evaluation, ["linseed_oil"], builders.user(Role.SCIENTIST))
    assert reading.label.startswith("Linseed oil (analysis ")
    assert asked.point is not None
    outcome = proposals_for(asked.point).outcome
    assert outcome.unexplained == ()
    bits = {p.candidate.code: p.bits for p in outcome.proposals}
    assert bits["linseed_oil"] == bits["walnut_oil"] > 0


def test_bands_and_a_reference_that_say_the_same_are_one_reading() -> None:
    kept("gypsum", 5, builders.term(Material, "gypsum", group="filler"))
    asked = kept("gypsum", 6)
    evaluation = evaluating.ask(asked, {}, None)
    evaluating.carry_out(evaluation)
    evaluation.refresh_from_db()
    assert evaluation.result is not None
    kinds = [f["kind"] for f in evaluation.result["findings"] if f["code"] == "gypsum"]
    assert kinds == ["infrared group", "reference spectrum"]
    (reading,) = evaluating.take(evaluation, ["gypsum"], builders.user(Role.SCIENTIST))
    assert "bands are there" in reading.note


def written(analysis: Analysis, label: str, kind: str, **fields: Any) -> Reading:
    made: Reading = builders.recorded(Reading, analysis=analysis, label=label, kind=kind, **fields)
    return made


def test_bands_written_down_by_their_places_alone_neither_speak_nor_tell_against() -> None:
    load()
    asked = kept("drying_oil", 6)
    assert asked.point is not None
    written(asked, "C=O stretch of ester", "band", value=1738, unit="cm⁻¹")
    lead = builders.analysis("sem_edx", point=asked.point)
    written(lead, "Pb", "element")
    proposed = proposals_for(asked.point)
    assert proposed.places_only == (asked,)
    assert proposed.outcome.unexplained == ()
    assert against(proposed, "lead_white") == ()
    written(asked, "Drying oil", "band")
    proposed = proposals_for(asked.point)
    assert proposed.places_only == ()
    assert "linseed_oil" in {p.candidate.code for p in proposed.outcome.proposals}
    assert "none of its bands" in " ".join(against(proposed, "lead_white"))


def against(proposed: Proposed, code: str) -> tuple[str, ...]:
    (found,) = [p for p in proposed.outcome.proposals if p.candidate.code == code]
    return found.against
