"""Cross-sections as they are shown: a diagram to scale beside the layers from the top down."""

from dataclasses import dataclass
from typing import Any

from django.utils.safestring import SafeString, mark_safe

from analyses.models import Layer, Preparation
from analyses.strata import Stratum, draw


@dataclass(frozen=True, slots=True)
class Section:
    """A preparation with its diagram (SVG) and its layers, the uppermost first."""

    preparation: Preparation
    layers: list[Layer]
    diagram: SafeString
    thickened: bool


def section_of(preparation: Any) -> Section:
    """The section of a preparation whose standing layers are at hand as `stack`, bottom up."""
    stack: list[Layer] = preparation.stack
    drawn = draw(
        [
            Stratum(layer.number, layer.thickness_min_um, layer.thickness_max_um, layer.colour_hex)
            for layer in stack
        ]
    )
    # The drawing holds numbers and checked colours only.
    return Section(preparation, stack[::-1], mark_safe(drawn.svg), drawn.thickened)
