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


@dataclass(frozen=True, slots=True)
class Photograph:
    """The photograph of a preparation with the boundaries drawn on it, as SVG points in pixels."""

    lines: list[str]


def photograph_of(preparation: Preparation) -> Photograph | None:
    """The photograph, once it can be shown."""
    if preparation.image is None or not preparation.image.pyramid:
        return None
    return Photograph(
        [" ".join(f"{x:.1f},{y:.1f}" for x, y in line) for line in preparation.boundaries]
    )
