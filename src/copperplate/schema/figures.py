"""Traced numbers, loads and the energy of a day."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from copperplate.model.results import Design, EnergyResult
from copperplate.model.system import State
from copperplate.model.trace import Traced
from copperplate.text import fields


def traced_json(number: Traced | None) -> dict[str, Any] | None:
    """A figure with how it came about; null where there is none."""
    if number is None:
        return None
    return {
        **fields(number, "value", "unit", "quantity", "formula"),
        "inputs": [{"name": name, "value": value, "unit": unit} for name, value, unit in number.inputs],
        **fields(number, "source", "status"),
    }


def by_case(design: Design, figures: Mapping[str, float]) -> dict[str, float]:
    """The figures of the declared and implied cases alone; `state_json` has those of the states beside them."""
    return {case.id: figures[case.id] for case in design.system.cases if case.id in figures}


def state_json(design: Design, state: State) -> dict[str, Any]:
    """A state beside the cases with its volts and amperes."""
    return {
        "id": state.id,
        "title": state.title,
        "case": state.of,
        "held": state.held,
        "out": sorted(state.out),
        "shares": dict(state.shares),
        "open_devices": sorted(state.open_devices),
        "nodes": {node: volts[state.id] for node, volts in design.node_v.items() if state.id in volts},
        "conductors": {c: r.current_a[state.id] for c, r in design.conductors.items() if state.id in r.current_a},
        "devices": {d: r.current_a[state.id] for d, r in design.devices.items() if state.id in r.current_a},
        "sources": {s: r.current_a[state.id] for s, r in design.sources.items() if state.id in r.current_a},
    }


def loads_json(design: Design) -> list[dict[str, Any]]:
    return [
        {
            "id": load.load,
            **fields(
                load, "current_a", "voltage_v", "highest_v", "nominal_v", "drop_v", "drop_percent", "solved_drop_v",
                "solved_percent", "budget_v", "budget_percent", "works_low_v", "works_high_v", "worst_case", "source",
                "run", "start_a", "start_v",
            ),
            "path": [asdict(step) for step in load.path],
        }
        for load in design.loads.values()
    ]  # fmt: skip


def energy_json(balance: EnergyResult) -> dict[str, Any]:
    return {
        **fields(balance, "daily_wh", "usable_wh", "autonomy_days"),
        "lines": [asdict(line) for line in balance.lines],
        "recharge": [
            {"source": source, "current_a": amperes, "hours": hours} for source, amperes, hours in balance.recharge
        ],
        "cases": [{"case": case, "given_w": watts, "hours": hours} for case, watts, hours in balance.by_case],
    }
