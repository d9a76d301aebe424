"""The largest fault current that each device can meet."""

from __future__ import annotations

from collections.abc import Mapping
from heapq import heappop, heappush

from copperplate.model import Part, Solar, System, Traced
from copperplate.model.results import RunResult
from copperplate.protection.battery import Bank
from copperplate.protection.circuit import Circuit, feeds_faults, pushes_at
from copperplate.protection.elimination import seen_from_every_node
from copperplate.standards import Profile, conductors
from copperplate.units import show

LISTED = 12
"""Conductors named one by one in a trace; longer ways give their sum."""


def conductor_ohm(system: System, runs: Mapping[str, RunResult], conductor: str, temperature_c: float | None) -> float:
    """Resistance of a conductor as sized, all its parallels together; at its insulation's temperature where
    `temperature_c` is None. 0.0 where it has no size."""
    wire = system.conductors[conductor]
    run = runs.get(wire.run)
    if run is None or run.size is None:
        return 0.0
    degrees = run.insulation_c if temperature_c is None else temperature_c
    return conductors.ohm_per_m(run.size, degrees, system.settings.tinned) * wire.length_m / run.parallel


def largest(
    system: System, profile: Profile, circuit: Circuit, runs: Mapping[str, RunResult], banks: Mapping[str, Bank]
) -> dict[str, Traced]:
    """Prospective fault current by device: every battery at its full e.m.f. behind its lowest resistance, copper
    of the ungrounded path at 20 °C, shorted at the device to a return without resistance. Devices that no
    battery reaches have no entry, nor have those that one without a fault figure reaches. What is connected and pushes
    a current of its own (alternators, chargers, controllers, converters) is added as it stands, wherever the short is:
    the larger current of two readings."""
    cold_c = profile.figures["fault-copper"].value
    ohms = [_ohm(system, runs, circuit, index, cold_c) for index in range(len(circuit.links))]
    group = _join_without_resistance(circuit, ohms)
    count = max(group, default=-1) + 1
    positive = [(node, part) for node, part in circuit.sources if system.nodes[circuit.names[node]].pole == "pos"]
    at = {part: group[node] for node, part in positive if part in banks}
    unknown = {at[part] for part in at if banks[part].resistance_ohm is None}
    wires = [(group[link.a], group[link.b], ohm) for link, ohm in zip(circuit.links, ohms, strict=True) if ohm > 0.0]
    feeding = [
        (at[part], bank.emf_full_v, bank.resistance_ohm)
        for part, bank in banks.items()
        if part in at and bank.resistance_ohm is not None
    ]
    seen = seen_from_every_node(count, wires, feeding)
    silent = _reached(count, wires, unknown)
    ways = {part: _ways(count, wires, at[part]) for part in at}
    names = _named(circuit, ohms)
    pushed = _pushed(system, profile, circuit, count, wires, group)
    result: dict[str, Traced] = {}
    number = {name: index for index, name in enumerate(circuit.names)}
    for device in system.devices.values():
        start = device.legs[0][0]
        if start not in number:
            continue
        node = group[number[start]]
        here = seen[node]
        if here is None or node in silent:
            continue
        inputs: list[tuple[str, float | str, str]] = []
        for part, (metres, towards) in ways.items():
            if node not in metres:
                continue
            bank = banks[part]
            inputs.append((f"{part} e.m.f.", bank.emf_full_v, "V"))
            inputs.append((f"{part} resistance", (bank.resistance_ohm or 0.0) * 1000, "mohm"))
            way = _way(node, towards)
            if len(way) <= LISTED:
                inputs += [(names[wires_index], wires[wires_index][2] * 1000, "mohm") for wires_index in way]
            else:
                inputs.append((f"{len(way)} conductors from {part}", metres[node] * 1000, "mohm"))
        volts, ohm = here
        added = pushed.get(node, ())
        inputs += [(f"{part} pushes", amperes, "A") for part, amperes in added]
        result[device.id] = Traced(
            volts / ohm + sum(amperes for _, amperes in added),
            "A",
            "largest fault current",
            f"e.m.f. / (battery + conductors at {show(cold_c, 'degC')}); batteries add"
            + (", and what others push" if added else ""),
            tuple(dict.fromkeys(inputs)),
            "common practice: short at the device, return without resistance",
            "practice",
        )
    return result


