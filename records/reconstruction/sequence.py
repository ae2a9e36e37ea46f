"""The order of traces as a diagram: what lies over what, the earliest at the foot.

Pure layout in CSS pixels. The graph is reduced to the fewest lines that tell the same order
(transitive reduction), and traces that must be equally old stand side by side.
"""

import re
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Any

import rustworkx as rx

BOX_PX, BOX_HIGH_PX = 168, 46
GAP_PX, LAYER_GAP_PX = 16, 48
BEND_PX, BEND_GAP_PX = 6, 8  # room for a line that passes through a layer
MARGIN_PX = 12
SWEEPS = 6
MOST_ABREAST = 5  # traces in a row: as many as a page is wide
CHARACTERS, LINES = 25, 2  # of a name in its box, at 13 px
LINE_PX = 16


@dataclass(frozen=True, slots=True)
class Order:
    """One order between two traces; `item` is the evidence for it, or '' when dates alone tell."""

    lower: str
    upper: str
    item: str = ""


@dataclass(frozen=True, slots=True)
class Box:
    """A trace drawn; `is_equal` tells that it stands among equally old ones."""

    id: str
    x: float
    y: float
    lines: tuple["Text", ...]
    is_equal: bool

    @property
    def middle(self) -> float:
        return self.x + BOX_PX / 2

    @property
    def trace(self) -> int:
        """Key of the trace."""
        return int(self.id.removeprefix("trace:"))


@dataclass(frozen=True, slots=True)
class Text:
    """A line of a name, on its base line."""

    y: float
    text: str


@dataclass(frozen=True, slots=True)
class Line:
    """A drawn order: an SVG path between two groups, and the evidence for it."""

    path: str
    items: tuple[str, ...]
    lower: str
    upper: str


@dataclass(frozen=True, slots=True)
class Diagram:
    width: float
    height: float
    boxes: tuple[Box, ...]
    lines: tuple[Line, ...]


def observed(case: Mapping[str, Any], traces: Collection[str]) -> list[Order]:
    """The orders that a case's evidence states between these traces."""
    return [
        Order(item["lower"], item["upper"], item["id"])
        for item in case["evidence"]
        if item["kind"] == "over" and item["lower"] in traces and item["upper"] in traces
    ]


def by_dates(made: Mapping[str, tuple[date, date]]) -> list[Order]:
    """The orders that follow from bounds alone: the one surely made before the other.

    `made` gives the earliest and the latest day on which each trace can have been made.
    """
    return [
        Order(lower, upper)
        for lower, (_, latest) in made.items()
        for upper, (earliest, _) in made.items()
        if latest < earliest
    ]


def diagrams(orders: Iterable[Order], labels: Mapping[str, str]) -> list[Diagram]:
    """A diagram for each set of traces that any order ties together, the largest first."""
    graph: rx.PyGraph = rx.PyGraph()
    given = list(orders)
    names = sorted({name for order in given for name in (order.lower, order.upper)})
    index = dict(zip(names, graph.add_nodes_from(names), strict=True))
    graph.add_edges_from([(index[o.lower], index[o.upper], o) for o in given])
    tied = sorted(map(sorted, rx.connected_components(graph)), key=lambda c: (-len(c), c))
    return [diagram(graph.subgraph(part).edges(), labels) for part in tied]


def diagram(orders: Iterable[Order], labels: Mapping[str, str]) -> Diagram:
    """Lay the order out. Traces without any order are left out."""
    graph = _Layered(list(orders))
    lefts = graph.places()
    width = max((x + graph.width(n) for n, x in lefts.items()), default=0.0) + 2 * MARGIN_PX
    step = BOX_HIGH_PX + LAYER_GAP_PX
    height = len(graph.rows) * step - LAYER_GAP_PX + 2 * MARGIN_PX if graph.rows else 0.0

    def top(node: int) -> float:
        return height - MARGIN_PX - BOX_HIGH_PX - graph.rank[node] * step

    def middle(node: int) -> float:
        return round(MARGIN_PX + lefts[node] + graph.width(node) / 2, 1)

    boxes = [
        Box(
            member,
            round(MARGIN_PX + lefts[node] + position * BOX_PX, 1),
            top(node),
            _set(wrapped(labels.get(member, member)), top(node)),
            len(group) > 1,
        )
        for node, group in graph.groups.items()
        for position, member in enumerate(group)
    ]
    lines = []
    for route in graph.routes:
        path = f"M{middle(route[0])} {top(route[0])}"
        for a, b in pairwise(route):
            if a != route[0]:
                path += f"V{top(a)}"
            foot = top(b) + BOX_HIGH_PX
            half = (top(a) + foot) / 2
            path += f"C{middle(a)} {half} {middle(b)} {half} {middle(b)} {foot}"
        first, last = graph.groups[route[0]][0], graph.groups[route[-1]][0]
        lines.append(Line(path, graph.items(route), first, last))
    return Diagram(width, height, tuple(boxes), tuple(lines))


