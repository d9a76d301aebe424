"""What meets at each node of a system, and the current that leaves a part there by Kirchhoff's first law."""

from __future__ import annotations

from dataclasses import dataclass

from copperplate.model import Case, Node, System
from copperplate.model.results import Design


@dataclass(frozen=True)
class Incidence:
    """By node: conductors, with +1 where they leave it, and device legs with their far ends. `tied` are the nodes that
    the inside of a part joins to another."""

    system: System
    conductors: dict[str, list[tuple[str, int]]]
    legs: dict[str, list[tuple[str, str]]]
    tied: frozenset[str]

    def group(self, node: str, open_devices: frozenset[str] = frozenset()) -> list[str] | None:
        """The nodes that devices alone join to a terminal; None where another part than a bar is among them, or the
        inside of a part joins it to one."""
        members, own = {node: None}, self.system.nodes[node].part
        for here in (front := [node]):
            if here in self.tied:
                return None
            for device, other in self.legs.get(here, ()):
                if device not in open_devices and other not in members:
                    members[other] = None
                    front.append(other)
            part = self.system.parts.get(self.system.nodes[here].part)
            if part is not None and part.id != own and not part.roles.splits:
                return None
        return list(members)

    def leaving_a(self, design: Design, case: Case, node: str) -> float | None:
        """Amperes that leave a part by one of its terminals, over the group; None where another part draws from the
        group too."""
        group = self.group(node, case.open_devices)
        if group is None:
            return None
        total = 0.0
        for here in group:
            for conductor, sign in self.conductors.get(here, ()):
                result = design.conductors.get(conductor)
                total += sign * result.current_a.get(case.id, 0.0) if result is not None else 0.0
        return total


def incidence(system: System) -> Incidence:
    """The index of a system, by node."""
    conductors: dict[str, list[tuple[str, int]]] = {}
    legs: dict[str, list[tuple[str, str]]] = {}
    for conductor in system.conductors.values():
        conductors.setdefault(conductor.from_node, []).append((conductor.id, 1))
        conductors.setdefault(conductor.to_node, []).append((conductor.id, -1))
    for device in system.devices.values():
        for a, b in device.legs:
            legs.setdefault(a, []).append((device.id, b))
            legs.setdefault(b, []).append((device.id, a))
    return Incidence(system, conductors, legs, frozenset(node for pair in system.ties for node in pair))


def nodes_by_part(system: System) -> dict[str, list[Node]]:
    """The terminals of each part, in declaration order."""
    nodes: dict[str, list[Node]] = {}
    for node in system.nodes.values():
        nodes.setdefault(node.part, []).append(node)
    return nodes


def across_v(design: Design, case: Case, pos: str, neg: str) -> float | None:
    """Volts between two nodes in a case; None where either was not solved."""
    high, low = design.node_v.get(pos, {}).get(case.id), design.node_v.get(neg, {}).get(case.id)
    return None if high is None or low is None else high - low
