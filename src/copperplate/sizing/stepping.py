"""Sizes for ways that do not nest: one step at a time, a safe answer that may not be the least copper."""

from __future__ import annotations

from collections.abc import Sequence

from copperplate.sizing.instance import Option, Way, budget, picovolts


def step_up(options: Sequence[Sequence[Option]], ways: Sequence[Way]) -> tuple[int | None, ...]:
    """Sizes for ways that do not nest: up while a budget is overdrawn, then down while all hold."""
    taken = [0 if unit else None for unit in options]
    through: dict[int, list[tuple[int, float]]] = {}
    for number, way in enumerate(ways):
        for unit, weight in way.units:
            through.setdefault(unit, []).append((number, weight))
    left = [
        budget(way) - sum(picovolts(w * options[u][0].ohm_per_m) for u, w in way.units if options[u]) for way in ways
    ]

    def move(unit: int, to: int) -> None:
        now = taken[unit]
        assert now is not None
        for number, weight in through.get(unit, ()):
            left[number] += picovolts(weight * options[unit][now].ohm_per_m)
            left[number] -= picovolts(weight * options[unit][to].ohm_per_m)
        taken[unit] = to

    while ways and min(left) < 0:
        worst = left.index(min(left))
        gains = []
        for unit, weight in ways[worst].units:
            now = taken[unit]
            for to in range((now or 0) + 1, len(options[unit])):
                gained = weight * (options[unit][now or 0].ohm_per_m - options[unit][to].ohm_per_m)
                spent = max(options[unit][to].copper - options[unit][now or 0].copper, 1)
                if gained > 0.0:
                    gains.append((-gained / spent, unit, to))
        if not gains:
            break
        _, unit, to = min(gains)
        move(unit, to)
    for unit in sorted((u for u, unit in enumerate(options) if unit), key=lambda u: (-options[u][-1].copper, u)):
        for to in range(taken[unit] or 0):
            now = taken[unit]
            move(unit, to)
            if all(left[number] >= 0 for number, _ in through.get(unit, ())):
                break
            move(unit, now or 0)
    return tuple(taken)
