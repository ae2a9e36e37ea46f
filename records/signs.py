"""How traces are drawn in print: family by hue, kind by pattern, certainty by solid or hatched.

Sizes are millimetres on paper; `Pen` turns them into the millimetres of the face drawn. Every mark
has a pale casing under it, so that it reads over a dark picture, a pale one and in grey print.
"""

from dataclasses import dataclass

HUES = {"alteration": "#8e2a33", "intervention": "#1f4e86", "making": "#6d5312"}
INK = "#1d1b18"
LEAD = "#6b6a66"
SAMPLE = "#14594a"
CASING = "#ffffff"

# Tiles of area patterns on a 2.4 mm square. None has diagonal parallels: hatching says 'possible'.
TILE = 2.4
AREA_PATTERNS: tuple[str, ...] = (
    '<circle cx="0.6" cy="0.6" r="0.27"/><circle cx="1.8" cy="1.8" r="0.27"/>',
    '<path d="M0.1 0.6h1.1M1.3 1.8h1.1" {line}/>',
    '<path d="M0.6 0.2v0.8M0.2 0.6h0.8M1.8 1.4v0.8M1.4 1.8h0.8" {line}/>',
    '<path d="M0 0.9q0.6 -0.8 1.2 0t1.2 0M0 2.1q0.6 -0.8 1.2 0t1.2 0" {line}/>',
    '<circle cx="0.6" cy="0.6" r="0.36" {line}/><circle cx="1.8" cy="1.8" r="0.36" {line}/>',
    '<path d="M0.6 0.1v1.1M1.8 1.3v1.1" {line}/>',
    '<path d="M0.25 0.25h0.7v0.7h-0.7zM1.45 1.45h0.7v0.7h-0.7z"/>',
    '<path d="M0.1 0.95l0.5 -0.6l0.5 0.6M1.3 2.15l0.5 -0.6l0.5 0.6" {line}/>',
    '<path d="M0.6 0.15l0.45 0.8h-0.9zM1.8 1.35l0.45 0.8h-0.9z"/>',
    '<path d="M0 0.6h2.4M0 1.8h2.4M0.6 0.6v1.2M1.8 1.8v0.6M1.8 0v0.6" {line}/>',
    '<path d="M0.3 0.3l0.6 0.6M0.9 0.3l-0.6 0.6M1.5 1.5l0.6 0.6M2.1 1.5l-0.6 0.6" {line}/>',
    '<path d="M0 0.6h2.4M0 1.8h2.4" {line}/>',
    '<path d="M0.6 0v2.4M1.8 0v2.4" {line}/>',
    '<path d="M0 0.6h2.4M0 1.8h2.4M0.6 0v2.4M1.8 0v2.4" {line}/>',
    '<path d="M0.6 0.15l0.45 0.45l-0.45 0.45l-0.45 -0.45zM1.8 1.35l0.45 0.45l-0.45 0.45l-0.45 '
    '-0.45z" {line}/>',
    '<path d="M0.2 0.35a0.4 0.4 0 0 0 0.8 0M1.4 1.55a0.4 0.4 0 0 0 0.8 0" {line}/>',
)

# Lines: (width of the line, dashes of a second, wider stroke across or on it, its width, its cap).
LINE_STYLES: tuple[tuple[float, str, float, str], ...] = (
    (0.35, "", 0.0, ""),
    (0.35, "0.22 1.5", 1.5, "butt"),
    (0.3, "0 1.7", 0.95, "round"),
    (0.75, "", 0.0, ""),
    (0.35, "0.22 0.5 0.22 2.2", 1.5, "butt"),
    (0.3, "0.9 1.5", 0.9, "butt"),
)

# Points: closed paths about 0, 0 that fit a circle of radius 1 mm.
POINT_GLYPHS: tuple[str, ...] = (
    "M-0.9 0a0.9 0.9 0 1 0 1.8 0a0.9 0.9 0 1 0 -1.8 0z",
    "M-0.8 -0.8h1.6v1.6h-1.6z",
    "M0 -1l0.95 1.65h-1.9z",
    "M0 -1.05l1.05 1.05l-1.05 1.05l-1.05 -1.05z",
    "M0 1l0.95 -1.65h-1.9z",
    "M-0.33 -1h0.66v0.67h0.67v0.66h-0.67v0.67h-0.66v-0.67h-0.67v-0.66h0.67z",
)


