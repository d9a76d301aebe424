"""What keeps the fronts of least copper short: what is asked of them, and bounds under what a point ends at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import inf

from copperplate.sizing.relaxed import Outlook

MOST_ASKED = 400
"""Slacks that a unit may be asked for are listed up to here, which keeps its front short."""
MOST_BOUNDS = 16
"""Slacks of a unit for each of which its subtree gets bounds of its own."""
SURE = 1e-9
"""Share of a cost within which a bound is not trusted: it is reckoned in floating point."""

Line = tuple[float, float]
"""(limit, rate): a point of a front is kept only if it costs no more than limit + rate x slack."""


@dataclass
class Bound:
    """The bound under what a subtree costs that must leave a slack; what is searched `within` above it."""

    slack: int
    outlook: Outlook
    within: float = inf

    def unsure(self, unit: int) -> float:
        """How far the bound may be off by floating point."""
        return SURE * max(abs(self.outlook.line[unit]), self.outlook.cost) if self.outlook.cost < inf else 0.0

    def line(self, unit: int) -> Line:
        return self.outlook.line[unit] + self.within + self.unsure(unit), self.outlook.rate[unit]


@dataclass
class Group:
    """Units, parents first, that share the bounds of the topmost of them."""

    top: int
    bounds: list[Bound]
    units: list[int] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Asked:
    """The slacks that the wiring above may ask of a unit, rising: every one where they are `listed`, else the least
    and the most."""

    slacks: list[int]
    listed: bool = True

    def below(self, lost: Sequence[int], narrowest: int, listed: bool) -> Asked:
        """What is then asked of a child: what its parent loses too, as far as every branch can have it."""
        if listed and self.listed and len(self.slacks) * len(lost) <= MOST_ASKED:
            return Asked(sorted({s + loss for s in self.slacks for loss in lost if s + loss <= narrowest}))
        return Asked([self.slacks[0] + min(lost), min(self.slacks[-1] + max(lost), narrowest)], False)


def promising(points: list[tuple[int, int, int]], lines: Sequence[Line]) -> list[tuple[int, int, int]]:
    """The points that one of the lines at least lets pass."""
    if len(lines) == 1:
        limit, rate = lines[0]
        return [p for p in points if p[1] <= limit - rate * p[0]]
    return [p for p in points if p[1] <= max([limit - rate * p[0] for limit, rate in lines])]
