"""The desk: what waits, what runs, what was changed lately."""

import pytest
from django.test import Client
from django.urls import reverse

from records.changes import change
from records.choices import Role
from records.models import Reconstruction
from records.recent import recent_changes
from tests import builders as make
from tests.integration.pages.conftest import World
from tests.integration.pages.test_objects import queries_of
from tests.integration.reports.queue import empty_queue, work


def waiting(client: Client) -> dict[str, int]:
    return {m.slug: m.count for m in client.get(reverse("desk")).context["matters"]}


def history(world: World, consistent: bool) -> Reconstruction:
    return Reconstruction.objects.create(
        object=world.object,
        case={},
        case_sha256="0" * 64,
        result={"consistent": consistent},
        engine_version="test",
        seconds=0.1,
    )


def test_it_works(conservator: Client, world: World) -> None:
    photo = make.photograph(world.object, title="Unplaced plate")
    loose = make.trace(world.face, world.patch.kind, label="loose patch")
    make.sighting(loose, "POINT(5 5)", examination=world.examination)
    assert waiting(conservator) == {
        "identifications": 1,
        "sheets": 1,
        "images": 1,
        "interventions": 1,
    }
    page = conservator.get(reverse("desk")).content.decode()
    for words in (photo.title, "loose patch", "titanium white in"):
        assert words in page


def test_a_contradiction_waits_until_a_newer_history_is_free_of_it(
    conservator: Client, world: World
) -> None:
    history(world, consistent=False)
    assert waiting(conservator)["contradictions"] == 1
    Reconstruction.objects.update(case_sha256="1" * 64)
    history(world, consistent=True)
    assert "contradictions" not in waiting(conservator)


@pytest.mark.django_db(transaction=True)
def test_a_history_waits_to_be_worked_out_again_until_it_is(
    conservator: Client, world: World
) -> None:
    empty_queue()
    history(world, consistent=True)
    assert "histories" not in waiting(conservator)
    with change(user=make.user(Role.CONSERVATOR), why="read in the archive"):
        world.object.date = "1911"
        world.object.save()
    assert waiting(conservator)["histories"] == 1
    work("histories")
    assert "histories" not in waiting(conservator)


def test_signing_takes_a_sheet_off_the_desk(conservator: Client, world: World) -> None:
    conservator.post(reverse("sign", args=["records", "examination", world.examination.pk]))
    assert "sheets" not in waiting(conservator)


def test_a_longer_list_is_read_page_by_page(conservator: Client, world: World) -> None:
    for _ in range(55):
        make.photograph(world.object)
    assert waiting(conservator)["images"] == 55
    address = reverse("waiting", args=["images"])
    assert len(conservator.get(address).context["matter"].lines) == 50
    assert len(conservator.get(address, {"page": 2}).context["matter"].lines) == 5
    assert conservator.get(reverse("waiting", args=["nothing"])).status_code == 404


def test_what_was_changed_lately_says_by_whom_and_why(conservator: Client, world: World) -> None:
    given = {"name": "Ada Rook", "occupation": "restorer", "why": "found in the directory"}
    conservator.post(reverse("person-edit", args=[world.person.pk]), given)
    (changed,) = (c for c in recent_changes(limit=200) if c.why == "found in the directory")
    assert changed.who == "Conservator Tester"
    assert changed.record == world.person
    assert (changed.kind, changed.others) == ("Person", 0)
    assert len(conservator.get(reverse("desk")).context["changes"]) == 12


def test_a_committee_member_sees_objects_asked_about_and_nothing_else(
    committee: Client, world: World
) -> None:
    page = committee.get(reverse("desk")).content.decode()
    assert "titanium white" not in page
    assert "No dossiers yet" in page


def test_an_empty_installation_teaches_where_to_begin(conservator: Client) -> None:
    page = conservator.get(reverse("desk")).content.decode()
    assert reverse("object-new") in page


def test_the_desk_takes_as_many_queries_for_many_matters_as_for_few(
    conservator: Client, world: World
) -> None:
    def more() -> None:
        for _ in range(6):
            make.photograph(world.object)
            loose = make.trace(world.face, world.patch.kind)
            make.sighting(loose, "POINT(5 5)", examination=world.examination)

    more()
    few = queries_of(conservator, reverse("desk"))
    more()
    assert queries_of(conservator, reverse("desk")) == few
