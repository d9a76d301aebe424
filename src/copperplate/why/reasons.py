"""How a traced number came about, in words."""

from __future__ import annotations

from copperplate.model import Traced
from copperplate.units import number


def reason(trace: Traced) -> str:
    """How a traced number came about, in one line: its formula, its inputs, its source."""
    inputs = ", ".join(shown_input(*entry) for entry in trace.inputs)
    return "; ".join(part for part in (trace.formula, inputs, trace.source) if part)


def shown_input(name: str, value: float | str, unit: str) -> str:
    return f"{name} {shown_figure(value, unit)}"


def shown_figure(value: float | str, unit: str) -> str:
    shown = value if isinstance(value, str) else number(value)
    return f"{shown} {unit.replace('mm2', 'mm²').replace('degC', '°C')}".rstrip()
