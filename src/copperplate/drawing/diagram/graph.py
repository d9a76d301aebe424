"""The direct-current wiring that panels do not hold, as chains between nodes where something ends or meets.

A *chain* is the conductors and devices of one pole, in order, between two nodes. A *rail* is a node that several
chains share. Whoever draws takes chains away until none is left, so that each is drawn once.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from copperplate.drawing.wiring import DcWiring, Side, WiringEdge


@dataclass(frozen=True)
class Chain:
    """Edges in order from `nodes[0]` to `nodes[-1]`; one node more than edges."""

    edges: tuple[WiringEdge, ...]
    nodes: tuple[str, ...]

    @property
    def start(self) -> str:
        return self.nodes[0]

    @property
    def end(self) -> str:
        return self.nodes[-1]

    def reversed(self) -> Chain:
        return Chain(self.edges[::-1], self.nodes[::-1])


class PowerGraph:
    """What is left to draw. `at`: the edges at each node that no ladder holds, in order of declaration."""

    def __init__(self, wiring: DcWiring, held: Iterable[WiringEdge]) -> None:
        self.wiring = wiring
        taken = set(held)
        self.at: dict[str, list[WiringEdge]] = {}
        for edge in wiring.edges:
            if edge not in taken:
                self.at.setdefault(edge.a, []).append(edge)
                self.at.setdefault(edge.b, []).append(edge)
        self.free = {edge: None for edge in wiring.edges if edge not in taken}

    def left(self, node: str) -> list[WiringEdge]:
        """The edges at a node that are not drawn yet."""
        return [edge for edge in self.at.get(node, ()) if edge in self.free]

    def is_rail(self, node: str) -> bool:
        """True where a chain ends although it could go on: a bar, a terminal, a place where three and more meet."""
        roles = self.wiring.roles_at(node)
        if roles.is_splice or not self.wiring.owner(node):
            return len(self.at.get(node, ())) != 2
        return True

    def trace(self, start: str, edge: WiringEdge) -> Chain:
        """The chain that leaves `start` by `edge`."""
        edges, nodes = [edge], [start, edge.other(start)]
        while not self.is_rail(nodes[-1]) and nodes[-1] != start:
            onward = next((other for other in self.at[nodes[-1]] if other is not edges[-1]), None)
            if onward is None or onward not in self.free or onward in edges:
                break
            edges.append(onward)
            nodes.append(onward.other(nodes[-1]))
        return Chain(tuple(edges), tuple(nodes))

    def take(self, chain: Chain) -> Chain:
        for edge in chain.edges:
            self.free.pop(edge, None)
        return chain

    def chains(self, node: str) -> list[Chain]:
        """The chains that leave a node and are not drawn yet; one that comes back to it once."""
        traced: list[Chain] = []
        seen: set[WiringEdge] = set()
        for edge in self.left(node):
            if edge not in seen:
                traced.append(self.trace(node, edge))
                seen.update(traced[-1].edges)
        return traced

    def whole(self, edge: WiringEdge) -> Chain:
        """The chain that an edge is part of, from one end to the other."""
        back = self.trace(edge.b, edge)
        if self.is_rail(back.end) or len(back.edges) == 1:
            return self.trace(back.end, back.edges[-1])
        return back

    def side_at(self, node: str) -> Side | None:
        """The side of a part whose terminal a node is. Parts mounted on an earth are found by their own terminal."""
        return self.wiring.side_of.get(node)
