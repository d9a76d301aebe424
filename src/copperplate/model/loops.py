"""The loops of the circuit graph."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache

from copperplate.model.graph import Graph
from copperplate.model.system import System


@lru_cache(maxsize=1)
def loops(net: Graph) -> tuple[tuple[int, ...], ...]:
    """The loops of the graph with all closed, see `loops_without`."""
    return loops_without(net, frozenset())


def loops_without(net: Graph, opened: frozenset[int]) -> tuple[tuple[int, ...], ...]:
    """The loops of the graph but some edges: its two-connected parts of more than one edge, as rising numbers of edges,
    and of joins after them. Linear in edges.

    What hangs on by one edge is stripped first, which leaves nothing of a radial plate; the rest is parted by
    R. Tarjan, Depth-first search and linear graph algorithms, 1972."""
    ends = [(edge.a, edge.b) for edge in net.edges] + [(join.a, join.b) for join in net.joins]
    at: dict[str, dict[int, None]] = {}
    for number, (a, b) in enumerate(ends):
        if a != b and number not in opened:
            at.setdefault(a, {})[number] = None
            at.setdefault(b, {})[number] = None
    hanging = [node for node, here in at.items() if len(here) == 1]
    for node in hanging:
        for number in at.pop(node, ()):
            a, b = ends[number]
            other = b if a == node else a
            if other in at:
                del at[other][number]
                if len(at[other]) == 1:
                    hanging.append(other)
    return tuple(block for block in _blocks(ends, {node: tuple(here) for node, here in at.items()}) if len(block) > 1)


def is_ring(net: Graph, loop: tuple[int, ...]) -> bool:
    """Whether a loop is one of conductors and devices alone: equal conductors around it share its current by their
    lengths. A loop through sources (batteries in parallel, supplies that take turns) or through the common negative
    of a converter does not: any one of its ways may have to carry all."""
    return all(number < len(net.edges) and net.edges[number].kind != "part" for number in loop)


def joins_batteries(system: System, net: Graph, loop: tuple[int, ...]) -> bool:
    """Whether a loop goes through batteries in parallel, whose leads are then laid in one size."""
    parts = [net.joins[n - len(net.edges)].part for n in loop if n >= len(net.edges)]
    return bool(parts) and all(system.parts[part].roles.stores for part in parts)


def _blocks(ends: Sequence[tuple[str, str]], at: Mapping[str, tuple[int, ...]]) -> Iterator[tuple[int, ...]]:
    """Two-connected parts of what is joined in `at`, as rising edge numbers."""
    seen: dict[str, int] = {}
    low: dict[str, int] = {}
    for root in at:
        if root in seen:
            continue
        seen[root] = low[root] = len(seen)
        stack = [(root, -1, iter(at[root]))]
        trail: list[int] = []
        while stack:
            node, came_by, onward = stack[-1]
            for number in onward:
                if number == came_by:
                    continue
                a, b = ends[number]
                other = b if a == node else a
                if other not in seen:
                    trail.append(number)
                    seen[other] = low[other] = len(seen)
                    stack.append((other, number, iter(at[other])))
                    break
                if seen[other] < seen[node]:
                    trail.append(number)
                    low[node] = min(low[node], seen[other])
            else:
                stack.pop()
                if not stack:
                    continue
                above = stack[-1][0]
                low[above] = min(low[above], low[node])
                if low[node] >= seen[above]:
                    block = [trail.pop()]
                    while block[-1] != came_by:
                        block.append(trail.pop())
                    yield tuple(sorted(block))
