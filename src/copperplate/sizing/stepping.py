"""Sizes for paths that do not nest, one step at a time: every budget that can be held holds, and the copper may not be
the least (a greedy heuristic: the most volts for its copper first)."""

from __future__ import annotations

from collections.abc import Sequence

from copperplate.sizing.instance import BudgetedPath, Option, picovolts


def step_up(options: Sequence[Sequence[Option]], paths: Sequence[BudgetedPath]) -> tuple[int | None, ...]:
    """The option of every unit: up while a budget is overdrawn, then down while all hold."""
    taken = [0 if unit else None for unit in options]
    through: dict[int, list[tuple[int, float]]] = {}
    for number, path in enumerate(paths):
        for unit, ampere_metres in path.units:
            through.setdefault(unit, []).append((number, ampere_metres))
    left = [
        path.allowed - sum(picovolts(am * options[u][0].ohm_per_m) for u, am in path.units if options[u])
        for path in paths
    ]

    def move(unit: int, to: int) -> None:
        now = taken[unit]
        assert now is not None
        for number, ampere_metres in through.get(unit, ()):
            left[number] += picovolts(ampere_metres * options[unit][now].ohm_per_m)
            left[number] -= picovolts(ampere_metres * options[unit][to].ohm_per_m)
        taken[unit] = to

    while paths and min(left) < 0:
        worst = left.index(min(left))
        gains = []
        for unit, ampere_metres in paths[worst].units:
            now = taken[unit]
            for to in range((now or 0) + 1, len(options[unit])):
                gained = ampere_metres * (options[unit][now or 0].ohm_per_m - options[unit][to].ohm_per_m)
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
