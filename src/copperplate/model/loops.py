"""The loops of the circuit graph."""

from __future__ import annotations

from functools import lru_cache

from copperplate.model.blocks import blocks
from copperplate.model.graph import Graph
from copperplate.model.system import System


@lru_cache(maxsize=1)
def loops(net: Graph) -> tuple[tuple[int, ...], ...]:
    """The loops of the graph with all closed, see `loops_without`."""
    return loops_without(net, frozenset())


def loops_without(net: Graph, opened: frozenset[int]) -> tuple[tuple[int, ...], ...]:
    """The loops of the graph but some edges: its two-connected parts of more than one edge, as rising numbers of edges,
    and of joins after them. Linear in edges."""
    number: dict[str, int] = {}
    ends = [(edge.a, edge.b) for edge in net.edges] + [(join.a, join.b) for join in net.joins]
    lines = [(number.setdefault(a, len(number)), number.setdefault(b, len(number))) for a, b in ends]
    for n in opened:
        lines[n] = (0, 0)
    return tuple(block.lines for block in blocks(len(number), lines) if len(block.lines) > 1)


def is_ring(net: Graph, loop: tuple[int, ...]) -> bool:
    """Whether a loop is one of conductors and devices alone: equal conductors around it share its current by their
    lengths. A loop through sources (batteries in parallel, supplies that take turns) or through the common negative
    of a converter does not: any one of its ways may have to carry all."""
    return all(number < len(net.edges) and net.edges[number].kind != "part" for number in loop)


def joins_batteries(system: System, net: Graph, loop: tuple[int, ...]) -> bool:
    """Whether a loop goes through batteries in parallel, whose leads are then laid in one size."""
    parts = [net.joins[n - len(net.edges)].part for n in loop if n >= len(net.edges)]
    return bool(parts) and all(system.parts[part].roles.stores for part in parts)
