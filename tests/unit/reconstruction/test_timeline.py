"""The layout of a timeline: extents, order, names that fit, ticks, windows."""

from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from records.reconstruction.timeline import (
    CHARACTER_PX,
    MARGIN_PX,
    MARK_PX,
    SHORTEST_WINDOW_DAYS,
    TICK_APART_PX,
    Span,
    dated_alike,
    lay_out,
    moves,
    narrowed,
    spans,
)

WINDOW = date(1900, 1, 1), date(2000, 12, 31)


def day(text: str) -> date:
    return date.fromisoformat(text)


def span(id: str, begins: str, ends: str, lane: str = "treatment", label: str = "") -> Span:
    """A span from 'first..last' texts; an open end is written '1950-01-01..'."""
    a, b = begins.split("..")
    c, d = ends.split("..")
    return Span(id, label or id, lane, (day(a), day(b)), (day(c), day(d) if d else None))


LINING = span("lining", "1951-03-01..1951-03-31", "1952-01-01..1952-12-31")
LOST = span("lost", "1920-01-01..1960-12-31", "1930-01-01..1970-12-31")
TEAR = span("tear", "1924-09-09..1924-09-09", "1986-03-18..", "alteration", "tear, lower left")


def test_it_reads_a_reconstruction() -> None:
    case: dict[str, Any] = {
        "events": [
            {"id": "photo", "label": "negative", "kind": "examination", "instant": True},
            {"id": "lining", "label": "lining", "kind": "treatment", "instant": False},
        ],
        "traces": [{"id": "tear", "label": "tear", "family": "alteration"}],
    }
    result = {
        "events": {
            "photo": {"start": ["1913-06-01", "1913-06-30"], "end": ["1913-06-01", "1913-06-30"]},
            "lining": {"start": ["1951-03-01", "1951-03-31"], "end": ["1952-01-01", "1952-12-31"]},
        },
        "traces": {"tear": {"made": ["1890-01-01", "1952-12-31"], "gone": ["1890-01-01", None]}},
    }
    found = {s.id: s for s in spans(case, result)}
    assert {i: s.lane for i, s in found.items()} == {
        "photo": "campaign",
        "lining": "treatment",
        "tear": "alteration",
    }
    assert found["lining"].certain == (day("1951-03-31"), day("1952-01-01"))
    assert found["tear"].certain is None
    assert found["tear"].ends == (day("1890-01-01"), None)


def test_what_is_certain_lies_within_what_is_possible() -> None:
    (bar,) = lay_out([LINING], WINDOW).lanes[0].bars
    assert bar.certain
    assert bar.possible.x <= bar.certain.x
    assert bar.certain.x + bar.certain.width <= bar.possible.x + bar.possible.width


def test_lengths_are_in_proportion_to_time() -> None:
    decade = span("d", "1910-01-01..1910-01-01", "1919-12-31..1919-12-31")
    half = span("h", "1950-01-01..1950-01-01", "1999-12-31..1999-12-31")
    a, b = lay_out([decade, half], WINDOW).lanes[0].bars
    assert b.possible.width / a.possible.width == pytest.approx(5, rel=0.01)


def test_nothing_is_certain_when_it_may_have_ended_before_it_surely_began() -> None:
    (bar,) = lay_out([LOST], WINDOW).lanes[0].bars
    assert bar.certain is None


def test_a_single_day_can_be_seen() -> None:
    moment = span("m", "1978-08-12..1978-08-12", "1978-08-12..1978-08-12", "occurrence")
    layout = lay_out([moment], WINDOW, 400)
    (bar,) = layout.lanes[0].bars
    assert bar.certain
    assert bar.certain.width == MARK_PX
    assert layout.left <= bar.certain.x <= layout.right - MARK_PX


@pytest.mark.parametrize("moment", ["1900-01-01", "2000-12-31"])
def test_a_day_at_the_edge_stays_inside(moment: str) -> None:
    layout = lay_out([span("m", f"{moment}..{moment}", f"{moment}..{moment}")], WINDOW)
    (bar,) = layout.lanes[0].bars
    assert layout.left <= bar.possible.x
    assert bar.possible.x + bar.possible.width <= layout.right


def test_what_is_still_there_goes_on_beyond_the_edge() -> None:
    layout = lay_out([TEAR], WINDOW)
    (bar,) = layout.lanes[0].bars
    assert (bar.before, bar.after) == (False, True)
    assert bar.possible.x + bar.possible.width == pytest.approx(layout.right)


def test_lanes_keep_their_order_and_bars_theirs() -> None:
    later = span("later", "1960-01-01..1960-12-31", "1961-01-01..1961-12-31")
    lanes = lay_out([TEAR, later, LINING], WINDOW).lanes
    assert [lane.code for lane in lanes] == ["treatment", "alteration"]
    assert [bar.span.id for bar in lanes[0].bars] == ["lining", "later"]


@pytest.mark.parametrize("width", [360, 640, 1000, 1600])
def test_rows_never_overlap_and_names_never_reach_the_bars(width: float) -> None:
    many = [
        span(f"s{n}", "1920-01-01..1930-01-01", "1940-01-01..", lane, "a long name " * (n % 7 + 1))
        for n in range(30)
        for lane in ("alteration",)
    ] + [LINING, LOST]
    layout = lay_out(many, WINDOW, width)
    bars = [bar for lane in layout.lanes for bar in lane.bars]
    rows = sorted((bar.y, bar.y + bar.height) for bar in bars)
    assert all(below >= end for (_, end), (below, _) in pairwise(rows))
    for bar in bars:
        name_end = bar.name_x + len(bar.name) * CHARACTER_PX
        if width < 640:
            assert bar.name_y < bar.bar_y
            assert name_end <= layout.right + CHARACTER_PX
        else:
            assert name_end <= layout.left
        assert bar.bar_y + 12 <= bar.y + bar.height
    assert layout.height >= rows[-1][1]


