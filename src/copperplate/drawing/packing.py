"""Things set beside each other: how far right one must stand to be clear of what is there."""

from __future__ import annotations

from collections.abc import Iterable

Rect = tuple[float, float, float, float]
"""left, top, right, bottom in mm."""


def clear(own: Iterable[Rect], placed: Iterable[Rect], x: float, gap: float) -> float:
    """The smallest axis from `x` on, on the half-millimetre grid, at which the rectangles `own` (given from their
    axis) stand `gap` mm to the right of every rectangle of `placed` that is level with them."""
    placed = list(placed)
    for left, top, _, bottom in own:
        for _, other_top, right, other_bottom in placed:
            if other_top - 1 < bottom and top - 1 < other_bottom:
                x = max(x, right + gap - left)
    return round(x * 2 + 0.499) / 2


def shift(rects: Iterable[Rect], x: float) -> list[Rect]:
    """Rectangles `x` mm further right."""
    return [(left + x, top, right + x, bottom) for left, top, right, bottom in rects]
