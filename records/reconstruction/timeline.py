"""Where everything on a timeline goes: a pure layout, drawn by a template for page and PDF alike.

Lengths are CSS pixels. What is certain is one extent, what is possible a wider one around it; both
come from the bounds of a reconstruction.
"""

import calendar
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from operator import itemgetter
from typing import Any

from records.reconstruction.telling import day_in_words, span_in_words

Json = Mapping[str, Any]

NARROW_PX = 640  # below this width, names stand above their bars instead of beside them
ROW_PX, ROW_NARROW_PX = 24, 46
BAR_PX = 12
LANE_HEAD_PX, LANE_HEAD_NARROW_PX = 36, 54  # its name, and the years beside or below it
FOOT_PX = 10
MARGIN_PX = 14
GUTTER_SHARE, GUTTER_MOST_PX = 0.3, 290
CHARACTER_PX = 5.9  # of running text in Source Sans 3 at 13 px: a mean of 5.4, measured, and room
TICK_APART_PX = 64
MARK_PX = 3  # the least width at which a single day can be seen
SHORTEST_WINDOW_DAYS = 180

LANES = (
    ("occurrence", "Occurrences", "ink"),
    ("treatment", "Treatments", "ink"),
    ("campaign", "Examinations and photographs", "ink"),
    ("alteration", "Alterations", "madder"),
    ("intervention", "Interventions", "smalt"),
    ("making", "Making", "umber"),
)
PRINTED = {"ink": "#201c16", "madder": "#8e2a33", "smalt": "#1f4e86", "umber": "#6d5312"}
NUMBERED = re.compile(r"(?P<name>.*[^0-9])(?P<number>[0-9]+)")
STEPS_MONTHS = (1, 2, 3, 6, 12, 24, 60, 120, 240, 300, 600, 1200, 2400, 6000, 12000)


@dataclass(frozen=True, slots=True)
class Span:
    """One entity in time: the bounds of its beginning and end (None: no end known)."""

    id: str
    label: str
    lane: str
    begins: tuple[date, date]
    ends: tuple[date, date | None]

    @property
    def certain(self) -> tuple[date, date] | None:
        """First and last day on which it was there in every history that the evidence allows."""
        first, last = self.begins[1], self.ends[0]
        return (first, last) if first <= last else None

    @property
    def trace(self) -> int | None:
        """Key of the trace that it stands for."""
        kind, _, pk = self.id.partition(":")
        return int(pk) if kind == "trace" else None

    @property
    def words(self) -> str:
        """When it began and ended, told."""
        began, ended = ("made", "gone") if self.trace else ("began", "ended")
        if self.begins == self.ends:
            return span_in_words(*self.begins)
        begin = f"{began} {span_in_words(*self.begins)}"
        if self.ends[1] is not None:
            return f"{begin}, {ended} {span_in_words(*self.ends)}"
        surely = f"surely there until {day_in_words(self.ends[0])}, " if self.certain else ""
        return f"{begin}, {surely}may be there still"

    def touches(self, first: date, last: date) -> bool:
        """Whether it may have been there on some day of [first, last]."""
        return self.begins[0] <= last and (self.ends[1] is None or self.ends[1] >= first)


@dataclass(frozen=True, slots=True)
class Extent:
    """A horizontal stretch of the drawing."""

    x: float
    width: float


@dataclass(frozen=True, slots=True)
class Bar:
    """A drawn span; `before` and `after` tell that it goes on beyond the edges."""

    span: Span
    y: float
    height: float
    bar_y: float
    name: str
    name_x: float
    name_y: float
    possible: Extent
    certain: Extent | None
    before: bool
    after: bool

    @property
    def before_mark(self) -> str:
        """SVG path of the mark at the left edge of a bar that begins earlier."""
        return f"M{self.possible.x - 3} {self.bar_y + 1}l-5 5 5 5"

    @property
    def after_mark(self) -> str:
        """SVG path of the mark at the right edge of a bar that goes on."""
        return f"M{self.possible.x + self.possible.width + 3} {self.bar_y + 1}l5 5 -5 5"


@dataclass(frozen=True, slots=True)
class Lane:
    """Bars under one heading; `total` counts those left out to keep the drawing short as well.

    It reaches from `top` to `foot`, so that it can be drawn, and put on a printed page, by itself.
    """

    code: str
    title: str
    pigment: str
    top: float
    foot: float
    name_y: float
    ticks_y: float
    bars: tuple[Bar, ...]
    total: int

    @property
    def height(self) -> float:
        return self.foot - self.top

    @property
    def printed(self) -> str:
        """The pigment as a colour where style sheets do not reach."""
        return PRINTED[self.pigment]


