"""The maximum flow and its minimum cut against SciPy's and a textbook's."""

from __future__ import annotations

import random
from math import fsum, inf

import numpy as np
import pytest
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import maximum_flow as outside_flow

from copperplate.flow.maximum import Graph, maximum_flow


def flow_of(nodes: int, arcs: dict[tuple[int, int], float], source: int, sink: int) -> tuple[float, set[int]]:
    room = [capacity for forward in arcs.values() for capacity in (forward, 0)]
    flow = maximum_flow(Graph.of(nodes, list(arcs)), room, source, sink)
    return flow.value, set(flow.side)


def test_textbook() -> None:
    """Cormen, Leiserson, Rivest and Stein, Introduction to Algorithms, chapter 26, the shipping network: 23, and the
    minimum cut {s, v1, v2, v4} (values from memory)."""
    s, v1, v2, v3, v4, t = range(6)
    arcs = {(s, v1): 16, (s, v2): 13, (v1, v3): 12, (v2, v1): 4, (v2, v4): 14, (v3, v2): 9, (v3, t): 20, (v4, v3): 7}
    assert flow_of(6, {**arcs, (v4, t): 4}, s, t) == (23, {s, v1, v2, v4})


def test_random_networks() -> None:
    """Value, and the cut: the arcs that leave it add up to the value, and it is the smallest such side (what SciPy's
    flow leaves within reach of the source)."""
    positive = 0
    for seed in range(600):
        choose = random.Random(seed)
        nodes = choose.randint(2, 12)
        ends = [(choose.randrange(nodes), choose.randrange(nodes)) for _ in range(choose.randint(1, 40))]
        capacities = [choose.choice((0, 1, 2, 3, 7, 20)) for _ in range(2 * len(ends))]
        flow = maximum_flow(Graph.of(nodes, ends), capacities, 0, nodes - 1)
        room = np.zeros((nodes, nodes), dtype=np.int32)
        for line, (a, b) in enumerate(ends):
            if a != b:
                room[a, b] += capacities[2 * line]
                room[b, a] += capacities[2 * line + 1]
        outside = outside_flow(csr_matrix(room), 0, nodes - 1)
        assert flow.value == outside.flow_value
        left = room - outside.flow.toarray()
        near = {0}
        while more := {node for node in range(nodes) if any(left[other, node] > 0 for other in near)} - near:
            near |= more
        assert flow.side == near
        assert sum(room[a, b] for a in near for b in range(nodes) if b not in near) == flow.value
        positive += flow.value > 0
    assert positive > 300


def test_without_limit() -> None:
    assert flow_of(4, {(0, 1): inf, (1, 2): 5.0, (1, 3): inf}, 0, 3) == (inf, set())
    assert flow_of(4, {(0, 1): inf, (1, 2): 5.0, (2, 3): inf}, 0, 3) == (5.0, {0, 1})
    two_ways = maximum_flow(Graph.of(3, [(0, 1), (1, 2), (0, 1)]), [inf, inf, 2.5, inf, inf, 1.0], 0, 2)
    assert (two_ways.value, two_ways.side) == (2.5, {0, 1})


def test_amperes_with_fractions() -> None:
    arcs = {(0, n): amperes for n, amperes in enumerate((0.1, 0.2, 33.3), start=1)}
    value, side = flow_of(5, {**arcs, (1, 4): inf, (2, 4): inf, (3, 4): inf}, 0, 4)
    assert value == pytest.approx(fsum(arcs.values()), rel=1e-15) and side == {0}


def test_a_long_row() -> None:
    nodes = 20_000
    arcs = {(node, node + 1): 1e6 - node for node in range(nodes - 1)}
    assert flow_of(nodes, arcs, 0, nodes - 1) == (1e6 - nodes + 2, set(range(nodes - 1)))
