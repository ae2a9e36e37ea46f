"""The plan of a face with what an examination covered: small, to scale, as vectors.

What was covered is clear; what was not examined lies under grey with short bars, the sign that
'not examined' has everywhere. Hatching is kept for what is possible. Nothing here knows the
database.
"""

from dataclasses import dataclass

from records.quantities import SPACE, bar_length
from records.signs import INK, LEAD, Pen, n, svg

FOOT_MM = 6.5  # below the face, for the scale bar
EDGE_MM = 0.6
VEIL = "#d8d6d0"
BAR = "#77756f"


@dataclass(frozen=True)
class Plan:
    """A finished plan, its size on paper, and the face millimetres on one of paper."""

    svg: str
    width_mm: float
    height_mm: float
    scale: float


def draw_plan(
    size_mm: tuple[float, float],
    outline: str,
    left: str,
    zones: list[str],
    *,
    within_mm: tuple[float, float],
    key: str = "",
) -> Plan:
    """Draw a face: `outline`, `left` (what was not examined, '' for nothing) and `zones` are SVG
    paths in face millimetres, y downwards; `within_mm` is the room on paper. `key` tells several
    plans on one page apart.
    """
    width, height = size_mm
    across = width / (within_mm[0] - 2 * EDGE_MM)
    down = height / (within_mm[1] - EDGE_MM - FOOT_MM)
    pen = Pen(max(across, down))
    parts = [_veil(pen, key), f'<path d="{outline}" fill="#ffffff"/>']
    parts += [
        f'<path d="{zone}" fill="none" stroke="{LEAD}" stroke-width="{pen.mm(0.15)}"'
        f' stroke-dasharray="{pen.mm(0.25)} {pen.mm(0.7)}" stroke-linecap="round"/>'
        for zone in zones
    ]
    if left:
        parts.append(
            f'<path d="{left}" fill="{VEIL}" fill-rule="evenodd"/>'
            f'<path d="{left}" fill="url(#not-examined{key})" fill-rule="evenodd" stroke="{BAR}"'
            f' stroke-width="{pen.mm(0.2)}"/>'
        )
    parts.append(f'<path d="{outline}" fill="none" stroke="{INK}" stroke-width="{pen.mm(0.35)}"/>')
    parts.append(_scale_bar(pen, width))
    edge, foot = EDGE_MM * pen.scale, FOOT_MM * pen.scale
    box = (-edge, -height - edge, width + 2 * edge, height + edge + foot)
    paper = (box[2] / pen.scale, box[3] / pen.scale)
    return Plan(
        svg(*paper, " ".join(n(part) for part in box), "".join(parts)),
        *paper,
        pen.scale,
    )


def swatch(*, examined: bool) -> str:
    """The sign in a legend, 7 × 3.6 mm on paper."""
    pen = Pen(1.0)
    fill = "" if examined else _veil(pen)
    fills = ("#ffffff",) if examined else (VEIL, "url(#not-examined)")
    body = "".join(
        f'<path d="M0.3 0.3h6.4v3h-6.4z" fill="{one}" stroke="{INK}" stroke-width="0.2"/>'
        for one in fills
    )
    return svg(7, 3.6, "0 0 7 3.6", fill + body)


def _veil(pen: Pen, key: str = "") -> str:
    """Short level bars, one row shifted against the next."""
    stroke = f'stroke="{BAR}" stroke-width="0.3"'
    return (
        f'<defs><pattern id="not-examined{key}" patternUnits="userSpaceOnUse" width="{pen.mm(4)}"'
        f' height="{pen.mm(3)}" viewBox="0 0 4 3"><path d="M0.3 0.75h1.4M2.3 2.25h1.4" {stroke}/>'
        "</pattern></defs>"
    )


def _scale_bar(pen: Pen, width_mm: float) -> str:
    """A bar of a round length under the lower left corner, with its length beside it."""
    length = bar_length(min(width_mm, 60 * pen.scale) * 0.5)
    top, height = 2.2 * pen.scale, 1.1 * pen.scale
    stroke = f'stroke="{INK}" stroke-width="{pen.mm(0.15)}"'
    return (
        f'<rect x="0" y="{n(top)}" width="{n(length / 2)}" height="{n(height)}" fill="{INK}"'
        f' {stroke}/><rect x="{n(length / 2)}" y="{n(top)}" width="{n(length / 2)}"'
        f' height="{n(height)}" fill="#ffffff" {stroke}/>'
        f'<text x="{n(length + 1.4 * pen.scale)}" y="{pen.mm(3.5)}" fill="{INK}"'
        f' font-family="Source Sans 3" font-size="{pen.mm(2.3)}">{_in_words(length)}</text>'
    )


def _in_words(mm: float) -> str:
    return f"{n(mm / 10)}{SPACE}cm" if mm >= 10 else f"{n(mm)}{SPACE}mm"
