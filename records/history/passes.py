"""All bounds of a network without alternatives, each with its shortest proof, in two passes.

One Bellman-Ford pass (rustworkx) from the origin gives the latest days, one over the reversed
constraints the earliest. Both minimise the days first and the number of items used second, so the
path to a bound is a proof with as few items as possible: no part of it can be left out.
"""

from dataclasses import dataclass
from itertools import chain, pairwise

import numpy as np
import numpy.typing as npt
import rustworkx as rx

from records.history.network import ALWAYS, ORIGIN, Network

# Days are scaled so that the count of items used fits below them; 2**20 items, exact in a float.
SCALE = 1 << 20

Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Pass:
    """One side: for each point its bound in days and the constraint that sets it.

    `value` is measured on the side's own axis: days for the latest, days negated for the earliest.
    `source` and `label` describe the last constraint of the proof of each point; the origin's
    source is itself.
    """

    value: Ints
    source: Ints
    label: Ints

    def proof(self, point: int) -> list[int]:
        """Labels of the items that prove a point's bound, from the origin to the point."""
        found: list[int] = []
        while point != ORIGIN:
            if self.label[point] != ALWAYS:
                found.append(int(self.label[point]))
            point = int(self.source[point])
        return found[::-1]

    def proofs(self) -> list[tuple[int, ...]]:
        """For every point the labels of its proof, sorted; each shared path is walked once."""
        source, label = self.source.tolist(), self.label.tolist()
        known: list[tuple[int, ...] | None] = [None] * len(source)
        known[ORIGIN] = ()
        for point in range(len(source)):
            path = []
            while known[point] is None:
                path.append(point)
                point = source[point]
            for step in reversed(path):
                before = known[source[step]] or ()
                item = label[step]
                known[step] = before if item == ALWAYS or item in before else (*before, item)
        return [tuple(sorted(items or ())) for items in known]


def passes(network: Network) -> tuple[Pass, Pass] | None:
    """The earliest and the latest side of a network's fixed part; None when it contradicts itself.

    Open alternatives are left out of account.
    """
    a, b, cost, label = _columns(network)
    earliest = _pass(network.size, a, b, cost, label)
    latest = _pass(network.size, b, a, cost, label) if earliest else None
    return (earliest, latest) if earliest and latest else None


def circle(network: Network) -> frozenset[int]:
    """Labels of constraints of the fixed part that contradict each other, where some do."""
    a, b, cost, label = _columns(network)
    found = list(rx.find_negative_cycle(_graph(network.size, a, b, cost), float))
    labels = set()
    for tail, head in pairwise(found):
        between = np.flatnonzero((a == tail) & (b == head))
        labels.add(int(label[between[np.argmin(cost[between])]]))
    return frozenset(labels - {ALWAYS})


def _columns(network: Network) -> tuple[Ints, Ints, Ints, Ints]:
    """The fixed constraints by column: the two points, the scaled cost, the label."""
    count = 4 * len(network.fixed)
    flat = np.fromiter(chain.from_iterable(network.fixed), dtype=np.int64, count=count)
    a, b, days, label = flat.reshape(-1, 4).T
    return a, b, days * SCALE + (label != ALWAYS), label


def _graph(size: int, tail: Ints, head: Ints, cost: Ints) -> "rx.PyDiGraph[int, float]":
    graph: rx.PyDiGraph[int, float] = rx.PyDiGraph()
    graph.add_nodes_from(range(size))
    edges = zip(tail.tolist(), head.tolist(), cost.astype(float).tolist(), strict=True)
    graph.add_edges_from(list(edges))
    return graph


def _pass(size: int, tail: Ints, head: Ints, cost: Ints, label: Ints) -> Pass | None:
    graph = _graph(size, tail, head, cost)
    try:
        lengths = rx.digraph_bellman_ford_shortest_path_lengths(graph, ORIGIN, float)
    except rx.NegativeCycle:
        return None
    total = np.zeros(size, dtype=np.int64)
    total[np.fromiter(lengths.keys(), np.int64)] = np.fromiter(lengths.values(), np.float64)
    # A constraint is tight when it alone explains its head; of several the first one is taken.
    tight = np.flatnonzero((total[tail] + cost == total[head]) & (head != ORIGIN))[::-1]
    source = np.full(size, ORIGIN)
    source[head[tight]] = tail[tight]
    item = np.full(size, ALWAYS)
    item[head[tight]] = label[tight]
    value = total // SCALE
    value[ORIGIN] = 0
    return Pass(value, source, item)
