"""Diagrams of cross-sections: layers to scale, from the bottom up, as SVG.

A layer is solid as far as its least thickness and hatched from there to its greatest: what is
certain and what is merely possible look the same here as everywhere else.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from records.quantities import SPACE, bar_length
from records.signs import INK, LEAD, n, svg

STACK_WIDTH_MM = 26.0
HEIGHT_MM = 46.0
LEAST_MM = 1.1  # thinner layers would not show
UNKNOWN_MM = 3.0  # drawn for a layer without a thickness


@dataclass(frozen=True)
class Stratum:
    """One layer; thicknesses in µm, None where not measured; `colour` as #rrggbb or ''."""

    number: int
    least_um: float | None
    most_um: float | None
    colour: str

    @property
    def thickness_um(self) -> float | None:
        """The greatest thickness, or the only one."""
        return self.most_um if self.most_um is not None else self.least_um


@dataclass(frozen=True)
class Diagram:
    svg: str
    thickened: bool
    width_mm: float = STACK_WIDTH_MM + 16


def draw(strata: Sequence[Stratum]) -> Diagram:
    """The stack with the number of each layer beside it and a scale bar in µm."""
    known = sum(s.thickness_um or 0 for s in strata)
    per_um = (HEIGHT_MM - UNKNOWN_MM * sum(s.thickness_um is None for s in strata)) / (known or 1)
    thickened = False
    drawn = [_defs()]
    numbers: list[tuple[float, int]] = []
    y = 0.0
    for stratum in sorted(strata, key=lambda s: s.number):
        thickness = stratum.thickness_um
        height = UNKNOWN_MM if thickness is None else thickness * per_um
        if height < LEAST_MM:
            height, thickened = LEAST_MM, True
        y -= height
        numbers.append((y + height / 2, stratum.number))
        drawn.append(_layer(stratum, y, height))
    top = y
    drawn += _numbers(numbers)
    drawn.append(
        f'<rect x="0" y="{n(top)}" width="{STACK_WIDTH_MM}" height="{n(-top)}" fill="none"'
        f' stroke="{INK}" stroke-width="0.3"/>'
    )
    if known:
        drawn.append(_bar(known, per_um))
    height = -top + 4
    view = f"-7 {n(top - 2)} {STACK_WIDTH_MM + 16} {n(height)}"
    return Diagram(svg(STACK_WIDTH_MM + 16, height, view, "".join(drawn)), thickened)


def _defs() -> str:
    lines = f'stroke="{INK}" stroke-width="0.22" fill="none"'
    return (
        '<defs><pattern id="between" patternUnits="userSpaceOnUse" width="1.4" height="1.4"'
        f' viewBox="0 0 1.4 1.4"><path d="M0 1.4L1.4 0M-0.4 0.4L0.4 -0.4M1 1.8L1.8 1" {lines}/>'
        "</pattern></defs>"
    )


def _layer(stratum: Stratum, top: float, height: float) -> str:
    box = f'x="0" width="{STACK_WIDTH_MM}"'
    colour = stratum.colour or "#e7e3d8"
    drawn = f'<rect {box} y="{n(top)}" height="{n(height)}" fill="{colour}"/>'
    most, least = stratum.most_um, stratum.least_um
    possible = 1.0 if most is None and least is None else 0.0
    if most and least is not None and most > least:
        possible = (most - least) / most
    if possible:
        # A pale veil first, so that the hatching reads over dark paint too.
        for fill in ('fill="#ffffff" fill-opacity="0.55"', 'fill="url(#between)"'):
            drawn += f'<rect {box} y="{n(top)}" height="{n(height * possible)}" {fill}/>'
    return drawn + (f'<path d="M0 {n(top)}h{STACK_WIDTH_MM}" stroke="{INK}" stroke-width="0.18"/>')


def _numbers(middles: Sequence[tuple[float, int]]) -> list[str]:
    """Layer numbers to the right with leaders, spread so that they do not touch."""
    step, previous = 3.2, 3.2
    drawn = []
    for middle, number in middles:
        y = min(middle, previous - step)
        previous = y
        drawn.append(
            f'<path d="M{STACK_WIDTH_MM} {n(middle)}L{STACK_WIDTH_MM + 3.5} {n(y)}" fill="none"'
            f' stroke="{LEAD}" stroke-width="0.2"/>'
            f'<text x="{STACK_WIDTH_MM + 4.2}" y="{n(y + 0.9)}" font-family="Source Sans 3"'
            f' font-weight="600" font-size="2.7" fill="{INK}">{number}</text>'
        )
    return drawn


def _bar(known_um: float, per_um: float) -> str:
    length = bar_length(known_um * 0.6)
    words = f'font-family="Source Sans 3" font-size="2.3" fill="{INK}"'
    return (
        f'<path d="M-2.6 0h1.2M-2 0v{n(-length * per_um)}m-0.6 0h1.2" fill="none" stroke="{INK}"'
        f' stroke-width="0.3"/><text transform="translate(-3.2 0) rotate(-90)" x="0" y="0"'
        f" {words}>{n(length)}{SPACE}µm</text>"
    )
