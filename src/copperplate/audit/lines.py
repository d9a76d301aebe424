"""The lines of alternating current while one supply gives, and the voltages of a short: a nodal solve for each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from copperplate.audit.reach import LINES, handed_through
from copperplate.audit.wires import ohms
from copperplate.model import System
from copperplate.model.results import Design
from copperplate.standards import profile

NEARLY_NONE = 1e-9
"""Ohms that stand for none."""


@dataclass(frozen=True, slots=True)
class Line:
    """A conductor or a leg of a device, line and return together, ohms."""

    a: str
    b: str
    ohm: complex
    conductor: str = ""
    device: str = ""

    @property
    def ends(self) -> tuple[str, str]:
        return self.a, self.b

    @property
    def siemens(self) -> complex:
        """What it lets pass, amperes a volt."""
        return 1.0 / (self.ohm if abs(self.ohm) > NEARLY_NONE else NEARLY_NONE)


def lines(design: Design, source: str, starts: list[str], hot: bool) -> list[Line]:
    """What is closed between line terminals while a supply gives: conductors, devices but those that keep other
    supplies off, and the transfers of the inverters whose inlet it reaches."""
    built, transfers = _built(design, hot), _transfers(design.system)
    opened = kept_off(design, source, starts)
    reached = _reached(built, transfers, starts, set())
    handed = [line for line in transfers if line.a in reached and design.system.nodes[line.a].part != source]
    return [line for line in built if line.device not in opened] + handed


def _built(design: Design, hot: bool) -> list[Line]:
    system, figures = design.system, profile(design.profile).figures
    found: list[Line] = []
    for wire in system.conductors.values():
        if wire.pole not in LINES:
            continue
        result = design.runs.get(wire.run)
        degrees = result.insulation_c if hot and result is not None else figures["fault-copper"].value
        reactance = wire.length_m * figures["cable-reactance"].value if hot else 0.0
        ohm = 2 * complex(ohms(design, wire, degrees) or 0.0, reactance)
        found.append(Line(wire.from_node, wire.to_node, ohm, conductor=wire.id))
    for device in system.devices.values():
        legs = [leg for leg in device.legs if system.nodes[leg[0]].pole in LINES]
        found += [Line(a, b, complex(2 * device.resistance_ohm), device=device.id) for a, b in legs]
    return found


def _transfers(system: System) -> list[Line]:
    return [Line(a, b, 0j) for a, b in handed_through(system) if system.nodes[a].pole in LINES]


def kept_off(design: Design, source: str, starts: list[str]) -> set[str]:
    """The first switches behind other supplies, but those that are the first behind this one too; an inverter that
    hands this one through is no other."""
    system, built = design.system, _built(design, hot=False)
    transfers = _transfers(system)
    switches = {d.id for d in system.devices.values() if not d.roles.protects}
    reached = _reached(built, transfers, starts, set())
    handing = {system.nodes[line.a].part for line in transfers if line.a in reached} - {source}
    others: dict[str, list[str]] = {}
    for node in system.nodes.values():
        part = system.parts.get(node.part)
        if part is not None and part.roles.mains and node.port.startswith("ac-out") and node.pole in LINES:
            others.setdefault(part.id, []).append(node.id)
    first: dict[str, set[str]] = {}
    for part_id, nodes in others.items():
        near = _reached(built, transfers, nodes, switches)
        first[part_id] = {line.device for line in built if line.device in switches and not near.isdisjoint(line.ends)}
    opened = set().union(*(first[part_id] for part_id in others if part_id != source and part_id not in handing))
    return opened - first.get(source, set())


def _reached(built: list[Line], transfers: list[Line], starts: Iterable[str], stops: set[str]) -> set[str]:
    """What hangs together with some nodes, over transfers from inlet to outlet alone: spread until nothing is new."""
    seen = set(starts)
    while True:
        new = {line.b for line in (*built, *transfers) if line.a in seen and line.device not in stops}
        new |= {line.a for line in built if line.b in seen and line.device not in stops}
        if new <= seen:
            return seen
        seen |= new


def spread(built: Iterable[Line], starts: Iterable[str], past: set[str]) -> set[str]:
    """The nodes that some lines join to others, but not by the devices of `past`."""
    return _reached([line for line in built if line.device not in past], [], starts, set())


def volts(built: Iterable[Line], held: dict[str, complex]) -> dict[str, complex]:
    """The voltage of every node that is joined to one that is held: each other node in turn is taken out, its star of
    lines made a mesh, and then put back (Kirchhoff's first law)."""
    links: dict[str, dict[str, complex]] = {node: {} for node in held}
    for line in built:
        for here, there in ((line.a, line.b), (line.b, line.a)):
            links.setdefault(here, {})
            if here != there:
                links[here][there] = links[here].get(there, 0.0) + line.siemens
    gone: list[tuple[str, dict[str, complex]]] = []
    left = {node for node in links if node not in held}
    thin = sorted(node for node in left if len(links[node]) <= 1)
    while left:
        node = thin.pop() if thin else min(left, key=lambda each: (len(links[each]), each))
        if node not in left:
            continue
        left.remove(node)
        beside = links.pop(node)
        total = sum(beside.values())
        gone.append((node, beside))
        for other, siemens in beside.items():
            del links[other][node]
            for third, more in beside.items():
                if third != other:
                    links[other][third] = links[other].get(third, 0.0) + siemens * more / total
            if other in left and len(links[other]) <= 1:
                thin.append(other)
    found = dict(held)
    for node, beside in reversed(gone):
        known = {other: siemens for other, siemens in beside.items() if other in found}
        if known:
            found[node] = sum(found[other] * siemens for other, siemens in known.items()) / sum(known.values())
    return found


def through(line: Line, at: dict[str, complex]) -> complex:
    """Amperes through a line, from its first end to its second, for the voltages of its ends."""
    return (at[line.a] - at[line.b]) * line.siemens if line.a in at and line.b in at else 0j


def into(built: Iterable[Line], at: dict[str, complex], node: str) -> complex:
    """Amperes that come to a node."""
    return sum(((line.b == node) - (line.a == node)) * through(line, at) for line in built)
