"""JSON as everything here writes it. Twelve significant digits: the last ones of a float differ between versions of
Python, whose `sum` compensates from 3.12 on, and are far below anything that is measured."""

from __future__ import annotations

import json
import math
from typing import Any

DIGITS = 12
"""Significant digits of a number that is no whole one."""


def json_value(value: Any) -> Any:
    """`value` as JSON holds it: numbers to twelve digits, null for an infinity or not-a-number, lists for tuples."""
    if isinstance(value, float):
        return float(f"{value:.{DIGITS}g}") if math.isfinite(value) else None
    if isinstance(value, dict):
        return {key: json_value(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [json_value(item) for item in value]
    return value


def json_text(value: Any, a_fact_a_line: bool = False) -> str:
    """The text of `value`, indented, ending with a line break. `a_fact_a_line`: only down to the keys of the items of
    the top lists. What lies deeper stays on its line then, but a list of objects gives each its own."""
    if a_fact_a_line:
        return _facts(json_value(value), 0) + "\n"
    return json.dumps(json_value(value), indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _facts(value: Any, depth: int) -> str:
    rows = isinstance(value, list) and any(isinstance(item, dict) for item in value)
    if depth >= (4 if rows else 3) or not isinstance(value, (dict, list)) or not value:
        return json.dumps(value, ensure_ascii=False, allow_nan=False)
    pad, end = "  " * (depth + 1), "\n" + "  " * depth
    if isinstance(value, list):
        return "[\n" + ",\n".join(pad + _facts(item, depth + 1) for item in value) + end + "]"
    items = (f"{pad}{json.dumps(key, ensure_ascii=False)}: {_facts(item, depth + 1)}" for key, item in value.items())
    return "{\n" + ",\n".join(items) + end + "}"


def fields(thing: object, *names: str) -> dict[str, Any]:
    """Fields of a value under their own names; null where there is no such value."""
    values = {name: getattr(thing, name, None) for name in names}
    return {name: list(value) if isinstance(value, tuple) else value for name, value in values.items()}
