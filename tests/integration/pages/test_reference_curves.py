"""The department's reference curves: entered in the form of an analysis, listed, found."""

from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from analyses.models import Analysis
from records.models import Material, Technique
from tests import builders as make
from tests.integration.pages.conftest import World
from tests.integration.pages.test_objects import queries_of
from tests.unit.spectra.readers.samples import jcampdx


@pytest.fixture(autouse=True)
def _files(tmp_path: Path, settings: Any) -> None:
    settings.MEDIA_ROOT = str(tmp_path)


def test_it_works(scientist: Client, world: World) -> None:
    chalk = make.term(Material, "chalk", group="filler")
    infrared = make.term(Technique, "ftir", group="analysis")
    address = reverse("sample-analysis-new", args=[world.sample.pk])
    said = {"technique": infrared.pk, "date": "2026-05", "reference_for": chalk.pk}
    refused = scientist.post(address, said)
    assert "add its file" in str(refused.context["form"].errors["raw_file"])
    file = SimpleUploadedFile("chalk.dx", jcampdx([1000, 1004], [3, 4], "AFFN").encode())
    assert scientist.post(address, said | {"raw_file": file}).status_code == 302
    kept = Analysis.objects.get(reference_for=chalk)
    page = scientist.get(kept.get_absolute_url()).content.decode()
    assert "Reference for" in page
    listed = reverse("references")
    assert listed in page
    before = queries_of(scientist, listed)
    for number in range(2):
        make.analysis("ftir", layer=world.layer, reference_for=chalk,
                      raw_file=SimpleUploadedFile(f"{number}.dx", b"x"))  # fmt: skip
    page = scientist.get(listed).content.decode()
    assert kept.get_absolute_url() in page
    assert queries_of(scientist, listed) == before
    assert kept.get_absolute_url() in scientist.get(listed, {"q": "chalk"}).content.decode()
    assert kept.get_absolute_url() not in scientist.get(listed, {"q": "ochre"}).content.decode()


def test_nobody_without_the_right_sees_them(committee: Client) -> None:
    assert committee.get(reverse("references")).status_code == 403
