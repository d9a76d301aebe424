"""The DC wiring as a graph of edges: conductors, legs of devices, and the two sides of parts.

A *side* is the pair of terminals of one part that a current passes between: `house.pos` and `house.neg`,
`conv.in.pos` and `conv.in.neg`. Edges are followed without regard to their direction; who draws decides it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from copperplate.model import DC_POLES, Node, Part, System
from copperplate.model.parts import Roles


@dataclass(frozen=True, slots=True)
class WiringEdge:
    """One conductor, one leg of a device, or one side of a part, between two nodes.

    `id` is the address of the conductor, device or part; `side` names the side of a part ("", "in", "pv")."""

    kind: Literal["conductor", "device", "part"]
    id: str
    a: str
    b: str
    side: str = ""

    def other(self, node: str) -> str:
        return self.b if node == self.a else self.a


@dataclass(frozen=True, slots=True)
class Side:
    """The terminals of one side of a part. None where the plate brings nothing to that terminal."""

    part: str
    name: str
    pos: str | None
    neg: str | None


class DcWiring:
    """The graph of one system's DC wiring.

    `edges` conductors and device legs in declaration order; `sides` by part; `at` the edges at each node."""

    def __init__(self, system: System) -> None:
        self.system = system
        self.mounted = _mounted(system)
        self.edges: tuple[WiringEdge, ...] = tuple(self._landed(edge) for edge in _edges(system))
        self.at: dict[str, list[WiringEdge]] = {node: [] for node in system.nodes}
        for edge in self.edges:
            self.at.setdefault(edge.a, []).append(edge)
            self.at.setdefault(edge.b, []).append(edge)
        terminals: dict[str, list[Node]] = {part: [] for part in system.parts}
        for node in system.nodes.values():
            if node.part in terminals and node.pole in DC_POLES:
                terminals[node.part].append(node)
        self.sides: dict[str, tuple[Side, ...]] = {
            part.id: tuple(self._landed_side(side) for side in _sides(part, terminals[part.id]))
            for part in system.parts.values()
        }
        self.side_of: dict[str, Side] = {
            node: side
            for sides in self.sides.values()
            for side in sides
            for node in (side.pos, side.neg)
            if node is not None and system.nodes[node].part == side.part
        }
        self.way_of: dict[str, tuple[str, int]] = {}
        self.device_at: dict[str, str] = {}
        for device in system.devices.values():
            for leg in device.legs:
                for end in leg:
                    self.device_at.setdefault(end, device.id)
            if device.panel and device.way is not None:
                for _, behind in device.legs:
                    self.way_of[behind] = (device.panel, device.way)

    def _landed(self, edge: WiringEdge) -> WiringEdge:
        return replace(edge, a=self.mounted.get(edge.a, edge.a), b=self.mounted.get(edge.b, edge.b))

    def _landed_side(self, side: Side) -> Side:
        pos, neg = (self.mounted.get(node, node) if node is not None else None for node in (side.pos, side.neg))
        return replace(side, pos=pos, neg=neg)

    def part_at(self, node: str) -> Part | None:
        """The part that a node belongs to."""
        terminal = self.system.nodes.get(node)
        return self.system.parts.get(terminal.part) if terminal is not None and terminal.part else None

    def owner(self, node: str) -> str:
        """The id of the part that a node belongs to; "" for points inside a run."""
        part = self.part_at(node)
        return part.id if part is not None else ""

    def roles_at(self, node: str) -> Roles:
        """What the part does that a node belongs to; nothing at points inside a run."""
        part = self.part_at(node)
        return part.roles if part is not None else Roles()

    def pole(self, node: str) -> str:
        terminal = self.system.nodes.get(node)
        return terminal.pole if terminal is not None else "pos"

    def is_low(self, node: str) -> bool:
        """True at what is drawn as a lower bar: negatives, and earths."""
        return self.pole(node) in ("neg", "pe")

    def is_anchor(self, node: str) -> bool:
        """True at a terminal where a branch ends: of any part but a load, a splice or a way of a panel."""
        part = self.part_at(node)
        return part is not None and not (part.roles.is_load or part.roles.is_splice) and node not in self.way_of

    def is_rail(self, node: str) -> bool:
        """True at bars, and at earths."""
        roles = self.roles_at(node)
        return roles.is_busbar or roles.grounds


def is_point(part: Part) -> bool:
    """True of a part without an inside, which conductors meet at: a bar, a splice, an earth."""
    return part.roles.is_busbar or part.roles.is_splice or part.roles.grounds


def is_between_dc_and_ac(part: Part) -> bool:
    """True of an inverter and of a charger."""
    return part.roles.converts and any(port.startswith("ac-") for port in part.reaches)


def _mounted(system: System) -> dict[str, str]:
    """By terminal that is mounted on an earth without a conductor: the earth."""
    mounted: dict[str, str] = {}
    for tie in system.ties:
        for node, other in (tie, tie[::-1]):
            part = system.parts.get(system.nodes[other].part) if other in system.nodes else None
            if part is not None and part.roles.grounds and node in system.nodes:
                mounted[node] = other
    return mounted


def _edges(system: System) -> Iterable[WiringEdge]:
    """Conductors and device legs of DC runs, run by run in declaration order, source end first."""
    devices = {
        device.id: device.legs if system.runs[device.run].current == "dc" else () for device in system.devices.values()
    }
    placed: set[str] = set()
    for run in system.runs.values():
        if run.role == "link" or run.current == "ac":
            continue
        if run.signal_a is not None:
            placed.update(run.device_ids)
            continue
        for name in run.conductor_ids:
            conductor = system.conductors[name]
            yield WiringEdge("conductor", name, conductor.from_node, conductor.to_node)
        for name in run.device_ids:
            placed.add(name)
            for a, b in devices.get(name, ()):
                yield WiringEdge("device", name, a, b)
    for name, legs in devices.items():
        if name not in placed:
            for a, b in legs:
                yield WiringEdge("device", name, a, b)


def _sides(part: Part, terminals: Iterable[Node]) -> Iterable[Side]:
    """The sides of a part, in the order of its ports."""
    if is_point(part):
        return
    by_side: dict[str, dict[str, str]] = {}
    for node in terminals:
        name, _, last = node.port.rpartition(".")
        if last in ("pos", "feed"):
            by_side.setdefault(name, {})["pos"] = node.id
        elif last == "neg":
            by_side.setdefault(name, {})["neg"] = node.id
    for name, ends in by_side.items():
        yield Side(part.id, name, ends.get("pos"), ends.get("neg"))
