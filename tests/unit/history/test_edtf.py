"""Uncertain dates: the grammar, against the standard's own examples and an independent reader.

Examples marked LoC are those of the Library of Congress, 'Extended Date/Time Format (EDTF)
Specification' (4 February 2019), which describes ISO 8601-2:2019, annex A; quoted from memory.
"""

from datetime import date, timedelta

import edtf as another_reader
import pytest
from hypothesis import given
from hypothesis import strategies as st

from records.history import edtf
from records.history.edtf import EdtfError, describe, read


def days(first: str, last: str) -> tuple[date, date]:
    return date.fromisoformat(first), date.fromisoformat(last)


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("1985-04-12", "1985-04-12", "1985-04-12"),  # LoC, level 0
        ("1985-04", "1985-04-01", "1985-04-30"),  # LoC, level 0
        ("1985", "1985-01-01", "1985-12-31"),  # LoC, level 0
        ("2001-21", "2001-03-01", "2001-05-31"),  # LoC, level 1: spring
        ("2001-22", "2001-06-01", "2001-08-31"),
        ("2001-23", "2001-09-01", "2001-11-30"),
        ("2001-24", "2001-12-01", "2002-02-28"),
        ("2003-24", "2003-12-01", "2004-02-29"),
        ("201X", "2010-01-01", "2019-12-31"),  # LoC, level 1: unspecified digits
        ("20XX", "2000-01-01", "2099-12-31"),  # LoC, level 1
        ("2004-XX", "2004-01-01", "2004-12-31"),  # LoC, level 1
        ("1985-04-XX", "1985-04-01", "1985-04-30"),  # LoC, level 1
        ("1985-XX-XX", "1985-01-01", "1985-12-31"),  # LoC, level 1
        ("[1667,1668,1670..1672]", "1667-01-01", "1672-12-31"),  # LoC, level 2: one of a set
        ("[1667,1760-12]", "1667-01-01", "1760-12-31"),  # LoC, level 2
        ("{1667,1668,1670..1672}", "1667-01-01", "1672-12-31"),  # LoC, level 2: all members
        ("{1960,1961-12}", "1960-01-01", "1961-12-31"),  # LoC, level 2
        ("0001", "0001-01-01", "0001-12-31"),
        ("000X", "0001-01-01", "0009-12-31"),
        ("1900-02", "1900-02-01", "1900-02-28"),
        ("1582-10-10", "1582-10-10", "1582-10-10"),  # proleptic Gregorian
        ("9999-12-31", "9999-12-31", "9999-12-31"),
    ],
)
def test_a_date_has_a_first_and_a_last_day(text: str, first: str, last: str) -> None:
    found = read(text)
    assert (found.earliest, found.latest) == days(first, last)
    assert found.start == found.end == days(first, last)
    assert (found.is_interval, found.approximate, found.tentative) == (False, False, False)


@pytest.mark.parametrize(
    ("text", "start", "end"),
    [
        ("1964/2008", ("1964-01-01", "1964-12-31"), ("2008-01-01", "2008-12-31")),  # LoC, level 0
        ("2004-06/2006-08", ("2004-06-01", "2004-06-30"), ("2006-08-01", "2006-08-31")),  # LoC
        ("2004-02-01/2005", ("2004-02-01", "2004-02-01"), ("2005-01-01", "2005-12-31")),  # LoC
        ("1985-04-12/..", ("1985-04-12", "1985-04-12"), None),  # LoC, level 1: open
        ("1985/", ("1985-01-01", "1985-12-31"), None),  # LoC, level 1: unknown
        ("../1985-04", None, ("1985-04-01", "1985-04-30")),  # LoC, level 1
        ("/1985", None, ("1985-01-01", "1985-12-31")),  # LoC, level 1
        ("1951-24/1952", ("1951-12-01", "1952-02-29"), ("1952-01-01", "1952-12-31")),
    ],
)
def test_an_interval_has_the_days_of_either_end(
    text: str, start: tuple[str, str] | None, end: tuple[str, str] | None
) -> None:
    found = read(text)
    assert found.is_interval
    assert found.start == (days(*start) if start else (None, None))
    assert found.end == (days(*end) if end else (None, None))
    assert (found.earliest, found.latest) == (found.start[0], found.end[1])


