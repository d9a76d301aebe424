"""Inverters whose output comes back to their own AC inlet."""

from __future__ import annotations

from copperplate.findings import Finding, make
from copperplate.model import Inverter
from copperplate.model.graph import Graph
from copperplate.model.turns import turns
from copperplate.protection.study import ProtectionStudy


def check_loops(study: ProtectionStudy, net: Graph) -> list[Finding]:
    """An inverter that can feed its own inlet charges the bank that it empties, and in some makes feeds itself out of
    step. A switch, relay or selector in the run of the inlet can keep it off and silences this."""
    system = study.system
    found: list[Finding] = []
    for turn in turns(system, net):
        name, inlet = turn.supply, net.inlets.get(turn.supply)
        if inlet is None or name not in study.supplies or inlet.pos not in turn.reach():
            continue
        runs = [system.runs[c.run] for c in system.conductors.values() if inlet.pos in (c.from_node, c.to_node)]
        if any(not system.devices[d].roles.protects for run in runs for d in run.device_ids):
            continue
        part = system.parts[name]
        span = runs[0].span if runs else part.span
        others = [s for s in study.supplies if s != name and not isinstance(system.parts[s], Inverter)]
        source = others[0] if others else None
        found.append(make("CP719", name, span, at={"inverter": part.span}, source=source))
    return found
