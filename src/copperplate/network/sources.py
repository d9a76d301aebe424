"""Voltages that sources hold, by case."""

from __future__ import annotations

from typing import Literal

from copperplate.model import (
    Alternator,
    Assumption,
    Battery,
    Case,
    Controller,
    Converter,
    Inverter,
    Part,
    Solar,
    State,
    System,
)
from copperplate.model.graph import Graph, Terminals
from copperplate.model.groups import Groups
from copperplate.network.wiring import Element, elements
from copperplate.standards import chemistry_of

End = Literal["low", "full"]


def battery_v(battery: Battery, end: End) -> tuple[float, Assumption | None]:
    """Terminal voltage of a bank at the low end of its range, or while charging ends, and what was assumed.

    Stated figures are of one battery; a string of them in series adds up. `full` falls back on the high end of the
    range, both on the figures of the chemistry."""
    series, window = battery.series, battery.range
    if end == "low" and window is not None:
        return window.low * series, None
    if end == "full" and battery.full_v is not None:
        return battery.full_v * series, None
    if end == "full" and window is not None:
        text = f"held at {window.high * series:.4g} V while charging, the high end of its range: no `full` is stated"
        return window.high * series, Assumption(battery.id, text)
    facts = chemistry_of(battery)
    usual = facts.low_v if end == "low" else facts.full_v
    volts = usual.value * series
    what = "the low end of its range" if end == "low" else "its voltage while charging"
    return volts, Assumption(battery.id, f"{what} is taken as {volts:.4g} V, usual for {facts.id}", usual.source)


def highest_v(battery: Battery) -> float:
    """The highest voltage that a bank's terminals see: charging, or the high end of its range."""
    full = battery_v(battery, "full")[0]
    return max(full, battery.range.high * battery.series) if battery.range is not None else full


def output_v(part: Part, ends: Terminals) -> float:
    """Voltage that a source other than a battery holds at its output; for a solar controller the voltage of the
    array at rated power."""
    return part.out_v or ends.nominal_v if isinstance(part, Converter) else ends.nominal_v


def limit_v(system: System, net: Graph, element: Element) -> float | None:
    """What a source that pushes brings its own terminals to at most: an array its open-circuit voltage, the others the
    output that they state, else the lowest `full` of the banks on their bars; None where nothing tells."""
    part = system.parts[element.part]
    if isinstance(part, Solar):
        return part.voc_v * part.series if part.voc_v else None
    stated = part.voltage_v if isinstance(part, Alternator) else part.out_v
    if stated and not isinstance(part, Inverter):
        return stated
    zone = element.ends.zone
    banks = (b for b in system.of(Battery) if b.id in net.outputs and net.outputs[b.id].zone == zone)
    return min((battery_v(bank, "full")[0] for bank in banks), default=None)


def held_v(system: System, net: Graph, state: State) -> dict[str, float]:
    """By source id, the voltage held in a state: banks at the end of their range that it names, those that it joins
    at the lowest of theirs; at the end of charging at the outputs of the sources that are on where these are higher.
    Supplies of alternating current and converters that the case has on; on the same bars the lowest of theirs."""
    own: dict[str, float] = {}
    at: dict[str, str] = {}
    off = sources_off(system, net, state)
    joined = joined_nodes(system, net, state)
    for join in net.joins:
        part = system.parts[join.part]
        ends = net.consumers[part.id] if isinstance(part, Controller) else net.outputs[part.id]
        if join.part not in off and join.part not in state.out:
            own[part.id] = battery_v(part, state.held)[0] if isinstance(part, Battery) else output_v(part, ends)
            at[part.id] = joined.root(ends.pos) if isinstance(part, Battery) else ends.zone
    level: dict[str, float] = {}
    for part_id, volts in own.items():
        level[at[part_id]] = min(volts, level.get(at[part_id], volts))
    for element in elements(system, net) if state.kind == "charge" and state.held == "full" else ():
        given, place = limit_v(system, net, element), joined.root(element.ends.pos)
        pushes = element.role == "push" and state.shares.get(element.part, 0.0) > 0.0
        if pushes and given is not None and not isinstance(system.parts[element.part], Solar):
            behind = [
                (joined.root(leg[1]), system.devices[name].loses_v)
                for name in sorted(system.diodes - state.open_devices)
                for leg in system.devices[name].legs
                if joined.root(leg[0]) == place
            ]
            for there, lost in ((place, 0.0), *behind):
                if there in level:
                    level[there] = max(level[there], given - lost)
    return {part_id: level[at[part_id]] for part_id in own}


def joined_nodes(system: System, net: Graph, state: State) -> Groups[str]:
    """The nodes of one pole that a state joins by conductors and closed devices; splitters join nothing."""
    joined = Groups[str]()
    for edge in net.edges:
        poles = {system.nodes[edge.a].pole, system.nodes[edge.b].pole}
        parted = edge.kind == "device" and (edge.id in state.open_devices or edge.id in system.diodes)
        if len(poles) == 1 and not parted:
            joined.join(edge.a, edge.b)
    return joined


def sources_off(system: System, net: Graph, case: Case) -> frozenset[str]:
    """Sources other than batteries that hold nothing in a case: those that it has off, as long as another source of
    their zone is on."""
    holding: dict[str, list[str]] = {}
    for join in net.joins:
        if not isinstance(system.parts[join.part], Battery | Controller):
            holding.setdefault(net.outputs[join.part].zone, []).append(join.part)
    off: set[str] = set()
    for parts in holding.values():
        on = [part for part in parts if case.shares.get(part, 0.0) > 0.0]
        off.update(part for part in parts if on and part not in on)
    return frozenset(off)


def zone_low_v(system: System, net: Graph) -> dict[str, float]:
    """By zone, the lowest voltage that its sources hold in load cases."""
    level: dict[str, float] = {}
    for name, ends in net.outputs.items():
        if net.holds(name):
            part = system.parts[name]
            volts = battery_v(part, "low")[0] if isinstance(part, Battery) else output_v(part, ends)
            level[ends.zone] = min(volts, level.get(ends.zone, volts))
    return level


def assumptions(system: System) -> tuple[Assumption, ...]:
    """What the plate left open about the voltages of its banks."""
    found = [battery_v(battery, end)[1] for battery in system.of(Battery) for end in ("low", "full")]
    return tuple(a for a in found if a is not None)
