"""Uncertain dates: reading EDTF (ISO 8601-2:2019) text to a first and a last day, and telling it.

Covers the part of the grammar that records use: years, months, days, seasons, decades and centuries
with unspecified digits, sets, intervals with open or unknown ends, and the qualifiers ~ ? %.
Years run from 0001 to 9999; days before 1582 are proleptic Gregorian.
"""

import calendar
import re
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache

# How far 'about' (~ or %) reaches on either side, in days, by the precision of the date.
WIDENING = {"day": 15, "month": 92, "season": 92, "year": 1827, "decade": 1827, "century": 9132}
SEASONS = {
    21: ("spring", "March to May", 3),
    22: ("summer", "June to August", 6),
    23: ("autumn", "September to November", 9),
    24: ("winter", "December to February", 12),
}
MONTHS = list(calendar.month_name)
MARKS = {"": "", "~": "about ", "?": "perhaps ", "%": "perhaps about "}

SINGLE = re.compile(
    r"(?P<year>[0-9]{4}|[0-9]{3}X|[0-9]{2}XX)"
    r"(?:-(?P<month>[0-9]{2}|XX)(?:-(?P<day>[0-9]{2}|XX))?)?"
    r"(?P<mark>[~?%]?)"
)
# What people write instead, what is wrong with it, and how it is written.
HABITS = (
    (r"(?:c|ca|circa|about)\.?\s*([0-9]{4})", "says ‘about’ in words", r"\1~"),
    (r"([0-9]{3})0s", "is a decade in words", r"\1X"),
    (r"([0-9]{4})\s*[-–]\s*([0-9]{4})", "joins two years with a dash", r"\1/\2"),
    (r"([0-9]{1,2})[./ ]([0-9]{1,2})[./ ]([0-9]{4})", "begins with the day", "1951-03-14"),
    (r"([0-9]{4})-([0-9])", "has a month of one digit", r"\1-0\2"),
    (r"(?:Y?-|Y)[0-9X-]+.*", "lies outside the years 0001 to 9999", "0850"),
)


class EdtfError(ValueError):
    """Text that is no date; says which part is not understood and gives an example."""

    def __init__(self, part: str, why: str, example: str) -> None:
        self.part, self.why, self.example = part, why, example
        super().__init__(f"“{part}” {why}. Write for example {example}.")


@dataclass(frozen=True, slots=True)
class Edtf:
    """A date as understood: days are inclusive and None where the date is open.

    `start` and `end` are the first and last day of either part of an interval; a date that is no
    interval has the same days in both. `earliest` and `latest` span the whole. All of them are
    widened already where the date is approximate. `precision` is that of the coarsest part.
    """

    text: str
    earliest: date | None
    latest: date | None
    start: tuple[date | None, date | None]
    end: tuple[date | None, date | None]
    precision: str
    is_interval: bool = False
    is_set: bool = False
    approximate: bool = False
    tentative: bool = False


@dataclass(frozen=True, slots=True)
class _Part:
    """One date or set: its days, its marks, and how it is said."""

    first: date
    last: date
    precision: str
    words: str
    marks: frozenset[str] = frozenset()


@lru_cache(maxsize=4096)
def read(text: str) -> Edtf:
    """Read EDTF text; raises EdtfError."""
    parts = _parts(text)
    given = [part for part in parts if part is not None]
    marks = frozenset[str]().union(*(part.marks for part in given))
    start, end = ((p.first, p.last) if p else (None, None) for p in (parts[0], parts[-1]))
    return Edtf(
        text,
        earliest=start[0],
        latest=end[1],
        start=start,
        end=end,
        precision=max((p.precision for p in given), key=list(WIDENING).index),
        is_interval=len(parts) == 2,
        is_set=any(side.strip()[:1] in ("[", "{") for side in text.split("/")),
        approximate=not marks.isdisjoint("~%"),
        tentative=not marks.isdisjoint("?%"),
    )


def describe(text: str) -> str:
    """Tell in plain English what the date says; raises EdtfError.

    What the marks and seasons are taken to mean stands in brackets: ‘about 1924 (taken as
    31 December 1918 to 1 January 1930)’.
    """
    parts = _parts(text)
    if len(parts) == 1:
        assert parts[0] is not None
        return parts[0].words
    start, end = parts
    if start is None:
        assert end is not None
        return f"until {end.words}, start not stated"
    if end is None:
        return f"from {start.words}, end not stated"
    return f"from {start.words} to {end.words}"


def _parts(text: str) -> list[_Part | None]:
    """One part, or the two of an interval; None stands for an end that is open or unknown."""
    sides = text.strip().split("/")
    if sides == [""]:
        raise EdtfError("", "is empty", "1951")
    if len(sides) == 1:
        return [_part(sides[0])]
    if len(sides) > 2:
        raise EdtfError(text, "has more than one slash", "1951-03/1952")
    parts = [None if side in {"", ".."} else _part(side) for side in sides]
    start, end = parts
    if start is None and end is None:
        raise EdtfError(text, "says nothing of the start or the end", "1951/..")
    if start and end and start.first > end.last:
        raise EdtfError(text, "begins after it ends", f"{sides[1]}/{sides[0]}")
    return parts


