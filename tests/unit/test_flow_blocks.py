"""Blocks against their definition, with connected parts by SciPy: two lines are in one block where no single node
parts them."""

from __future__ import annotations

import random
from collections import Counter

import numpy as np
import pytest
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from copperplate.model.blocks import Block, blocks


def random_ends(seed: int) -> tuple[int, list[tuple[int, int]]]:
    choose = random.Random(seed)
    nodes = choose.randint(1, 10)
    ends = [(choose.randrange(node), node) for node in range(1, nodes) if choose.random() < 0.9]
    ends += [(choose.randrange(nodes), choose.randrange(nodes)) for _ in range(choose.choice((0, 1, 2, 4, 12)))]
    choose.shuffle(ends)
    return nodes, ends


def parts_without(nodes: int, ends: list[tuple[int, int]], node: int) -> list[int]:
    """The connected part of each node where one node's lines are taken out."""
    left = [(a, b) for a, b in ends if node not in (a, b)] or [(0, 0)]
    rows, columns = zip(*left, strict=True)
    graph = coo_matrix((np.ones(len(left)), (rows, columns)), shape=(nodes, nodes))
    return list(connected_components(graph, directed=False)[1])


def test_lines_share_a_block_where_no_node_parts_them() -> None:
    shared = 0
    for seed in range(400):
        nodes, ends = random_ends(seed)
        found = blocks(nodes, ends)
        block_of = {line: number for number, part in enumerate(found) for line in part.lines}
        lines = [line for line, (a, b) in enumerate(ends) if a != b]
        assert sorted(block_of) == lines and sum(len(part.lines) for part in found) == len(lines)
        parts = [parts_without(nodes, ends, node) for node in range(nodes)]
        whole = parts_without(nodes, ends, -1)
        for first in lines:
            for second in lines[: lines.index(first)]:
                together = whole[ends[first][0]] == whole[ends[second][0]] and all(
                    parts[node][next(end for end in ends[first] if end != node)]
                    == parts[node][next(end for end in ends[second] if end != node)]
                    for node in range(nodes)
                )
                assert (block_of[first] == block_of[second]) == together, (seed, first, second)
                shared += together
    assert shared > 3000


def test_blocks_form_a_tree_listed_from_the_leaves() -> None:
    """Every block after those that hang on its lower nodes; a node is below the top of one block only; nodes in
    several blocks are those whose loss parts the graph."""
    for seed in range(400):
        nodes, ends = random_ends(seed)
        found = blocks(nodes, ends)
        lower = [node for part in found for node in part.nodes[1:]]
        assert len(lower) == len(set(lower))
        complete: set[int] = set()
        for part in found:
            assert set(part.nodes) == {node for line in part.lines for node in ends[line]}
            assert list(part.lines) == sorted(part.lines)
            assert part.nodes[0] not in complete
            complete.update(part.nodes[1:])
        whole = len(set(parts_without(nodes, ends, -1)))
        parting = {node for node in range(nodes) if len(set(parts_without(nodes, ends, node))) > whole + 1}
        shared = {node for node, count in Counter(node for part in found for node in part.nodes).items() if count > 1}
        assert shared == parting, seed


def test_worked_by_hand() -> None:
    """A triangle 0 1 2, a bridge 2 3, two parallel lines 3 4, a line from 4 to itself, a node alone."""
    ends = [(0, 1), (1, 2), (2, 0), (2, 3), (3, 4), (4, 3), (4, 4)]
    assert blocks(6, ends) == (Block((4, 5), (3, 4)), Block((3,), (2, 3)), Block((0, 1, 2), (0, 1, 2)))


@pytest.mark.parametrize("ring", [False, True])
def test_a_hundred_thousand_nodes_in_a_row(ring: bool) -> None:
    nodes = 100_000
    ends = [(node, (node + 1) % nodes) for node in range(nodes if ring else nodes - 1)]
    found = blocks(nodes, ends)
    assert [len(part.lines) for part in found] == ([nodes] if ring else [1] * (nodes - 1))
