"""The dossier of the demonstration's painting, built through the real task queue."""

import io

import pytest
from pypdf import PdfReader

from fixtures.loading import load_demo
from records.choices import Role
from records.models import Object
from reports import building, pdf
from reports.choices import DossierState
from tests import builders
from tests.integration.reports.queue import empty_queue, work

pytestmark = pytest.mark.django_db(transaction=True)
PAINTING = "HM 1931.47"


def test_the_dossier_of_a_rich_object_holds_every_section_and_every_trace() -> None:
    empty_queue()
    load_demo(images=False)
    painting = Object.objects.get(accession_number=PAINTING)
    dossier = building.ask_for(
        painting, by=builders.user(Role.ADMINISTRATOR), request="May it travel?"
    )
    work()
    dossier.refresh_from_db()
    assert dossier.state == DossierState.READY, dossier.error
    with dossier.file.open("rb") as kept:
        reader = PdfReader(io.BytesIO(kept.read()))
    text = " ".join(" ".join(page.extract_text() for page in reader.pages).split())
    for title in pdf.TITLES.values():
        assert title in text
    missing = [
        trace.number
        for face in painting.faces.all()
        for trace in face.traces.all()
        if trace.number not in text
    ]
    assert missing == []
    for records in (painting.treatments, painting.occurrences, painting.sources):
        for title in records.values_list("title", flat=True):
            assert " ".join(title.split()) in text
