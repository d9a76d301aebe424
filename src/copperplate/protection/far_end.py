"""The smallest fault current of each device: a short at the far end of what it protects."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from heapq import heappop, heappush

from copperplate.faults import Bank, conductor_ohm
from copperplate.model import Converter, Earth, Panel, System, Traced
from copperplate.model.graph import Graph, earth_ohm
from copperplate.model.results import RunResult
from copperplate.protection.circuit import Circuit


@dataclass(frozen=True, slots=True)
class FarEnd:
    """A short at `node`, the end of `conductor`, that must open a device, and its current."""

    current: Traced
    conductor: str
    node: str


def smallest(
    system: System,
    circuit: Circuit,
    net: Graph,
    runs: Mapping[str, RunResult],
    banks: Mapping[str, Bank],
    low_v: Mapping[str, float],
) -> dict[str, FarEnd]:
    """By device: the least current of a short at the end of a conductor that relies on it. One battery feeds it
    alone, at the low end of its range, through copper at the temperature of its insulation, out and back; behind a
    converter what that gives at most.

    `low_v` by battery. A bar has no return of its own: the negative bar with the most resistance is taken. In a
    loop the way of least resistance is taken alone, which gives the smaller current."""
    hot = {
        link.conductor: conductor_ohm(system, runs, link.conductor, None) for link in circuit.links if link.conductor
    }
    result: dict[str, FarEnd] = {}
    for feed in _feeds(system, circuit, net, banks, low_v):
        back = _returns(system, runs, net, net.outputs[feed.part].neg)
        bars = [ohm for name, ohm in back.items() if _is_negative_bar(system, name)]
        for conductor, end, device, out in _outwards(system, circuit, hot, feed.node):
            ohm = _return_of(system, net, circuit.names[end], back, max(bars, default=0.0))
            if ohm is None:
                continue
            current = _current(feed, out, ohm)
            if device not in result or current.value < result[device].current.value:
                result[device] = FarEnd(current, conductor, circuit.names[end])
    return result


@dataclass(frozen=True, slots=True)
class _Feed:
    """What drives a far-end short: a battery at its low end behind its resistance, or a converter alone at its
    output voltage with `limit_a`, the most that it gives."""

    node: int
    part: str
    volts: float
    inner_ohm: float
    limit_a: float | None


def _feeds(
    system: System, circuit: Circuit, net: Graph, banks: Mapping[str, Bank], low_v: Mapping[str, float]
) -> list[_Feed]:
    found: list[_Feed] = []
    zones: set[str] = set()
    for node, part in circuit.sources:
        if part in net.outputs and part in banks:
            zones.add(net.outputs[part].zone)
        bank = banks.get(part)
        positive = system.nodes[circuit.names[node]].pole == "pos"
        if bank is not None and bank.resistance_ohm is not None and part in net.outputs and positive:
            found.append(_Feed(node, part, low_v.get(part, bank.low_v), bank.resistance_ohm, None))
    for node, part, amperes, _ in circuit.limited:
        converter = system.parts[part]
        if not isinstance(converter, Converter) or part not in net.outputs or not amperes:
            continue
        if net.outputs[part].zone not in zones:
            found.append(_Feed(node, part, converter.out_v or net.outputs[part].nominal_v, 0.0, amperes))
    return found


def _current(feed: _Feed, out: float, back: float) -> Traced:
    loop = feed.inner_ohm + out + back
    amperes = feed.volts / loop if loop > 0.0 else float("inf")
    inputs: list[tuple[str, float | str, str]] = [(f"{feed.part}, lowest", feed.volts, "V")]
    if feed.inner_ohm:
        inputs.append((f"{feed.part} resistance", feed.inner_ohm * 1000, "mohm"))
    inputs += [("out, hot", out * 1000, "mohm"), ("back, hot", back * 1000, "mohm")]
    formula = "lowest voltage / (battery + conductors as hot as their insulation allows, out and back)"
    if feed.limit_a is not None and amperes > feed.limit_a:
        amperes, formula = feed.limit_a, "what the converter gives at most"
        inputs.append((f"{feed.part} gives", feed.limit_a, "A"))
    return Traced(
        amperes, "A", "smallest fault current", formula, tuple(inputs),
        "common practice: one source alone, far end of the conductor", "practice",
    )  # fmt: skip


def _outwards(
    system: System, circuit: Circuit, hot: Mapping[str, float], start: int
) -> list[tuple[str, int, str, float]]:
    """(conductor, its far node, the protective device last passed, ohms to that node) along the ways of least
    resistance from a battery; conductors before the first device are left out."""
    found: list[tuple[str, int, str, float]] = []
    done: set[int] = set()
    waiting: list[tuple[float, int, int, str, int]] = [(0.0, 0, start, "", -1)]
    order = 0
    while waiting:
        ohm, _, node, device, came_by = heappop(waiting)
        if node in done:
            continue
        done.add(node)
        if came_by >= 0 and circuit.links[came_by].conductor and device:
            found.append((circuit.links[came_by].conductor, node, device, ohm))
        for index in circuit.at[node]:
            link = circuit.links[index]
            other = circuit.other(index, node)
            if other in done:
                continue
            order += 1
            added = hot[link.conductor] if link.conductor else 0.0
            if link.device:
                added = system.devices[link.device].resistance_ohm
            passed = link.device if link.protective else device
            heappush(waiting, (ohm + added, order, other, passed, index))
    return found


def _returns(system: System, runs: Mapping[str, RunResult], net: Graph, start: str) -> dict[str, float]:
    """Hot ohms from a battery's negative terminal to every node of the return side."""
    ohms: dict[str, float] = {}
    waiting: list[tuple[float, str]] = [(0.0, start)]
    while waiting:
        ohm, node = heappop(waiting)
        if node in ohms:
            continue
        ohms[node] = ohm
        for index in net.at.get(node, ()):
            edge = net.edges[index]
            other = net.other(index, node)
            if other in ohms or not _returning(system, other):
                continue
            added = 0.0
            if edge.kind == "conductor":
                earths = earth_ohm(system, edge.a) + earth_ohm(system, edge.b)
                added = conductor_ohm(system, runs, edge.id, None) + earths
            elif edge.kind == "device":
                added = system.devices[edge.id].resistance_ohm
            heappush(waiting, (ohm + added, other))
    return ohms


def _returning(system: System, node: str) -> bool:
    """Whether current returns through a node: the negative, and an earth only where it conducts."""
    found = system.nodes.get(node)
    if found is None:
        return False
    part = system.parts.get(found.part)
    return part.conducts if isinstance(part, Earth) else found.pole == "neg"


def _is_negative_bar(system: System, node: str) -> bool:
    found = system.nodes[node]
    part = system.parts.get(found.part)
    return found.pole == "neg" and part is not None and part.roles.bar


def _return_of(system: System, net: Graph, node: str, back: Mapping[str, float], bar_ohm: float) -> float | None:
    """Hot ohms of the way back from the part at `node`; None where it has none."""
    part = system.parts.get(system.nodes[node].part)
    if isinstance(part, Panel):
        return back.get(part.return_bar or f"{part.id}.neg", bar_ohm)
    if part is None or part.roles.splits:
        return bar_ohm
    for ends in (net.consumers.get(part.id), net.outputs.get(part.id)):
        if ends is not None and ends.pos == node:
            return back.get(ends.neg)
    return bar_ohm
