"""One problem of least copper in numbers: options, paths, budgets.

A *unit* is what must be one size. It offers *options* by rising area: a resistance per metre (ohm/m) and an amount of
copper. A path is what one load's current passes: units with their ampere-metres, and a budget in volts. Ohm's law: a
unit loses ampere-metres x ohm/m.

Volts are whole picovolts, rounded against the load, and copper is whole units of 1e-9 mm²m, so that equal amounts are
equal."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from copperplate.units import NOISE

PICO = 1e12


@dataclass(frozen=True, slots=True)
class Option:
    """One size that a unit may have."""

    ohm_per_m: float
    area_mm2: float
    copper: int


@dataclass(frozen=True)
class BudgetedPath:
    """One load: its budget in volts, and (unit, ampere-metres) on its supply path."""

    budget_v: float
    units: tuple[tuple[int, float], ...]

    @cached_property
    def allowed(self) -> int:
        """The budget in picovolts, with what rounding may overdraw."""
        return int(self.budget_v * PICO * (1.0 + NOISE))


def picovolts(volts: float) -> int:
    """Whole picovolts, rounded up."""
    return int(volts * PICO) + 1 if volts else 0
