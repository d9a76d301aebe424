"""Blocks of a multigraph: what is joined so that no single node parts it.

A line alone in its block is a *bridge*: without it the graph falls in two. Parallel lines form a block together. Two
blocks share at most one node, a *cut vertex*, and so blocks and cut vertices form a tree.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple


class Block(NamedTuple):
    """A block: its lines in rising order, and its nodes. The first node is its *top*, the nearest to the root of the
    tree of blocks; what hangs on any other node lies further from the root."""

    lines: tuple[int, ...]
    nodes: tuple[int, ...]


def arcs_at(nodes: int, ends: Sequence[tuple[int, int]]) -> list[list[int]]:
    """The arcs that leave each node: arc 2i is line i from its first node to its second, arc 2i + 1 the way back.
    A line whose ends coincide leads nowhere and is left out."""
    at: list[list[int]] = [[] for _ in range(nodes)]
    for line, (a, b) in enumerate(ends):
        if a != b:
            at[a].append(2 * line)
            at[b].append(2 * line + 1)
    return at


def blocks(nodes: int, ends: Sequence[tuple[int, int]]) -> tuple[Block, ...]:
    """The blocks of a multigraph, each after all blocks that lie further from the root. Nodes without lines are in
    none; the root of each connected part is its lowest node. Linear in nodes and lines, without recursion.

    A depth-first search gives each node a rank, and the low point of a node is the lowest rank that its part of the
    search reaches; a block ends where that is not above the node it was entered from. R. Tarjan, Depth-first search
    and linear graph algorithms, SIAM Journal on Computing 1 (1972)."""
    onward = [iter(arcs) for arcs in arcs_at(nodes, ends)]
    rank = [0] * nodes
    low = [0] * nodes
    reached = 0
    complete: list[Block] = []
    for root in range(nodes):
        if rank[root]:
            continue
        reached += 1
        rank[root] = low[root] = reached
        path = [(root, -1)]
        open_nodes: list[int] = []
        open_lines: list[int] = []
        while path:
            node, entered_by = path[-1]
            for arc in onward[node]:
                line = arc >> 1
                other = ends[line][1 - (arc & 1)]
                if not rank[other]:
                    reached += 1
                    rank[other] = low[other] = reached
                    open_nodes.append(other)
                    open_lines.append(line)
                    path.append((other, line))
                    break
                if rank[other] < rank[node] and line != entered_by:
                    open_lines.append(line)
                    low[node] = min(low[node], rank[other])
            else:
                path.pop()
                if path:
                    top = path[-1][0]
                    low[top] = min(low[top], low[node])
                    if low[node] >= rank[top]:
                        lines = sorted(_pop_from(open_lines, entered_by))
                        complete.append(Block(tuple(lines), (top, *_pop_from(open_nodes, node))))
    return tuple(complete)


def _pop_from(stack: list[int], first: int) -> list[int]:
    """Takes the end of a stack away, from the given entry on."""
    place = len(stack) - 1
    while stack[place] != first:
        place -= 1
    end = stack[place:]
    del stack[place:]
    return end
