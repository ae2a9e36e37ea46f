"""The map of what is left in the overlaps of a mosaic, as SVG.

Frames are drawn as they lie, those without a place hatched, where the layout would have them; each
overlap is a line between two middles, its colour and width by
its residual, with the figure beside it where there is room. Colours are five steps of viridis
(N. Smith and S. van der Walt; made to be told apart with any colour vision, and in grey).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

STEPS_PX = (0.1, 0.2, 0.5, 1.0)
COLOURS = ("#440154", "#3b528b", "#21918c", "#5ec962", "#fde725")
WORDS = ("up to 0.1 px", "0.1 – 0.2 px", "0.2 – 0.5 px", "0.5 – 1 px", "over 1 px")
WIDE = 1000.0
MOST_FIGURES = 60


@dataclass(frozen=True, slots=True)
class Drawn:
    """A frame: its name, its outline (n, 2) and its middle in mosaic pixels; one that is not
    `placed` lies where the layout would have it."""

    name: str
    outline: Array
    middle: Array
    placed: bool = True


@dataclass(frozen=True, slots=True)
class Link:
    """An overlap of two drawn frames; `rms_px` None for one that was not used, with `words`."""

    first: int
    second: int
    rms_px: float | None
    words: str


def _names(frames: Sequence[Drawn], low: Array, scale: float) -> list[str]:
    """What frames are called, in their middles, as large as the narrowest of them allows."""
    names = [frame.name.rsplit(".", 1)[0] for frame in frames]
    width = min(float(np.ptp(frame.outline[:, 0])) for frame in frames) * scale
    size = min(width / 8, width / max(map(len, names)))
    told = []
    for frame, name in zip(frames, names, strict=True):
        x, y = (frame.middle - low) * scale
        told.append(
            f'<text class="name" x="{x:.1f}" y="{y + size / 3:.1f}" font-size="{size:.1f}">'
            f"{escape(name)}</text>"
        )
    return told


def step_of(rms_px: float) -> int:
    """The step of the scale that a residual belongs to, 0 to 4."""
    return int(np.searchsorted(STEPS_PX, rms_px))


def map_of_residuals(frames: Sequence[Drawn], links: Sequence[Link]) -> str:
    """The map as an SVG element, `WIDE` units wide, the mosaic's own way up."""
    if not frames:
        return ""
    edges = np.concatenate([frame.outline for frame in frames])
    low, high = edges.min(axis=0), edges.max(axis=0)
    scale = WIDE / float(max(high[0] - low[0], 1))
    height = float((high[1] - low[1]) * scale)
    usual = float(np.median([np.ptp(f.outline, axis=0).min() for f in frames])) * scale
    stroke = float(np.clip(usual / 12, 1.5, 8))
    parts = [
        f'<svg class="residual-map" viewBox="-4 -4 {WIDE + 8:.0f} {height + 8:.0f}" role="img" '
        f'aria-label="{len(frames)} frames as they lie, and what is left in {len(links)} overlaps">'
    ]
    for frame in sorted(frames, key=lambda frame: not frame.placed):
        points = " ".join(f"{x:.1f},{y:.1f}" for x, y in (frame.outline - low) * scale)
        kind, words = ("placed", "") if frame.placed else ("unplaced", ", not placed")
        parts.append(
            f'<polygon class="{kind}" points="{points}">'
            f"<title>{escape(frame.name)}{words}</title></polygon>"
        )
    figures = len(links) <= MOST_FIGURES
    if figures:
        parts += _names(frames, low, scale)
    for link in links:
        (x1, y1), (x2, y2) = ((frames[k].middle - low) * scale for k in (link.first, link.second))
        # The line is drawn over the middle third, where the overlap is.
        ax, ay, bx, by = (2 * x1 + x2) / 3, (2 * y1 + y2) / 3, (x1 + 2 * x2) / 3, (y1 + 2 * y2) / 3
        line = f'x1="{ax:.1f}" y1="{ay:.1f}" x2="{bx:.1f}" y2="{by:.1f}"'
        if link.rms_px is None:
            parts.append(
                f'<line class="unused" {line} stroke-width="{stroke / 2:.1f}">'
                f"<title>{escape(link.words)}</title></line>"
            )
            continue
        k = step_of(link.rms_px)
        parts.append(
            f'<line class="casing" {line} stroke-width="{stroke * (1 + k / 4) + 2:.1f}"/>'
            f'<line {line} stroke="{COLOURS[k]}" stroke-width="{stroke * (1 + k / 4):.1f}">'
            f"<title>{escape(link.words)}</title></line>"
        )
        if figures:
            size = max(9.0, usual / 9)
            parts.append(
                f'<text x="{(x1 + x2) / 2 + stroke + 2:.1f}" y="{(y1 + y2) / 2 - stroke - 2:.1f}" '
                f'font-size="{size:.1f}">{link.rms_px:.2f}</text>'
            )
    return "".join([*parts, "</svg>"])
