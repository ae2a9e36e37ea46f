"""The surface on a day, and the order of traces as a diagram."""

from datetime import date

import pytest
from django.utils.html import strip_tags

from analyses.models import Layer
from records.choices import Family
from records.models import Effect, Face, Object, Relation, Trace
from records.reconstruction.gather import gather
from records.reconstruction.states import states, surface_on, traces_on
from tests import builders
from tests.integration.history.test_room import page, signed_in, worked_out

pytestmark = pytest.mark.django_db

SQUARE = "POLYGON((10 10, 50 10, 50 50, 10 50, 10 10))"


@pytest.fixture
def item() -> Object:
    return builders.canvas(date="1911")


@pytest.fixture
def recto(item: Object) -> Face:
    return builders.face(item)


@pytest.fixture
def fill(item: Object, recto: Face) -> Trace:
    """A fill put on between March 1951 and December 1952 and seen in 1986."""
    made = builders.trace(recto, builders.trace_kind("fill", Family.INTERVENTION), label="fill")
    builders.recorded(Effect, treatment=builders.treatment(item), trace=made)
    builders.sighting(made, SQUARE, examination=builders.examination(item, date="1986"))
    return made


@pytest.mark.parametrize(
    ("day", "state"),
    [
        (date(1951, 2, 28), "absent"),
        (date(1951, 6, 1), "possible"),
        (date(1953, 1, 1), "present"),
        (date(2000, 1, 1), "possible"),
    ],
)
def test_a_trace_is_absent_then_possible_then_present(
    item: Object, fill: Trace, day: date, state: str
) -> None:
    assert traces_on(item, day) == {fill.pk: state}
    assert states(gather(item).case(), day) == {fill.pk: state}


def test_the_page_opens_on_the_day_of_which_most_is_certain(item: Object, fill: Trace) -> None:
    worked_out(item)
    text = page(signed_in(), item, "day")
    assert ">1 January 1986</h2>" in text
    assert 'class="day-mark present intervention"' in text


def test_the_surface_draws_what_was_or_may_have_been_there(item: Object, fill: Trace) -> None:
    (side,) = surface_on(item, {fill.pk: "possible"}, list(Family.values))
    (mark,) = side.marks
    assert (mark.trace, mark.label, mark.state) == (fill.pk, "fill", "possible")
    assert mark.path.startswith("M 10 -10")
    assert (side.width_mm, side.height_mm) == (1000, 600)
    (empty,) = surface_on(item, {fill.pk: "absent"}, list(Family.values))
    assert empty.marks == ()
    (other,) = surface_on(item, {fill.pk: "present"}, [Family.ALTERATION])
    assert other.marks == ()


def test_what_covers_the_face_is_named_beside_the_drawing(item: Object, recto: Face) -> None:
    varnish = builders.trace(recto, label="varnish")
    builders.sighting(varnish, "POLYGON((0 0, 1000 0, 1000 600, 0 600, 0 0))")
    (side,) = surface_on(item, {varnish.pk: "present"}, list(Family.values))
    assert side.marks == ()
    assert [mark.label for mark in side.whole] == ["varnish"]


@pytest.mark.parametrize("shape", ["POINT(20 20)", "LINESTRING(10 10, 90 40)"])
def test_points_and_lines_can_be_seen(item: Object, recto: Face, shape: str) -> None:
    thin = builders.trace(recto)
    builders.sighting(thin, shape)
    (side,) = surface_on(item, {thin.pk: "present"}, list(Family.values))
    assert side.marks[0].path.count(" ") > 10


def test_the_day_can_be_chosen_by_slider_or_date(item: Object, fill: Trace) -> None:
    worked_out(item)
    client = signed_in()
    text = page(client, item, "day", day="1953-01-01")
    assert ">1 January 1953</h2>" in text
    assert 'class="day-mark present intervention"' in text
    days = (date(1951, 6, 1) - date(1911, 1, 1)).days
    text = page(client, item, "day", at=days)
    assert ">1 June 1951</h2>" in text
    assert 'class="day-mark possible intervention"' in text
    assert "On to: Glue-paste lining" in text
    assert 'class="day-mark' not in page(client, item, "day", day="1920-01-01")
    assert 'class="day-mark' not in page(client, item, "day", day="1953-01-01", show="alteration")
    assert ">1 January 1911</h2>" in page(client, item, "day", at="-5")
    page(client, item, "day", day="some day", at="x")


class TestSequence:
    @pytest.fixture
    def chain(self, recto: Face) -> list[Trace]:
        traces = [builders.trace(recto, label=label) for label in ("loss", "putty", "colour")]
        for lower, upper in ((0, 1), (1, 2), (0, 2)):
            builders.recorded(Relation, upper=traces[upper], lower=traces[lower])
        return traces

    def test_the_whole_object(self, item: Object, recto: Face, chain: list[Trace]) -> None:
        builders.trace(recto, label="elsewhere")
        worked_out(item)
        text = page(signed_in(), item, "sequence")
        assert "3 of 4 traces" in text
        assert text.count('class="order"') == 2
        assert "The colour lies over the putty, so it is the later (as recorded)." in strip_tags(
            text
        )
        assert "elsewhere" not in text

    def test_one_section(self, item: Object, recto: Face, chain: list[Trace]) -> None:
        cut = builders.section(builders.sample(builders.sampling_point(recto)))
        ground = builders.trace(recto, label="ground")
        for number, trace in enumerate((ground, chain[0]), 1):
            builders.recorded(Layer, preparation=cut, number=number, description="", trace=trace)
        worked_out(item)
        text = page(signed_in(), item, "sequence", section=cut.pk)
        assert "2 of 2 traces" in text
        assert "putty" not in text

    def test_by_dates_as_well(self, item: Object, recto: Face, chain: list[Trace]) -> None:
        early = builders.treatment(item, date="1920")
        late = builders.treatment(item, date="1980")
        one, two = builders.trace(recto, label="one"), builders.trace(recto, label="two")
        builders.recorded(Effect, treatment=early, trace=one)
        builders.recorded(Effect, treatment=late, trace=two)
        builders.recorded(Relation, upper=one, lower=chain[0])
        builders.recorded(Relation, upper=two, lower=chain[0])
        worked_out(item)
        client = signed_in()
        assert 'class="order by-dates"' not in page(client, item, "sequence")
        assert 'class="order by-dates"' in page(client, item, "sequence", dates="on")

    def test_without_any_order_it_says_how_to_record_one(self, item: Object, fill: Trace) -> None:
        worked_out(item)
        assert "No order has been observed here" in page(signed_in(), item, "sequence")
