"""The units of least copper as a tree: what hangs on what, and what copper is counted by. Numbers only."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from copperplate.sizing.instance import BudgetedPath, Option
from copperplate.units import NOISE


@dataclass(frozen=True)
class Tree:
    """Units by parent (-1 at a source). A *branch* of a unit is a child unit, or -1 - path for a path that ends there.

    `above` are the ampere-metres of the unit above each branch as that branch sees them, those of paths from the end
    backwards, so that a branch is its own index. `uniform` is False where loads below one child see unlike
    ampere-metres: the largest is then taken. `order` has parents before children, each subtree in one piece; units that
    no path passes stand alone."""

    parent: list[int]
    children: list[list[int]]
    ends: list[list[int]]
    above: list[float]
    order: list[int]
    uniform: bool


def tree(count: int, paths: Sequence[BudgetedPath]) -> Tree | None:
    """The tree of the units, or None where the paths do not nest: units by the number of paths through them."""
    through = [0] * count
    for path in paths:
        for unit, _ in path.units:
            through[unit] -= 1
    parent = [-2] * count
    ends: list[list[int]] = [[] for _ in range(count)]
    seen = [-1.0] * (count + len(paths))
    uniform = True
    for number, path in enumerate(paths):
        here, passed = -1, 0.0
        for _, unit, ampere_metres in sorted([(through[u], u, am) for u, am in path.units]):
            if parent[unit] == -2:
                parent[unit] = here
                seen[unit] = passed
            elif parent[unit] != here:
                return None
            elif seen[unit] != passed:
                known = seen[unit]
                uniform = uniform and abs(known - passed) <= NOISE * max(known, passed)
                seen[unit] = max(known, passed)
            here, passed = unit, ampere_metres
        if here >= 0:
            ends[here].append(number)
            seen[-1 - number] = passed
    children: list[list[int]] = [[] for _ in range(count)]
    roots = []
    for unit, above in enumerate(parent):
        if above >= 0:
            children[above].append(unit)
        elif above == -1:
            roots.append(unit)
    order: list[int] = []
    stack = roots[::-1]
    while stack:
        unit = stack.pop()
        order.append(unit)
        stack += children[unit][::-1]
    return Tree(parent, children, ends, seen, order, uniform)


def costs(options: Sequence[Sequence[Option]], units: Sequence[int]) -> list[list[int]]:
    """Copper with the tie rule in its last digits: counted by area, so that of equal copper the choice with the
    smaller largest size is cheaper."""
    rank = {area: n for n, area in enumerate(sorted({o.area_mm2 for unit in units for o in options[unit]}))}
    digit = len(units).bit_length() + 1
    whole, last = digit * len(rank), {area: 1 << digit * n for area, n in rank.items()}
    counted: list[list[int]] = [[] for _ in options]
    for unit in units:
        counted[unit] = [(o.copper << whole) + last[o.area_mm2] for o in options[unit]] or [0]
    return counted