def pushed_a(part: Part, profile: Profile) -> float:
    """What a source other than a battery adds to a direct-current fault, amperes: all that it gives where it limits
    its own current, and the profile's multiple of that where it does not. 0.0 where the plate does not tell."""
    return part.pushes_a * (profile.figures["generator-fault"].value if feeds_faults(part) else 1.0)


def _pushed(
    system: System,
    profile: Profile,
    circuit: Circuit,
    count: int,
    wires: list[tuple[int, int, float]],
    group: list[int],
) -> dict[int, tuple[tuple[str, float], ...]]:
    """(part, amperes) by group of nodes that what a part pushes can reach."""
    found: dict[int, tuple[tuple[str, float], ...]] = {}
    starts: dict[str, int] = {}
    for index, name in enumerate(circuit.names):
        node = system.nodes[name]
        part = system.parts.get(node.part)
        if part is None or isinstance(part, Solar) or node.pole != "pos":
            continue
        if pushes_at(part, node.port) and pushed_a(part, profile) > 0.0:
            starts[part.id] = group[index]
    for name, start in starts.items():
        for here in _reached(count, wires, {start}):
            found[here] = (*found.get(here, ()), (name, pushed_a(system.parts[name], profile)))
    return found


def _ohm(system: System, runs: Mapping[str, RunResult], circuit: Circuit, index: int, temperature_c: float) -> float:
    link = circuit.links[index]
    if link.conductor:
        return conductor_ohm(system, runs, link.conductor, temperature_c)
    return system.devices[link.device].resistance_ohm if link.device else 0.0


def _named(circuit: Circuit, ohms: list[float]) -> list[str]:
    """Names of the links with resistance, in the order of the wires."""
    return [link.conductor or link.device for link, ohm in zip(circuit.links, ohms, strict=True) if ohm > 0.0]


def _join_without_resistance(circuit: Circuit, ohms: list[float]) -> list[int]:
    """Group number of each node; links without resistance join their ends."""
    group = [-1] * len(circuit.names)
    count = 0
    for start in range(len(group)):
        if group[start] != -1:
            continue
        group[start] = count
        found = [start]
        for node in found:
            for index in circuit.at[node]:
                other = circuit.other(index, node)
                if ohms[index] <= 0.0 and group[other] == -1:
                    group[other] = count
                    found.append(other)
        count += 1
    return group


def _neighbours(count: int, wires: list[tuple[int, int, float]]) -> list[list[int]]:
    at: list[list[int]] = [[] for _ in range(count)]
    for index, (a, b, _) in enumerate(wires):
        at[a].append(index)
        at[b].append(index)
    return at


def _reached(count: int, wires: list[tuple[int, int, float]], starts: set[int]) -> set[int]:
    """Every node joined to one of `starts`."""
    if not starts:
        return set()
    at = _neighbours(count, wires)
    seen = set(starts)
    found = sorted(starts)
    for node in found:
        for index in at[node]:
            a, b, _ = wires[index]
            for other in (a, b):
                if other not in seen:
                    seen.add(other)
                    found.append(other)
    return seen


def _ways(
    count: int, wires: list[tuple[int, int, float]], start: int
) -> tuple[dict[int, float], dict[int, tuple[int, int]]]:
    """(ohms, (node before, wire)) by node, along the way of least resistance from `start`."""
    at = _neighbours(count, wires)
    ohms: dict[int, float] = {}
    towards: dict[int, tuple[int, int]] = {}
    waiting: list[tuple[float, int, int, int]] = [(0.0, start, -1, -1)]
    while waiting:
        ohm, node, before, wire = heappop(waiting)
        if node in ohms:
            continue
        ohms[node] = ohm
        if wire >= 0:
            towards[node] = (before, wire)
        for index in at[node]:
            a, b, added = wires[index]
            other = b if a == node else a
            if other not in ohms:
                heappush(waiting, (ohm + added, other, node, index))
    return ohms, towards


def _way(node: int, towards: Mapping[int, tuple[int, int]]) -> list[int]:
    """Wires from the start to `node`, in that order."""
    wires: list[int] = []
    while node in towards:
        node, wire = towards[node]
        wires.append(wire)
    return wires[::-1]
