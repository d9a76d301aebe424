"""Sources: what they hold and turn into another voltage, and what they may give at most."""

from __future__ import annotations

from collections.abc import Iterator

from copperplate.audit.banks import batteries_by_zone, full_v, low_v
from copperplate.audit.consumers import rated_w
from copperplate.audit.incidence import Incidence, across_v, incidence
from copperplate.findings import Finding, make
from copperplate.model import Battery, Case, Charger, Controller, Converter, Inverter, Part
from copperplate.model.graph import Graph, Terminals, graph
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
        for case in design.system.cases:
            volts = across_v(design, case, ends.pos, ends.neg)
            if volts is None:
                continue
            if isinstance(part, Battery):
                charging = case.kind == "charge"
                held_v = max(map(full_v, banks)) if charging else min(map(low_v, banks))
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
        for case in design.system.cases:
            share = case.shares.get(name, 0.0)
            volts = across_v(design, case, ends.pos, ends.neg)
            drawn = incident.leaving_a(design, case, ends.pos)
            if not share or volts is None or drawn is None or name in through[case.id]:
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
