"""Measuring a cross-section on its photograph: scale, thickness of layers, colour. No Django here.

Points are pixels (column, row), rows counted downwards. Boundaries are lines from the bottom of the
stack up: layer 1 lies between the first and the second. Lengths are µm.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import hypot
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import binary_erosion
from skimage.color import rgb2lab
from skimage.draw import polygon2mask

Array = NDArray[np.float64]
Line = Sequence[Sequence[float]]

PLACES = 240  # along each boundary, where the distance to the other is taken
EDGE_SHARE = 0.15  # of the mean thickness on either side, left out when the colour is measured
LEAST_PIXELS = 25
A_LITTLE = np.array([3e-5, 1e-4])  # px, aslant, so that upright and level lines part too


class MicroscopyError(ValueError):
    """What was drawn cannot be measured; says why and what to do."""


def um_per_px(points: Line, length_um: float) -> float:
    """The scale of an image from two points whose distance is known, in µm per pixel."""
    if len(points) != 2:
        raise MicroscopyError("The scale needs two points, for example the ends of the scale bar.")
    pixels = hypot(points[1][0] - points[0][0], points[1][1] - points[0][1])
    if pixels < 2:
        raise MicroscopyError("The two points of the scale coincide: set them further apart.")
    if not length_um > 0:
        raise MicroscopyError("The distance between the two points is more than 0 µm.")
    return length_um / pixels


def ordered(boundaries: Sequence[Line]) -> list[list[list[float]]]:
    """Boundaries from the bottom of the image up, each from left to right.

    Raises MicroscopyError for a line of one point and for lines that cross, or cross themselves.
    """
    lines = [_left_to_right(line) for line in boundaries]
    lines.sort(key=lambda line: -_mean_row(line))
    for below in range(len(lines)):
        if _cut(np.array(lines[below]), np.array(lines[below])):
            raise MicroscopyError(
                f"Boundary {below + 1}, counted from the bottom, crosses itself: draw it anew."
            )
        for above in range(below + 1, len(lines)):
            if lines[below] == lines[above]:
                raise MicroscopyError(
                    f"Boundaries {below + 1} and {above + 1}, counted from the bottom, are the "
                    "same line: take one away."
                )
            if _cross(np.array(lines[below]), np.array(lines[above])):
                raise MicroscopyError(
                    f"Boundaries {below + 1} and {above + 1}, counted from the bottom, cross: "
                    "where a layer runs out let the two lines meet, but not cross."
                )
    return lines


def _left_to_right(line: Line) -> list[list[float]]:
    points = [[float(x), float(y)] for x, y in line]
    if len(points) < 2 or not _length(np.array(points)):
        raise MicroscopyError("A boundary is a line: set at least two points apart.")
    return points if points[0][0] <= points[-1][0] else points[::-1]


def _mean_row(line: Line) -> float:
    return float(_along(np.array(line), PLACES)[:, 1].mean())


def _length(line: Array) -> float:
    return float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())


def _along(line: Array, count: int) -> Array:
    """So many points along a line, evenly spaced, its ends among them."""
    steps = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    at = np.linspace(0, steps[-1], count)
    return np.column_stack([np.interp(at, steps, line[:, axis]) for axis in (0, 1)])


def _cross(one: Array, two: Array) -> bool:
    """Whether two lines cross; touching is allowed.

    Where they meet at a corner, one that only touches leaves the other when it is moved a little
    to its own side; one that crosses there does so wherever it is moved.
    """
    moved = (_cut(one, two + by) for by in (A_LITTLE, -A_LITTLE))
    return _cut(one, two) or all(moved)


def _cut(one: Array, two: Array) -> bool:
    """Whether a segment of one line cuts through one of the other between their ends."""
    a, b = one[:-1, None], one[1:, None]
    c, d = two[None, :-1], two[None, 1:]

    def side(p: Array, q: Array, r: Array) -> Array:
        u, v = q - p, r - p
        turn: Array = np.sign(u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0])
        return turn

    crossing = (side(a, b, c) * side(a, b, d) < 0) & (side(c, d, a) * side(c, d, b) < 0)
    return bool(crossing.any())


# Thickness


@dataclass(frozen=True, slots=True)
class Thickness:
    """Distances between the two boundaries of a layer, µm; `places` is how many were taken."""

    least_um: float
    most_um: float
    mean_um: float
    sd_um: float
    places: int


def thickness(lower: Line, upper: Line, scale_um_per_px: float) -> Thickness:
    """How thick a layer is between its boundaries.

    From evenly spaced places on each boundary the shortest way to the other is taken, which meets
    it at a right angle. Places that see only an end of the other line, beyond which it was not
    drawn, are left out. Raises MicroscopyError when nothing is left.
    """
    one, two = np.array(lower, float), np.array(upper, float)
    found = [_distances(_along(a, PLACES), b) for a, b in ((one, two), (two, one))]
    distances = np.concatenate(found) * scale_um_per_px
    if not len(distances):
        raise MicroscopyError("The two boundaries of a layer do not lie over one another.")
    return Thickness(
        float(distances.min()),
        float(distances.max()),
        float(distances.mean()),
        float(distances.std()),
        len(distances),
    )


def _distances(points: Array, line: Array) -> Array:
    """Shortest distances of points to a line, without those that end at one of its ends aslant."""
    start, along = line[:-1], np.diff(line, axis=0)
    length2 = np.maximum((along**2).sum(axis=1), 1e-12)
    away = points[:, None] - start[None]
    part = (away * along[None]).sum(axis=2) / length2[None]
    foot = start[None] + np.clip(part, 0, 1)[..., None] * along[None]
    distance = np.linalg.norm(points[:, None] - foot, axis=2)
    nearest = distance.argmin(axis=1)
    rows = np.arange(len(points))
    at = part[rows, nearest]
    beyond = ((nearest == 0) & (at < -1e-9)) | ((nearest == len(along) - 1) & (at > 1 + 1e-9))
    kept: Array = distance[rows, nearest][~beyond]
    return kept


# Colour


@dataclass(frozen=True, slots=True)
class Colour:
    """A colour as sRGB '#rrggbb' and CIELAB (D65, 2°); its spread in CIELAB; pixels read."""

    hex: str
    lab: tuple[float, float, float]
    spread: float = 0.0
    pixels: int = 0


def layer_colour(rgb: NDArray[np.uint8], lower: Line, upper: Line) -> Colour:
    """The median colour of an sRGB image (rows, columns, 3) inside a layer.

    A rim of the layer is left out, where its neighbour shines through the lens, unless too little
    would be left. `spread` is the median distance from the median in CIELAB. Raises
    MicroscopyError when the layer has too few pixels.
    """
    ring = np.array([*lower, *list(upper)[::-1]], float)
    inside = polygon2mask(rgb.shape[:2], ring[:, ::-1] - 0.5)  # type: ignore[no-untyped-call]
    rim = int(EDGE_SHARE * inside.sum() / max(_length(np.array(lower, float)), 1))
    inner = binary_erosion(inside, iterations=rim) if rim else inside
    chosen = inner if inner.sum() >= LEAST_PIXELS else inside
    if chosen.sum() < LEAST_PIXELS:
        raise MicroscopyError("The layer is too thin on this image for its colour to be measured.")
    pixels = rgb[chosen].astype(float)
    median = np.median(pixels, axis=0).round()
    lab = _lab(median)
    spread = float(np.median(np.linalg.norm(_lab(pixels) - lab, axis=1)))
    return Colour(_hex(median), _three(lab), spread, int(chosen.sum()))


def _lab(rgb: Array) -> Array:
    shaped = np.asarray(rgb, float).reshape(1, -1, 3) / 255
    found: Array = rgb2lab(shaped, illuminant="D65", observer="2")[0]
    return found[0] if np.ndim(rgb) == 1 else found


def _hex(rgb: Any) -> str:
    return "#" + "".join(f"{int(value):02x}" for value in rgb)


def _three(lab: Any) -> tuple[float, float, float]:
    lightness, a, b = (round(float(part), 1) for part in lab)
    return lightness, a, b


# Munsell, by eye

MUNSELL = re.compile(
    r"(?P<step>\d{1,2}(?:\.\d+)?)(?P<hue>BG|GY|YR|RP|PB|B|G|Y|R|P)\s*(?P<value>\d{1,2}(?:\.\d+)?)"
    r"\s*/\s*(?P<chroma>\d{1,2}(?:\.\d+)?)"
)
NEUTRAL = re.compile(r"N\s*(?P<value>\d{1,2}(?:\.\d+)?)\s*/?(?:\s*0(?:\.0)?)?")


def munsell(text: str) -> str:
    """A Munsell notation as it is kept: '2.5YR 5/6', 'N 7'. Raises MicroscopyError in words."""
    plain = text.strip().upper().replace(",", ".")
    if grey := NEUTRAL.fullmatch(plain):
        value, notation = float(grey["value"]), f"N {float(grey['value']):g}"
    elif found := MUNSELL.fullmatch(plain):
        value, step = float(found["value"]), float(found["step"])
        if not 0 < step <= 10:
            raise MicroscopyError("The step of a hue runs from more than 0 to 10: 2.5YR 5/6.")
        notation = f"{step:g}{found['hue']} {value:g}/{float(found['chroma']):g}"
    else:
        raise MicroscopyError(
            f"“{text.strip()}” is not a Munsell notation: hue, value and chroma, as 2.5YR 5/6; for "
            "a grey N and its value, as N 7."
        )
    if not 1 <= value <= 9.5:
        raise MicroscopyError("The value of a Munsell colour runs from 1 (black) to 9.5 (white).")
    return notation


@lru_cache(256)
def munsell_colour(notation: str) -> Colour:
    """The colour of a notation, from the renotation data of Newhall, Nickerson and Judd (1943).

    The data are for illuminant C; they are adapted to D65 (Bradford). A colour outside sRGB is
    drawn as the nearest that a screen shows. Raises MicroscopyError where the data do not reach.
    """
    import colour  # slow to load, and only asked for when a notation is entered

    plain = munsell(notation)
    name = plain if not plain.startswith("N") else plain.replace("N ", "N")
    try:
        xyy = colour.munsell_colour_to_xyY(name)
    except (AssertionError, ValueError, LookupError, RuntimeError) as error:
        raise MicroscopyError(
            f"{plain} lies outside the published Munsell colours: is the chroma too high?"
        ) from error
    xyz = colour.xyY_to_XYZ(xyy)
    white = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]
    seen = colour.chromatic_adaptation(
        xyz,
        colour.xy_to_XYZ(white["C"]),
        colour.xy_to_XYZ(white["D65"]),
        method="Von Kries",
        transform="Bradford",
    )
    if not np.isfinite(seen).all():
        raise MicroscopyError(f"{plain} lies outside the published Munsell colours.")
    lab = colour.XYZ_to_Lab(seen, white["D65"])
    rgb = np.clip(colour.XYZ_to_sRGB(seen, white["D65"]), 0, 1) * 255
    return Colour(_hex(rgb.round()), _three(lab))
