"""Values to and from the units that the model counts in."""

from __future__ import annotations

from copperplate.units.names import UNITS


def clean(value: float) -> float:
    """`value` without the noise of binary fractions: twelve significant digits, and nothing below 1e-12 (32 degF is
    0 degC). Both are far below any table here."""
    return float(f"{value:.12g}") if abs(value) >= 1e-12 else 0.0


def to_si(value: float, unit: str) -> tuple[float, str]:
    """`value` in the unit that the model counts in, and its dimension: (5, "ft") -> (1.524, "length").

    The model counts in V, A, W, Wh, Ah, ohm, m, mm2, degC, h, Hz, Nm, kg and plain ratios (`3 %` -> 0.03).
    Raises KeyError for a unit that is not in the list.
    """
    entry = UNITS[unit]
    return clean(entry.slope * value + entry.offset), entry.dimension


def from_si(value: float, unit: str) -> float:
    """The inverse of `to_si`: `value`, counted as the model counts, in `unit`. KeyError for an unknown unit."""
    entry = UNITS[unit]
    return clean((value - entry.offset) / entry.slope)
