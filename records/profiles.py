"""The chart, table and file of grey values along a line. Nothing here knows the database."""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from records.imaging.comparing import Array, Profile

WIDTH, HEIGHT = 960.0, 300.0
LEFT, BOTTOM, TOP, RIGHT = 46.0, 34.0, 8.0, 8.0
MARKS = 9  # on each curve
LISTED = 40  # rows of the table on the page; the file has them all

# Curves are told apart by mark and colour; all are unbroken, for broken says 'possible'.
GLYPHS = (
    "M-4 0a4 4 0 1 0 8 0a4 4 0 1 0 -8 0z",
    "M-3.6 -3.6h7.2v7.2h-7.2z",
    "M0 -4.6l4.4 7.8h-8.8z",
    "M0 -5l5 5l-5 5l-5 -5z",
    "M0 4.6l4.4 -7.8h-8.8z",
    "M-1.5 -4.6h3v3.1h3.1v3h-3.1v3.1h-3v-3.1h-3.1v-3h3.1z",
)
COLOURS = ("smalt", "madder", "verdigris", "ochre", "umber", "lead")


@dataclass(frozen=True, slots=True)
class Curve:
    """One image in the chart: path data, where its marks stand, its looks."""

    name: str
    path: str
    marks: list[tuple[float, float]]
    glyph: str
    colour: str
    hollow: bool


@dataclass(frozen=True, slots=True)
class Tick:
    at: float
    words: str


@dataclass(frozen=True)
class Chart:
    """The curves of all images over one length; user units are CSS pixels."""

    curves: list[Curve]
    across: list[Tick]
    up: list[Tick]
    width: float = WIDTH
    height: float = HEIGHT
    left: float = LEFT
    right: float = WIDTH - RIGHT
    bottom: float = HEIGHT - BOTTOM
    top: float = TOP
    labels_at: float = field(default=HEIGHT - BOTTOM + 16)


def chart(named: Sequence[tuple[str, Profile]]) -> Chart:
    """Draw the profiles, all of one length, grey values from the least to the greatest."""
    distance = named[0][1].distance_mm
    values = np.concatenate([told.values for _, told in named])
    known = values[np.isfinite(values)]
    least, most = (known.min(), known.max()) if len(known) else (0.0, 255.0)
    ups = _round_steps(least, most, 5)
    low, high = min(ups[0], least), max(ups[-1], most)

    def x(mm: Array) -> Array:
        return LEFT + mm / (distance[-1] or 1) * (WIDTH - LEFT - RIGHT)

    def y(grey: Array) -> Array:
        return HEIGHT - BOTTOM - (grey - low) / ((high - low) or 1) * (HEIGHT - TOP - BOTTOM)

    curves = []
    for index, (name, told) in enumerate(named):
        at = np.column_stack([x(told.distance_mm), y(told.values)])
        # The marks of one curve stand beside those of another.
        shift = (index + 0.5) / len(named)
        places = np.unique(((np.arange(MARKS) + shift) / MARKS * (len(at) - 1)).round().astype(int))
        curves.append(
            Curve(
                name,
                _path(at),
                [(round(px, 1), round(py, 1)) for px, py in at[places] if np.isfinite(py)],
                GLYPHS[index % len(GLYPHS)],
                COLOURS[index % len(COLOURS)],
                index >= len(GLYPHS),
            )
        )
    across = _round_steps(0, float(distance[-1]), 8)
    return Chart(
        curves,
        [Tick(round(float(x(np.array(mm))), 1), f"{mm:g}") for mm in across if mm <= distance[-1]],
        [Tick(round(float(y(np.array(grey))), 1), f"{grey:g}") for grey in ups],
    )


def _path(at: Array) -> str:
    """Path data that is lifted where there is no value."""
    parts, lifted = [], True
    for px, py in at:
        if not np.isfinite(py):
            lifted = True
            continue
        parts.append(f"{'M' if lifted else 'L'}{px:.1f} {py:.1f}")
        lifted = False
    return "".join(parts)


def _round_steps(least: float, most: float, about: int) -> list[float]:
    """Round values over a span, about so many."""
    span = (most - least) or 1
    power = 10.0 ** np.floor(np.log10(span / about))
    step = next(power * m for m in (1, 2, 5, 10) if power * m >= span / about)
    first = np.floor(least / step) * step
    return [
        float(round(first + i * step, 9)) for i in range(int(np.ceil((most - first) / step)) + 1)
    ]


def rows(named: Sequence[tuple[str, Profile]]) -> list[tuple[float, list[float | None]]]:
    """Distance and the value of each image; None where an image has none."""
    columns = [told.values for _, told in named]
    return [
        (float(mm), [float(v[i]) if np.isfinite(v[i]) else None for v in columns])
        for i, mm in enumerate(named[0][1].distance_mm)
    ]


def listed(
    every: Sequence[tuple[float, list[float | None]]],
) -> list[tuple[float, list[float | None]]]:
    """Rows for the page: evenly spaced, the first and the last among them."""
    if len(every) <= LISTED:
        return list(every)
    places = np.linspace(0, len(every) - 1, LISTED).round().astype(int)
    return [every[place] for place in places]


def as_csv(named: Sequence[tuple[str, Profile]], line: Sequence[Sequence[float]]) -> str:
    """All values as CSV: the distance in mm, then a column of grey values (0 to 255) per image."""
    out = io.StringIO()
    write = csv.writer(out)
    points = "; ".join(f"{x:g}, {y:g}" for x, y in line)
    write.writerow(["distance_mm", *(f"{_plain(name)} (grey 0-255)" for name, _ in named)])
    for mm, values in rows(named):
        write.writerow([f"{mm:.4f}", *("" if v is None else f"{v:.3f}" for v in values)])
    write.writerow([])
    write.writerow([f"line on the face in mm: {points}"])
    return out.getvalue()


def _plain(name: str) -> str:
    """A name that no spreadsheet takes for a formula."""
    return f"'{name}" if name[:1] in "=+-@" else name
