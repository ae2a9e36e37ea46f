"""The next number of a sampling point, sample or preparation, by a rule."""

import pytest

from analyses.numbering import WORDS, RuleError, check, next_number


@pytest.mark.parametrize(
    ("rule", "taken", "expected"),
    [
        ("P#", [], "P1"),
        ("P#", ["P1", "P9", "P10"], "P11"),
        ("P#", ["P2", "P4"], "P5"),
        ("P##", ["P01"], "P02"),
        ("P##", ["P99"], "P100"),
        ("P#", ["X7", "P1b", "P"], "P1"),
        ("{object}/#-a", ["7.12/3-a", "7x12/8-a"], "7.12/4-a"),
        ("{object}-{point}", [], "7.12-P3"),
        ("{object}-{point}", ["7.12-P3", "7.12-P3-2"], "7.12-P3-3"),
    ],
)
def test_it_works(rule: str, taken: list[str], expected: str) -> None:
    assert next_number(rule, {"object": "7.12", "point": "P3"}, taken) == expected


def test_a_sign_in_a_number_is_no_counter() -> None:
    assert next_number("{object}-P#", {"object": "No. #7"}, ["No. #7-P1"]) == "No. #7-P2"


@pytest.mark.parametrize(
    ("rule", "told"),
    [
        ("P", "counter stands"),
        ("{object}", "counter stands"),
        ("P#-#", "One counter"),
        ("{sample}-#", "In braces only"),
        ("P#}", "In braces only"),
        ("{}#", "In braces only"),
    ],
)
def test_a_rule_that_cannot_be_followed_is_refused_in_words(rule: str, told: str) -> None:
    with pytest.raises(RuleError, match=told):
        check(rule, WORDS["points"])
    check("P#", WORDS["points"])
    check("{point}", WORDS["samples"])
