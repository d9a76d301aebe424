"""Lasting overload of a bar: the most that can cross it."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import product

from copperplate.flow.lasting import Grid
from copperplate.flow.messages import Section

MOST_CHOICES = 8
"""What may give or take in the loops of one place is tried both ways up to so many, 256 choices."""


def crossing(grid: Grid, bar: int) -> float:
    """The most that can cross a bar: of what some of its lines bring in from supplies (with its own) and what the
    others take away to draws (with its own), the lesser; the largest for all choices which of the lines bring in.

    No line of the bar goes both ways. Where the bar is in loops, each other node of the loops, with all that hangs on
    it, either gives or takes as well: what it gives to itself does not come by. Within the loops what is brought and
    what is taken are reckoned apart, and where more than eight may go either way they count both ways at once: that
    can only be too much.

    By hand: three units on a bar, each behind 100 A, and loads. Behind 300 A these take all that three units bring;
    behind 60 A two units bring more, for the third and the loads.

    >>> from math import inf
    >>> ends, banks, draws = [(0, 3), (1, 3), (2, 3), (3, 4)], [inf, inf, inf, 0, 0], [inf, inf, inf, 0, inf]
    >>> [crossing(Grid(5, ends, [100, 100, 100, x], [100, 100, 100, x], banks, draws), 3) for x in (300, 60)]
    [300.0, 160.0]
    """
    choices = [_in_loops(grid, bar)]
    for number in _blocks_at(grid, bar):
        if len(grid.blocks[number].lines) == 1:
            choices.append([(grid.inward.message(number, bar), 0), (0, grid.outward.message(number, bar))])
    sides = [(grid.inward.capacities.terminals[bar], grid.outward.capacities.terminals[bar])]
    for choice in sorted((_best(choice) for choice in choices), key=len):
        sides = _best((a + c, b + d) for a, b in sides for c, d in choice)
    return grid.amounts.amperes(max(min(side) for side in sides))


def _in_loops(grid: Grid, bar: int) -> list[tuple[int, int]]:
    """What the loops that a bar is in bring and take, for each choice."""
    lines, gives, takes = _loops(grid, bar)
    places = {node: place for place, node in enumerate(gives)}
    inward = Section(grid.inward.capacities, lines, places)
    outward = Section(grid.outward.capacities, lines, places)
    own = [line for line in lines if bar in grid.ends[line]]
    own = own if len(own) <= MOST_CHOICES else []
    either = [node for node in gives if gives[node] and takes[node]]
    either = either if len(own) + len(either) <= MOST_CHOICES else []
    sides = []
    for bring in product((True, False), repeat=len(own)):
        bringing = [line for line, brings in zip(own, bring, strict=True) if brings]
        taking = [line for line, brings in zip(own, bring, strict=True) if not brings]
        for give in product((True, False), repeat=len(either)):
            giving = {node for node, does in zip(either, give, strict=True) if does}
            supplies = [0 if node in either and node not in giving else gives[node] for node in gives]
            draws = [0 if node in giving else takes[node] for node in gives]
            brought = inward.flow(bar, supplies, taking).value
            sides.append((int(brought), int(outward.flow(bar, draws, bringing).value)))
    return sides


def _loops(grid: Grid, bar: int) -> tuple[list[int], dict[int, int], dict[int, int]]:
    """The lines of all loops that no bridge parts from a bar; and what each of their nodes, with all that hangs on it,
    gives and takes (the bar nothing)."""
    lines: dict[int, None] = {}
    gives, takes = {bar: 0}, {bar: 0}
    ahead = [bar]
    for node in ahead:
        for number in _blocks_at(grid, node):
            part = grid.blocks[number]
            if len(part.lines) > 1:
                lines.update(dict.fromkeys(part.lines))
                for other in part.nodes:
                    if other not in gives:
                        gives[other] = grid.inward.capacities.terminals[other]
                        takes[other] = grid.outward.capacities.terminals[other]
                        ahead.append(other)
            elif node != bar:
                gives[node] += grid.inward.message(number, node)
                takes[node] += grid.outward.message(number, node)
    return list(lines), gives, takes


def _blocks_at(grid: Grid, node: int) -> list[int]:
    """The blocks at a node that bring or take anything."""
    inward, outward = grid.inward, grid.outward
    numbers = dict.fromkeys((*inward.feeding[node], *outward.feeding[node], inward.parent[node]))
    return [number for number in numbers if number >= 0]


def _best(sides: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    """The pairs that no other pair reaches in both figures."""
    best: list[tuple[int, int]] = []
    for brought, taken in sorted(sides, reverse=True):
        if not best or taken > best[-1][1]:
            best.append((brought, taken))
    return best
