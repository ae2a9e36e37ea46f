"""Uncertain dates: reading EDTF (ISO 8601-2:2019) text to a first and a last day, and telling it.

Covers the part of the grammar that records use: years, months, days, seasons, decades and centuries
with unspecified digits, sets, intervals with open or unknown ends, and the qualifiers ~ ? %.
Years run from 0001 to 9999; days before 1582 are proleptic Gregorian.
"""

import calendar
import re
from dataclasses import dataclass
from datetime import date

# How far 'about' reaches on either side, in days, by the precision of the date (history.md).
WIDENING = {"day": 15, "month": 92, "season": 92, "year": 1827, "decade": 1827, "century": 9132}
SEASONS = {21: ("spring", 3), 22: ("summer", 6), 23: ("autumn", 9), 24: ("winter", 12)}
MONTHS = list(calendar.month_name)

SINGLE = re.compile(
    r"(?P<year>\d{4}|\d{3}X|\d{2}XX)(?:-(?P<month>\d{2}|XX)(?:-(?P<day>\d{2}|XX))?)?(?P<mark>[~?%]?)"
)


class EdtfError(ValueError):
    """Text that is no date; says which part is not understood and gives an example."""

    def __init__(self, part: str, why: str, example: str) -> None:
        self.part, self.why, self.example = part, why, example
        super().__init__(f"“{part}” {why}. Write for example {example}.")


@dataclass(frozen=True, slots=True)
class Edtf:
    """A date as understood: days are inclusive and None where the date is open."""

    text: str
    earliest: date | None
    latest: date | None
    start: tuple[date | None, date | None]
    end: tuple[date | None, date | None]
    is_interval: bool = False
    approximate: bool = False
    tentative: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    first: date
    last: date
    mark: str
    words: str


def _clamp(day: int) -> date:
    return date.fromordinal(min(max(day, 1), date.max.toordinal()))


def _single(text: str) -> Part:
    match = SINGLE.fullmatch(text)
    if not match:
        raise EdtfError(text, "is no date that can be read", "1951, 1951-03, 1951~ or 195X")
    year, month, day, mark = match.group("year", "month", "day", "mark")
    if "X" in year and month:
        raise EdtfError(text, "gives a month in a year that is not known", "195X or 1951-03")
    if year.endswith("XX"):
        low, high, precision = int(year[:2]) * 100, int(year[:2]) * 100 + 99, "century"
        words = f"the {low}s"
    elif year.endswith("X"):
        low, high, precision = int(year[:3]) * 10, int(year[:3]) * 10 + 9, "decade"
        words = f"the {low}s" if low % 100 else f"the decade {low} to {high}"
    else:
        low = high = int(year)
        precision, words = "year", str(low)
    if high < 1:
        raise EdtfError(year, "lies before the year 0001", "0850")
    first, last = date(max(low, 1), 1, 1), date(high, 12, 31)
    if month and month != "XX":
        number = int(month)
        if number in SEASONS:
            if day:
                raise EdtfError(text, "gives a day of a season", "1951-21 or 1951-03-14")
            name, opening = SEASONS[number]
            precision = "season"
            first = date(low, opening, 1)
            closing_year, closing = (low, opening + 2) if number != 24 else (low + 1, 2)
            if closing_year > 9999:
                raise EdtfError(text, "ends after the year 9999", "1951-24")
            last = date(closing_year, closing, calendar.monthrange(closing_year, closing)[1])
            words = f"{name} {low}" if number != 24 else f"winter {low}/{low + 1}"
        elif 1 <= number <= 12:
            precision = "month"
            length = calendar.monthrange(low, number)[1]
            first, last = date(low, number, 1), date(low, number, length)
            words = f"{MONTHS[number]} {low}"
            if day and day != "XX":
                if not 1 <= int(day) <= length:
                    raise EdtfError(day, f"is no day of {words}", f"{year}-{month}-{length:02}")
                precision = "day"
                first = last = date(low, number, int(day))
                words = f"{int(day)} {MONTHS[number]} {low}"
        else:
            raise EdtfError(month, "is no month (01–12) or season (21–24)", f"{year}-03")
    elif day and day != "XX":
        raise EdtfError(text, "gives a day without a month", "1951-03-14")
    if mark in {"~", "%"}:
        reach = WIDENING[precision]
        first, last = _clamp(first.toordinal() - reach), _clamp(last.toordinal() + reach)
    return Part(first, last, mark, words)


def _set(text: str) -> Part:
    inside = text[1:-1]
    members = []
    for piece in inside.split(","):
        low, dots, high = piece.strip().partition("..")
        if dots and not (low and high):
            raise EdtfError(piece.strip(), "is open; a set needs its ends", "[1936,1938]")
        members += [_single(low), *([_single(high)] if dots else [])]
    joiner = " or " if text[0] == "[" else " and "
    return Part(
        min(m.first for m in members),
        max(m.last for m in members),
        "%"
        if any(m.mark == "%" for m in members)
        else "?"
        if any("?" in m.mark for m in members)
        else "",
        joiner.join(m.words for m in members),
    )


def _part(text: str) -> Part:
    if (text[:1], text[-1:]) in {("[", "]"), ("{", "}")}:
        return _set(text)
    return _single(text)


def read(text: str) -> Edtf:
    """Read EDTF text; raises EdtfError."""
    text = text.strip()
    if not text:
        raise EdtfError("", "is empty", "1951")
    if "/" not in text:
        part = _part(text)
        days = (part.first, part.last)
        return Edtf(
            text,
            part.first,
            part.last,
            days,
            days,
            False,
            part.mark in {"~", "%"},
            part.mark in {"?", "%"},
        )
    if text.count("/") > 1:
        raise EdtfError(text, "has more than one slash", "1951-03/1952")
    left, right = text.split("/")
    a = None if left in {"", ".."} else _part(left)
    b = None if right in {"", ".."} else _part(right)
    if a is None and b is None:
        raise EdtfError(text, "says nothing of the start or the end", "1951/..")
    if a and b and a.first > b.last:
        raise EdtfError(text, "begins after it ends", f"{right}/{left}")
    marks = {p.mark for p in (a, b) if p}
    return Edtf(
        text,
        a.first if a else None,
        b.last if b else None,
        (a.first, a.last) if a else (None, None),
        (b.first, b.last) if b else (None, None),
        True,
        bool(marks & {"~", "%"}),
        bool(marks & {"?", "%"}),
    )


def _day(day: date) -> str:
    return f"{day.day} {MONTHS[day.month]} {day.year}"


def describe(text: str) -> str:
    """Tell in plain English what the date is taken to mean; raises EdtfError."""
    found = read(text)
    if found.earliest and found.latest:
        words = (
            f"on {_day(found.earliest)}"
            if found.earliest == found.latest
            else f"between {_day(found.earliest)} and {_day(found.latest)}"
        )
    elif found.earliest:
        words = f"from {_day(found.earliest)} at the earliest, with no end stated"
    else:
        assert found.latest
        words = f"until {_day(found.latest)} at the latest, with no start stated"
    if found.approximate:
        words = f"about: {words}"
    return f"{words} (perhaps)" if found.tentative else words