def _part(text: str) -> _Part:
    if (text[:1], text[-1:]) in {("[", "]"), ("{", "}")}:
        return _set(text)
    return _single(text)


def _set(text: str) -> _Part:
    """A set of dates, of which only the hull counts."""
    members: list[_Part] = []
    words: list[str] = []
    for piece in (p.strip() for p in text[1:-1].split(",")):
        low, dots, high = piece.partition("..")
        if not piece or (dots and not (low and high)):
            raise EdtfError(piece or text, "leaves a date of the set open", "[1936,1938]")
        ends = [_single(low), _single(high)] if dots else [_single(low)]
        if ends[0].first > ends[-1].last:
            raise EdtfError(piece, "begins after it ends", f"{high}..{low}")
        members += ends
        words.append(" to ".join(end.words for end in ends))
    joiner = " or " if text[0] == "[" else " and "
    return _Part(
        min(m.first for m in members),
        max(m.last for m in members),
        max((m.precision for m in members), key=list(WIDENING).index),
        joiner.join(words),
        frozenset().union(*(m.marks for m in members)),
    )


def _single(text: str) -> _Part:
    match = SINGLE.fullmatch(text)
    if not match:
        raise _not_understood(text)
    year, month, day, mark = match.group("year", "month", "day", "mark")
    if int(year.replace("X", "9")) < 1:
        raise EdtfError(year, "lies before the year 0001", "0850")
    if month is None:
        plain = _years(year)
    elif "X" in year:
        raise EdtfError(text, "gives a month in a year that is not known", "195X or 1951-03")
    elif month == "XX":
        if day not in {None, "XX"}:
            raise EdtfError(text, "gives a day without a month", "1951-03-14")
        whole = _years(year)
        unit = "day" if day else "month"
        plain = _Part(whole.first, whole.last, "year", f"some {unit} of {whole.words}")
    elif int(month) in SEASONS:
        if day:
            raise EdtfError(text, "gives a day of a season", "1951-21 or 1951-03-14")
        plain = _season(int(year), int(month))
    elif 1 <= int(month) <= 12:
        plain = _month(int(year), int(month), day)
    else:
        raise EdtfError(month, "is no month (01–12) or season (21–24)", f"{year}-03")
    return _marked(plain, mark) if mark else plain


def _years(digits: str) -> _Part:
    """A year, decade or century."""
    low, high = int(digits.replace("X", "0")), int(digits.replace("X", "9"))
    precision = {0: "year", 1: "decade", 2: "century"}[digits.count("X")]
    words = str(low)
    if precision == "decade" and low % 100:
        words = f"the {low}s"
    elif low != high:
        words = f"{max(low, 1)} to {high}"
    return _Part(date(max(low, 1), 1, 1), date(high, 12, 31), precision, words)


def _season(year: int, number: int) -> _Part:
    name, months, opening = SEASONS[number]
    following, closing = divmod(opening + 1, 12)
    if year + following > date.max.year:
        raise EdtfError(f"{year}-{number}", "ends after the year 9999", "1951-24")
    length = calendar.monthrange(year + following, closing + 1)[1]
    said = f"{name} {year}/{year + 1}" if following else f"{name} {year}"
    return _Part(
        date(year, opening, 1),
        date(year + following, closing + 1, length),
        "season",
        f"{said} ({months})",
    )


def _month(year: int, month: int, day: str | None) -> _Part:
    length = calendar.monthrange(year, month)[1]
    words = f"{MONTHS[month]} {year}"
    if day is None or day == "XX":
        some = "some day of " if day else ""
        return _Part(date(year, month, 1), date(year, month, length), "month", f"{some}{words}")
    if not 1 <= int(day) <= length:
        raise EdtfError(day, f"is no day of {words}", f"{year:04}-{month:02}-{length:02}")
    one = date(year, month, int(day))
    return _Part(one, one, "day", _in_words(one))


def _marked(plain: _Part, mark: str) -> _Part:
    """The part with its qualifier: ~ and % widen it at both ends, as far as the calendar goes."""
    first, last, words = plain.first, plain.last, MARKS[mark] + plain.words
    if mark != "?":
        reach = timedelta(days=WIDENING[plain.precision])
        first = max(first, date.min + reach) - reach
        last = min(last, date.max - reach) + reach
        words += f" (taken as {_in_words(first)} to {_in_words(last)})"
    return _Part(first, last, plain.precision, words, frozenset((mark,)))


def _in_words(day: date) -> str:
    return f"{day.day} {MONTHS[day.month]} {day.year}"


def _not_understood(text: str) -> EdtfError:
    for habit, why, example in HABITS:
        if match := re.fullmatch(habit, text, re.IGNORECASE):
            return EdtfError(text, why, match.expand(example))
    return EdtfError(text, "is no date that can be read", "1951, 1951-03, 1951~ or 195X")
