"""Sources: what they hold and turn into another voltage, and what they may give at most."""

from __future__ import annotations

from collections.abc import Iterator

from copperplate.audit.banks import batteries_by_zone, full_v, low_v
from copperplate.audit.charging import charging_v
from copperplate.audit.consumers import rated_w
from copperplate.audit.incidence import Incidence, across_v, incidence
from copperplate.findings import Finding, make
from copperplate.model import Battery, Case, Charger, Controller, Converter, Inverter, Part, State
from copperplate.model.graph import Graph, Terminals, graph
from copperplate.model.groups import Groups
from copperplate.model.results import Design
from copperplate.model.transfer import handing
from copperplate.units import exceeds

VOLTS = 1e-6
ROUNDING_A = 1e-6
SIDE_BY_SIDE = 0.05
"""Banks side by side, of which one may feed the other, lie within this share of what is held, on either side."""


def check_supply(design: Design) -> Iterator[Finding]:
    """Held voltages by case; supplies against what is drawn from them; power in against power out."""
    net, incident = graph(design.system), incidence(design.system)
    yield from _held(design, net, incident)
    yield from _given(design, net, incident)
    yield from _converted(design, net, incident)


def _held(design: Design, net: Graph, incident: Incidence) -> Iterator[Finding]:
    """Terminal volts of every bank and of every source that holds a voltage, in the cases that have it on. Banks that
    share their bars share current by their resistance, so there only the safe side can be told."""
    zones = batteries_by_zone(design.system, net)
    for name, ends in net.outputs.items():
        part, banks = design.system.parts[name], zones.get(ends.zone, [])
        if not net.holds(name):
            continue
        for case in (*design.system.cases, *design.states):
            volts = across_v(design, case, ends.pos, ends.neg)
            if volts is None or (isinstance(case, State) and name in case.out):
                continue
            if isinstance(part, Battery):
                charging = case.kind == "charge"
                held_v = _bank_v(design, net, banks, name, case)
                off = held_v - volts if charging else volts - held_v
                # One that is parted from all others gives nothing.
                given = incident.leaving_a(design, case, ends.pos) if len(banks) > 1 else None
                apart = given is not None and abs(given) < ROUNDING_A
                if len(banks) > 1 and (apart or abs(off) <= SIDE_BY_SIDE * held_v):
                    continue
                wrong = off > VOLTS * held_v if len(banks) > 1 else abs(off) > VOLTS * held_v
            elif case.shares.get(name):
                held_v = _output_v(part, ends)
                wrong = abs(volts - held_v) > VOLTS * held_v
            else:
                continue
            if wrong:
                yield make("CP598", name, case=case.id, held=held_v, taken=volts)


def _bank_v(design: Design, net: Graph, banks: list[Battery], name: str, case: Case) -> float:
    """What a bank is held at: of those that the case joins the lowest low end or the lowest voltage at the end of
    charging, then no less than what a source that is on brings them to."""
    joined, nodes = Groups[str](), design.system.nodes
    links = [(c.from_node, c.to_node) for c in design.system.conductors.values()]
    for device in design.system.devices.values():
        links += device.legs if device.id not in case.open_devices and not device.roles.one_way else ()
    for a, b in (*links, *design.system.ties):
        if nodes[a].pole == nodes[b].pole:
            joined.join(a, b)
    here = joined.root(net.outputs[name].pos)
    out = case.out if isinstance(case, State) else frozenset()
    together = [b for b in banks if joined.root(net.outputs[b.id].pos) == here and b.id not in out]
    if case.kind != "charge" or (isinstance(case, State) and case.held == "low"):
        return min(map(low_v, together))
    ending = [
        charging_v(part) or 0.0
        for part in design.system.parts.values()
        if case.shares.get(part.id) and part.id in net.outputs and joined.root(net.outputs[part.id].pos) == here
    ]
    return max(min(map(full_v, together)), *ending, 0.0)


def _output_v(part: Part, ends: Terminals) -> float:
    return part.out_v or ends.nominal_v if isinstance(part, Converter) else ends.nominal_v


def _given(design: Design, net: Graph, incident: Incidence) -> Iterator[Finding]:
    """Amperes that leave each converter, inverter, shore supply and generator, against its rating; of the first
    two in load cases. Behind several that share their bars the split is theirs and no figure of the plate."""
    through = handing(design.system, net)
    for name, ends in net.outputs.items():
        part = design.system.parts[name]
        if part.roles.stores or not net.holds(name):
            continue
        beside = [p for p, other in net.outputs.items() if net.holds(p) and other.zone == ends.zone and p != name]
        lines = 2 if ends.third else 1
        rated = part.power_w / _output_v(part, ends) if part.power_w else (part.current_a or 0.0) * lines
        for case in design.system.cases:
            each = [incident.leaving_a(design, case, node) for node in (ends.pos, ends.third) if node]
            if not rated or name in through[case.id] or (part.roles.converts and case.kind != "load"):
                continue
            if any(amperes is None for amperes in each) or any(case.shares.get(p) for p in beside):
                continue
            given = sum(abs(amperes or 0.0) for amperes in each)
            if exceeds(given - ROUNDING_A, rated):
                yield make("CP598", name, case=case.id, leaving=given, rated=rated)


def _converted(design: Design, net: Graph, incident: Incidence) -> Iterator[Finding]:
    """Power into each converter, inverter and charger against what it gives over its efficiency. One with nothing
    behind it draws its rating."""
    through = handing(design.system, net)
    supplied = {z.zone for name, z in net.consumers.items() if not isinstance(design.system.parts[name], Controller)}
    for name, ends in net.consumers.items():
        part, output = design.system.parts[name], net.outputs.get(name)
        if not isinstance(part, Converter | Inverter | Charger) or output is None or name in net.inlets:
            continue
        for case in (*design.system.cases, *design.states):
            share = case.shares.get(name, 0.0)
            volts = across_v(design, case, ends.pos, ends.neg)
            drawn = incident.leaving_a(design, case, ends.pos)
            if not share or volts is None or drawn is None:
                continue
            if name in through[case.of if isinstance(case, State) else case.id]:
                continue
            if isinstance(part, Inverter) and case.kind == "charge":
                continue
            given = _given_w(design, case, incident, output)
            if given is None or (isinstance(part, Converter) and not net.holds(name) and case.kind != "charge"):
                continue
            rated = rated_w(part)
            if rated is not None and net.holds(name):
                given = min(given, share * rated) if output.zone in supplied else share * rated
            power = abs(volts * drawn)
            if power < max(given / part.efficiency, 0.0) * (1 - 1e-4) - 1e-3:
                yield make("CP598", name, case=case.id, given=given, power=power)


def _given_w(design: Design, case: Case, incident: Incidence, output: Terminals) -> float | None:
    total = 0.0
    for node in (output.pos, output.third):
        amperes = incident.leaving_a(design, case, node) if node else 0.0
        volts = across_v(design, case, node, output.neg) if node else 0.0
        if amperes is None or volts is None:
            return None
        total += abs(amperes * volts)
    return total