def n(value: float) -> str:
    """A coordinate with at most two decimals."""
    return f"{value:.2f}".rstrip("0").rstrip(".") or "0"


@dataclass(frozen=True)
class Sign:
    """How one kind of trace is drawn: its family, and its place in the list of patterns."""

    family: str
    index: int

    @property
    def hue(self) -> str:
        return HUES[self.family]

    @property
    def pattern_id(self) -> str:
        return f"p-{self.family}-{self.index % len(AREA_PATTERNS)}"


@dataclass(frozen=True)
class Pen:
    """Draws signs at a scale: `scale` millimetres of the face lie on one millimetre of paper."""

    scale: float

    def mm(self, paper_mm: float) -> str:
        return n(paper_mm * self.scale)

    def patterns(self, signs: set[Sign]) -> str:
        """Definitions of the fills that the signs use, certain and possible."""
        made = {sign.pattern_id: self._kind_pattern(sign) for sign in signs}
        made |= {f"possible-{s.family}": self._possible_pattern(s.hue) for s in signs}
        return "<defs>" + "".join(made[key] for key in sorted(made)) + "</defs>"

    def _kind_pattern(self, sign: Sign) -> str:
        line = f'fill="none" stroke="{sign.hue}" stroke-width="0.2"'
        body = AREA_PATTERNS[sign.index % len(AREA_PATTERNS)].replace("{line}", line)
        return self._tile(sign.pattern_id, TILE, sign.hue, body)

    def _possible_pattern(self, hue: str) -> str:
        lines = f'stroke="{hue}" stroke-width="0.28" fill="none"'
        # Three strokes, so that the diagonal meets itself across the edges of its tile.
        body = f'<path d="M0 1.4L1.4 0M-0.4 0.4L0.4 -0.4M1 1.8L1.8 1" {lines}/>'
        return self._tile(f"possible-{sign_family(hue)}", 1.4, hue, body)

    def _tile(self, name: str, size: float, hue: str, body: str) -> str:
        return (
            f'<pattern id="{name}" patternUnits="userSpaceOnUse" width="{self.mm(size)}"'
            f' height="{self.mm(size)}" viewBox="0 0 {size} {size}">'
            f'<g fill="{hue}">{body}</g></pattern>'
        )

    def coat(self, path: str, sign: Sign, *, certain: bool) -> str:
        """What covers the whole face: only a rim, so that everything else still reads."""
        dashes = "" if certain else f' stroke-dasharray="{self.mm(2)} {self.mm(1.4)}"'
        return (
            f'<path d="{path}" fill="none" stroke="{sign.hue}" stroke-width="{self.mm(1.5)}"'
            f' stroke-opacity="0.55"{dashes}/>'
        )

    def area(self, path: str, sign: Sign, *, certain: bool, tinted: bool = True) -> str:
        fill = f"url(#{sign.pattern_id})" if certain else f"url(#possible-{sign.family})"
        dashes = "" if certain else f' stroke-dasharray="{self.mm(1)} {self.mm(0.7)}"'
        tint = (
            f'<path d="{path}" fill="{sign.hue}" fill-opacity="0.16" fill-rule="evenodd"/>'
            if certain and tinted
            else ""
        )
        return (
            f'<path d="{path}" fill="none" stroke="{CASING}" stroke-width="{self.mm(1.1)}"'
            ' stroke-opacity="0.85" stroke-linejoin="round"/>'
            f'{tint}<path d="{path}" fill="{fill}" fill-rule="evenodd" stroke="{sign.hue}"'
            f' stroke-width="{self.mm(0.35)}" stroke-linejoin="round"{dashes}/>'
        )

    def line(self, path: str, sign: Sign, *, certain: bool) -> str:
        width, across, across_width, cap = LINE_STYLES[sign.index % len(LINE_STYLES)]
        dashes = "" if certain else f' stroke-dasharray="{self.mm(1.1)} {self.mm(0.9)}"'
        casing = max(width, across_width) + 0.7
        drawn = (
            f'<path d="{path}" fill="none" stroke="{CASING}" stroke-opacity="0.85"'
            f' stroke-width="{self.mm(casing)}" stroke-linecap="round" stroke-linejoin="round"/>'
            f'<path d="{path}" fill="none" stroke="{sign.hue}" stroke-linejoin="round"'
            f' stroke-width="{self.mm(width)}"{dashes}/>'
        )
        if across and certain:
            spaced = " ".join(self.mm(float(part)) for part in across.split())
            drawn += (
                f'<path d="{path}" fill="none" stroke="{sign.hue}" stroke-linecap="{cap}"'
                f' stroke-width="{self.mm(across_width)}" stroke-dasharray="{spaced}"/>'
            )
        return drawn

    def point(self, x: float, y: float, sign: Sign, *, certain: bool) -> str:
        glyph = POINT_GLYPHS[sign.index % len(POINT_GLYPHS)]
        fill = sign.hue if certain else CASING
        return (
            f'<g transform="translate({n(x)} {n(y)}) scale({n(self.scale)})">'
            f'<path d="{glyph}" fill="none" stroke="{CASING}" stroke-width="1.1"/>'
            f'<path d="{glyph}" fill="{fill}" stroke="{sign.hue}" stroke-width="0.3"/></g>'
        )

    def sampling_point(self, x: float, y: float, *, invasive: bool) -> str:
        """A ring for a reading that took nothing, a filled target where material was removed."""
        inside = (
            f'<circle r="1.05" fill="{SAMPLE}"/>'
            f'<path d="M-0.6 0h1.2M0 -0.6v1.2" stroke="{CASING}" stroke-width="0.35"/>'
            if invasive
            else f'<circle r="1" fill="{CASING}" stroke="{SAMPLE}" stroke-width="0.45"/>'
            f'<circle r="0.28" fill="{SAMPLE}"/>'
        )
        return (
            f'<g transform="translate({n(x)} {n(y)}) scale({n(self.scale)})">'
            f'<circle r="1.5" fill="{CASING}" fill-opacity="0.9"/>{inside}</g>'
        )

    def text(self, x: float, y: float, words: str, colour: str = INK, size: float = 1.95) -> str:
        """Words with a pale halo, centred on a point; `words` must be escaped already."""
        at = (
            f'x="{n(x)}" y="{n(y)}" font-family="Source Sans 3" font-weight="600"'
            f' font-size="{self.mm(size)}" text-anchor="middle"'
        )
        return (
            f'<text {at} fill="none" stroke="{CASING}" stroke-width="{self.mm(0.65)}"'
            f' stroke-linejoin="round">{words}</text><text {at} fill="{colour}">{words}</text>'
        )


def sign_family(hue: str) -> str:
    return next(family for family, of_family in HUES.items() if of_family == hue)


def swatch(sign: Sign, shape: str, *, certain: bool = True) -> str:
    """A small drawing of a sign for a legend, 9 × 4.6 mm on paper, as a whole SVG image."""
    pen = Pen(1.0)
    match shape:
        case "polygon":
            body = pen.area("M0.8 0.8h7.4v3h-7.4z", sign, certain=certain)
        case "line":
            body = pen.line("M0.8 2.3h7.4", sign, certain=certain)
        case _:
            body = pen.point(4.5, 2.3, sign, certain=certain)
    return svg(9, 4.6, "0 0 9 4.6", pen.patterns({sign}) + body)


def rim(sign: Sign) -> str:
    """The drawing in a legend of what covers the whole face."""
    return svg(9, 4.6, "0 0 9 4.6", Pen(1.0).coat("M1.2 1.2h6.6v2.2h-6.6z", sign, certain=True))


def svg(width_mm: float, height_mm: float, view: str, body: str) -> str:
    """A whole SVG image of that size on paper."""
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
        f' width="{n(width_mm)}mm" height="{n(height_mm)}mm" viewBox="{view}">{body}</svg>'
    )
