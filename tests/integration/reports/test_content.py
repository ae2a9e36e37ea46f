"""What is gathered for a dossier, and with how many queries."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from analyses.models import Analysis, Evaluation
from records.choices import Family
from reports.content import Content, Dates, State, compile_object
from reports.content.laboratory import LeftOpen
from tests import builders
from tests.integration.reports.conftest import Small, box

pytestmark = pytest.mark.django_db


def compiled(small: Small, **given: object) -> Content:
    return compile_object(small.object, timezone.now(), **given)  # type: ignore[arg-type]


def states(content: Content) -> dict[str, State]:
    return {line.trace.number: line.state for face in content.faces for line in face.traces}


def test_the_latest_look_decides_how_certain_a_trace_is(small: Small) -> None:
    found = states(compiled(small))
    numbers = {key: trace.number for key, trace in small.traces.items()}
    assert found[numbers["loss"]] == State.CERTAIN
    assert found[numbers["unsure loss"]] == State.POSSIBLE
    assert found[numbers["gone"]] == State.GONE


def test_a_trace_known_only_from_an_old_photograph_is_only_possible(small: Small) -> None:
    trace = builders.trace(small.recto, builders.trace_kind("loss"), number="500")
    builders.sighting(trace, box(10, 10, 20, 20), image=builders.photograph(small.object))
    assert states(compiled(small))["500"] == State.POSSIBLE


def test_the_history_may_show_that_a_trace_has_ended(small: Small) -> None:
    loss = small.traces["loss"]
    ended = Dates("in 1920", "1920", "in 1950", "1950", ())
    content = compiled(small, dates={loss.pk: ended})
    assert states(content)[loss.number] == State.GONE
    recto = content.faces[0]
    assert loss.number not in {mark.number for mark in recto.marks[Family.ALTERATION]}


def test_withdrawn_records_are_left_out(small: Small) -> None:
    small.traces["loss"].withdraw(user=small.conservator, why="entered twice")
    assert small.traces["loss"].number not in states(compiled(small))


def test_the_condition_is_summed_up_by_kind_and_zone(small: Small) -> None:
    lines = {line.kind.code: line for line in compiled(small).faces[0].kind_lines["alteration"]}
    loss = lines["loss"]
    assert (loss.certain, loss.possible) == (2, 1)
    assert loss.extent.replace("\u202f", " ") == "150 ± 4 cm²"
    assert [(place.zone, place.count) for place in loss.zones] == [("Left half", 2), ("Sky", 3)]


def test_the_visible_picture_placed_on_a_face_is_its_ground(small: Small) -> None:
    recto, verso = compiled(small).faces
    assert recto.picture is not None
    assert recto.picture.image == small.picture
    assert verso.picture is None


def test_each_side_says_how_it_relates_to_the_other(small: Small) -> None:
    recto, verso = compiled(small).faces
    assert "of the side ‘verso’" in recto.frame_note
    assert "of the side ‘recto’" in verso.frame_note


def test_what_a_measurement_could_not_tell_stands_beside_what_it_read(small: Small) -> None:
    analysis = Analysis.objects.get(technique__code="sem_edx")
    older = {"unsettled": [{"says": "gone since", "settle": ""}], "unexplained": []}
    Evaluation.objects.create(analysis=analysis, result=older)
    told = {
        "unsettled": [{"codes": ["Ba", "Ti"], "says": "Ba Lα lies on Ti Kα.", "settle": "Ba Kα."}],
        "unexplained": [{"x": 3.6912, "label": ""}, {"x": 8.04, "label": "Cu?"}],
    }
    Evaluation.objects.create(analysis=analysis, method="X-ray lines", result=told)
    Evaluation.objects.create(analysis=analysis, error="The file cannot be read.")
    found = {one.pk: left for part in compiled(small).points for one, left in part.analyses}
    left = found.pop(analysis.pk)
    assert left == LeftOpen(
        "X-ray lines", (("Ba Lα lies on Ti Kα.", "Ba Kα."),), "3.6912, 8.04 (Cu?)"
    )
    assert not any(found.values())


def test_the_number_of_queries_does_not_grow_with_the_records(small: Small) -> None:
    with CaptureQueriesContext(connection) as few:
        compiled(small)
    look = builders.examination(small.object)
    for number in range(600, 640):
        trace = builders.trace(small.recto, builders.trace_kind("loss"), number=str(number))
        builders.sighting(trace, box(10, 10, 20, 20), examination=look)
        point = builders.sampling_point(small.recto, number=f"Q{number}")
        builders.analysis(point=point)
        builders.treatment(small.object)
        builders.source(small.object)
    with CaptureQueriesContext(connection) as many:
        compiled(small)
    assert len(many) == len(few) <= 60
