"""From a system to a circuit of numbers, and back from its answers to addresses."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from copperplate.model import Controller, Inverter, System
from copperplate.model.graph import Graph, Terminals, doubled_negatives
from copperplate.network.circuit import Circuit, Tie


@dataclass(frozen=True)
class Element:
    """Something that draws a current between two nodes of a part (a source that pushes one draws a negative).

    `role`: "supply" where it takes power, "inlet" for the AC inlet of an inverter, by which it charges and hands a
    supply through (one element for each line), "push" where it charges. `line` counts the lines of an inlet."""

    part: str
    role: Literal["supply", "inlet", "push"]
    ends: Terminals
    line: int = 0


@dataclass(frozen=True, slots=True)
class Item:
    """What a wire or tie of the circuit stands for. `edge` is its number in the graph; held sources are numbered on
    after the edges, in the order of `joins`. A "limit" is a source that pushes, held at the voltage that ends it."""

    kind: Literal["conductor", "device", "part", "source", "limit"]
    id: str
    edge: int


@dataclass(frozen=True)
class Wiring:
    """A circuit of numbers made of a system, with what each wire, tie and load of it stands for."""

    circuit: Circuit
    point: Mapping[str, int]
    wires: tuple[Item, ...]
    ties: tuple[Item, ...]
    elements: tuple[Element, ...]


def elements(system: System, net: Graph) -> tuple[Element, ...]:
    """Everything that draws or pushes a current: consumers first, then inlets, then sources that push."""
    parts = system.parts
    # What a solar controller takes follows from its array: that is the element which pushes.
    supplied = {part: ends for part, ends in net.consumers.items() if not isinstance(parts[part], Controller)}
    found = [Element(part, "supply", ends) for part, ends in supplied.items()]
    for part, ends in net.inlets.items():
        found.append(Element(part, "inlet", replace(ends, third="")))
        if ends.third:
            found.append(Element(part, "inlet", replace(ends, pos=ends.third, third=""), line=1))
    for part, ends in net.outputs.items():
        if parts[part].roles.pushes_current and not net.holds(part):
            found.append(Element(part, "push", ends))
    charging = (inverter.id for inverter in system.of(Inverter) if inverter.charges_a and inverter.id in supplied)
    found += [Element(part, "push", supplied[part]) for part in charging]
    return tuple(found)


def wire_up(
    system: System,
    net: Graph,
    volts: Mapping[str, float],
    open_devices: frozenset[str] = frozenset(),
    *,
    coupled: Sequence[bool] = (),
    bare: frozenset[str] = frozenset(),
    ideal: bool = False,
    inside_ohm: Mapping[str, float] | None = None,
    limits: Mapping[str, float] | None = None,
) -> Wiring:
    """The circuit of a system with some devices open, or conductors taken away.

    `volts` held by part id (a source that is not in it is off); `coupled` by element; `bare` are conductors taken
    without resistance, and `ideal` does so with devices and leaves out joins of negatives that have conductors of their
    own; `inside_ohm` is what lies between the held voltage of a source and its terminals; `limits` are volts of sources
    that push and are held at them."""
    point = {node: number for number, node in enumerate(system.nodes)}
    wires: list[tuple[int, int]] = []
    wire_of: list[Item] = []
    ties: list[Tie] = []
    tie_of: list[Item] = []
    # An island is told against the negative of its bank, where it has one.
    banks_first = sorted(net.joins, key=lambda join: not system.parts[join.part].roles.stores)
    references = [point[join.b] for join in banks_first]

    def at(node: str) -> int:
        return point.setdefault(node, len(point))

    for number, join in enumerate(net.joins, len(net.edges)):
        first, neg = at(join.a), at(join.b)
        if join.part not in volts:
            continue
        item = Item("source", join.part, number)
        if inside_ohm and join.part in inside_ohm:
            inner = at(f"{join.part}:inside")
            wires.append((inner, first))
            wire_of.append(item)
            first = inner
        ties.append((first, neg, join.sign * volts[join.part]))
        tie_of.append(item)
    doubled = doubled_negatives(system) if ideal else frozenset()
    for number, edge in enumerate(net.edges):
        a, b = at(edge.a), at(edge.b)
        item = Item(edge.kind, edge.id, number)
        if edge.kind == "conductor":
            resistive = edge.id not in bare and system.conductors[edge.id].length_m > 0.0
        else:
            resistive = edge.kind == "device" and not ideal and system.devices[edge.id].resistance_ohm > 0.0
        if (edge.id and edge.id in open_devices) or (ideal and frozenset((edge.a, edge.b)) in doubled):
            continue
        if resistive:
            wires.append((a, b))
            wire_of.append(item)
        else:
            lost = 0.0 if ideal or edge.kind != "device" else system.devices[edge.id].loses_v
            ties.append((a, b, lost))
            tie_of.append(item)
    drawing = elements(system, net)
    for element in drawing:
        if limits and element.role == "push" and element.part in limits:
            item, inner = Item("limit", element.part, -1), at(f"{element.part}:limit")
            wires.append((inner, at(element.ends.pos)))
            ties.append((inner, at(element.ends.neg), limits[element.part]))
            wire_of.append(item)
            tie_of.append(item)
    # The second line of a split phase is held below its neutral: a load on it draws from the neutral.
    below = [e.ends.pos in net.below and e.ends.neg not in net.below for e in drawing]
    ends = [(at(e.ends.pos), at(e.ends.neg)) for e in drawing]
    loads = [(b, a) if turned else (a, b) for (a, b), turned in zip(ends, below, strict=True)]
    circuit = Circuit(len(point), wires, ties, loads, tuple(coupled) or (False,) * len(loads), references)
    return Wiring(circuit, point, tuple(wire_of), tuple(tie_of), drawing)
