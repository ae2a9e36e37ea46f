"""Changing, withdrawing, signing and amending: the same for every kind of record."""

from django.test import Client
from django.urls import reverse

from records.models import Amendment, Examination, Person
from records.versions import versions_of
from tests import builders as make
from tests.integration.pages.conftest import World


def change_treatment(world: World, **given: object) -> dict[str, object]:
    lining = world.treatment
    kept = {
        "kind": lining.kind_id,
        "title": lining.title,
        "standing": lining.standing,
        "date": lining.date,
    }
    return kept | given


def test_it_works(conservator: Client, world: World) -> None:
    given = change_treatment(world, title="Wax lining", why="the paper says wax")
    response = conservator.post(reverse("treatment-edit", args=[world.treatment.pk]), given)
    assert response["Location"] == world.treatment.get_absolute_url()
    page = conservator.get(response["Location"]).content.decode()
    assert "Wax lining" in page
    assert "the paper says wax" in page
    assert "<del>Glue-paste lining</del>" in page
    assert "Conservator Tester" in page


def test_a_change_without_a_reason_is_refused(conservator: Client, world: World) -> None:
    given = change_treatment(world, title="Wax lining")
    response = conservator.post(reverse("treatment-edit", args=[world.treatment.pk]), given)
    assert response.status_code == 422
    assert "why" in response.context["form"].errors
    world.treatment.refresh_from_db()
    assert world.treatment.title == "Glue-paste lining"


def test_a_change_on_top_of_somebody_elses_is_told(conservator: Client, world: World) -> None:
    address = reverse("treatment-edit", args=[world.treatment.pk])
    opened = conservator.get(address).context["form"]["opened"].value()
    first = change_treatment(world, title="Wax lining", why="first", opened=opened)
    conservator.post(address, first)
    second = change_treatment(world, title="Paste lining", why="second", opened=opened)
    response = conservator.post(address, second)
    assert response.status_code == 422
    assert "Somebody changed this record" in response.content.decode()
    again = second | {"opened": response.context["form"]["opened"].value()}
    assert conservator.post(address, again).status_code == 302


def test_versions_tell_who_changed_what_and_why_with_names_and_ties(
    conservator: Client, world: World
) -> None:
    person = world.person
    given = change_treatment(
        world, kind=make.term(type(world.treatment.kind), "cleaning").pk, people=[person.pk]
    )
    conservator.post(
        reverse("treatment-edit", args=[world.treatment.pk]), given | {"why": "read again"}
    )
    changed, recorded = versions_of(world.treatment)
    assert recorded.deed == "recorded"
    assert changed.who == "Conservator Tester"
    assert changed.why == "read again"
    told = {d.label: (d.before, d.after) for d in changed.differences}
    assert told == {"Kind": ("lining", "cleaning"), "People": ("", "Ada Rook")}


def test_a_record_is_withdrawn_with_a_reason_and_stays_readable(
    conservator: Client, world: World
) -> None:
    address = reverse("withdraw", args=["records", "trace", world.trace.pk])
    assert conservator.post(address, {"why": " "}).status_code == 422
    assert conservator.post(address, {"why": "seen twice"}).status_code == 302
    page = conservator.get(world.trace.get_absolute_url()).content.decode()
    assert "seen twice" in page
    assert "withdrawn" in page
    assert reverse("trace-edit", args=[world.trace.pk]) not in page
    refused = conservator.post(address, {"why": "again"})
    assert refused["Location"] == world.trace.get_absolute_url()


def test_a_withdrawn_record_cannot_be_changed(conservator: Client, world: World) -> None:
    world.person.withdraw(user=None, why="double")
    address = reverse("person-edit", args=[world.person.pk])
    response = conservator.post(address, {"name": "Somebody else", "why": "a try"})
    assert response["Location"] == world.person.get_absolute_url()
    assert Person.objects.get(pk=world.person.pk).name == "Ada Rook"


def test_a_signed_record_is_locked_and_amended(conservator: Client, world: World) -> None:
    look = world.examination
    kind = ["records", "examination", look.pk]
    conservator.post(reverse("sign", args=kind))
    assert Examination.objects.get(pk=look.pk).is_signed
    response = conservator.get(reverse("examination-edit", args=[look.pk]))
    assert response["Location"] == look.get_absolute_url()
    conservator.post(reverse("amend", args=kind), {"text": "The lamp was the old one."})
    amendment = Amendment.objects.get()
    assert str(amendment.signed_by) == "Conservator Tester"
    page = conservator.get(look.get_absolute_url()).content.decode()
    assert "The lamp was the old one." in page


def test_only_a_signed_record_is_amended(conservator: Client, world: World) -> None:
    address = reverse("amend", args=["records", "examination", world.examination.pk])
    assert conservator.post(address, {"text": "a try"}).status_code == 302
    assert not Amendment.objects.exists()


def test_accounts_and_unknown_kinds_cannot_be_withdrawn(conservator: Client, world: World) -> None:
    for app, model in (("records", "user"), ("records", "nothing"), ("auth", "group")):
        address = reverse("withdraw", args=[app, model, 1])
        assert conservator.post(address, {"why": "a try"}).status_code == 404


def test_a_scientist_withdraws_in_the_laboratory_only(scientist: Client, world: World) -> None:
    reading = reverse("withdraw", args=["analyses", "reading", world.reading.pk])
    trace = reverse("withdraw", args=["records", "trace", world.trace.pk])
    assert scientist.post(reading, {"why": "stray line"}).status_code == 302
    assert scientist.post(trace, {"why": "stray line"}).status_code == 403