@dataclass(frozen=True, slots=True)
class Tick:
    x: float
    label: str


@dataclass(frozen=True, slots=True)
class Layout:
    """A timeline of `width` × `height` px: the days [first, last] run from `left` to `right`."""

    width: float
    height: float
    left: float
    right: float
    first: date
    last: date
    lanes: tuple[Lane, ...]
    ticks: tuple[Tick, ...]

    @property
    def is_cut(self) -> bool:
        """Whether some lane leaves bars out."""
        return any(lane.total > len(lane.bars) for lane in self.lanes)


def spans(case: Json, result: Json) -> list[Span]:
    """Every event and trace of a reconstruction as a span of time, by kind and family."""
    found = []
    for event in case["events"]:
        bounds = result["events"][event["id"]]
        lane = "campaign" if event["kind"] == "examination" else event["kind"]
        found.append(_span(event, lane, bounds["start"], bounds["end"]))
    for trace in case["traces"]:
        bounds = result["traces"][trace["id"]]
        found.append(_span(trace, trace["family"], bounds["made"], bounds["gone"]))
    return found


def _span(entity: Json, lane: str, begins: Sequence[str], ends: Sequence[str]) -> Span:
    earliest, latest = map(date.fromisoformat, begins)
    end = date.fromisoformat(ends[1]) if ends[1] else None
    return Span(
        entity["id"],
        entity["label"],
        lane,
        (earliest, latest),
        (date.fromisoformat(ends[0]), end),
    )


def dated_alike(found: Iterable[Span]) -> list[Span]:
    """The same spans, those told apart by a number only as one where all dates agree.

    "loss 1", "loss 2", "loss 3" and "loss 7" become "loss 1–3, 7", which stands for the first.
    """
    alike: defaultdict[tuple[object, ...], list[tuple[int, Span]]] = defaultdict(list)
    for span in found:
        parts = NUMBERED.fullmatch(span.label)
        name, number = (parts["name"], int(parts["number"])) if parts else (span.id, 0)
        alike[span.lane, span.begins, span.ends, name].append((number, span))
    together = []
    for (*_, name), members in alike.items():
        members.sort(key=itemgetter(0))
        first = members[0][1]
        numbers = first.label if len(members) == 1 else f"{name}{_in_ranges(members)}"
        together.append(replace(first, label=numbers))
    return together


def _in_ranges(numbered: Iterable[tuple[int, Span]]) -> str:
    """Ascending numbers, as they are written, as a list: '1–3, 7'."""
    runs: list[list[tuple[int, str]]] = []
    for number, span in numbered:
        written = span.label[len(span.label.rstrip("0123456789")) :]
        if runs and number == runs[-1][-1][0] + 1:
            runs[-1].append((number, written))
        else:
            runs.append([(number, written)])
    return ", ".join("–".join(dict.fromkeys((run[0][1], run[-1][1]))) for run in runs)


def lay_out(
    found: Iterable[Span],
    window: tuple[date, date],
    width: float = 1000,
    most_per_lane: int | None = None,
) -> Layout:
    """Place the spans that touch the window; `most_per_lane` keeps only the earliest of each lane.

    Raises ValueError when the window is reversed or empty.
    """
    first, last = window
    if first >= last:
        raise ValueError("A timeline needs a first day before its last day.")
    narrow = width < NARROW_PX
    gutter = 0 if narrow else min(width * GUTTER_SHARE, GUTTER_MOST_PX)
    scale = _Scale(first, last, MARGIN_PX + gutter, width - MARGIN_PX)
    row = ROW_NARROW_PX if narrow else ROW_PX
    touching = [s for s in found if s.touches(first, last)]
    lanes = []
    head = LANE_HEAD_NARROW_PX if narrow else LANE_HEAD_PX
    y = 0.0
    for code, title, pigment in LANES:
        members = sorted((s for s in touching if s.lane == code), key=_by_beginning)
        if not members:
            continue
        top = y + head
        shown = members[:most_per_lane]
        bars = tuple(scale.bar(s, top + n * row, narrow) for n, s in enumerate(shown))
        foot = top + len(shown) * row
        lanes.append(Lane(code, title, pigment, y, foot, y + 24, top - 12, bars, len(members)))
        y = foot
    ticks = tuple(scale.ticks())
    return Layout(width, y + FOOT_PX, scale.left, scale.right, first, last, tuple(lanes), ticks)


