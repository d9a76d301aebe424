"""What keeps the Pareto fronts of least copper short: the slacks that are needed of them, and bounds under what a point
ends at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import inf

from copperplate.sizing.lagrangian import LagrangianBound
from copperplate.units import NOISE

MOST_SLACKS = 400
"""Slacks that a unit may have to leave are listed up to here, which keeps its front short."""
MOST_CUTOFFS = 16
"""Slacks of a unit for each of which its subtree gets a cutoff of its own."""

Line = tuple[float, float]
"""(limit, rate): a point of a front is kept only if it costs no more than limit + rate x slack."""


@dataclass
class Cutoff:
    """The bound under what a subtree costs that must leave a slack; what is searched `within` above it."""

    slack: int
    bound: LagrangianBound
    within: float = inf

    def unsure(self, unit: int) -> float:
        """How far the bound may be off, which is reckoned in floating point."""
        return NOISE * max(abs(self.bound.line[unit]), self.bound.cost) if self.bound.cost < inf else 0.0

    def line(self, unit: int) -> Line:
        """The line of a unit that lets its points pass."""
        return self.bound.line[unit] + self.within + self.unsure(unit), self.bound.rate[unit]


@dataclass
class CutoffGroup:
    """Units, parents first, that share the cutoffs of the topmost of them."""

    top: int
    cutoffs: list[Cutoff]
    units: list[int] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class NeededSlacks:
    """The slacks that a unit may have to leave to the wiring above it, rising: every one where they are `listed`, else
    the least and the most."""

    slacks: list[int]
    listed: bool = True

    def below(self, lost: Sequence[int], narrowest: int, listed: bool) -> NeededSlacks:
        """Those of a child: what its parent loses too, as far as every branch can have it."""
        if listed and self.listed and len(self.slacks) * len(lost) <= MOST_SLACKS:
            return NeededSlacks(sorted({s + loss for s in self.slacks for loss in lost if s + loss <= narrowest}))
        return NeededSlacks([self.slacks[0] + min(lost), min(self.slacks[-1] + max(lost), narrowest)], False)


def promising(points: list[tuple[int, int, int]], lines: Sequence[Line]) -> list[tuple[int, int, int]]:
    """The points that one of the lines at least lets pass."""
    if len(lines) == 1:
        limit, rate = lines[0]
        return [p for p in points if p[1] <= limit - rate * p[0]]
    return [p for p in points if p[1] <= max([limit - rate * p[0] for limit, rate in lines])]
