"""Numbers and dates in few words."""

import pytest

from reports.content.reading import condensed, few, natural
from reports.templatetags.dossier import when


def test_numbers_come_in_the_order_people_count() -> None:
    assert sorted(["A10", "A2", "B1", "A2a"], key=natural) == ["A2", "A2a", "A10", "B1"]


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        (["R101", "R102", "R103", "R110"], "R101–R103, R110"),
        (["3", "1", "2", "2"], "1–3"),
        (["R1", "R2"], "R1, R2"),
        (["V1", "R2"], "R2, V1"),
        (["left", "right"], "left, right"),
        ([], ""),
    ],
)
def test_runs_of_numbers_are_drawn_together(numbers: list[str], words: str) -> None:
    assert condensed(numbers) == words


def test_long_lists_say_how_many_more_there_are() -> None:
    assert few(["a", "b", "a", "c", "d", "e"]) == "a, b, c and 2 more"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("1924", "1924"),
        ("1951-03/1952", "March 1951 to 1952"),
        ("1911~", "about 1911"),
        ("2021-06-14/2021-06-18", "14 to 18 June 2021"),
        ("2021-06-14/2021-07-02", "14 June to 2 July 2021"),
        ("1925-01/1925-03", "January to March 1925"),
        ("1911~/1912", "about 1911 to 1912"),
        ("2021-06-14/2021-06-14", "14 June 2021"),
        ("1911?", "1911, perhaps"),
        ("../1930", "until 1930"),
        ("1930/..", "from 1930 on"),
        ("195X", "1950 to 1959"),
        ("2019-05-14", "14 May 2019"),
        ("", "no date"),
    ],
)
def test_an_uncertain_date_is_said_briefly(text: str, words: str) -> None:
    assert when(text) == words
