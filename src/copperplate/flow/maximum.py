"""The maximum flow through a small network, and its minimum cut.

The largest flow from a source to a sink equals the least capacity of any cut between them: L. R. Ford and D. R.
Fulkerson, Maximal flow through a network, Canadian Journal of Mathematics 8 (1956).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

from copperplate.model.blocks import arcs_at


@dataclass(frozen=True, eq=False)
class Graph:
    """Nodes and lines made ready for flows. Arc 2i is line i from its first node to its second, arc 2i + 1 back."""

    heads: Sequence[int]
    """The node that each arc leads to."""
    arcs: Sequence[Sequence[int]]
    """The arcs that leave each node."""

    @classmethod
    def of(cls, nodes: int, ends: Sequence[tuple[int, int]]) -> Graph:
        return cls([node for a, b in ends for node in (b, a)], arcs_at(nodes, ends))

    def reach(self, source: int, room: Sequence[float]) -> list[int]:
        """Steps from the source to each node over arcs that have room, -1 where none lead."""
        steps = [-1] * len(self.arcs)
        steps[source] = 0
        queue = [source]
        for node in queue:
            for arc in self.arcs[node]:
                head = self.heads[arc]
                if steps[head] < 0 and room[arc] > 0:
                    steps[head] = steps[node] + 1
                    queue.append(head)
        return steps


@dataclass(frozen=True, eq=False)
class Flow:
    """A maximum flow: its value, and the source side of a minimum cut, of several the smallest side (the same
    whatever the order of lines). A flow without limit has no cut, and its side is empty."""

    value: float
    side: frozenset[int]


def maximum_flow(graph: Graph, capacities: Sequence[float], source: int, sink: int) -> Flow:
    """The largest flow from source to sink. `capacities` by arc: for line i, 2i is what may pass from its first node
    to its second and 2i + 1 the other way; inf without limit. Whole numbers are reckoned exactly.

    In each phase the shortest paths with room left are filled up, so that the next phase's are longer: E. A. Dinic,
    Algorithm for solution of a problem of maximum flow in networks with power estimation, Soviet Mathematics Doklady
    11 (1970). The phases are at most as many as the nodes."""
    room = list(capacities)
    value: float = 0
    while True:
        steps = graph.reach(source, room)
        if steps[sink] < 0:
            return Flow(value, frozenset(node for node, step in enumerate(steps) if step >= 0))
        value += _fill(graph, room, steps, source, sink)
        if value == inf:
            return Flow(inf, frozenset())


def _fill(graph: Graph, room: list[float], steps: Sequence[int], source: int, sink: int) -> float:
    """A blocking flow: fills paths that come a step nearer with each arc until none is left. Changes `room`."""
    heads = graph.heads
    onward = [0] * len(graph.arcs)
    value: float = 0
    path: list[int] = []
    node = source
    while True:
        if node == sink:
            push = min(room[arc] for arc in path)
            if push == inf:
                return inf
            value += push
            for arc in path:
                room[arc] -= push
                room[arc ^ 1] += push
            full = next(place for place, arc in enumerate(path) if not room[arc])
            node = heads[path[full] ^ 1]
            del path[full:]
        arcs = graph.arcs[node]
        while onward[node] < len(arcs):
            arc = arcs[onward[node]]
            if room[arc] > 0 and steps[heads[arc]] == steps[node] + 1:
                path.append(arc)
                node = heads[arc]
                break
            onward[node] += 1
        else:
            if node == source:
                return value
            arc = path.pop()
            node = heads[arc ^ 1]
            onward[node] += 1
