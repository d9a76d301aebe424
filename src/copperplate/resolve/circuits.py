"""Which nodes hang together: connected nodes by pole, the sources and consumers on them, and their zones."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from copperplate.model import Part, Pole, Settings
from copperplate.resolve.addresses import node_id
from copperplate.resolve.landings import leg_of, negative_bar
from copperplate.resolve.wires import Wire, Wiring
from copperplate.text import Span


class Joined:
    """Nodes joined into groups (disjoint sets; each group is known by one of its nodes)."""

    def __init__(self) -> None:
        self._parent: dict[str, str] = {}

    def find(self, node: str) -> str:
        parent = self._parent
        root = node
        while (above := parent.get(root, root)) != root:
            root = above
        while node != root:
            parent[node], node = root, parent.get(node, root)
        return root

    def join(self, one: str, other: str) -> None:
        first, second = self.find(one), self.find(other)
        if first != second:
            self._parent[second] = first


@dataclass(frozen=True)
class Terminals:
    """A part as a source or a consumer: its positive (or line) and negative (or neutral) node, and the voltage
    that it gives or wants, where it says one."""

    part: Part
    live: str
    back: str
    voltage_v: float | None
    span: Span


@dataclass
class Circuits:
    """How a plate hangs together."""

    joined: Joined
    reached: set[str]
    """Nodes that at least one conductor reaches."""
    ties: list[tuple[str, str]]
    sources: list[Terminals]
    mains: list[Terminals]
    zone: dict[str, str] = field(default_factory=dict)
    """By group of nodes: the id of the source that feeds it."""
    nominal: dict[str, float] = field(default_factory=dict)

    def zone_of(self, node: str) -> str:
        return self.zone.get(self.joined.find(node), "")


def connect(wiring: Wiring, poles: Mapping[str, Pole], crossed: set[str], settings: Settings) -> Circuits:
    """Joins the nodes of every wire and of every way; conductors to an earth that does not conduct join nothing."""
    joined = Joined()
    reached: set[str] = set()
    ties: list[tuple[str, str]] = []
    for wire in wiring.wires:
        for near, far in wire.joined():
            reached.update((near, far))
            if wire.id not in crossed and not is_earthing(wire, poles):
                joined.join(near, far)
                if not wire.leg.line:
                    ties.append((near, far))
        for landing in (wire.near, wire.far):
            if landing.way is not None:
                for behind, before in way_legs(wiring, landing.part, landing.way, landing.nodes, wire):
                    joined.join(before, behind)
                    reached.add(before)
    for part in wiring.parts.values():
        if part.kind == "converter" and part.values.get("isolation") == "common-negative":
            pair = (node_id(part.id, "in.neg"), node_id(part.id, "out.neg"))
            ties.append(pair)
            joined.join(*pair)
            if reached.intersection(pair):
                reached.update(pair)
    return Circuits(joined, reached, ties, _sources(wiring), _mains(wiring, settings))


def is_earthing(wire: Wire, poles: Mapping[str, Pole]) -> bool:
    """True for a single conductor that earths or bonds and carries no current in service."""
    return wire.keys == ("",) and "pe" in (poles.get(wire.near.nodes[""]), poles.get(wire.far.nodes[""]))


def way_legs(wiring: Wiring, panel: str, way: int, nodes: Mapping[str, str], wire: Wire) -> list[tuple[str, str]]:
    """(node behind the way's device, node before it) for every pole that the way's device opens."""
    part = wiring.parts[panel]
    behind = f"{panel}.{way}"
    legs: list[tuple[str, str]] = []
    for key, node in nodes.items():
        if node != behind and not node.startswith(f"{behind}."):
            continue
        if not part.values.get("ac"):
            legs.append((node, f"{panel}.feed" if node == behind else negative_bar(part, wiring.parts)))
            continue
        line = key or "l"
        if line == "l" and wiring.ends.lines_of(part, "ac-in") == 4:
            line = f"l{leg_of(wire.leg, wiring.ends) or 2 - way % 2}"
        legs.append((node, f"{panel}.ac-in.{line}"))
    return legs


def _sources(wiring: Wiring) -> list[Terminals]:
    """DC sources, batteries first: what defines the voltage of what hangs on them."""
    found: list[Terminals] = []
    for part in wiring.parts.values():
        v = part.values
        live, back, volts, key = "pos", "neg", None, ""
        if part.kind == "battery":
            volts, key = v["voltage_v"] * v["series"], "voltage_v"
        elif part.kind == "alternator":
            volts, key = v.get("voltage_v"), "voltage_v"
        elif part.kind in ("charger", "controller"):
            volts, key = v.get("out_v"), "out_v"
        elif part.kind == "converter":
            live, back, volts, key = "out.pos", "out.neg", v["out_v"], "out_v"
        elif part.kind == "solar":
            volt = v.get("vmp_v") or v.get("voc_v")
            volts, key = volt * v["series"] if volt else None, "vmp_v"
        elif part.kind == "inverter" and "charges_a" in v:
            pass
        else:
            continue
        span = part.spans.get(key, part.span)
        found.append(Terminals(part, node_id(part.id, live), node_id(part.id, back), volts, span))
    rank = {"battery": 0, "solar": 2}
    return sorted(found, key=lambda source: rank.get(source.part.kind, 1))


def _mains(wiring: Wiring, settings: Settings) -> list[Terminals]:
    """AC sources, once for each of their lines; their voltage is that of a line to neutral."""
    found: list[Terminals] = []
    default = 230.0 if settings.ac == "230" else 120.0
    for part in wiring.parts.values():
        if part.kind not in ("shore", "generator", "inverter"):
            continue
        lines = ("l1", "l2") if wiring.ends.lines.get((part.id, "ac-out")) == 4 else ("l",)
        key = "ac_v" if part.kind == "inverter" else "voltage_v"
        volts = part.values.get(key) or default
        if len(lines) == 2 and volts > 200:
            volts = volts / 2
        span = part.spans.get(key, part.span)
        back = f"{part.id}.ac-out.n"
        found += [Terminals(part, f"{part.id}.ac-out.{line}", back, volts, span) for line in lines]
    return found
