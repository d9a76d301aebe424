"""Inverters whose output comes back to their own AC inlet."""

from __future__ import annotations

from copperplate.findings import Finding, Related, finding
from copperplate.model import PROTECTIVE
from copperplate.model.graph import Graph
from copperplate.protection.ac_faults import reach
from copperplate.protection.situation import Situation


def check_loops(situation: Situation, net: Graph) -> list[Finding]:
    """An inverter that can feed its own inlet charges the bank that it empties, and in some makes feeds itself out of
    step. A switch, relay or selector in the run of the inlet can keep it off and silences this."""
    system, circuit = situation.system, situation.circuit
    number = {name: index for index, name in enumerate(circuit.names)}
    found: list[Finding] = []
    for name, inlet in net.inlets.items():
        supply = situation.supplies.get(name)
        node = number.get(inlet.pos)
        if supply is None or node is None or node not in reach(system, circuit, situation.runs, supply, 20.0):
            continue
        runs = [system.runs[c.run] for c in system.conductors.values() if inlet.pos in (c.from_node, c.to_node)]
        if any(system.devices[d].kind not in PROTECTIVE for run in runs for d in run.device_ids):
            continue
        part = system.parts[name]
        span = runs[0].span if runs else part.span
        others = [s for s in situation.supplies.values() if s.part != name and s.kind != "inverter"]
        source = f"`{others[0].part}`" if others else "the supply"
        found.append(
            finding(
                "CP719",
                name,
                f"the output of `{name}` comes back to its own inlet `{name}.ac-in`",
                span,
                label="fed by its own output",
                notes=("it would charge the bank that it empties, and may feed itself out of step",),
                help=f"`{name}.ac-in` on {source}, ahead of where its output joins; the panel on `{name}.ac-out`",
                related=(Related(part.span, "the inverter"),),
                rule="common practice, no source",
            )
        )
    return found
