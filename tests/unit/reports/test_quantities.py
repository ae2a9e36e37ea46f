"""Measured values in print."""

import pytest

from records import quantities

THIN = "\N{NARROW NO-BREAK SPACE}"


@pytest.mark.parametrize(
    ("mm2", "off", "words"),
    [
        (184.3, 6.2, "184 ± 6 mm²"),
        (184.3, None, "184 mm²"),
        (12_345.0, 345.0, "123 ± 3 cm²"),
        (15_000.0, 150.0, "150.0 ± 1.5 cm²"),
        (4_080_000.0, 12_000.0, "4.080 ± 0.012 m²"),
        (987_654.0, 40_000.0, f"9{THIN}900 ± 400 cm²"),
        (0.0, None, "0 mm²"),
    ],
)
def test_an_area_is_given_with_the_digits_that_its_uncertainty_deserves(
    mm2: float, off: float | None, words: str
) -> None:
    assert quantities.area(mm2, off).replace(THIN, " ") == words.replace(THIN, " ")


def test_a_length_takes_the_unit_that_suits_it() -> None:
    told = [quantities.length(mm).replace(THIN, " ") for mm in (4.2, 420.0, 42_000.0)]
    assert told == ["4.20 mm", "42.0 cm", "42.0 m"]


def test_a_tiny_share_is_not_rounded_to_nothing() -> None:
    assert quantities.share(1.0, 100_000.0).replace(THIN, " ") == "< 0.1 %"
    assert quantities.share(0.0, 0.0) == ""


@pytest.mark.parametrize("spread", [0.034, 0.14, 0.195, 1.0, 12.0, 45.0, 970.0])
def test_rounding_to_an_uncertainty_loses_less_than_a_third_of_it(spread: float) -> None:
    step = 10.0 ** -quantities.decimals_for(spread)
    assert step / 2 <= spread / 1.9
