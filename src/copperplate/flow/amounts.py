"""Amperes as whole numbers, so that sums are exact whatever their order and a part of a sum can be taken away."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import inf


@dataclass(frozen=True)
class Amounts:
    """A scale for the capacities of one grid: whole numbers of the finest binary fraction among them.

    "No limit" is one more than all finite capacities together. No cut of finite capacities reaches that; and a sum
    holds the number of its unlimited parts and the sum of the others apart, as quotient and remainder."""

    parts: int
    """Whole numbers to an ampere."""
    unlimited: int

    @classmethod
    def of(cls, *capacities: Sequence[float]) -> Amounts:
        """The scale for all capacities of a grid. Raises ValueError for a negative one and for what is no number."""
        values = {value for each in capacities for value in each}
        if any(not value >= 0 for value in values):
            raise ValueError("a capacity is a number of amperes from 0 to inf")
        parts = max((value.as_integer_ratio()[1] for value in values if value < inf), default=1)
        scale = cls(parts, 0)
        return cls(parts, 1 + sum(sum(scale.whole(value for value in each if value < inf)) for each in capacities))

    def whole(self, amperes: Iterable[float]) -> list[int]:
        known = {inf: self.unlimited}
        for value in (amperes := list(amperes)):
            if value not in known:
                numerator, denominator = value.as_integer_ratio()
                known[value] = numerator * (self.parts // denominator)
        return [known[value] for value in amperes]

    def amperes(self, whole: int) -> float:
        return inf if whole >= self.unlimited else whole / self.parts
