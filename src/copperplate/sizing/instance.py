"""What the least copper is asked of: options, ways, budgets. Numbers only.

Volts are counted in whole picovolts, rounded against the load, and copper in whole units of 1e-9 mm²m, so that equal
amounts are equal."""

from __future__ import annotations

from dataclasses import dataclass

PICO = 1e12
FORGIVEN = 1e-9
"""Share of a budget that rounding may overdraw."""


@dataclass(frozen=True, slots=True)
class Option:
    """One size that a unit may have."""

    ohm_per_m: float
    area_mm2: float
    copper: int


@dataclass(frozen=True)
class Way:
    """One load: its budget in volts and the units on its way with their weights."""

    budget_v: float
    units: tuple[tuple[int, float], ...]


def picovolts(volts: float) -> int:
    """Whole picovolts, rounded up."""
    return int(volts * PICO) + 1 if volts else 0


def budget(way: Way) -> int:
    return int(way.budget_v * PICO * (1.0 + FORGIVEN))