def _by_beginning(span: Span) -> tuple[date, date, date, str]:
    return *span.begins, span.ends[0], span.id


@dataclass(frozen=True, slots=True)
class _Scale:
    """Days to pixels."""

    first: date
    last: date
    left: float
    right: float

    def x(self, ordinal: int) -> float:
        """Left edge of the day with that ordinal number, kept within the drawing."""
        start, end = self.first.toordinal(), self.last.toordinal() + 1
        within = min(max(ordinal, start), end)
        return round(self.left + (within - start) / (end - start) * (self.right - self.left), 1)

    def extent(self, begin: date, end: date) -> Extent:
        """From the start of one day to the end of another, never too thin to be seen."""
        a, b = self.x(begin.toordinal()), self.x(end.toordinal() + 1)
        if b - a >= MARK_PX:
            return Extent(a, round(b - a, 1))
        middle = min(max((a + b) / 2, self.left + MARK_PX / 2), self.right - MARK_PX / 2)
        return Extent(round(middle - MARK_PX / 2, 1), MARK_PX)

    def bar(self, span: Span, y: float, narrow: bool) -> Bar:
        certain, end = span.certain, span.ends[1] or date.max
        is_in_view = certain and certain[0] <= self.last and certain[1] >= self.first
        room = self.right - self.left if narrow else self.left - 2 * MARGIN_PX
        height = ROW_NARROW_PX if narrow else ROW_PX
        return Bar(
            span,
            y,
            height,
            y + 24 if narrow else y + (height - BAR_PX) / 2,
            _shortened(span.label, int(room / CHARACTER_PX)),
            MARGIN_PX,
            y + 16 if narrow else y + height / 2 + 4.5,
            self.extent(span.begins[0], end),
            self.extent(*certain) if certain and is_in_view else None,
            span.begins[0] < self.first,
            end > self.last,
        )

    def ticks(self) -> Iterator[Tick]:
        """Marks at the beginnings of round years or months, as many as stay apart."""
        months = (self.last.year - self.first.year) * 12 + self.last.month - self.first.month + 1
        fitting = max(1, int((self.right - self.left) / TICK_APART_PX))
        step = next((s for s in STEPS_MONTHS if months / s <= fitting), STEPS_MONTHS[-1])
        # Months are counted from the year 0, so that steps fall on round years.
        opening = self.first.year * 12 + self.first.month - 1
        for month in range(-(-opening // step) * step, opening + months, step):
            year, number = divmod(month, 12)
            day = date(max(year, 1), number + 1, 1)
            if self.first <= day <= self.last:
                name = "" if step >= 12 or number == 0 else f"{calendar.month_abbr[number + 1]} "
                yield Tick(self.x(day.toordinal()), f"{name}{day.year}")


def _shortened(text: str, most: int) -> str:
    return text if len(text) <= most else text[: max(most - 1, 1)].rstrip(" ,") + "…"


def narrowed(window: tuple[date, date], whole: tuple[date, date]) -> tuple[date, date]:
    """A window kept within the whole and no shorter than can be drawn."""
    first = max(window[0], whole[0])
    last = min(window[1], whole[1])
    least = timedelta(days=SHORTEST_WINDOW_DAYS)
    if last - first < least:
        last = min(first + least, whole[1])
        first = max(last - least, whole[0])
    return first, last


def moves(window: tuple[date, date], whole: tuple[date, date]) -> dict[str, tuple[date, date]]:
    """Where each step leads from a window: earlier, later, closer, wider; idle ones left out."""
    first, last = window
    days = (last - first).days
    quarter = timedelta(days=max(days // 4, 1))
    slack = whole[0] - first, whole[1] - last
    back, forth = max(-quarter * 2, slack[0]), min(quarter * 2, slack[1])
    wider = (
        max(whole[0], first - quarter * 2) if first > whole[0] else first,
        min(whole[1], last + quarter * 2) if last < whole[1] else last,
    )
    steps = {
        "earlier": (first + back, last + back),
        "later": (first + forth, last + forth),
        "closer": narrowed((first + quarter, last - quarter), whole),
        "wider": wider,
    }
    return {name: step for name, step in steps.items() if step != window}
