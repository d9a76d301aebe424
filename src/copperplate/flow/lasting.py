"""Lasting overload of live conductors: what may come in, and what may go through, for ever.

Each answer is a maximum flow, and holds in any network: rings, parallel runs, devices at either end, several banks.
On a tree all answers together take one walk up and one down; each line of a loop takes flows within that loop only.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from copperplate.flow.amounts import Amounts
from copperplate.flow.messages import Capacities, Cut, Messages
from copperplate.model.blocks import Block, blocks


@dataclass(frozen=True, eq=False)
class Grid:
    """One pole as a flow sees it. Capacities are amperes that may pass for ever: inf without limit, 0 for none."""

    nodes: int
    ends: Sequence[tuple[int, int]]
    """The two nodes of each line: a conductor, a leg of a device, a join, a one-way arc."""
    forward: Sequence[float]
    """By line: from its first node to its second."""
    back: Sequence[float]
    """By line: from its second node to its first."""
    supplies: Sequence[float]
    """By node: what sources push in there."""
    draws: Sequence[float]
    """By node: what consumers, and banks being charged, can take there."""
    alike: Grid | None = None
    """Another of the same nodes and ends, whose blocks are the same."""

    @cached_property
    def blocks(self) -> tuple[Block, ...]:
        return self.alike.blocks if self.alike is not None else blocks(self.nodes, self.ends)

    @cached_property
    def amounts(self) -> Amounts:
        return Amounts.of(self.forward, self.back, self.supplies, self.draws)

    @cached_property
    def inward(self) -> Messages:
        """What supplies bring to the nodes."""
        return self.brought(self.supplies)

    @cached_property
    def outward(self) -> Messages:
        """What draws take from the nodes."""
        return self._messages(self.forward, self.back, self.draws)

    def brought(self, supplies: Sequence[float]) -> Messages:
        """What some of the supplies bring to the nodes: a walk from the nodes to the supplies, against the current."""
        return self._messages(self.back, self.forward, supplies)

    @cached_property
    def block_of(self) -> list[int]:
        """By line: its block; -1 where its ends coincide."""
        if self.alike is not None:
            return self.alike.block_of
        block_of = [-1] * len(self.ends)
        for number, part in enumerate(self.blocks):
            for line in part.lines:
                block_of[line] = number
        return block_of

    def _messages(self, along: Sequence[float], back: Sequence[float], terminals: Sequence[float]) -> Messages:
        whole = self.amounts.whole
        capacities = Capacities(self.ends, whole(along), whole(back), whole(terminals), self.amounts)
        return Messages(capacities, self.blocks)


def into(grid: Grid) -> tuple[tuple[float, float], ...]:
    """For each line, the largest flow from all supplies to its first node in the grid without the line, and to its
    second: what comes into the line from that end for ever, for a fault anywhere along it.

    By hand: two batteries, nodes 0 and 1, with their fuses of 150 A and 100 A (lines 0 and 1) and leads (lines 2 and
    3) on a bar, node 4. A fault in a lead is fed through its own fuse, and from the bar through the other's.

    >>> from math import inf
    >>> ends = [(0, 2), (1, 3), (2, 4), (3, 4)]
    >>> grid = Grid(5, ends, [150, 100, inf, inf], [150, 100, inf, inf], [inf, inf, 0, 0, 0], [inf, inf, 0, 0, 0])
    >>> into(grid)
    ((inf, 100.0), (inf, 150.0), (150.0, 100.0), (100.0, 150.0))
    >>> cut(grid, 2, 1)
    Cut(amperes=100.0, lines=(1,), supplies=())
    >>> cut(grid, 0, 0)
    Cut(amperes=inf, lines=(), supplies=(0,))
    """
    amperes = grid.amounts.amperes
    answers = [(0.0, 0.0)] * len(grid.ends)
    for number, part in enumerate(grid.blocks):
        for line in part.lines:
            a, b = grid.ends[line]
            first = grid.inward.coming(number, a, (line,))
            second = grid.inward.coming(number, b, (line,))
            answers[line] = (amperes(first), amperes(second))
    for line, (a, b) in enumerate(grid.ends):
        if a == b:
            answers[line] = (amperes(grid.inward.total(a)), amperes(grid.inward.total(a)))
    return tuple(answers)


def through(grid: Grid) -> tuple[tuple[float, float], ...]:
    """For each line, from its first node a to its second b and the other way: overload without a fault, the lesser of
    what supplies bring to a in the grid without node b and what draws take from b in the grid without node a. (In
    passive copper nothing comes back from b to a while the line carries current from a to b.) 0 where the ends
    coincide.

    By hand: in the leads of `into` the batteries charge each other, through both fuses.

    >>> from math import inf
    >>> ends = [(0, 2), (1, 3), (2, 4), (3, 4)]
    >>> grid = Grid(5, ends, [150, 100, inf, inf], [150, 100, inf, inf], [inf, inf, 0, 0, 0], [inf, inf, 0, 0, 0])
    >>> through(grid)[2:]
    ((100.0, 100.0), (100.0, 100.0))
    """
    amperes = grid.amounts.amperes
    answers = [(0.0, 0.0)] * len(grid.ends)
    for number, part in enumerate(grid.blocks):
        flows: dict[tuple[int, int], float] = {}
        for line in part.lines:
            a, b = grid.ends[line]
            for first, second in ((a, b), (b, a)):
                if (first, second) not in flows:
                    brought = grid.inward.coming(number, first, _lines_at(grid, part, second))
                    taken = grid.outward.coming(number, second, _lines_at(grid, part, first))
                    flows[first, second] = amperes(min(brought, taken))
            answers[line] = (flows[a, b], flows[b, a])
    return tuple(answers)


def cut(grid: Grid, line: int, end: int) -> Cut:
    """The minimum cut behind `into` of a line's first (`end` 0) or second end (1). Of several the nearest to the
    line, so that it names the devices next to the conductor."""
    a, b = grid.ends[line]
    node = (a, b)[end]
    messages = grid.inward
    if a == b:
        return messages.cut(messages.total(node), [(node, ())])
    number = grid.block_of[line]
    value = messages.coming(number, node, (line,))
    near, lines = messages.cut_within(value, number, node, (line,))
    return messages.cut(value, [(each, (number,)) for each in (node, *near)], lines)


def _lines_at(grid: Grid, part: Block, node: int) -> tuple[int, ...]:
    return tuple(line for line in part.lines if node in grid.ends[line])
