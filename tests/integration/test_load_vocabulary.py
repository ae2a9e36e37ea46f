"""Bringing the shipped terms into the database, once and again."""

import pytest
from django.core.management import call_command
from django.db import connection
from django.db.models import Model
from django.test.utils import CaptureQueriesContext

from records.changes import change
from records.models import Material, MaterialDate, TraceKind, User
from records.vocabulary import SCHEMES, load, read
from records.vocabulary.loading import MODELS

pytestmark = pytest.mark.django_db


@pytest.fixture
def conservator() -> User:
    return User.objects.create_user("mira", role="conservator")


def test_it_works(capsys: pytest.CaptureFixture[str]) -> None:
    call_command("load_vocabulary")
    assert "materials: " in capsys.readouterr().out
    for scheme in SCHEMES:
        assert set(MODELS[scheme]._default_manager.values_list("code", flat=True)) >= set(
            read(scheme)
        )
    bulge = TraceKind.objects.get(code="bulge")
    assert bulge.broader is not None
    assert bulge.broader.code == "deformation"
    assert bulge.translations["de"]["label"] == "Ausbeulung"
    white = Material.objects.get(code="titanium_white_rutile")
    assert white.dates.filter(kind="first_attested").count() == 3


def test_every_shipped_term_satisfies_its_model() -> None:
    load()
    models: list[type[Model]] = [*MODELS.values(), MaterialDate]
    for model in models:
        for record in model._default_manager.all():
            record.full_clean(validate_unique=False, validate_constraints=False)


def test_loading_again_changes_nothing() -> None:
    load()
    versions = TraceKind.versions.rel.related_model.objects.count()  # type: ignore[attr-defined]
    with CaptureQueriesContext(
        connection,
    ) as queries:
        told = load()
    assert all(counted["added"] == counted["renewed"] == 0 for counted in told.values())
    assert TraceKind.versions.rel.related_model.objects.count() == versions  # type: ignore[attr-defined]
    assert len(queries) <= 20


def test_loading_into_an_empty_database_takes_a_fixed_number_of_queries() -> None:
    with CaptureQueriesContext(connection) as queries:
        load()
    assert len(queries) <= 60


def test_what_a_person_changed_is_left_alone(conservator: User) -> None:
    load()
    crack = TraceKind.objects.get(code="crack")
    with change(user=conservator, why="our word for it"):
        crack.label = "Craquelure"
        crack.save()
    assert load()["trace_kinds"]["left"] == 1
    crack.refresh_from_db()
    assert crack.label == "Craquelure"


def test_what_only_the_program_changed_is_renewed() -> None:
    load()
    crack = TraceKind.objects.get(code="crack")
    with change(user=None, why="an older release of the program"):
        crack.definition = "An older wording of the definition."
        crack.save()
    assert load()["trace_kinds"]["renewed"] == 1
    crack.refresh_from_db()
    assert crack.definition == read("trace_kinds")["crack"]["definition"]


def test_a_date_no_longer_shipped_is_withdrawn_unless_a_person_entered_it(
    conservator: User,
) -> None:
    load()
    blue = Material.objects.get(code="prussian_blue")
    with change(user=None, why="an older release of the program"):
        old = MaterialDate.objects.create(
            material=blue, kind="common_from", date="1699", source="from memory"
        )
    with change(user=conservator, why="found in our own archive"):
        own = MaterialDate.objects.create(
            material=blue, kind="common_from", date="1731", source="Department archive, box 3"
        )
    load()
    old.refresh_from_db()
    own.refresh_from_db()
    assert old.is_withdrawn
    assert not own.is_withdrawn


def test_a_shipped_date_that_a_person_withdrew_stays_withdrawn(conservator: User) -> None:
    load()
    date = MaterialDate.objects.filter(material__code="zinc_white").earliest("pk")
    date.withdraw(user=conservator, why="superseded by our own study")
    load()
    date.refresh_from_db()
    assert date.is_withdrawn
    assert (
        MaterialDate.objects.filter(
            material=date.material, kind=date.kind, date=date.date, withdrawn_at=None
        ).count()
        == 0
    )
