"""From each source outwards over the ungrounded side: the device last passed on the way to each conductor."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

from copperplate.model import Alternator, Battery, Inverter, System


@dataclass
class SourceTree:
    """A breadth-first tree from one source's terminal. By conductor: the node that it is entered by, and the device
    last passed before it ("" for none). By node: its parent edge, metres since the source or the last device, and
    metres since the last bar."""

    source: str
    entered: dict[str, str] = field(default_factory=dict)
    device: dict[str, str] = field(default_factory=dict)
    since_m: dict[str, float] = field(default_factory=dict)
    bar_m: dict[str, float] = field(default_factory=dict)
    behind: dict[str, str] = field(default_factory=dict)
    """By node: the device last passed."""


@dataclass(frozen=True, slots=True)
class Way:
    """One edge of the ungrounded side, as seen from a node."""

    to: str
    conductor: str
    device: str
    metres: float


def ungrounded(system: System) -> frozenset[str]:
    """The poles that devices must open: the negative too where it floats."""
    return frozenset({"pos", "mid"} | ({"neg"} if system.settings.negative == "floating" else set()))


LINES = frozenset({"l", "l1", "l2"})
"""The poles that AC devices must open."""


@lru_cache(maxsize=4)
def ways(system: System, poles: frozenset[str]) -> dict[str, list[Way]]:
    """Edges by node, of these poles."""
    at: dict[str, list[Way]] = {node.id: [] for node in system.nodes.values() if node.pole in poles}
    for conductor in system.conductors.values():
        a, b = conductor.from_node, conductor.to_node
        if a in at and b in at:
            at[a].append(Way(b, conductor.id, "", conductor.length_m))
            at[b].append(Way(a, conductor.id, "", conductor.length_m))
    for device in system.devices.values():
        for a, b in device.legs:
            if a in at and b in at:
                at[a].append(Way(b, "", device.id, 0.0))
                at[b].append(Way(a, "", device.id, 0.0))
    for inlet, outlet in handed_through(system) if poles == LINES else ():
        if inlet in at and outlet in at:
            at[inlet].append(Way(outlet, "", "", 0.0))
    return at


def handed_through(system: System) -> list[tuple[str, str]]:
    """(inlet, outlet) of the AC terminals by which a part hands its supply through."""
    pairs: list[tuple[str, str]] = []
    for node in system.nodes.values():
        part, outlet = system.parts.get(node.part), node.id.replace(".ac-in.", ".ac-out.")
        if part is not None and part.roles.transfers and outlet != node.id and outlet in system.nodes:
            pairs.append((node.id, outlet))
    return pairs


def feeding(system: System) -> list[tuple[str, str]]:
    """(source, node) of what can feed a large fault current: batteries, alternators that do not limit themselves."""

    poles = ungrounded(system)
    sources = {p.id for p in system.of(Battery, Alternator) if not p.self_limiting}
    return [(node.part, node.id) for node in system.nodes.values() if node.pole in poles and node.part in sources]


def supplying(system: System) -> list[tuple[str, str, float]]:
    """(source, node, amperes at most) of the line terminals of AC supplies; 0.0 where the plate gives no figure."""
    found: list[tuple[str, str, float]] = []
    for node in system.nodes.values():
        part = system.parts.get(node.part)
        if part is not None and part.roles.mains and node.pole in LINES and node.port.startswith("ac-out"):
            amperes = part.current_a or (part.power_w or 0.0) / node.nominal_v
            found.append((part.id, node.id, amperes))
    return found


def pushing(system: System) -> list[tuple[str, str, float]]:
    """(source, node, amperes at most) of DC sources that limit their own current."""
    found: list[tuple[str, str, float]] = []
    for node in system.nodes.values():
        part = system.parts.get(node.part)
        if part is None or not part.roles.pushes_current or node.pole != "pos":
            continue
        # An inverter charges by the terminals that it draws at.
        port = "" if isinstance(part, Inverter) else part.roles.gives_at
        if node.port.rpartition(".")[0] != port:
            continue
        found.append((part.id, node.id, part.pushes_a))
    return found


def reach(system: System, at: dict[str, list[Way]], source: str, start: str) -> SourceTree:
    """The tree from one source. Bars are the terminals of parts (a way's terminal lies behind its device) and nodes
    where three ways meet."""
    behind_ways = {b for device in system.devices.values() if device.panel for _, b in device.legs}

    def bar(node: str) -> bool:
        return len(at[node]) >= 3 or (bool(system.nodes[node].part) and node not in behind_ways)

    found = SourceTree(source)
    found.behind[start], found.since_m[start], found.bar_m[start] = "", 0.0, 0.0
    front = [start]
    for node in front:
        for way in at[node]:
            if way.to in found.behind:
                if way.conductor and way.conductor not in found.entered:
                    found.entered[way.conductor], found.device[way.conductor] = node, found.behind[node]
                continue
            passed = bool(way.device) and system.devices[way.device].roles.protects
            found.behind[way.to] = way.device if passed else found.behind[node]
            found.since_m[way.to] = 0.0 if passed else found.since_m[node] + way.metres
            from_bar = 0.0 if bar(node) else found.bar_m[node]
            found.bar_m[way.to] = float("inf") if passed else from_bar + way.metres
            if way.conductor:
                found.entered[way.conductor], found.device[way.conductor] = node, found.behind[node]
            front.append(way.to)
    return found
