"""Surface maps: one face and what is recorded on it, as vectors to scale.

Pure drawing: shapes come as SVG path data in face millimetres with y pointing down (the way PostGIS
writes them, `ST_AsSVG`), so the image's y is minus the face's y. Nothing here knows the database.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from html import escape
from itertools import groupby
from math import cos, floor, pi, sin, sqrt

from records.quantities import SPACE, bar_length
from records.signs import INK, LEAD, SAMPLE, Pen, Sign, n, rim, svg, swatch

WIDTH_MM = 170.0  # the text area of a page
HEIGHT_MM = 158.0
EDGE_MM = 5.0  # around the face, for labels that lead outside
FOOT_MM = 13.0  # below it, for the frame's axes and the scale bar
LABEL_MM = 1.95  # height of a label's letters
LETTER_MM = 1.13  # width of a letter, on average
WIDE_SHARE = 0.15  # of the face: wider areas are drawn without a tint


@dataclass(frozen=True)
class Mark:
    """One trace to draw. `dimension` is 0, 1 or 2; `at` is a point on it, in face mm, y up."""

    number: str
    short: str
    kind: str
    sign: Sign
    shape: str
    certain: bool
    dimension: int
    path: str
    at: tuple[float, float]
    size: float = 0.0
    points: tuple[tuple[float, float], ...] = ()
    is_whole_face: bool = False


@dataclass(frozen=True)
class Spot:
    """One sampling point, in face mm, y up."""

    number: str
    at: tuple[float, float]
    invasive: bool


@dataclass(frozen=True)
class Ground:
    """What a map is drawn on: the face with its zones, and a picture of it if there is one."""

    width_mm: float
    height_mm: float
    outline: str
    zones: tuple[tuple[str, str, tuple[float, float]], ...] = ()
    picture: str = ""


@dataclass(frozen=True)
class LegendLine:
    swatch: str
    short: str
    words: str
    certain: int
    possible: int


@dataclass
class SurfaceMap:
    """A finished map with what has to be said beside it."""

    svg: str
    width_mm: float
    height_mm: float
    ratio: str
    legend: list[LegendLine] = field(default_factory=list)
    coats: list[LegendLine] = field(default_factory=list)
    unlabelled: list[str] = field(default_factory=list)
    count: int = 0


@dataclass(frozen=True)
class Box:
    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: "Box") -> bool:
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )


class Labels:
    """Places labels so that none covers another; positions are millimetres on paper, y down.

    A label sits on its anchor or, when that is taken, on the nearest free of ever wider circles
    around it, with a leader. A label that finds no place within reach is refused, not drawn over
    another.
    """

    CELL = 8.0
    REACH = (0.0, 2.6, 4.2, 6.0, 8.0, 10.5, 13.0)
    DIRECTIONS = tuple(
        (cos(i * pi / 6), sin(i * pi / 6)) for i in (9, 3, 0, 6, 10, 8, 2, 4, 11, 7, 1, 5)
    )

    def __init__(self, frame: Box) -> None:
        self.frame = frame
        self.cells: dict[tuple[int, int], list[Box]] = {}

    def take(self, box: Box) -> None:
        """Keep a place free of labels."""
        for cell in self._cells(box):
            self.cells.setdefault(cell, []).append(box)

    def place(self, x: float, y: float, words: str, *, on: bool) -> tuple[float, float] | None:
        """Middle of the place found for a label near its anchor; None when there is none.

        `on` allows the label to sit on the anchor itself.
        """
        half_width, half_height = len(words) * LETTER_MM / 2 + 0.35, LABEL_MM / 2 + 0.25
        for distance in self.REACH if on else self.REACH[1:]:
            for dx, dy in self.DIRECTIONS if distance else ((0.0, 0.0),):
                # A wide label beside its anchor must clear it by its own half width.
                middle_x, middle_y = (
                    x + dx * (distance + half_width * bool(distance)),
                    y + dy * distance,
                )
                box = Box(
                    middle_x - half_width,
                    middle_y - half_height,
                    middle_x + half_width,
                    middle_y + half_height,
                )
                if self._inside(box) and not any(box.meets(other) for other in self._near(box)):
                    self.take(box)
                    return middle_x, middle_y
        return None

    def _inside(self, box: Box) -> bool:
        return (
            box.left >= self.frame.left
            and box.right <= self.frame.right
            and box.top >= self.frame.top
            and box.bottom <= self.frame.bottom
        )

    def _cells(self, box: Box) -> Iterable[tuple[int, int]]:
        for column in range(floor(box.left / self.CELL), floor(box.right / self.CELL) + 1):
            for row in range(floor(box.top / self.CELL), floor(box.bottom / self.CELL) + 1):
                yield column, row

    def _near(self, box: Box) -> Iterable[Box]:
        for cell in self._cells(box):
            yield from self.cells.get(cell, ())


def scale_of(ground: Ground) -> float:
    """Face millimetres on one millimetre of paper, so that the face fills the space it may."""
    across = ground.width_mm / (WIDTH_MM - 2 * EDGE_MM)
    down = ground.height_mm / (HEIGHT_MM - EDGE_MM - FOOT_MM)
    return max(across, down)


def length_in_words(mm: float) -> str:
    for unit, size in (("m", 1000.0), ("cm", 10.0)):
        if mm >= size:
            return f"{n(mm / size)}{SPACE}{unit}"
    return f"{n(mm)}{SPACE}mm"


def ratio_in_words(scale: float) -> str:
    """'1 : 14', or '2.5 : 1' for what is drawn larger than life."""
    if scale < 1:
        return f"{n(round(1 / scale, 1))} : 1"
    return f"1 : {scale:.0f}" if scale >= 10 else f"1 : {scale:.1f}"


def draw_traces(ground: Ground, marks: Sequence[Mark]) -> SurfaceMap:
    """A map of traces: areas under lines under points, large under small, then their labels."""
    scale = scale_of(ground)
    pen = Pen(scale)
    drawn: list[str] = [pen.patterns({mark.sign for mark in marks if mark.dimension == 2})]
    wide = WIDE_SHARE * ground.width_mm * ground.height_mm
    for mark in sorted(marks, key=lambda m: (-m.dimension, -m.size)):
        match mark.dimension:
            case 2 if mark.is_whole_face:
                drawn.append(pen.coat(mark.path, mark.sign, certain=mark.certain))
            case 2:
                tinted = mark.size < wide
                drawn.append(pen.area(mark.path, mark.sign, certain=mark.certain, tinted=tinted))
            case 1:
                drawn.append(pen.line(mark.path, mark.sign, certain=mark.certain))
            case _:
                drawn += [
                    pen.point(x, -y, mark.sign, certain=mark.certain)
                    for x, y in mark.points or (mark.at,)
                ]
    labels = _labels(ground, scale)
    for mark in marks:
        if mark.dimension == 0:
            for x, y in mark.points or (mark.at,):
                labels.take(_around(x / scale, -y / scale, 1.1))
    unlabelled = []
    # Small things first: they have the fewest places for their label.
    for mark in sorted(marks, key=lambda m: (m.dimension, m.size)):
        if mark.is_whole_face:
            continue  # named in the legend
        words = f"{mark.short} {mark.number}"
        if label := _label(
            pen, labels, mark.at, words, mark.sign.hue, on=_holds(mark, words, scale)
        ):
            drawn.append(label)
        else:
            unlabelled.append(mark.number)
    result = _finish(ground, pen, "".join(drawn) + _zone_names(ground, pen, labels))
    result.legend = _legend([mark for mark in marks if not mark.is_whole_face])
    result.coats = _coats([mark for mark in marks if mark.is_whole_face])
    result.unlabelled = sorted(unlabelled)
    result.count = len(marks)
    return result


def draw_samples(ground: Ground, spots: Sequence[Spot]) -> SurfaceMap:
    """A map of sampling points with their numbers."""
    scale = scale_of(ground)
    pen = Pen(scale)
    labels = _labels(ground, scale)
    drawn = []
    for spot in spots:
        x, y = spot.at
        drawn.append(pen.sampling_point(x, -y, invasive=spot.invasive))
        labels.take(_around(x / scale, -y / scale, 1.6))
    unlabelled = []
    for spot in spots:
        if label := _label(pen, labels, spot.at, spot.number, SAMPLE, on=False):
            drawn.append(label)
        else:
            unlabelled.append(spot.number)
    result = _finish(ground, pen, "".join(drawn) + _zone_names(ground, pen, labels))
    counts = Counter(spot.invasive for spot in spots)
    small = Pen(1.0)
    result.legend = [
        LegendLine(
            svg(9, 4.6, "0 0 9 4.6", small.sampling_point(4.5, 2.3, invasive=invasive)),
            "",
            "material was removed" if invasive else "reading that took nothing",
            counts[invasive],
            0,
        )
        for invasive in (True, False)
        if counts[invasive]
    ]
    result.unlabelled = sorted(unlabelled)
    result.count = len(spots)
    return result


def _holds(mark: Mark, words: str, scale: float) -> bool:
    """Whether a label may sit on its trace: on a line, and on an area wide enough."""
    if mark.dimension == 2:
        return sqrt(mark.size) / scale > 1.6 * len(words) * LETTER_MM
    return mark.dimension == 1


def _around(x: float, y: float, radius: float) -> Box:
    return Box(x - radius, y - radius, x + radius, y + radius)


def _labels(ground: Ground, scale: float) -> Labels:
    width, height = ground.width_mm / scale, ground.height_mm / scale
    return Labels(Box(-EDGE_MM, -height - EDGE_MM, width + EDGE_MM, 1.2))


def _label(
    pen: Pen, labels: Labels, at: tuple[float, float], words: str, hue: str, *, on: bool
) -> str:
    """The label with its leader, or '' when there is no room for it."""
    x, y = at[0] / pen.scale, -at[1] / pen.scale
    place = labels.place(x, y, words, on=on)
    if place is None:
        return ""
    label_x, label_y = place
    drawn = ""
    if abs(label_x - x) + abs(label_y - y) > 4:
        line = f'x1="{n(x * pen.scale)}" y1="{n(y * pen.scale)}" x2="{n(label_x * pen.scale)}"'
        line += f' y2="{n(label_y * pen.scale)}"'
        drawn = (
            f'<line {line} stroke="#ffffff" stroke-width="{pen.mm(0.5)}"/>'
            f'<line {line} stroke="{hue}" stroke-width="{pen.mm(0.16)}"/>'
        )
    baseline = label_y + LABEL_MM * 0.34
    return drawn + pen.text(label_x * pen.scale, baseline * pen.scale, escape(words), hue)


def _legend(marks: Sequence[Mark]) -> list[LegendLine]:
    """One line for each kind and shape, by name."""
    return [
        LegendLine(
            swatch(members[0].sign, members[0].shape, certain=any(m.certain for m in members)),
            members[0].short,
            members[0].kind,
            sum(mark.certain for mark in members),
            sum(not mark.certain for mark in members),
        )
        for members in _by_kind(marks)
    ]


def _coats(marks: Sequence[Mark]) -> list[LegendLine]:
    """One line for each kind that covers the whole face, with numbers that the map leaves out."""
    return [
        LegendLine(
            rim(members[0].sign),
            members[0].short,
            f"{members[0].kind}, over the whole face: {', '.join(m.number for m in members)}",
            sum(mark.certain for mark in members),
            sum(not mark.certain for mark in members),
        )
        for members in _by_kind(marks)
    ]


def _by_kind(marks: Sequence[Mark]) -> Iterable[list[Mark]]:
    ordered = sorted(marks, key=lambda mark: (mark.kind, mark.shape))
    for _, members in groupby(ordered, key=lambda mark: (mark.kind, mark.shape)):
        yield list(members)


def _zone_names(ground: Ground, pen: Pen, labels: Labels) -> str:
    """Names of zones where they fit between the labels of what is recorded."""
    drawn = ""
    for name, _, (x, y) in ground.zones:
        if place := labels.place(x / pen.scale, -y / pen.scale, name, on=True):
            at_x, at_y = place[0] * pen.scale, (place[1] + LABEL_MM * 0.3) * pen.scale
            drawn += pen.text(at_x, at_y, escape(name), LEAD, 1.7)
    return drawn


def _finish(ground: Ground, pen: Pen, marks: str) -> SurfaceMap:
    """Put the marks on the face, with its zones, axes and scale bar."""
    width, height = ground.width_mm, ground.height_mm
    edge, foot = EDGE_MM * pen.scale, FOOT_MM * pen.scale
    parts = []
    if ground.picture:
        parts.append(
            f'<image href="{ground.picture}" x="0" y="{n(-height)}" width="{n(width)}"'
            f' height="{n(height)}" preserveAspectRatio="none"/>'
        )
    for _, path, _ in ground.zones:
        parts.append(
            f'<path d="{path}" fill="none" stroke="{LEAD}" stroke-width="{pen.mm(0.18)}"'
            f' stroke-dasharray="{pen.mm(0.3)} {pen.mm(0.8)}" stroke-linecap="round"/>'
        )
    parts.append(
        f'<path d="{ground.outline}" fill="none" stroke="{INK}" stroke-width="{pen.mm(0.35)}"/>'
    )
    parts.append(marks)
    parts.append(_axes(pen))
    parts.append(_scale_bar(pen, width))
    body = "".join(parts)
    view = f"{n(-edge)} {n(-height - edge)} {n(width + 2 * edge)} {n(height + edge + foot)}"
    paper_width, paper_height = (width + 2 * edge) / pen.scale, (height + edge + foot) / pen.scale
    return SurfaceMap(
        svg(paper_width, paper_height, view, body),
        paper_width,
        paper_height,
        ratio_in_words(pen.scale),
    )


def _axes(pen: Pen) -> str:
    """The face's frame at its lower left corner: where 0, 0 is, and which way x and y run."""
    at = f'stroke="{INK}" stroke-width="{pen.mm(0.25)}" fill="none"'
    words = f'font-family="Source Sans 3" font-size="{pen.mm(2)}" fill="{INK}"'

    def go(*paper: tuple[float, float]) -> str:
        return "M" + "L".join(f"{pen.mm(x)} {pen.mm(y)}" for x, y in paper)

    return (
        f'<path d="{go((0, 1.6), (0, 9), (7, 9))}" {at}/>'
        f'<path d="{go((-0.8, 3), (0, 1.6), (0.8, 3))}" {at}/>'
        f'<path d="{go((5.6, 8.2), (7, 9), (5.6, 9.8))}" {at}/>'
        f'<text x="{pen.mm(1.4)}" y="{pen.mm(4)}" {words}>y up</text>'
        f'<text x="{pen.mm(8)}" y="{pen.mm(9.6)}" {words}>x, from 0, 0 at the lower left</text>'
    )


def _scale_bar(pen: Pen, width_mm: float) -> str:
    """A bar of a round length at the lower right, half of it filled."""
    length = bar_length(min(width_mm, 140 * pen.scale) * 0.3)
    left, top, height = width_mm - length, 5.2 * pen.scale, 1.4 * pen.scale
    words = f'font-family="Source Sans 3" font-size="{pen.mm(2.2)}" fill="{INK}"'
    stroke = f'stroke="{INK}" stroke-width="{pen.mm(0.2)}"'
    return (
        f'<rect x="{n(left)}" y="{n(top)}" width="{n(length / 2)}" height="{n(height)}"'
        f' fill="{INK}" {stroke}/>'
        f'<rect x="{n(left + length / 2)}" y="{n(top)}" width="{n(length / 2)}"'
        f' height="{n(height)}" fill="#ffffff" {stroke}/>'
        f'<text x="{n(left)}" y="{pen.mm(9.4)}" {words} text-anchor="middle">0</text>'
        f'<text x="{n(width_mm)}" y="{pen.mm(9.4)}" {words} text-anchor="end">'
        f"{length_in_words(length)}</text>"
    )
