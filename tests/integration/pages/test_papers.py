"""The Papers room: sources, and statements whose form follows from their kind."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from records.choices import StatementKind
from records.forms.sources import SORTS
from records.models import Source, Statement
from tests import builders as make
from tests.integration.pages.conftest import World
from tests.integration.pages.test_objects import queries_of


def new_statement(client: Client, world: World, kind: str, **given: Any) -> Any:
    address = reverse("statement-new", args=[world.source.pk]) + f"?kind={kind}"
    return client.post(address, {"text": "So it says.", "strength": "likely", **given})


def test_it_works(conservator: Client, world: World) -> None:
    given = {
        "title": "Invoice of the framer",
        "kind": "invoice",
        "date": "1924-04",
        "reliability": 1,
        "extract": "To lining one picture, 14 marks.",
    }
    response = conservator.post(reverse("source-new", args=[world.object.pk]), given)
    paper = Source.objects.get(kind="invoice")
    assert response["Location"] == paper.get_absolute_url()
    assert "14 marks" in conservator.get(paper.get_absolute_url()).content.decode()


def test_papers_stand_in_the_order_of_their_dates(conservator: Client, world: World) -> None:
    for title, date in (("third", "1961"), ("first", "1871"), ("second", "1912-06")):
        make.source(world.object, title=title, date=date)
    rows = conservator.get(reverse("object-papers", args=[world.object.pk])).context["table"].rows
    titles = [row.record.title for row in rows]
    assert [title for title in titles if title in ("first", "second", "third")] == [
        "first",
        "second",
        "third",
    ]


def test_every_kind_of_statement_is_offered_with_an_example(
    conservator: Client, world: World
) -> None:
    assert set(SORTS) == set(StatementKind.values)
    page = conservator.get(reverse("statement-new", args=[world.source.pk])).content.decode()
    for kind, sort in SORTS.items():
        assert f"?kind={kind}" in page
        assert sort.example in page


def test_each_kind_is_recorded_with_its_participants(conservator: Client, world: World) -> None:
    lining, journey = f"treatment:{world.treatment.pk}", f"occurrence:{world.occurrence.pk}"
    photo = f"image:{world.image.pk}"
    loss, patch = world.trace.pk, world.patch.pk
    given: dict[str, dict[str, Any]] = {
        "dated_event": {"event": journey, "date": "1924-05~"},
        "dated_made": {"trace": loss, "date": "1931"},
        "dated_gone": {"trace": loss, "date": "1968"},
        "seen": {"trace": loss, "event": photo},
        "not_seen": {"trace": loss, "event": journey},
        "made_during": {"trace": patch, "one_of": [lining, journey]},
        "gone_during": {"trace": loss, "one_of": [lining]},
        "precedes": {"first": lining, "second": journey, "min_days": 0},
        "within": {"first": lining, "second": journey},
        "lasts": {"event": lining, "min_days": 42, "max_days": 56},
        "together": {"several": [loss, patch], "within_days": 365},
    }
    assert set(given) == set(StatementKind.values)
    for kind, fields in given.items():
        response = new_statement(conservator, world, kind, **fields)
        assert response.status_code == 302, (kind, response.context["form"].errors)
        made = Statement.objects.filter(kind=kind).latest("pk")
        events = [fields[n] for n in ("event", "first", "second") if n in fields]
        events += fields.get("one_of", [])
        found = [f"{e.event._meta.model_name}:{e.event.pk}" for e in made.events.all()]
        assert found == events
        traces = [fields["trace"]] if "trace" in fields else fields.get("several", [])
        assert [t.trace_id for t in made.traces.all()] == traces
        edit = conservator.get(reverse("statement-edit", args=[made.pk]))
        for name, value in fields.items():
            assert str(edit.context["form"][name].value()) == str(value), (kind, name)


@pytest.mark.parametrize(
    ("kind", "given", "field"),
    [
        ("dated_event", {}, "date"),
        ("dated_event", {"date": "May 1924"}, "date"),
        ("lasts", {"min_days": 5}, "max_days"),
        ("together", {"within_days": 3}, "several"),
        ("precedes", {}, "first"),
    ],
)
def test_what_a_kind_needs_is_asked_for_at_its_field(
    conservator: Client, world: World, kind: str, given: dict[str, Any], field: str
) -> None:
    response = new_statement(conservator, world, kind, **given)
    assert response.status_code == 422
    assert field in response.context["form"].errors


def test_days_out_of_order_and_one_thing_before_itself_are_refused(
    conservator: Client, world: World
) -> None:
    lining = f"treatment:{world.treatment.pk}"
    response = new_statement(conservator, world, "lasts", event=lining, min_days=60, max_days=5)
    assert "The least number of days is greater than the most." in response.content.decode()
    response = new_statement(conservator, world, "precedes", first=lining, second=lining)
    assert "second" in response.context["form"].errors
    assert Statement.objects.count() == 1


def test_a_changed_participant_replaces_the_old_one_which_stays_in_the_versions(
    conservator: Client, world: World
) -> None:
    claim = world.statement
    journey = f"occurrence:{world.occurrence.pk}"
    given = {
        "text": claim.text,
        "strength": "firm",
        "event": journey,
        "date": "1951",
        "why": "it means the journey",
    }
    conservator.post(reverse("statement-edit", args=[claim.pk]), given)
    standing = claim.events.filter(withdrawn_at__isnull=True)
    assert [e.event for e in standing] == [world.occurrence]
    assert claim.events.filter(withdrawn_why="it means the journey").count() == 1


def test_an_unknown_kind_is_not_there(conservator: Client, world: World) -> None:
    assert new_statement(conservator, world, "guessed").status_code == 404


def test_the_list_takes_as_many_queries_for_thirty_papers_as_for_three(
    conservator: Client, world: World
) -> None:
    address = reverse("object-papers", args=[world.object.pk])
    few = queries_of(conservator, address)
    for _ in range(30):
        make.source(world.object)
    assert queries_of(conservator, address) == few


def test_a_paper_takes_as_many_queries_for_many_statements_as_for_few(
    conservator: Client, world: World
) -> None:
    few = queries_of(conservator, world.source.get_absolute_url())
    lining = f"treatment:{world.treatment.pk}"
    for year in range(1951, 1961):
        new_statement(conservator, world, "dated_event", event=lining, date=str(year))
    assert queries_of(conservator, world.source.get_absolute_url()) == few