def test_what_lies_outside_the_window_is_left_out() -> None:
    window = day("1953-01-01"), day("1999-12-31")
    layout = lay_out([LINING, LOST], window)
    assert [bar.span.id for bar in layout.lanes[0].bars] == ["lost"]
    assert layout.lanes[0].bars[0].before


def test_a_long_lane_says_how_many_it_leaves_out() -> None:
    many = [span(f"s{n}", "1920-01-01..1930-01-01", "1940-01-01..") for n in range(9)]
    layout = lay_out(many, WINDOW, most_per_lane=5)
    assert len(layout.lanes[0].bars) == 5
    assert layout.lanes[0].total == 9
    assert layout.is_cut
    assert not lay_out(many, WINDOW).is_cut


@pytest.mark.parametrize(
    ("first", "last", "expected"),
    [
        ("1900-01-01", "2000-12-31", {"1910", "1950", "2000"}),
        ("1950-01-01", "1950-12-31", {"Apr 1950", "Jul 1950"}),
        ("1200-01-01", "2020-12-31", {"1200", "1500", "2000"}),
        ("0001-01-01", "2020-12-31", {"1000", "2000"}),
    ],
)
def test_ticks_are_round_and_stay_apart(first: str, last: str, expected: set[str]) -> None:
    for width in (380, 700, 1400):
        layout = lay_out([LOST], (day(first), day(last)), width)
        assert all(b.x - a.x >= TICK_APART_PX * 0.9 for a, b in pairwise(layout.ticks))
        assert layout.ticks
    assert expected <= {tick.label for tick in layout.ticks}


def test_a_reversed_window_is_refused() -> None:
    with pytest.raises(ValueError, match="first day before"):
        lay_out([LINING], (WINDOW[1], WINDOW[0]))


def test_a_window_stays_within_the_whole_and_wide_enough_to_draw() -> None:
    first, last = narrowed((day("1850-01-01"), day("2300-01-01")), WINDOW)
    assert (first, last) == WINDOW
    first, last = narrowed((day("2000-12-30"), day("2000-12-31")), WINDOW)
    assert last == WINDOW[1]
    assert (last - first).days == SHORTEST_WINDOW_DAYS


def test_steps_lead_where_they_say() -> None:
    whole_steps = moves(WINDOW, WINDOW)
    assert set(whole_steps) == {"closer"}
    window = day("1940-01-01"), day("1960-12-31")
    steps = moves(window, WINDOW)
    assert set(steps) == {"earlier", "later", "closer", "wider"}
    length = window[1] - window[0]
    assert steps["earlier"][0] < window[0] < steps["later"][0]
    assert steps["earlier"][1] - steps["earlier"][0] == length
    assert steps["closer"][1] - steps["closer"][0] < length < steps["wider"][1] - steps["wider"][0]
    for first, last in steps.values():
        assert WINDOW[0] <= first < last <= WINDOW[1]


def test_steps_stop_at_the_edges() -> None:
    steps = moves((WINDOW[0], WINDOW[0] + timedelta(days=3650)), WINDOW)
    assert "earlier" not in steps
    assert steps["wider"][0] == WINDOW[0]


def test_margins_keep_names_off_the_edge() -> None:
    (bar,) = lay_out([LINING], WINDOW).lanes[0].bars
    assert bar.name_x == MARGIN_PX


def test_what_only_a_number_tells_apart_is_one_row_where_all_dates_agree() -> None:
    def loss(number: str, begins: str = "1910-01-01..1924-12-31") -> Span:
        return span(f"trace:9{number}", begins, "1986-03-18..", "alteration", f"loss {number}")

    elsewhere = span("trace:1", "1910-01-01..1924-12-31", "1986-03-18..", "making", "loss 8")
    later = loss("4", "1930-01-01..1931-12-31")
    rows = dated_alike([loss("10"), loss("2"), TEAR, later, loss("9"), loss("1"), elsewhere])
    assert [row.label for row in rows] == ["loss 1–2, 9–10", "tear, lower left", "loss 4", "loss 8"]
    assert rows[0].id == "trace:91"
    assert rows[1:] == [TEAR, later, elsewhere]


def test_numbers_stay_as_they_are_written() -> None:
    rows = [
        span(f"trace:{n}", "1910-01-01..1924-12-31", "1986-03-18..", "alteration", f"tear R{n:03}")
        for n in (12, 13, 15)
    ]
    assert [row.label for row in dated_alike(rows)] == ["tear R012–013, 015"]


@given(st.lists(st.tuples(st.sampled_from("ab"), st.integers(0, 30)), unique=True))
def test_no_span_is_lost_when_rows_are_put_together(named: list[tuple[str, int]]) -> None:
    found = [
        span(f"{name}{number}", "1910-01-01..1924-12-31", "1986-03-18..", label=f"{name} {number}")
        for name, number in named
    ]
    told = {
        (row.label[0], number)
        for row in dated_alike(found)
        for part in row.label[2:].split(", ")
        for first, _, last in [part.partition("–")]
        for number in range(int(first), int(last or first) + 1)
    }
    assert told == set(named)
