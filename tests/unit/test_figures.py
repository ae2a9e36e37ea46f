"""Figures for print: names side by side, none over another, and all that a reader needs."""

import re
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyses.figures import SMALL_PT, _spread, figure


def curve(**more: Any) -> dict[str, Any]:
    """A spectrum with three findings, two of whose lines lie on each other."""
    x = np.linspace(0, 20, 400)
    y = 100 + 900 * np.exp(-(((x - 10.5) / 0.2) ** 2))

    def found(code: str, certainty: str, *places: float) -> dict[str, Any]:
        marks = [
            {"x": at, "word": f"{code} {n}", "height": 9.0 - n, "agrees": True}
            for n, at in enumerate(places)
        ]
        return {"code": code, "certainty": certainty, "marks": marks}

    return {
        "name": "X-ray fluorescence of P1",
        "technique": "X-ray fluorescence",
        "of": "P1",
        "x": x.tolist(),
        "y": y.tolist(),
        "x_unit": "keV",
        "y_unit": "counts",
        "reversed": False,
        "background": {"x": [0.0, 20.0], "y": [100.0, 100.0]},
        "findings": [
            found("Pb", "sure", 10.55, 12.61, 2.35),
            found("As", "possible", 10.54, 11.73),
            found("S", "likely", 2.31),
        ],
        "unexplained": [{"x": 6.0}],
    } | more


@given(
    st.lists(st.floats(0, 100), min_size=1, max_size=20).map(sorted),
    st.floats(0.1, 5),
)
def test_names_keep_their_order_and_their_distance(places: list[float], apart: float) -> None:
    spread = _spread(places, apart, -1000, 1000)
    assert all(after - before >= apart * 0.999 for before, after in pairwise(spread))
    alone = [
        n
        for n, place in enumerate(places)
        if all(
            abs(place - other) >= len(places) * apart for m, other in enumerate(places) if m != n
        )
    ]
    assert all(spread[n] == pytest.approx(places[n]) for n in alone)


def test_lines_that_lie_on_each_other_are_named_side_by_side() -> None:
    text = figure([curve()], "svg").decode()
    told = re.findall(r">([^<>]+)</text>", text)
    upright = re.findall(r"translate\(([\d.]+) [\d.]+\) rotate\(-90\)\">(?!counts)", text)
    at = sorted(float(x) for x in upright)
    assert len(at) == 7
    assert all(after - before >= SMALL_PT for before, after in pairwise(at))
    assert {"Pb 0", "As 0", "?", "Energy, keV", "counts"} <= set(told)
    assert {"sure", "likely", "possible", "background"} <= set(told)
    assert figure([curve()], "pdf").startswith(b"%PDF")


def test_curves_of_any_height_are_set_apart_and_named() -> None:
    low = curve(of="P2", y=[value / 1000 for value in curve()["y"]])
    text = figure([curve(), low], "svg").decode()
    told = re.findall(r">([^<>]+)</text>", text)
    assert {"P1", "P2", "X-ray fluorescence", "counts, each to its own height"} <= set(told)
    assert "Pb 1" not in told


def test_infrared_spectra_run_from_high_wavenumbers_to_low() -> None:
    text = figure([curve(x_unit="cm⁻¹", reversed=True)], "svg").decode()
    ticks = re.findall(r'<text[^>]* x="([\d.]+)"[^>]*>(\d+\.\d)</text>', text)
    along = sorted((float(at), float(place)) for at, place in ticks)
    assert [place for _, place in along] == [20.0, 17.5, 15.0, 12.5, 10.0, 7.5, 5.0, 2.5, 0.0]
