"""What the database guarantees for every record, whatever code changes it."""

from typing import Any

import pytest
from django.apps import apps
from django.contrib.gis.geos import GEOSGeometry, Point
from django.db import DatabaseError, IntegrityError, transaction

from analyses.models import Identification
from records.changes import change
from records.choices import Role, Seen
from records.models import Amendment, Face, Object, Record, Sighting, Trace, Treatment
from records.refusals import explain
from tests import builders

RECORDS = [m for m in apps.get_models() if issubclass(m, Record) and not m._meta.proxy]


def square(x: float, y: float, side: float = 20) -> GEOSGeometry:
    wkt = f"POLYGON(({x} {y},{x + side} {y},{x + side} {y + side},{x} {y + side},{x} {y}))"
    return GEOSGeometry(wkt, srid=0)


def versions_of(record: Record) -> Any:
    """The kept versions of a record, oldest first."""
    versions = apps.get_model("records", f"{type(record).__name__}Version").objects
    return versions.filter(pgh_obj=record.pk).order_by("pgh_id")


def shape_of(made: Trace) -> GEOSGeometry:
    """The shape of a trace as the database has it now."""
    shape = Trace.objects.get(pk=made.pk).shape
    assert isinstance(shape, GEOSGeometry)
    return shape


@pytest.mark.django_db(transaction=True)
class TestChanges:
    """Outside a transaction of the test, so that no earlier reason lingers in it."""

    def test_a_record_needs_a_reason_to_be_added_or_changed(self) -> None:
        with pytest.raises(IntegrityError, match="stated reason"):
            Object.objects.create(accession_number="1", title="no reason")
        item = builders.canvas()
        with pytest.raises(IntegrityError, match="stated reason"):
            Object.objects.filter(pk=item.pk).update(title="no reason")

    def test_ties_between_records_need_a_reason_and_are_kept(self) -> None:
        item = builders.canvas()
        done, paper = builders.treatment(item), builders.source(item)
        with pytest.raises(IntegrityError, match="stated reason"):
            done.sources.add(paper)
        with change(user=None, why="the invoice names it"):
            done.sources.add(paper)
        with change(user=None, why="it names another lining"):
            done.sources.remove(paper)
        kept = apps.get_model("records", "TreatmentSourceVersion").objects.order_by("pgh_id")
        assert [v.pgh_label for v in kept] == ["insert", "delete"]
        assert kept[1].pgh_context.metadata["why"] == "it names another lining"


pytestmark = pytest.mark.django_db


def test_every_version_says_who_when_what_and_why() -> None:
    user = builders.user(Role.CONSERVATOR)
    item = builders.canvas(title="Ferry")
    with change(user=user, why="as on the frame"):
        Object.objects.filter(pk=item.pk).update(title="The Ferry")
    before, after = versions_of(item)
    assert (before.title, after.title) == ("Ferry", "The Ferry")
    assert after.pgh_context.metadata == {"user": user.pk, "why": "as on the frame"}
    assert after.pgh_created_at >= before.pgh_created_at


def test_a_kept_version_cannot_be_changed() -> None:
    item = builders.canvas()
    versions = versions_of(item)
    with pytest.raises(DatabaseError, match="Cannot update"), transaction.atomic():
        versions.update(title="another past")
    with pytest.raises(DatabaseError, match="Cannot update or delete"), transaction.atomic():
        versions.delete()


@pytest.mark.parametrize("model", RECORDS, ids=lambda m: m.__name__)
def test_every_kind_of_record_is_versioned_and_never_deleted(model: type[Record]) -> None:
    triggers = {t.name for t in model._meta.triggers} if hasattr(model._meta, "triggers") else set()
    assert {"never_deleted", "insert_needs_reason", "update_needs_reason"} <= triggers
    assert {"insert_insert", "update_update"} <= triggers


def test_deleting_is_refused_and_withdrawing_needs_a_reason() -> None:
    made = builders.trace()
    with pytest.raises(DatabaseError), transaction.atomic(), change(user=None, why="tidy"):
        Trace.objects.filter(pk=made.pk).delete()
    with pytest.raises(ValueError, match="why"):
        made.withdraw(user=None, why=" ")
    made.withdraw(user=None, why="recorded twice")
    assert Trace.objects.get(pk=made.pk).withdrawn_why == "recorded twice"
    assert made not in Trace.objects.standing()


