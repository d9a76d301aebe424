"""Lasting overload of a bar: the most that can cross it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import product

from copperplate.flow.lasting import Grid
from copperplate.flow.messages import Section

MOST_CHOICES = 8
"""What may go either way in the loops of one bar is tried both ways up to so many, 256 choices of two flows each."""

Sides = list[tuple[int, int]]
"""What is brought to a bar and taken from it at once, for each choice that no other choice reaches in both."""


def crossing(grid: Grid, bar: int) -> float:
    """The most that can cross a bar: of what some of its lines bring in from supplies (with its own) and what the
    others take away to draws (with its own), the lesser; the largest for all choices which of the lines bring in.

    No line of the bar goes both ways at once. In the loops that the bar is in, neither does what hangs on their other
    nodes by a bridge, nor such a node itself: a bank there gives or takes. Within the loops the two flows are reckoned
    apart, and where more than eight may go either way all count both ways: that can only be too much.

    By hand: three units on a bar, each behind 100 A, and loads. Behind 300 A these take all that three units bring;
    behind 60 A two units bring more, for the third and the loads.

    >>> from math import inf
    >>> ends, banks, draws = [(0, 3), (1, 3), (2, 3), (3, 4)], [inf, inf, inf, 0, 0], [inf, inf, inf, 0, inf]
    >>> [crossing(Grid(5, ends, [100, 100, 100, x], [100, 100, 100, x], banks, draws), 3) for x in (300, 60)]
    [300.0, 160.0]
    """
    inward, outward = grid.inward, grid.outward
    bridges = (number for number in _blocks_at(grid, bar) if len(grid.blocks[number].lines) == 1)
    choices = [_best([(inward.message(n, bar), 0), (0, outward.message(n, bar))]) for n in bridges]
    sides = [(inward.capacities.terminals[bar], outward.capacities.terminals[bar])]
    for choice in sorted([*choices, _in_loops(grid, bar)], key=len):
        sides = _best((a + c, b + d) for a, b in sides for c, d in choice)
    return grid.amounts.amperes(max(min(side) for side in sides))


def _in_loops(grid: Grid, bar: int) -> Sides:
    """What the loops that a bar is in bring and take."""
    lines, places, hanging = _loops(grid, bar)
    if not lines:
        return [(0, 0)]
    own = [line for line in lines if bar in grid.ends[line]]
    either = [each for each in hanging if each.brings and each.takes]
    own = own if len(own) <= MOST_CHOICES else []
    either = either if len(own) + len(either) <= MOST_CHOICES else []
    inward = Section(grid.inward.capacities, lines, places)
    outward = Section(grid.outward.capacities, lines, places)
    sides = []
    for bring in product((True, False), repeat=len(own) + len(either)):
        supplies, draws = [0] * len(places), [0] * len(places)
        giving = {each for each, gives in zip(either, bring[len(own) :], strict=True) if gives}
        for each in hanging:
            supplies[places[each.node]] += each.brings if each in giving or each not in either else 0
            draws[places[each.node]] += each.takes if each not in giving else 0
        brought, _ = inward.flow(bar, supplies, [line for line, gives in zip(own, bring, strict=False) if not gives])
        taken, _ = outward.flow(bar, draws, [line for line, gives in zip(own, bring, strict=False) if gives])
        sides.append((brought, taken))
    return _best(sides)


@dataclass(frozen=True, eq=False)
class Hanging:
    """A bridge at a node of a loop with all beyond it, or the node itself: what it can bring and take."""

    node: int
    brings: int
    takes: int


def _loops(grid: Grid, bar: int) -> tuple[list[int], dict[int, int], list[Hanging]]:
    """The loops that no bridge parts from a bar: their lines, a place for each of their nodes, and what hangs there."""
    inward, outward = grid.inward, grid.outward
    lines: dict[int, None] = {}
    places = {bar: 0}
    hanging = []
    ahead = [bar]
    for node in ahead:
        if node != bar:
            hanging.append(Hanging(node, inward.capacities.terminals[node], outward.capacities.terminals[node]))
        for number in _blocks_at(grid, node):
            part = grid.blocks[number]
            if len(part.lines) > 1:
                lines.update(dict.fromkeys(part.lines))
                for other in part.nodes:
                    if other not in places:
                        places[other] = len(places)
                        ahead.append(other)
            elif node != bar:
                hanging.append(Hanging(node, inward.message(number, node), outward.message(number, node)))
    return list(lines), places, hanging


def _blocks_at(grid: Grid, node: int) -> list[int]:
    """The blocks at a node that bring or take anything."""
    inward, outward = grid.inward, grid.outward
    numbers = dict.fromkeys((*inward.feeding[node], *outward.feeding[node], inward.parent[node]))
    return [number for number in numbers if number >= 0]


def _best(sides: Iterable[tuple[int, int]]) -> Sides:
    """The pairs that no other pair reaches in both figures."""
    best: Sides = []
    for brought, taken in sorted(sides, reverse=True):
        if not best or taken > best[-1][1]:
            best.append((brought, taken))
    return best
