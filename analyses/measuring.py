"""What the boundaries drawn on a section's photograph say of its layers, and taking it over.

The numbers come from `analyses.microscopy`; here they meet the records.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import pyvips
from numpy.typing import NDArray

from analyses.microscopy import (
    Colour,
    Line,
    MicroscopyError,
    Thickness,
    layer_colour,
    ordered,
    thickness,
)
from analyses.models import Layer, Preparation
from records.changes import change
from records.imaging.originals import OriginalError, readable
from records.kept import at_hand
from records.models import Image, User

MOST_PX = 3000  # along a side, of the photograph as it is read for colours


@dataclass(frozen=True, slots=True)
class Measure:
    """What was measured between two boundaries; `layer` is None where none is recorded."""

    number: int
    layer: Layer | None
    thickness: Thickness | None
    colour: Colour | None
    trouble: str = ""


def inside(image: Image | None, points: Line, what: str) -> Line:
    """Points on a photograph, as they are. Raises MicroscopyError for one that lies off it."""
    if image is None:
        raise MicroscopyError("This preparation has no photograph: name it first.")
    for x, y in points:
        if not (0 <= x <= image.width_px and 0 <= y <= image.height_px):
            raise MicroscopyError(
                f"{what}: {x:g}, {y:g} lies outside the photograph, which is {image.width_px} × "
                f"{image.height_px} px."
            )
    return points


def boundaries_on(image: Image | None, lines: Sequence[Line]) -> list[list[list[float]]]:
    """Boundaries in their order, from the bottom up. Raises MicroscopyError for what is none."""
    drawn = [inside(image, line, f"Line {n}") for n, line in enumerate(lines, 1)]
    if len(drawn) == 1:
        raise MicroscopyError("One boundary encloses no layer: draw the other edge too.")
    return ordered(drawn)


def measures(preparation: Preparation) -> list[Measure]:
    """Every layer between two boundaries, from the bottom up; [] when none is drawn."""
    lines: list[Line] = preparation.boundaries
    if len(lines) < 2 or preparation.image is None:
        return []
    standing = preparation.layers.filter(withdrawn_at__isnull=True)
    layers = {layer.number: layer for layer in standing}
    try:
        rgb, reduced = _photograph(preparation)
    except (OSError, pyvips.Error, OriginalError):
        rgb, reduced = None, 1.0
    return [
        _measure(preparation, number, layers.get(number), lower, upper, rgb, reduced)
        for number, (lower, upper) in enumerate(pairwise(lines), 1)
    ]


def _measure(
    preparation: Preparation,
    number: int,
    layer: Layer | None,
    lower: Line,
    upper: Line,
    rgb: NDArray[np.uint8] | None,
    reduced: float,
) -> Measure:
    thick, colour, troubles = None, None, []
    try:
        if preparation.um_per_px:
            thick = thickness(lower, upper, preparation.um_per_px)
        else:
            troubles.append("Without a scale no thickness can be told.")
        if rgb is None:
            troubles.append("The photograph cannot be read: no colour is told.")
        else:
            small = [(np.array(line, float) * reduced).tolist() for line in (lower, upper)]
            colour = layer_colour(rgb, *small)
    except MicroscopyError as error:
        troubles.append(str(error))
    return Measure(number, layer, thick, colour, " ".join(troubles))


def _photograph(preparation: Preparation) -> tuple[NDArray[np.uint8], float]:
    """The photograph in sRGB, (rows, columns, 3), and by how much it was reduced."""
    assert preparation.image is not None
    with at_hand(preparation.image.file) as kept, readable(kept) as path:
        image = pyvips.Image.thumbnail(
            str(path), MOST_PX, height=MOST_PX, size="down", export_profile="srgb", no_rotate=True
        )
        if image.hasalpha():
            image = image.flatten(background=255)
        image = image.colourspace("srgb").cast("uchar")
        return image.numpy(), image.width / preparation.image.width_px


def take_over(
    preparation: Preparation,
    found: Sequence[Measure],
    given: Mapping[str, Any],
    *,
    user: User,
    why: str,
) -> int:
    """Record the measures that were ticked, as one change; returns how many layers changed."""
    changed = 0
    with change(user=user, why=why):
        for one in found:
            layer = one.layer
            words = given.get(f"description_{one.number}", "")
            if layer is None and words:
                layer = Layer(preparation=preparation, number=one.number, description=words)
            if layer is None or not _fill(layer, one, given):
                continue
            layer.save()
            changed += 1
    return changed


def _fill(layer: Layer, one: Measure, given: Mapping[str, Any]) -> bool:
    """Set what was ticked; whether that, or the layer itself, is new."""
    fresh = layer.pk is None
    if one.thickness and given.get(f"thickness_{one.number}"):
        layer.thickness_min_um = round(one.thickness.least_um, 1)
        layer.thickness_max_um = round(one.thickness.most_um, 1)
        layer.thickness_mean_um = round(one.thickness.mean_um, 1)
        fresh = True
    if one.colour and given.get(f"colour_{one.number}"):
        layer.colour_hex = one.colour.hex
        layer.colour_lab = list(one.colour.lab)
        fresh = True
    return fresh