def test_a_signed_record_is_locked_and_corrected_by_a_signed_amendment() -> None:
    user = builders.user(Role.CONSERVATOR)
    done = builders.treatment(builders.canvas())
    done.sign(user=user)
    locked = pytest.raises(IntegrityError, match="signed and locked")
    with locked, change(user=user, why="a slip"):
        Treatment.objects.filter(pk=done.pk).update(outcome="better")
    with change(user=user, why="correction"):
        made = Amendment.objects.create(amended=done, text="It was wax-resin.", signed_by=user)
    with pytest.raises(IntegrityError, match="never changed"), change(user=user, why="x"):
        Amendment.objects.filter(pk=made.pk).update(text="It was starch.")


def test_a_shape_lies_on_its_face_within_the_tolerance() -> None:
    on = builders.face(width=1000, height=600, tolerance_mm=5)
    builders.sighting(builders.trace(on), Point(1004.9, 10, srid=0))
    for shape, words in [
        (Point(1012.5, 10, srid=0), "12.5 mm outside"),
        (GEOSGeometry("POLYGON((0 0,10 10,10 0,0 10,0 0))", srid=0), "not valid"),
        (GEOSGeometry("LINESTRING(10 10,-20 10)", srid=0), "20.0 mm outside"),
    ]:
        with pytest.raises(IntegrityError, match=words) as refused, transaction.atomic():
            builders.sighting(builders.trace(on), shape)
        assert words in explain(refused.value, Sighting)["geometry"]


def test_an_outline_may_not_leave_records_outside() -> None:
    on = builders.face(width=1000, height=600)
    builders.sighting(builders.trace(on), square(900, 500))
    with pytest.raises(IntegrityError, match="outside the face"), change(user=None, why="measured"):
        Face.objects.filter(pk=on.pk).update(outline=Face.rectangle(800, 600))
    with pytest.raises(IntegrityError, match="frame_starts_at_zero"), change(user=None, why="x"):
        Face.objects.filter(pk=on.pk).update(outline=square(1, 1, 990))


def test_the_shape_of_a_trace_is_that_of_its_latest_standing_sighting() -> None:
    made = builders.trace()
    item = made.face.object
    late = builders.sighting(
        made, square(30, 30), examination=builders.examination(item, date="2021")
    )
    builders.sighting(made, square(10, 10), examination=builders.examination(item, date="2003"))
    assert shape_of(made).equals(square(30, 30))
    with change(user=None, why="drawn anew"):
        Sighting.objects.filter(pk=late.pk).update(geometry=square(50, 50))
    assert shape_of(made).equals(square(50, 50))
    late.withdraw(user=None, why="another trace")
    assert shape_of(made).equals(square(10, 10))
    assert versions_of(made).count() == 1, "what is worked out is no change of the record"


def test_what_was_not_seen_has_no_shape() -> None:
    with pytest.raises(IntegrityError, match="not_seen_has_no_shape"):
        builders.sighting(builders.trace(), Point(1, 1, srid=0), outcome=Seen.NOT_SEEN)


def test_only_a_person_decides_an_identification() -> None:
    point = builders.sampling_point(builders.face())
    with pytest.raises(IntegrityError, match="decided_by_a_person"):
        builders.recorded(
            Identification,
            material=builders.material(),
            point=point,
            grounds="Ti in XRF",
            decision="accepted",
        )


def test_removing_material_needs_a_permission() -> None:
    with pytest.raises(IntegrityError, match="invasive_needs_permission"):
        builders.sampling_point(builders.face(), invasive=True)


def test_a_date_is_kept_as_written_beside_its_first_and_last_day() -> None:
    item = builders.canvas(date="1951-03/1952~")
    item.refresh_from_db()
    assert item.date == "1951-03/1952~"
    assert str(item.date_earliest) == "1951-03-01"
    assert str(item.date_latest) == "1958-01-01"
    with pytest.raises(IntegrityError, match="date_in_order"), change(user=None, why="by hand"):
        Object.objects.filter(pk=item.pk).update(date_latest="1950-01-01")
