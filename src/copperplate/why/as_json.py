"""The ladder of one run for other programs: the run, its devices and loads as `NAME.design.json` has them."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from copperplate.model.results import Design
from copperplate.schema import to_json
from copperplate.why.ladder import assumed, governing_state, panels, reason


def ladder_json(design: Design, address: str) -> dict[str, Any]:
    """Everything that the design says of the run `address`, its rungs with the reason for each."""
    whole = to_json(design)
    run = design.system.runs[address]
    value: dict[str, Any] = {"run": next(r for r in whole["runs"] if r["id"] == address)}
    result = design.runs.get(address)
    if result is not None:
        for shown, candidate in zip(value["run"]["candidates"], result.candidates, strict=True):
            for cell, rung in zip(shown["rungs"], candidate.rungs, strict=True):
                cell["reason"] = reason(rung.value) if rung.value is not None else ""
    state = governing_state(design, run)
    value["governing"] = {**asdict(state), "adds": dict(state.adds)} if state is not None else None
    value["lasting_a"] = {
        c["id"]: c["lasting_a"] for c in whole["conductors"] if c["run"] == address and c["lasting_a"] is not None
    }
    devices = {*run.device_ids, *(result.protected_by if result is not None else ())}
    value["devices"] = [d for d in whole["devices"] if d["id"] in devices]
    value["loads"] = [load for load in whole["loads"] if load["run"] == address]
    value["assumptions"] = [{"subject": a.subject, "text": a.text, "source": a.source} for a in assumed(design, run)]
    subjects = {address, *devices, *panels(design, run), *(load["id"] for load in value["loads"])}
    value["findings"] = [f for f in whole["findings"] if f["subject"] in subjects]
    return value
