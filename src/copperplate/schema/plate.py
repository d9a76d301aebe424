"""What the plate states: the system with its settings, and its parts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import is_dataclass
from typing import Any

from copperplate.model.results import Design
from copperplate.model.system import Part, System
from copperplate.model.values import Size
from copperplate.text import fields


def system_json(design: Design) -> dict[str, Any]:
    s = design.system.settings
    return {
        **fields(s, "title", "nominal_v"),
        "rules": design.profile,
        "rules_title": design.profile_title,
        **fields(s, "ambient_c", "insulation_c"),
        "drop": {"share": s.drop.share, "volts": s.drop.volts},
        **({"drops": {of: _value(budget) for of, budget in s.drops.items()}} if s.drops else {}),
        **fields(s, *(key for key in ("unmeasured_m", "judge") if key in s.stated)),
        **fields(
            s, "units", "conductors", "tinned", "negative", "ac", "frequency_hz", "continuous_factor",
            "unmeasured_m", "client", "site", "designer", "revision", "date", "document", "status", "paper",
        ),
        "source": design.source_name,
        "source_sha256": design.source_sha256,
        "files": list(design.system.files),
        "stock": _stock(design.system),
        "accepts": [fields(accept, "code", "subject", "reason") for accept in design.system.accepts],
        "notes": [note.text for note in design.system.notes],
    }  # fmt: skip


def _stock(system: System) -> dict[str, Any] | None:
    if system.stock is None:
        return None
    devices = {family: list(ratings) for family, ratings in system.stock.devices.items()}
    return {"sizes": [size.key for size in system.stock.sizes], "at_most": system.stock.at_most, "devices": devices}


def part_json(part: Part) -> dict[str, Any]:
    return {
        **fields(part, "id", "kind", "title", "ports"),
        "values": {key: _value(value) for key, value in part.values.items()},
        "stated": [key for key in part.values if key in part.stated],
        "terminals": {port: _value(terminal) for port, terminal in part.terminals.items()},
        "advised": {port: _value(advice) for port, advice in part.advised.items()},
        "comparable": None
        if part.comparable is None
        else {"size": part.comparable[0].key, "source": part.comparable[1]},
    }


def _value(value: Any) -> Any:
    """An attribute's value: sizes by their key, windows, budgets and terminals by their fields."""
    if isinstance(value, Size):
        return value.key
    if is_dataclass(value) and not isinstance(value, type):
        return {name: _value(getattr(value, name)) for name in value.__dataclass_fields__}
    if isinstance(value, Mapping):
        return {str(key): _value(item) for key, item in value.items()}
    if isinstance(value, (set, frozenset)):
        return sorted(str(item) for item in value)
    if isinstance(value, (list, tuple)):
        return [_value(item) for item in value]
    if value is None or isinstance(value, (bool, int, float, str)):
        return value
    return str(value)
