"""Numbers as readers see them: significant digits, no trailing zeros, no noise."""

from __future__ import annotations

from math import ceil, floor, isfinite, log10

from copperplate.units.conversion import from_si

_SYMBOLS = {"mm2": "mm²", "degC": "°C", "degF": "°F", "%/degC": "%/K"}


def number(value: float, digits: int = 3) -> str:
    """`value` with `digits` significant digits; whole digits are never rounded away (1234 stays 1234).

    "-" stands for a value that is not finite.
    """
    if not isfinite(value):
        return "-"
    if value == 0:
        return "0"
    decimals = max(0, digits - 1 - floor(log10(abs(value))))
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def enough(value: float, digits: int = 3) -> str:
    """`value` rounded up to `digits` significant digits (whole digits kept): what a reader takes literally is never
    too small. 123.4 -> "124"."""
    if not isfinite(value) or value <= 0.0:
        return number(value, digits)
    step = 10.0 ** min(0, floor(log10(value)) + 1 - digits)
    return number(ceil(value / step - 1e-6) * step, digits + 1)


def beside(value: float, limit: float) -> str:
    """`value` in as few digits, three or more, as tell it from `limit`: 3.002 beside 3."""
    digits = next((d for d in range(3, 7) if number(value, d) != number(limit, d)), 3)
    return number(value, digits)


def show(value: float, unit: str, digits: int = 3) -> str:
    """`value`, counted as the model counts, written in `unit`: show(1.524, "ft") -> "5 ft"; show(0.03, "%") ->
    "3 %". Raises KeyError for an unknown unit."""
    return f"{number(from_si(value, unit), digits)} {symbol(unit)}"


def symbol(unit: str) -> str:
    """A unit as readers see it: `degC` is °C, `mm2` is mm²."""
    return _SYMBOLS.get(unit, unit)


def counted(count: int, noun: str, nouns: str = "") -> str:
    """`1 circuit`, `3 circuits`; of what has a plural of its own, that."""
    return f"{count} {noun if count == 1 else nouns or noun + 's'}"
