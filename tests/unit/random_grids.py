"""Random grids, and what flows in them by an outside maximum flow (`scipy.sparse.csgraph.maximum_flow`)."""

from __future__ import annotations

import random
from collections.abc import Collection, Mapping
from math import inf

import numpy as np
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import maximum_flow

from copperplate.flow.lasting import Grid

PARTS = 4
"""Capacities are whole quarters of an ampere: the outside flow takes whole numbers."""
NO_LIMIT = 1_000_000
"""More than all finite capacities of a small grid together."""
RATINGS = (0.25, 1.0, 5.0, 7.5, 10.0, 15.0, 15.0, 20.0, 40.25, inf, inf)


def random_grid(seed: int) -> Grid:
    """A tree, a cactus or a mesh of up to 14 nodes, or several side by side: parallel lines, lines that end where they
    begin, one-way arcs, up to four supplies, ratings that tie."""
    choose = random.Random(seed)
    nodes = choose.randint(1, 14)
    chords = choose.choice((0, 0, 1, 2, 3, nodes, 2 * nodes))
    joined = [node for node in range(1, nodes) if choose.random() < 0.95]
    ends = [(choose.randrange(max(0, node - choose.choice((1, 3, 14))), node), node) for node in joined]
    ends += [(choose.randrange(nodes), choose.randrange(nodes)) for _ in range(chords)]
    ends += [choose.choice(ends) for _ in range(choose.choice((0, 0, 1, 3))) if ends]
    choose.shuffle(ends)
    ends = [(a, b) if choose.random() < 0.5 else (b, a) for a, b in ends]
    forward = [choose.choice(RATINGS) for _ in ends]
    back = [choose.choice((0.0, *RATINGS)) if choose.random() < 0.3 else cap for cap in forward]
    supplies = [0.0] * nodes
    for _ in range(choose.randint(0, 4)):
        supplies[choose.randrange(nodes)] = choose.choice((inf, inf, 10.0, 30.0, 12.5))
    draws = [choose.choice((0.0, 0.0, inf, 10.0, 2.75)) for _ in range(nodes)]
    return Grid(nodes, ends, forward, back, supplies, draws)


def whole(amperes: float) -> int:
    return NO_LIMIT if amperes == inf else int(amperes * PARTS)


class Outside:
    """One outside flow: from supplies to nodes of arrival, or from nodes to draws where the grid is turned round."""

    def __init__(
        self,
        grid: Grid,
        to: Collection[int],
        *,
        supplies: Mapping[int, float] | None = None,
        without: Collection[int] = (),
        without_node: int | None = None,
    ) -> None:
        self.grid, self.to, self.without = grid, to, set(without)
        self.supplies = dict(enumerate(grid.supplies)) if supplies is None else supplies
        source, sink = grid.nodes, grid.nodes + 1
        room = np.zeros((grid.nodes + 2, grid.nodes + 2), dtype=np.int32)
        for line, (a, b) in enumerate(grid.ends):
            if line not in self.without and without_node not in (a, b) and a != b:
                room[a, b] += whole(grid.forward[line])
                room[b, a] += whole(grid.back[line])
        for node, amperes in self.supplies.items():
            if node != without_node:
                room[source, node] += whole(amperes)
        for node in to:
            room[node, sink] += 100 * NO_LIMIT
        flow = maximum_flow(csr_matrix(room), source, sink)
        self.amperes = inf if flow.flow_value >= NO_LIMIT else flow.flow_value / PARTS
        self._left = room - flow.flow.toarray()

    def cut(self) -> tuple[tuple[int, ...], tuple[int, ...], list[float]]:
        """Lines and supplies of the minimum cut nearest to the arrival, and their capacities: it parts the nodes from
        where what the flow leaves still leads to the arrival. Without a limit, the unlimited supplies that are
        reached without limit."""
        grid = self.grid
        near = set(self.to)
        arcs = [(line, a, b, grid.forward[line]) for line, (a, b) in enumerate(grid.ends) if line not in self.without]
        arcs += [(line, b, a, grid.back[line]) for line, (a, b) in enumerate(grid.ends) if line not in self.without]
        if self.amperes == inf:
            while more := {a for _, a, b, capacity in arcs if b in near and capacity == inf} - near:
                near |= more
            return (), tuple(sorted(node for node in near if self.supplies.get(node) == inf)), []
        while more := {n for n in range(grid.nodes) if any(self._left[n, other] > 0 for other in near)} - near:
            near |= more
        lines = {line: capacity for line, a, b, capacity in arcs if b in near and a not in near and capacity}
        supplies = {node: self.supplies[node] for node in near if self.supplies.get(node)}
        return tuple(sorted(lines)), tuple(sorted(supplies)), [*lines.values(), *supplies.values()]


def turned(grid: Grid) -> Grid:
    """Every arc turned round: what flows from a node to the draws is what comes to it from them."""
    return Grid(grid.nodes, grid.ends, grid.back, grid.forward, grid.draws, grid.supplies)
