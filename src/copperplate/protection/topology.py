"""What stands between each ungrounded conductor and the sources that can feed a fault into it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from copperplate.findings import Finding
from copperplate.model import DC_POLES, System
from copperplate.model.results import Guard
from copperplate.protection.circuit import Circuit, ungrounded_circuit
from copperplate.protection.regions import Region, regions
from copperplate.protection.walk import Walk

Origin = Literal["battery", "bar"]


@dataclass(frozen=True, slots=True)
class Stretch:
    """Wire between an origin (the terminal of a battery or alternator, or a bar) and the first device from
    there; `device` "" where none stands before `end`, the terminal that the wire reaches.

    `start` and `end` are nodes, `source` the part whose terminal the wire begins at ("" at a bar), and
    `conductors` those of the stretch from its start (only the last one where there is no device)."""

    origin: Origin
    start: str
    source: str
    device: str
    end: str
    length_m: float
    conductors: tuple[str, ...]


def guard(system: System) -> tuple[dict[str, Guard], tuple[Finding, ...]]:
    """What protects each ungrounded conductor, by topology alone; conductors of an earthed negative, neutrals
    and earths have no entry. What is wrong with it is told by `check`, which knows sizes and ratings."""
    circuit = ungrounded_circuit(system)
    guards, _ = survey(system, circuit, regions(circuit))
    return guards, ()


def survey(
    system: System, circuit: Circuit, found_regions: tuple[Region, ...]
) -> tuple[dict[str, Guard], tuple[Stretch, ...]]:
    """Guards in declaration order, and every stretch of ungrounded DC wire that starts without a device.

    Linear in conductors where the wiring is a tree with few sources; a loop of wire without devices counts as
    fed from both its ends."""
    bars = _bars(system, circuit)
    guards: dict[str, Guard] = {}
    stretches: list[Stretch] = []
    for region in found_regions:
        direct_current = system.nodes[circuit.names[region.nodes[0]]].pole in DC_POLES
        walks = [Walk(circuit, node) for node in _roots(region)]
        found: list[Stretch] = []
        if direct_current and region.direct:
            for walk, (_, source) in zip(walks, region.direct, strict=True):
                found += _from_source(system, circuit, region, walk, source)
        elif direct_current and region.sources:
            found += _from_bars(circuit, region, bars)
        stretches += found
        guards |= {guard.conductor: guard for guard in _guards(circuit, region, walks[0], found)}
    ordered = {conductor: guards[conductor] for conductor in system.conductors if conductor in guards}
    return ordered, tuple(stretches)


def _bars(system: System, circuit: Circuit) -> list[bool]:
    """Where a current can divide or a run begins: the terminals of parts, except a way's (it lies directly behind
    the way's own device), and every node with three links."""
    ways = {b for device in system.devices.values() if device.panel for _, b in device.legs}
    return [
        len(circuit.at[number]) >= 3 or (bool(system.nodes[name].part) and name not in ways)
        for number, name in enumerate(circuit.names)
    ]


def _roots(region: Region) -> tuple[int, ...]:
    if region.direct:
        return tuple(node for node, _ in region.direct)
    return (region.feeders[0][0],) if region.feeders else (region.nodes[0],)


def _from_source(system: System, circuit: Circuit, region: Region, walk: Walk, source: str) -> list[Stretch]:
    """From the terminal of a source to every device and every end without one that it reaches."""
    origin: Origin = "battery" if system.parts[source].roles.stores else "bar"
    start = circuit.names[walk.root]
    result: list[Stretch] = []
    for node, device in region.border:
        _, links = walk.path(node)
        conductors = tuple(circuit.links[i].conductor for i in links if circuit.links[i].conductor)
        result.append(Stretch(origin, start, source, device, circuit.names[node], walk.metres[node], conductors))
    for node in region.nodes:
        name = circuit.names[node]
        part = system.parts.get(system.nodes[name].part)
        dead_end = len(circuit.at[node]) == 1
        if node == walk.root or part is None or (part.roles.splits and not dead_end):
            continue
        if part.roles.splits and any(at == node for at, _ in region.border):
            continue
        last = circuit.links[walk.above[node][1]].conductor
        conductors = (last,) if last else ()
        result.append(Stretch(origin, start, source, "", name, walk.metres[node], conductors))
    return result


def _from_bars(circuit: Circuit, region: Region, bars: list[bool]) -> list[Stretch]:
    """From the last bar to each device at the edge of a region that lies behind other devices."""
    result: list[Stretch] = []
    for node, device in region.border:
        if not any(feeder != device for _, feeder in region.feeders):
            continue
        here, came_by, metres = node, -1, 0.0
        conductors: list[str] = []
        while not bars[here]:
            onward = [i for i in circuit.at[here] if i != came_by and not circuit.links[i].protective]
            if not onward:
                break
            came_by = onward[0]
            link = circuit.links[came_by]
            metres += link.length_m
            if link.conductor:
                conductors.append(link.conductor)
            here = circuit.other(came_by, here)
        if bars[here]:
            result.append(
                Stretch("bar", circuit.names[here], "", device, circuit.names[node], metres, tuple(conductors[::-1]))
            )
    return result


def _guards(circuit: Circuit, region: Region, walk: Walk, stretches: list[Stretch]) -> list[Guard]:
    """The guard of each conductor of one region: devices by the end that they feed, and the stretch it lies in."""
    feeders = walk.by_entry(region.feeders)
    every = _unique(feeders[1])
    ends: dict[str, list[Stretch]] = {}
    for stretch in stretches:
        for conductor in stretch.conductors if stretch.device else ():
            ends.setdefault(conductor, []).append(stretch)
    result: list[Guard] = []

    def add(conductor: str, sides: tuple[tuple[str, ...], ...], over: list[Stretch]) -> None:
        origins = {stretch.origin for stretch in over}
        result.append(
            Guard(
                conductor=conductor,
                devices=_unique([device for side in sides for device in side]),
                own_end=_unique([stretch.device for stretch in over]),
                origin="battery" if "battery" in origins else "bar" if origins else "",
                unprotected_m=max((stretch.length_m for stretch in over), default=0.0),
                sources=region.sources,
                sides=tuple(side for side in sides if side),
                limited_a=region.limited_a,
            )
        )

    for node, (_, index) in walk.above.items():
        conductor = circuit.links[index].conductor
        if not conductor:
            continue
        if index in walk.looped:
            add(conductor, (every, every), stretches if region.direct else [])
        else:
            rest, under = walk.split(node, *feeders)
            add(conductor, (_unique(rest), _unique(under)), ends.get(conductor, []))
    for index in walk.closing:
        if circuit.links[index].conductor:
            add(circuit.links[index].conductor, (every, every), stretches if region.direct else [])
    return result


def _unique(names: list[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(name for name in names if name))
