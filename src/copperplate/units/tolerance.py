"""When two figures count as equal: what is printed is rounded, and what is computed carries the noise of floats."""

from __future__ import annotations

TOLERANCE = 1e-4
"""Figures within this share of each other are compared as equal: makers and tables print three or four digits."""
NOISE = 1e-9
"""Figures that are both computed here differ by this share or less where they are equal: far above what the order of
a sum does to a float, and far below every figure that a reader sees."""


def exceeds(figure: float, limit: float, within: float = TOLERANCE) -> bool:
    """Whether a figure is above its limit. Both are positive or zero, in one unit."""
    return figure > limit * (1 + within)


def suffices(figure: float, needed: float, within: float = TOLERANCE) -> bool:
    """Whether a figure comes up to what is needed. Both are positive or zero, in one unit."""
    return figure >= needed * (1 - within)
