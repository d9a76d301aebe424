"""The public face of a design: `NAME.design.json`, everything that somebody needs to recompute it without us.

Numbers are SI, to twelve significant digits, with the unit in the key; order is the order of declaration; text is LF
and the same on every run. `docs/design.schema.json` says the same as a JSON Schema. Keys keep their meaning once
released: what is new gets a new key.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from copperplate.findings.as_json import finding_json
from copperplate.model.results import Design
from copperplate.schema.circuit import circuit_json
from copperplate.schema.devices import device_json
from copperplate.schema.figures import by_case, energy_json, loads_json, state_json, traced_json
from copperplate.schema.plate import part_json, system_json
from copperplate.schema.runs import conductor_json, lead_json, link_json, loaded_conductors, route_json, run_json
from copperplate.text import fields, json_text

__all__ = ["FORMAT", "loaded_conductors", "to_json", "to_text"]

FORMAT = "copperplate-design/2"


def to_json(design: Design) -> dict[str, Any]:
    """The design as plain values, keys in a stable order. Results that a partial design lacks are null."""
    system = design.system
    return {
        "format": FORMAT,
        "system": system_json(design),
        "rules": {name: traced_json(constant) for name, constant in design.constants.items()},
        "sources": [
            {
                "id": s.source,
                "kind": s.kind,
                "terminal_v": by_case(design, s.terminal_v),
                "current_a": by_case(design, s.current_a),
                **fields(s, "emf_full_v", "resistance_low_ohm", "fault_current_a"),
                "limits": dict(s.limits),
            }
            for s in design.sources.values()
        ],
        "parts": [part_json(part) for part in system.parts.values()],
        "routes": [route_json(design, route) for route in system.routes.values()],
        "runs": [run_json(run, design.runs.get(run.id)) for run in system.runs.values()],
        "conductors": [conductor_json(design, conductor) for conductor in system.conductors.values()],
        "leads": [lead_json(lead) for lead in system.leads.values()],
        "links": [link_json(design, link) for link in design.links],
        "nodes": {node: by_case(design, volts) for node, volts in design.node_v.items()},
        "points": [fields(node, "id", "part", "port", "pole", "zone", "nominal_v") for node in system.nodes.values()],
        "circuit": circuit_json(design),
        "devices": [device_json(design, device, design.devices.get(device.id)) for device in system.devices.values()],
        "loads": loads_json(design),
        "cases": [
            {
                **fields(case, "id", "title", "kind", "implied"),
                "shares": dict(case.shares),
                "open_devices": sorted(case.open_devices),
            }
            for case in system.cases
        ],
        "states": [state_json(design, state) for state in design.states],
        "energy": {balance.bank: energy_json(balance) for balance in design.energy},
        "materials": [fields(m, "group", "item", "quantity", "unit", "where") for m in design.materials],
        "cuts": [asdict(cut) for cut in design.cuts],
        "terminals": [asdict(fit) for fit in design.fits],
        "assumptions": [fields(a, "subject", "text", "source") for a in design.assumptions],
        "published": [asdict(source) for source in dict.fromkeys(design.sources_used)],
        "not_covered": list(design.not_covered),
        "rechecked": design.rechecked,
        "findings": [finding_json(finding) for finding in design.findings],
    }


def to_text(design: Design) -> str:
    """The text of `NAME.design.json`: one fact a line down to the keys of each item, so that it diffs."""
    return json_text(to_json(design), a_fact_a_line=True)