def wrapped(label: str) -> tuple[str, ...]:
    """A name broken into at most two lines that fit a box."""
    lines: list[str] = []
    # A number at the end stays with the word before it.
    words = re.sub(r" (?=\d+$)", "\u00a0", label).split(" ")
    while words and len(lines) < LINES:
        line = words.pop(0)
        while words and len(line) + 1 + len(words[0]) <= CHARACTERS:
            line += f" {words.pop(0)}"
        lines.append(line)
    if words:
        lines[-1] += f" {words[0]}"
    return tuple(t if len(t) <= CHARACTERS else t[: CHARACTERS - 1].rstrip() + "…" for t in lines)


def _set(lines: Sequence[str], top: float) -> tuple[Text, ...]:
    first = top + BOX_HIGH_PX / 2 + 4.5 - (len(lines) - 1) * LINE_PX / 2
    return tuple(Text(first + number * LINE_PX, line) for number, line in enumerate(lines))


class _Layered:
    """Groups of equally old traces in layers, and routes of lines through the layers between.

    Nodes are numbers: groups first, then bends, the places where a line passes through a layer.
    """

    def __init__(self, orders: Sequence[Order]) -> None:
        graph: rx.PyDiGraph = rx.PyDiGraph()
        names = sorted({name for order in orders for name in (order.lower, order.upper)})
        index = dict(zip(names, graph.add_nodes_from(names), strict=True))
        graph.add_edges_from([(index[o.lower], index[o.upper], None) for o in orders])
        components = sorted(sorted(c) for c in rx.strongly_connected_components(graph))
        self.groups = {n: tuple(graph[i] for i in c) for n, c in enumerate(components)}
        group_of = {name: n for n, group in self.groups.items() for name in group}
        self._said: dict[tuple[int, int], set[str]] = defaultdict(set)
        for order in orders:
            pair = group_of[order.lower], group_of[order.upper]
            if pair[0] != pair[1]:
                self._said[pair].add(order.item)
        edges = self._reduced()
        self.rank = self._ranked(edges)
        self.routes = [self._route(a, b) for a, b in edges]
        self.rows: list[list[int]] = [[] for _ in range(max(self.rank.values(), default=-1) + 1)]
        for node, rank in self.rank.items():
            self.rows[rank].append(node)
        self._below: dict[int, list[int]] = defaultdict(list)
        self._above: dict[int, list[int]] = defaultdict(list)
        for route in self.routes:
            for a, b in pairwise(route):
                self._above[a].append(b)
                self._below[b].append(a)

    def _reduced(self) -> list[tuple[int, int]]:
        """The fewest pairs that tell the same order."""
        whole: rx.PyDiGraph = rx.PyDiGraph()
        whole.add_nodes_from(list(self.groups))
        whole.add_edges_from([(a, b, None) for a, b in sorted(self._said)])
        reduced, _ = rx.transitive_reduction(whole)
        return sorted((reduced[a], reduced[b]) for a, b in reduced.edge_list())

    def _ranked(self, edges: Sequence[tuple[int, int]]) -> dict[int, int]:
        """Each group above what it lies over, close under what lies over it, where there is room.

        What finds its row full goes to a lower one.
        """
        dag: rx.PyDiGraph = rx.PyDiGraph()
        dag.add_nodes_from(list(self.groups))
        dag.add_edges_from([(a, b, None) for a, b in edges])
        highest = dict.fromkeys(self.groups, 0)
        upwards = list(rx.topological_sort(dag))
        for node in upwards:
            for upper in dag.successor_indices(node):
                highest[upper] = max(highest[upper], highest[node] + 1)
        rank: dict[int, int] = {}
        abreast: Counter[int] = Counter()
        for node in sorted(upwards, key=lambda n: -highest[n]):
            above = [rank[upper] for upper in dag.successor_indices(node)]
            place, size = min(above) - 1 if above else highest[node], len(self.groups[node])
            while abreast[place] and abreast[place] + size > MOST_ABREAST:
                place -= 1
            rank[node] = place
            abreast[place] += size
        foot = min(rank.values(), default=0)
        return {node: rank[node] - foot for node in self.groups}

    def _route(self, lower: int, upper: int) -> list[int]:
        route = [lower]
        for rank in range(self.rank[lower] + 1, self.rank[upper]):
            bend = len(self.rank)
            self.rank[bend] = rank
            route.append(bend)
        return [*route, upper]

    def width(self, node: int) -> float:
        """Width of a group or of a bend."""
        return len(self.groups[node]) * BOX_PX if node in self.groups else BEND_PX

    def items(self, route: Sequence[int]) -> tuple[str, ...]:
        """Evidence for the order at both ends of a route."""
        return tuple(sorted(i for i in self._said[route[0], route[-1]] if i))

    def places(self) -> dict[int, float]:
        """Left edges: rows are ordered by barycentres, swept up and down (Sugiyama's method)."""
        place: dict[int, float] = {}
        for row in self.rows:
            self._pack(row, dict.fromkeys(row, 0.0), place)
        for sweep in range(SWEEPS):
            upwards = sweep % 2 == 0
            neighbours = self._below if upwards else self._above
            for row in self.rows if upwards else reversed(self.rows):
                wanted = {n: self._barycentre(n, neighbours[n], place) for n in row}
                row.sort(key=lambda n: (wanted[n], n))
                self._pack(row, wanted, place)
        self._draw_in(place)
        least = min(place.values(), default=0.0)
        return {node: x - least for node, x in place.items()}

    def _barycentre(
        self, node: int, neighbours: Sequence[int], place: Mapping[int, float]
    ) -> float:
        middles = [place[n] + self.width(n) / 2 for n in neighbours]
        return sum(middles) / len(middles) if middles else place[node] + self.width(node) / 2

    def _pack(
        self, row: Sequence[int], wanted: Mapping[int, float], place: dict[int, float]
    ) -> None:
        """Put a row in its order, each as near to where it wants its middle as room allows."""
        for node in row:
            place[node] = wanted[node] - self.width(node) / 2
        for left, node in pairwise(row):
            place[node] = max(place[node], place[left] + self._step(left, node))
        # What was pushed aside was pushed to the right: move the row back by the mean push.
        pushed = [place[n] + self.width(n) / 2 - wanted[n] for n in row]
        shift = sum(pushed) / len(pushed) if pushed else 0.0
        for node in row:
            place[node] -= shift

    def _draw_in(self, place: dict[int, float]) -> None:
        """Bring every row within the reach of the one that needs most room, packed close."""
        if not self.rows:
            return
        widest = max(self.rows, key=self._room)
        middle = (place[widest[0]] + place[widest[-1]] + self.width(widest[-1])) / 2
        left, right = middle - self._room(widest) / 2, middle + self._room(widest) / 2
        for row in filter(None, self.rows):
            place[row[0]] = max(place[row[0]], left)
            for a, b in pairwise(row):
                place[b] = max(place[b], place[a] + self._step(a, b))
            place[row[-1]] = min(place[row[-1]], right - self.width(row[-1]))
            for b, a in pairwise(reversed(row)):
                place[a] = min(place[a], place[b] - self._step(a, b))

    def _step(self, left: int, right: int) -> float:
        """From the left edge of a node to that of its neighbour, at least."""
        both = left in self.groups and right in self.groups
        return self.width(left) + (GAP_PX if both else BEND_GAP_PX)

    def _room(self, row: Sequence[int]) -> float:
        """Width of a row packed close."""
        return sum(self._step(a, b) for a, b in pairwise(row)) + self.width(row[-1])