@pytest.mark.parametrize(
    ("plain", "reach_days"),
    [
        ("2004-06-11", 15),
        ("2004-06", 92),
        ("2004-06-XX", 92),
        ("2001-21", 92),
        ("1984", 1827),
        ("2004-XX", 1827),
        ("195X", 1827),
        ("19XX", 9132),
    ],
)
def test_about_reaches_as_far_as_the_precision_says(plain: str, reach_days: int) -> None:
    bare, reach = read(plain), timedelta(days=reach_days)
    assert bare.earliest is not None
    assert bare.latest is not None
    wide = (bare.earliest - reach, bare.latest + reach)
    about, perhaps, both = read(f"{plain}~"), read(f"{plain}?"), read(f"{plain}%")
    assert about.start == both.start == wide
    assert perhaps.start == bare.start
    assert [d.approximate for d in (about, perhaps, both)] == [True, False, True]
    assert [d.tentative for d in (about, perhaps, both)] == [False, True, True]


def test_marks_count_on_one_end_of_an_interval_and_in_a_set() -> None:
    interval = read("1984?/2004~")  # LoC, level 1, with the day left out
    assert interval.approximate
    assert interval.tentative
    assert interval.start == days("1984-01-01", "1984-12-31")
    assert interval.end == days("1998-12-31", "2010-01-01")
    assert read("[1936~,1938]").approximate
    assert read("{1936,1938?}").tentative


def test_about_stops_where_the_calendar_stops() -> None:
    assert read("0001~").earliest == date.min
    assert read("99XX~").latest == date.max


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("", ""),
        ("around the war", "around the war"),
        ("1951-13", "13"),
        ("1951-25", "25"),
        ("1951-00", "00"),
        ("1951-02-29", "29"),
        ("1951-04-31", "31"),
        ("1951-04-00", "00"),
        ("0000", "0000"),
        ("1952/1951", "1952/1951"),
        ("1951-03-02/1951-03-01", "1951-03-02/1951-03-01"),
        ("1950/1951/1952", "1950/1951/1952"),
        ("../..", "../.."),
        ("/", "/"),
        ("1951/around", "around"),
        ("[]", "[]"),
        ("[1936,]", "[1936,]"),
        ("[..1936]", "..1936"),
        ("{1938..1936}", "1938..1936"),
        ("[1936", "[1936"),
        ("195X-03", "195X-03"),
        ("1951-XX-04", "1951-XX-04"),
        ("1951-21-04", "1951-21-04"),
        ("9999-24", "9999-24"),
        ("1951-03-14T12:00", "1951-03-14T12:00"),
        ("１９５１", "１９５１"),
        ("1951~?", "1951~?"),
        ("1951\n", None),
    ],
)
def test_what_is_no_date_is_named(text: str, part: str | None) -> None:
    if part is None:
        assert read(text).start == read(text.strip()).start
        return
    with pytest.raises(EdtfError) as refused:
        read(text)
    assert refused.value.part == part
    assert part in str(refused.value)
    assert refused.value.example in str(refused.value)


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("ca. 1924", "1924~"),
        ("circa 1924", "1924~"),
        ("1950s", "195X"),
        ("1951-1952", "1951/1952"),
        ("1951–1952", "1951/1952"),
        ("14.3.1951", "1951-03-14"),
        ("1951-3", "1951-03"),
    ],
)
def test_a_habit_of_writing_is_answered_with_how_it_is_written(written: str, meant: str) -> None:
    with pytest.raises(EdtfError) as refused:
        read(written)
    assert refused.value.example == meant
    read(meant)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("1951", "1951"),
        ("1951-03", "March 1951"),
        ("1951-03-14", "14 March 1951"),
        ("1951-XX", "some month of 1951"),
        ("1951-03-XX", "some day of March 1951"),
        ("195X", "the 1950s"),
        ("190X", "1900 to 1909"),
        ("18XX", "1800 to 1899"),
        ("1951-21", "spring 1951 (March to May)"),
        ("1951-24", "winter 1951/1952 (December to February)"),
        ("1924~", "about 1924 (taken as 31 December 1918 to 1 January 1930)"),
        ("1924?", "perhaps 1924"),
        ("1951-03-14%", "perhaps about 14 March 1951 (taken as 27 February 1951 to 29 March 1951)"),
        ("1951-03/1952", "from March 1951 to 1952"),
        ("1951/..", "from 1951, end not stated"),
        ("/1951-03", "until March 1951, start not stated"),
        ("[1936,1938]", "1936 or 1938"),
        ("{1936,1938..1940}", "1936 and 1938 to 1940"),
    ],
)
def test_a_date_is_told_in_plain_words(text: str, words: str) -> None:
    assert describe(text) == words


