"""Numbers as readers see them."""

from __future__ import annotations

from math import floor, isfinite, log10


def significant(value: float, digits: int = 3) -> str:
    """`value` to so many significant digits, without an exponent and without idle zeros: "178", "5.15", "0.042"."""
    if not isfinite(value):
        return str(value)
    if value == 0:
        return "0"
    decimals = digits - 1 - floor(log10(abs(value)))
    rounded = round(value, decimals)
    shown = f"{rounded:.{max(decimals, 0)}f}"
    return shown.rstrip("0").rstrip(".") if "." in shown else shown
