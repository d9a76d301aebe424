"""Traced numbers, loads and the energy of a day."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from copperplate.model.results import Design, EnergyResult
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
