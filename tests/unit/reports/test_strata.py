"""Diagrams of cross-sections."""

import xml.etree.ElementTree as ElementTree

from analyses import strata
from analyses.strata import Stratum

SVG = "{http://www.w3.org/2000/svg}"


def heights(layers: list[Stratum], fill: str) -> list[float]:
    tree = ElementTree.fromstring(strata.draw(layers).svg)
    return [float(r.attrib["height"]) for r in tree.iter(f"{SVG}rect") if r.get("fill") == fill]


def test_layers_are_as_thick_as_they_were_measured() -> None:
    layers = [Stratum(1, 40, 60, "#aaaaaa"), Stratum(2, 10, 20, "#bbbbbb")]
    (lower,), (upper,) = heights(layers, "#aaaaaa"), heights(layers, "#bbbbbb")
    assert abs(lower / upper - 60 / 20) < 0.01
    assert abs(lower + upper - strata.HEIGHT_MM) < 0.05


def test_what_lies_between_the_least_and_the_greatest_thickness_is_hatched() -> None:
    layers = [Stratum(1, 40, 60, "#aaaaaa"), Stratum(2, 20, 20, "#bbbbbb")]
    (whole,) = heights(layers, "#aaaaaa")
    (hatched,) = heights(layers, "url(#between)")
    assert abs(hatched / whole - 20 / 60) < 0.01


def test_a_layer_too_thin_to_show_is_drawn_thicker_and_that_is_said() -> None:
    drawn = strata.draw([Stratum(1, 900, 900, ""), Stratum(2, 1, 1, "#bbbbbb")])
    assert drawn.thickened
    assert not strata.draw([Stratum(1, 90, 90, ""), Stratum(2, 80, 80, "")]).thickened


def test_a_layer_without_a_thickness_is_wholly_hatched() -> None:
    (whole,) = heights([Stratum(1, None, None, "#aaaaaa")], "#aaaaaa")
    assert heights([Stratum(1, None, None, "#aaaaaa")], "url(#between)") == [whole]
