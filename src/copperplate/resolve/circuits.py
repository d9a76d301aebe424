"""Which nodes hang together: connected nodes by pole, the sources and consumers on them, and their zones."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from copperplate.model import Battery, Converter, Inverter, Part, Pole, Solar
from copperplate.model.groups import Groups
from copperplate.resolve.addresses import DC_PAIR, node_id, part_of
from copperplate.resolve.approaches import leg_of
from copperplate.resolve.landings import negative_bar
from copperplate.resolve.wires import Wire, Wiring
from copperplate.standards import mains, profile
from copperplate.text import Span


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

    joined: Groups
    reached: set[str]
    """Nodes that at least one conductor reaches."""
    ties: list[tuple[str, str]]
    sources: list[Terminals]
    mains: list[Terminals]
    zone: dict[str, str] = field(default_factory=dict)
    """By group of nodes: the id of the source that feeds it."""
    nominal: dict[str, float] = field(default_factory=dict)

    @cached_property
    def reached_parts(self) -> frozenset[str]:
        """The parts that at least one conductor reaches."""
        return frozenset(map(part_of, self.reached))

    def zone_of(self, node: str) -> str:
        return self.zone.get(self.joined.root(node), "")


def connect(wiring: Wiring, poles: Mapping[str, Pole], crossed: set[str]) -> Circuits:
    """Joins the nodes of every wire and of every way; conductors to an earth that does not conduct join nothing."""
    joined = Groups[str]()
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
        if isinstance(part, Converter) and part.isolation == "common-negative":
            pair = (node_id(part.id, "in.neg"), node_id(part.id, "out.neg"))
            ties.append(pair)
            joined.join(*pair)
            if reached.intersection(pair):
                reached.update(pair)
    return Circuits(joined, reached, ties, _sources(wiring), _mains(wiring))


def is_earthing(wire: Wire, poles: Mapping[str, Pole]) -> bool:
    """True for a single conductor that earths or bonds and carries no current in service."""
    return wire.keys == ("",) and "pe" in (poles.get(wire.near.nodes[""]), poles.get(wire.far.nodes[""]))


def way_legs(wiring: Wiring, panel: str, way: int, nodes: Mapping[str, str], wire: Wire) -> list[tuple[str, str]]:
    """(node behind the way's device, node before it) for every pole that the way's device opens."""
    part = wiring.panel(panel)
    behind = f"{panel}.{way}"
    legs: list[tuple[str, str]] = []
    for key, node in nodes.items():
        if node != behind and not node.startswith(f"{behind}."):
            continue
        if not part.ac:
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
        if part.roles.gives and not part.roles.mains:
            base, volts, key = part.roles.gives_at or "", part.gives_v, part.output_key
        elif isinstance(part, Inverter) and part.charges_a is not None:
            base, volts, key = "", None, ""
        else:
            continue
        live, back = (node_id(part.id, base, pole) for pole in DC_PAIR)
        found.append(Terminals(part, live, back, volts, part.spans.get(key, part.span)))
    rank = {Battery: 0, Solar: 2}
    return sorted(found, key=lambda source: rank.get(type(source.part), 1))


def _mains(wiring: Wiring) -> list[Terminals]:
    """AC sources, once for each of their lines; their voltage is that of a line to neutral."""
    found: list[Terminals] = []
    settings = wiring.settings
    default = mains(settings.ac or profile(settings.rules).ac).line_v
    for part in wiring.parts.values():
        if not part.roles.mains:
            continue
        lines = ("l1", "l2") if wiring.ends.lines.get((part.id, "ac-out")) == 4 else ("l",)
        volts = part.gives_v or default
        if len(lines) == 2 and volts > 200:
            volts = volts / 2
        span = part.spans.get(part.output_key, part.span)
        back = f"{part.id}.ac-out.n"
        found += [Terminals(part, f"{part.id}.ac-out.{line}", back, volts, span) for line in lines]
    return found
