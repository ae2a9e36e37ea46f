"""A signature locks what belongs to the record with it, whoever writes and by whichever way."""

from collections.abc import Callable
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from rest_framework.test import APIClient

from analyses.models import Identification, Reading
from records.changes import change
from records.choices import Role
from records.models import Coverage, Person, Signable, TreatmentArea
from tests import builders as make

pytestmark = pytest.mark.django_db

LOCKED = "belongs to a signed record and is locked with it"


def coverage() -> tuple[Any, Any, Callable[[], Any]]:
    face = make.face()
    look = make.examination(face.object)
    part = make.recorded(Coverage, examination=look, face=face)
    other = make.face(face.object, name="verso")
    return look, part, lambda: make.recorded(Coverage, examination=look, face=other)


def area() -> tuple[Any, Any, Callable[[], Any]]:
    face = make.face()
    done = make.treatment(face.object)
    part = make.recorded(TreatmentArea, treatment=done, face=face, note="lower third")
    return done, part, lambda: make.recorded(TreatmentArea, treatment=done, face=face)


def reading() -> tuple[Any, Any, Callable[[], Any]]:
    analysis = make.analysis(point=make.sampling_point(make.face()))
    given = {"analysis": analysis, "kind": "element", "label": "Zn"}
    part = make.recorded(Reading, **given)
    return analysis, part, lambda: make.recorded(Reading, **given)


PARTS = pytest.mark.parametrize("made", [coverage, area, reading])


@PARTS
def test_parts_are_free_until_the_record_is_signed(made: Callable[[], Any]) -> None:
    whole, part, add = made()
    assert isinstance(whole, Signable)
    add()
    with change(user=None, why="by hand"):
        part.save()


@PARTS
def test_no_part_of_a_signed_record_is_added_changed_or_withdrawn(made: Callable[[], Any]) -> None:
    whole, part, add = made()
    whole.sign(user=make.user(Role.CONSERVATOR))
    for deed in (add, lambda: part.withdraw(user=None, why="a slip"), _moved(part)):
        with pytest.raises(IntegrityError, match=LOCKED), transaction.atomic():
            deed()


def _moved(part: Any) -> Callable[[], None]:
    """Carry the part off to another record of the kind."""

    def deed() -> None:
        link = {Coverage: "examination", TreatmentArea: "treatment", Reading: "analysis"}[
            type(part)
        ]
        whole = getattr(part, link)
        copy = type(whole).objects.get(pk=whole.pk)
        copy.pk, copy._state.adding, copy.signed_at, copy.signed_by = None, True, None, None
        with change(user=None, why="carried off"):
            copy.save()
            type(part).objects.filter(pk=part.pk).update(**{link: copy})

    return deed


def test_nobody_is_added_to_or_taken_off_a_signed_treatment() -> None:
    done = make.treatment(make.face().object)
    person = make.recorded(Person, name="Ada Lindqvist-Moor")
    with change(user=None, why="recorded"):
        done.people.add(person)
    done.sign(user=make.user(Role.CONSERVATOR))
    for deed in (done.people.clear, lambda: done.materials.add(make.material())):
        with (
            pytest.raises(IntegrityError, match=LOCKED),
            change(user=None, why="by hand"),
        ):
            deed()
    assert list(done.people.all()) == [person]


def test_the_readings_that_a_signed_identification_rests_on_stay() -> None:
    analysis, part, _ = reading()
    found = make.recorded(
        Identification, point=analysis.point, material=make.material(), grounds="Zn in XRF"
    )
    found.sign(user=make.user(Role.SCIENTIST))
    with pytest.raises(IntegrityError, match=LOCKED), change(user=None, why="by hand"):
        found.readings.add(part)


def test_a_program_is_told_what_to_do_instead() -> None:
    analysis, part, _ = reading()
    analysis.sign(user=make.user(Role.SCIENTIST))
    client = APIClient()
    client.force_authenticate(make.user(Role.SCIENTIST))
    new = {"analysis": analysis.pk, "kind": "element", "label": "Pb"}
    for answer in (
        client.post("/api/readings/", new),
        client.patch(f"/api/readings/{part.pk}/", {"label": "Pb", "why": "misread"}),
        client.post(f"/api/readings/{part.pk}/withdraw/", {"why": "misread"}),
    ):
        assert answer.status_code == 400, answer.data
        assert LOCKED in str(answer.data)
        assert "add an amendment" in str(answer.data)
    assert Reading.objects.get().label == "Zn"
