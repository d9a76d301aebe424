"""From each source outwards over the ungrounded side: the device last passed on the way to each conductor."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from copperplate.model import Alternator, Battery, Inverter, System


@dataclass(frozen=True, slots=True)
class Way:
    """One edge of the ungrounded side, as seen from a node."""

    to: str
    conductor: str
    device: str


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
            at[a].append(Way(b, conductor.id, ""))
            at[b].append(Way(a, conductor.id, ""))
    for device in system.devices.values():
        for a, b in device.legs:
            if a in at and b in at:
                at[a].append(Way(b, "", device.id))
                at[b].append(Way(a, "", device.id))
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
        if node.port not in ("pos", f"{port}.pos") or node.port.rpartition(".")[0] != port:
            continue
        found.append((part.id, node.id, part.pushes_a))
    return found


def reach(system: System, at: dict[str, list[Way]], start: str) -> dict[str, str]:
    """By node, breadth first from a source's terminal: the device last passed ("" for none)."""
    behind = {start: ""}
    for node in (front := [start]):
        for way in at[node]:
            if way.to not in behind:
                passed = bool(way.device) and system.devices[way.device].roles.protects
                behind[way.to] = way.device if passed else behind[node]
                front.append(way.to)
    return behind
