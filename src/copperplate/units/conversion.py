"""Values to and from the units that the model counts in. The only module that imports pint."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files
from typing import Any

from copperplate.units.names import INTERNAL, UNITS
from copperplate.units.scales import SCALES


@lru_cache(maxsize=1)
def _registry() -> Any:
    """A registry of our own definitions only: pint's default one costs over 100 ms at every start."""
    from pint import UnitRegistry

    registry: Any = UnitRegistry(None)
    registry.load_definitions(files("copperplate.units").joinpath("definitions.txt").read_text("utf-8").splitlines())
    return registry


_PLAIN = {"share": "unity", "share-per-kelvin": "unity / kelvin"}


def _scale(unit: str) -> tuple[float, float]:
    """Slope and offset that take a value in `unit` to the unit that the model counts in, KeyError for no unit."""
    return SCALES.get(unit) or defined_scale(unit)


@lru_cache(maxsize=128)
def defined_scale(unit: str) -> tuple[float, float]:
    """The same by the definitions. Units of one dimension differ by a straight line; two points of it, converted by
    pint, give it."""
    registry = _registry()
    dimension = UNITS[unit].dimension
    source = registry.Unit(UNITS[unit].definition)
    goal = registry.Unit(_PLAIN.get(dimension) or UNITS[INTERNAL[dimension]].definition)
    zero = float(registry.Quantity(0.0, source).to(goal).magnitude)
    hundred = float(registry.Quantity(100.0, source).to(goal).magnitude)
    return (hundred - zero) / 100.0, zero


def _clean(value: float) -> float:
    """`value` without the noise of binary fractions: twelve significant digits, and nothing below 1e-12 (32 degF is
    0 degC). Both are far below any table here."""
    return float(f"{value:.12g}") if abs(value) >= 1e-12 else 0.0


def to_si(value: float, unit: str) -> tuple[float, str]:
    """`value` in the unit that the model counts in, and its dimension: (5, "ft") -> (1.524, "length").

    The model counts in V, A, W, Wh, Ah, ohm, m, mm2, degC, h, Hz, Nm, kg and plain ratios (`3 %` -> 0.03).
    Raises KeyError for a unit that is not in the list.
    """
    slope, offset = _scale(unit)
    return _clean(slope * value + offset), UNITS[unit].dimension


def from_si(value: float, unit: str) -> float:
    """The inverse of `to_si`: `value`, counted as the model counts, in `unit`. KeyError for an unknown unit."""
    slope, offset = _scale(unit)
    return _clean((value - offset) / slope)
