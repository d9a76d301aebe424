"""Messages over the tree of blocks: what the rest of the network means to a node.

Seen from a node, all that hangs on it by a block can bring it so much and no more: that is the block's message. Blocks
that meet at a cut vertex share no line, so their messages add; over a bridge a message is the least of the bridge's
capacity and of what else comes to its far end; in any other block it is a maximum flow. Once up the tree and once down
give all of them. On a tree that is the maximum flow itself: the bound of each line is reached by all at once, by
induction from the leaves.

Flows walk away from a node towards *terminals* here. For what supplies bring to the node, the walk goes against the
current.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from copperplate.flow.amounts import Amounts
from copperplate.flow.maximum import Flow, Graph, maximum_flow
from copperplate.model.blocks import Block


@dataclass(frozen=True, eq=False)
class Capacities:
    """Capacities for walks away from a node: of each line from its first node to its second and back, and of the
    terminals at each node, as whole numbers of a scale."""

    ends: Sequence[tuple[int, int]]
    along: Sequence[int]
    back: Sequence[int]
    terminals: Sequence[int]
    amounts: Amounts

    def beyond(self, line: int, node: int) -> tuple[int, int]:
        """The other node of a line, and what may walk there."""
        a, b = self.ends[line]
        return (b, self.along[line]) if node == a else (a, self.back[line])


@dataclass(frozen=True)
class Cut:
    """A minimum cut: the lines and the terminals (supplies, by node) whose capacities add up to the amperes that may
    flow. Where these are without limit: no lines, and the unlimited terminals that nothing limits on the way."""

    amperes: float
    lines: tuple[int, ...]
    supplies: tuple[int, ...]


class Section:
    """Some lines on their own, for flows from a node of theirs to what the rest of the network takes at the others.
    `places` numbers their nodes; nodes of one place are one."""

    def __init__(self, capacities: Capacities, lines: Sequence[int], places: Mapping[int, int]) -> None:
        self._lines = lines
        self._places = places
        self._size = max(places.values()) + 1
        ends = [(places[a], places[b]) for a, b in (capacities.ends[line] for line in lines)]
        self._graph = Graph.of(self._size + 1, [*ends, *((place, self._size) for place in range(self._size))])
        self._room = [room for line in lines for room in (capacities.along[line], capacities.back[line])]

    def flow(self, node: int, terminals: Sequence[int], barred: Collection[int]) -> Flow:
        """The largest flow from a node to the terminals at other places, without the barred lines."""
        start = self._places[node]
        room = [*self._open(barred), *(end for terminal in terminals for end in (terminal, 0))]
        room[2 * (len(self._lines) + start)] = 0
        return maximum_flow(self._graph, room, start, self._size)

    def nodes(self, side: Collection[int]) -> list[int]:
        """The nodes of some places."""
        return [node for node, place in self._places.items() if place in side]

    def leaving(self, side: Collection[int], barred: Collection[int]) -> list[int]:
        """The lines, but the barred, that have capacity from one of some places to another."""
        room, heads = self._open(barred), self._graph.heads
        arcs = (arc for arc, capacity in enumerate(room) if capacity and heads[arc] not in side)
        return [self._lines[arc // 2] for arc in arcs if heads[arc ^ 1] in side]

    def reach(self, node: int, least: int, barred: Collection[int]) -> set[int]:
        """The places that a node reaches over lines of that capacity or more."""
        room = [room if room >= least else 0 for room in self._open(barred)]
        steps = self._graph.reach(self._places[node], [*room, *([0, 0] * self._size)])
        return {place for place, step in enumerate(steps) if step >= 0}

    def _open(self, barred: Collection[int]) -> list[int]:
        room = list(self._room)
        for place, line in enumerate(self._lines):
            if line in barred:
                room[2 * place] = room[2 * place + 1] = 0
        return room


class Messages:
    """All messages of one set of capacities. Blocks go by their number in `parts`."""

    def __init__(self, capacities: Capacities, parts: Sequence[Block]) -> None:
        nodes = len(capacities.terminals)
        self.capacities = capacities
        self.parts = parts
        self.parent = [-1] * nodes
        """By node: the block nearest to the root, -1 for a root and for a node without lines."""
        self.feeding: list[list[int]] = [[] for _ in range(nodes)]
        """By node: the blocks on the other side that bring it anything."""
        self._sections: dict[int, Section] = {}
        self._flows: dict[tuple[int, int], Flow] = {}
        self._below = list(capacities.terminals)
        """By node: what it has itself and from all blocks but its parent."""
        self._from_parent: dict[int, int] = {}
        self._above = [0] * len(parts)
        """By block: what comes to its top from everywhere else."""
        up = [0] * len(parts)
        for number, part in enumerate(parts):
            if len(part.lines) > 1:
                places = {node: place for place, node in enumerate(part.nodes)}
                self._sections[number] = Section(capacities, part.lines, places)
            for node in part.nodes[1:]:
                self.parent[node] = number
            top = part.nodes[0]
            up[number] = self.message(number, top)
            if up[number]:
                self._below[top] += up[number]
                self.feeding[top].append(number)
        for number in reversed(range(len(parts))):
            self._above[number] = self.total(parts[number].nodes[0]) - up[number]

    def total(self, node: int) -> int:
        """The largest flow between a node and all terminals."""
        if node not in self._from_parent:
            self._from_parent[node] = self.message(self.parent[node], node) if self.parent[node] >= 0 else 0
        return self._below[node] + self._from_parent[node]

    def elsewhere(self, number: int, node: int) -> int:
        """What comes to a node of a block from outside the block."""
        return self._above[number] if node == self.parts[number].nodes[0] else self._below[node]

    def besides(self, node: int, numbers: Collection[int]) -> int:
        """The largest flow between a node and all terminals by way of no block of some."""
        parent = self.parent[node]
        total = self.elsewhere(parent, node) if parent in numbers else self.total(node)
        return total - sum(self.message(number, node) for number in self.feeding[node] if number in numbers)

    def coming(self, number: int, node: int, barred: Collection[int]) -> int:
        """The largest flow between a node of a block and all terminals, over other lines than the barred of the
        block."""
        return self.elsewhere(number, node) + self.message(number, node, barred)

    def message(self, number: int, node: int, barred: Collection[int] = ()) -> int:
        """What a block and all beyond it bring to a node of it, over other lines than the barred."""
        if number in self._sections:
            return int(self._flow(number, node, barred).value)
        (line,) = self.parts[number].lines
        if line in barred:
            return 0
        other, capacity = self.capacities.beyond(line, node)
        return min(capacity, self.elsewhere(number, other))

    def _flow(self, number: int, node: int, barred: Collection[int]) -> Flow:
        """The flow behind a message; kept where nothing is barred."""
        if barred or (number, node) not in self._flows:
            terminals = [self.elsewhere(number, other) for other in self.parts[number].nodes]
            flow = self._sections[number].flow(node, terminals, barred)
            if barred:
                return flow
            self._flows[number, node] = flow
        return self._flows[number, node]

    def cut(self, value: int, reached: Sequence[tuple[int, Collection[int]]], lines: Sequence[int] = ()) -> Cut:
        """The minimum cut around nodes on its near side that are reached already, each with the blocks in which the cut
        is known; `lines` are those cut there. Of several cuts the nearest."""
        lines = list(lines)
        terminals: list[int] = []
        ahead = list(reached)
        least = self._least(value)
        for node, known in ahead:
            if self.capacities.terminals[node] >= least:
                terminals.append(node)
            for number in (*self.feeding[node], self.parent[node]):
                if number >= 0 and number not in known:
                    near, cut = self.cut_within(value, number, node)
                    ahead += [(other, (number,)) for other in near]
                    lines += cut
        return Cut(self.capacities.amounts.amperes(value), tuple(sorted(lines)), tuple(sorted(terminals)))

    def cut_within(
        self, value: int, number: int, node: int, barred: Collection[int] = ()
    ) -> tuple[list[int], list[int]]:
        """The part of a minimum cut of that value that lies in one block, seen from a node of it: the other nodes on
        the near side, and the lines cut. Without a limit: the other nodes that are reached without a limit."""
        part = self.parts[number]
        least = self._least(value)
        if number not in self._sections:
            (line,) = part.lines
            other, capacity = self.capacities.beyond(line, node)
            behind = self.elsewhere(number, other)
            if line in barred or min(capacity, behind) < least:
                return [], []
            if capacity <= behind and capacity < self.capacities.amounts.unlimited:
                return [], [line]
            return [other], []
        section = self._sections[number]
        if value >= self.capacities.amounts.unlimited:
            side: Collection[int] = section.reach(node, least, barred)
            return [other for other in section.nodes(side) if other != node], []
        flow = self._flow(number, node, barred)
        if not flow.value:
            return [], []
        return [other for other in section.nodes(flow.side) if other != node], section.leaving(flow.side, barred)

    def _least(self, value: int) -> int:
        """What counts in a cut: any capacity where the value is limited, else only what has no limit."""
        return 1 if value < self.capacities.amounts.unlimited else self.capacities.amounts.unlimited