years = st.integers(1, 9998).map("{:04}".format)
months = st.builds("{}-{:02}".format, years, st.integers(1, 12))
dated = st.dates(min_value=date(1, 1, 1), max_value=date(9998, 12, 31)).map(date.isoformat)
seasons = st.builds("{}-{}".format, years, st.integers(21, 24))
decades = st.integers(1, 998).map("{:03}X".format)
centuries = st.integers(1, 98).map("{:02}XX".format)
plain_dates = st.one_of(years, months, dated, seasons, decades, centuries)


@given(plain_dates, plain_dates)
def test_an_interval_is_read_as_its_two_ends_or_refused_when_reversed(one: str, other: str) -> None:
    first, last = read(one), read(other)
    assert first.earliest is not None
    assert last.latest is not None
    if first.earliest > last.latest:
        with pytest.raises(EdtfError):
            read(f"{one}/{other}")
    else:
        both = read(f"{one}/{other}")
        assert (both.start, both.end) == (first.start, last.end)


@given(plain_dates, st.sampled_from("~?%"))
def test_a_mark_never_narrows(text: str, mark: str) -> None:
    bare, marked = read(text), read(text + mark)
    assert marked.start[0] <= bare.start[0] <= bare.start[1] <= marked.start[1]  # type: ignore[operator]


@given(st.lists(plain_dates, min_size=1, max_size=4))
def test_a_set_spans_its_members(members: list[str]) -> None:
    read_apart = [read(member) for member in members]
    for text in (f"[{','.join(members)}]", f"{{{','.join(members)}}}"):
        whole = read(text)
        assert whole.is_set
        assert whole.earliest == min(m.earliest for m in read_apart)  # type: ignore[type-var]
        assert whole.latest == max(m.latest for m in read_apart)  # type: ignore[type-var]


@given(st.text(max_size=14) | st.text(alphabet="0123456789X-/.~?%[]{},", max_size=14))
def test_any_text_is_read_or_refused_with_a_reason(text: str) -> None:
    try:
        found = read(text)
    except EdtfError:
        with pytest.raises(EdtfError, match="Write for example"):
            describe(text)
    else:
        assert found.earliest or found.latest
        assert describe(text)


@given(st.one_of(years, months, dated, decades, centuries))
def test_an_independent_reader_finds_the_same_days(text: str) -> None:
    """Seasons are left out: what their months are is a convention of each reader."""
    other = another_reader.parse_edtf(text)
    found = read(text)
    assert found.earliest == date(*other.lower_strict()[:3])
    assert found.latest == date(*other.upper_strict()[:3])


@given(dated, dated)
def test_an_independent_reader_finds_the_same_interval(one: str, other: str) -> None:
    text = "/".join(sorted((one, other)))
    found, same = read(text), another_reader.parse_edtf(text)
    assert (found.earliest, found.latest) == (
        date(*same.lower_strict()[:3]),
        date(*same.upper_strict()[:3]),
    )


def test_precision_is_that_of_the_coarsest_part() -> None:
    assert read("1951-03-14/195X").precision == "decade"
    assert read("1951-03").precision == "month"
    assert set(edtf.WIDENING) == {"day", "month", "season", "year", "decade", "century"}
