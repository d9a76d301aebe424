"""The ungrounded side of a system as a graph: terminals and bars, joined by conductors and in-line devices."""

from __future__ import annotations

from dataclasses import dataclass

from copperplate.model import DC_POLES, Part, System


@dataclass(frozen=True, slots=True)
class Link:
    """One edge: a conductor, one leg of a device, or a transfer switch inside an inverter.

    `device` is the device's id, `protective` whether it opens on overcurrent; `conductor` the conductor's id."""

    a: int
    b: int
    length_m: float = 0.0
    conductor: str = ""
    device: str = ""
    protective: bool = False


@dataclass(frozen=True)
class Circuit:
    """Nodes by number, links by number, and the links at each node.

    `sources` are (node, part id) of what can feed a large fault current: batteries and alternators that are not
    self-limiting. `limited` are (node, part id, amperes, together) of the rest: what they push at most, and whether
    they push at the same time as others (AC supplies take turns)."""

    names: tuple[str, ...]
    links: tuple[Link, ...]
    at: tuple[tuple[int, ...], ...]
    sources: tuple[tuple[int, str], ...]
    limited: tuple[tuple[int, str, float, bool], ...]

    def other(self, link: int, node: int) -> int:
        """The far end of a link seen from `node`."""
        edge = self.links[link]
        return edge.b if edge.a == node else edge.a


def feeds_faults(part: Part) -> bool:
    """Whether a part can feed a fault with more than its own rating. Converters, inverters on their DC side,
    chargers, solar arrays, controllers and self-limiting alternators cannot."""
    return part.roles.gives and not (part.roles.limited or part.self_limiting or part.roles.mains)


def pushes_at(part: Part, port: str) -> bool:
    """Whether a part pushes a direct current at a port of it; an inverter does so by charging."""
    stem = "" if part.roles.mains else part.roles.gives_at
    return part.roles.pushes_current and port.split(".")[0] == (stem or "pos")


def largest_a(part: Part, nominal_v: float) -> float:
    """What a source that limits its own current pushes at most, amperes; 0.0 where the plate does not tell."""
    if not part.roles.mains:
        return part.pushes_a
    return part.current_a or (part.power_w / nominal_v if part.power_w and nominal_v > 0.0 else 0.0)


def ungrounded(system: System) -> frozenset[str]:
    """The poles that protection must break: the negative too where it floats."""
    poles = {"pos", "mid", "l", "l1", "l2"}
    return frozenset(poles | {"neg"} if system.settings.negative == "floating" else poles)


def ungrounded_circuit(system: System) -> Circuit:
    """The ungrounded conductors and every device leg on them, in declaration order."""
    poles = ungrounded(system)
    nodes = {node.id: node for node in system.nodes.values() if node.pole in poles}
    number = {name: index for index, name in enumerate(nodes)}
    links: list[Link] = [
        Link(number[c.from_node], number[c.to_node], c.length_m, conductor=c.id)
        for c in system.conductors.values()
        if c.from_node in number and c.to_node in number and system.runs[c.run].role == "run"
    ]
    for device in system.devices.values():
        links += [
            Link(number[a], number[b], device=device.id, protective=device.roles.protects)
            for a, b in device.legs
            if a in number and b in number
        ]
    sources: list[tuple[int, str]] = []
    limited: list[tuple[int, str, float, bool]] = []
    inlets: dict[tuple[str, str], int] = {}
    outlets: dict[tuple[str, str], int] = {}
    for name, node in nodes.items():
        part = system.parts.get(node.part)
        if part is None:
            continue
        direct = node.pole in DC_POLES
        if direct and feeds_faults(part):
            sources.append((number[name], part.id))
        elif direct and pushes_at(part, node.port) and not part.roles.mains:
            limited.append((number[name], part.id, largest_a(part, node.nominal_v), direct))
        elif not direct and part.roles.mains and node.port.startswith("ac-out"):
            limited.append((number[name], part.id, largest_a(part, node.nominal_v), direct))
            outlets[(part.id, node.pole)] = number[name]
        elif not direct and part.roles.transfers and node.port.startswith("ac-in"):
            inlets[(part.id, node.pole)] = number[name]
    # An inverter with an AC inlet hands the supply through to its outlet.
    links += [Link(inlets[key], outlets[key]) for key in inlets if key in outlets]
    at: list[list[int]] = [[] for _ in nodes]
    for index, link in enumerate(links):
        at[link.a].append(index)
        at[link.b].append(index)
    return Circuit(tuple(nodes), tuple(links), tuple(tuple(here) for here in at), tuple(sources), tuple(limited))
