"""Traced numbers, loads and the energy of a day."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from copperplate.model.results import Design, EnergyResult
from copperplate.model.system import State
from copperplate.model.trace import Traced


def traced_json(number: Traced) -> dict[str, Any]:
    return {
        "value": number.value,
        "unit": number.unit,
        "quantity": number.quantity,
        "formula": number.formula,
        "inputs": [{"name": name, "value": value, "unit": unit} for name, value, unit in number.inputs],
        "source": number.source,
        "status": number.status,
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
            "current_a": load.current_a,
            "voltage_v": load.voltage_v,
            "highest_v": load.highest_v,
            "nominal_v": load.nominal_v,
            "drop_v": load.drop_v,
            "drop_percent": load.drop_percent,
            "solved_drop_v": load.solved_drop_v,
            "solved_percent": load.solved_percent,
            "budget_v": load.budget_v,
            "budget_percent": load.budget_percent,
            "works_low_v": load.works_low_v,
            "works_high_v": load.works_high_v,
            "worst_case": load.worst_case,
            "source": load.source,
            "run": load.run,
            "start_a": load.start_a,
            "start_v": load.start_v,
            "path": [asdict(step) for step in load.path],
        }
        for load in design.loads.values()
    ]


def energy_json(balance: EnergyResult) -> dict[str, Any]:
    return {
        "daily_wh": balance.daily_wh,
        "usable_wh": balance.usable_wh,
        "autonomy_days": balance.autonomy_days,
        "lines": [asdict(line) for line in balance.lines],
        "recharge": [
            {"source": source, "current_a": amperes, "hours": hours} for source, amperes, hours in balance.recharge
        ],
        "cases": [{"case": case, "given_w": watts, "hours": hours} for case, watts, hours in balance.by_case],
    }
