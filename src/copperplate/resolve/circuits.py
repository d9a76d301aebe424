"""Which nodes hang together: connected nodes by pole, the sources on them, and their zones."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from copperplate.model import Battery, Converter, Inverter, Part, Pole, Selector, Settings, Solar
from copperplate.model.groups import Groups
from copperplate.resolve.addresses import AC_POLES, DC_PAIR, node_id, part_of
from copperplate.resolve.approaches import leg_of
from copperplate.resolve.bars import bars_by_polarity
from copperplate.resolve.landings import Landing, negative_bar
from copperplate.resolve.reading import Reading
from copperplate.resolve.wires import Wire, Wiring
from copperplate.standards import mains, profile
from copperplate.text import Span


@dataclass(frozen=True)
class Output:
    """A part as a source: its positive (or line) and negative (or neutral) node, and the voltage that it gives,
    where it states one."""

    part: Part
    live: str
    back: str
    voltage_v: float | None
    span: Span


@dataclass
class Circuits:
    """How a plate hangs together."""

    wiring: Wiring
    poles: Mapping[str, Pole]
    """By node."""
    joined: Groups[str] = field(default_factory=Groups)
    """The nodes, gathered into groups that conductors and ways join."""
    reached: set[str] = field(default_factory=set)
    """Nodes that at least one conductor reaches."""
    ties: list[tuple[str, str]] = field(default_factory=list)
    zone: dict[str, str] = field(default_factory=dict)
    """By group of nodes: the id of the source that feeds it."""
    nominal: dict[str, float] = field(default_factory=dict)
    """By group of nodes: the nominal voltage of that source, V."""

    @property
    def parts(self) -> dict[str, Part]:
        """The parts of the plate."""
        return self.wiring.parts

    @property
    def settings(self) -> Settings:
        """The settings of the plate."""
        return self.wiring.settings

    @property
    def reading(self) -> Reading:
        """The plate while it is read."""
        return self.wiring.reading

    @cached_property
    def bars(self) -> Mapping[str, tuple[str, ...]]:
        """The bars of the plate by polarity."""
        return bars_by_polarity(self.parts)

    @cached_property
    def outputs(self) -> tuple[Output, ...]:
        """Every source: those of DC, batteries first, and those of AC."""
        return (*_sources(self.wiring), *_mains(self.wiring))

    @cached_property
    def connected(self) -> tuple[Output, ...]:
        """The sources whose live node a conductor reaches."""
        return tuple(output for output in self.outputs if output.live in self.reached)

    @cached_property
    def reached_parts(self) -> frozenset[str]:
        """The parts that at least one conductor reaches."""
        return frozenset(map(part_of, self.reached))

    @cached_property
    def powered_parts(self) -> frozenset[str]:
        """The parts of which a terminal is reached, and not only a control port."""
        controls = {n for w in self.wiring.wires for end in w.landings if end.control for n in end.nodes.values()}
        return frozenset(map(part_of, self.reached - controls))

    @cached_property
    def led_parts(self) -> frozenset[str]:
        """The parts that made-up leads end at."""
        ends = (end for lead in self.wiring.leads.values() for end in (lead.from_end, lead.to_end))
        return frozenset(map(part_of, ends))

    def root(self, node: str) -> str:
        """The node that stands for the group of `node`."""
        return self.joined.root(node)

    def zone_of(self, node: str) -> str:
        """The id of the source that feeds a node; "" where none does."""
        return self.zone.get(self.root(node), "")


def connect(
    wiring: Wiring, poles: Mapping[str, Pole], crossed: set[str], one: Iterable[tuple[str, str]] = ()
) -> Circuits:
    """Joins the nodes of every wire and of every way, and those pairs that are `one` terminal; conductors to an earth
    that does not conduct join nothing."""
    circuits = Circuits(wiring, poles)
    joined, reached, ties = circuits.joined, circuits.reached, circuits.ties
    for wire in wiring.wires:
        for near, far in wire.joined():
            reached.update((near, far))
            if wire.id not in crossed and not is_earthing(wire, poles):
                joined.join(near, far)
                if not wire.leg.line:
                    ties.append((near, far))
        for landing in wire.landings:
            for before, behind in way_legs(wiring, landing, wire):
                joined.join(before, behind)
                reached.add(before)
    for pair in one:
        ties.append(pair)
        joined.join(*pair)
        reached.update(pair)
    for part in wiring.parts.values():
        for _, before, behind, opens in contact_legs(part, reached):
            joined.join(before, behind)
            if not opens:
                ties.append((before, behind))
            elif part.outputs and behind in reached:
                reached.add(before)
        if isinstance(part, Converter) and part.isolation == "common-negative":
            pair = (node_id(part.id, "in.neg"), node_id(part.id, "out.neg"))
            ties.append(pair)
            joined.join(*pair)
            if reached.intersection(pair):
                reached.update(pair)
    return circuits


def contact_legs(part: Part, reached: Container[str]) -> Iterator[tuple[str, str, str, bool]]:
    """Of a part with several inputs or outputs: (input or output, the node before it, the node behind, whether it opens
    there) of every pole that runs reach."""
    for name in part.outputs:
        yield name, node_id(part.id, part.ports[0]), node_id(part.id, name), True
    if not isinstance(part, Selector):
        return
    for name in part.inputs:
        if not part.ac:
            yield name, node_id(part.id, name), part.id, True
            continue
        opened = part.poles
        for pole in AC_POLES:
            before, behind = node_id(part.id, name, pole), node_id(part.id, pole)
            if before in reached and behind in reached:
                yield name, before, behind, pole != "pe" and opened > 0
                opened -= 1


def is_earthing(wire: Wire, poles: Mapping[str, Pole]) -> bool:
    """True for a single conductor that earths or bonds and carries no current in service."""
    if wire.keys != ("",):
        return False
    return wire.leg.bonding or "pe" in (poles.get(wire.near.nodes[""]), poles.get(wire.far.nodes[""]))


def way_legs(wiring: Wiring, landing: Landing, wire: Wire) -> Iterator[tuple[str, str]]:
    """(node before the device of a way, node behind it) for every pole that it opens; none where the wire does not
    land on a way."""
    if landing.way is None:
        return
    panel, way = wiring.panel(landing.part), landing.way
    address = f"{panel.id}.{way}"
    for key, node in landing.nodes.items():
        if node != address and not node.startswith(f"{address}."):
            continue
        if not panel.ac:
            yield f"{panel.id}.feed" if node == address else negative_bar(panel, wiring.parts), node
            continue
        line = key or "l"
        if line == "l" and wiring.ends.lines_of(panel, "ac-in") == 4:
            line = f"l{leg_of(wire.leg, wiring.ends) or 2 - way % 2}"
        yield f"{panel.id}.ac-in.{line}", node


def _sources(wiring: Wiring) -> Iterable[Output]:
    """DC sources, batteries first: what defines the voltage of what hangs on them."""
    outputs: list[Output] = []
    for part in wiring.parts.values():
        if part.roles.gives and not part.roles.mains:
            base, volts, key = part.roles.gives_at or "", part.gives_v, part.output_key
        elif isinstance(part, Inverter) and part.charges_a is not None:
            base, volts, key = "", None, ""
        else:
            continue
        live, back = (node_id(part.id, base, pole) for pole in DC_PAIR)
        outputs.append(Output(part, live, back, volts, part.spans.get(key, part.span)))
    rank = {Battery: 0, Solar: 2}
    return sorted(outputs, key=lambda output: rank.get(type(output.part), 1))


def _mains(wiring: Wiring) -> Iterator[Output]:
    """AC sources, once for each of their lines; their voltage is that of a line to neutral."""
    settings = wiring.settings
    default = mains(settings.ac or profile(settings.rules).ac).line_v
    for part in wiring.parts.values():
        if part.roles.mains:
            lines = ("l1", "l2") if wiring.ends.lines.get((part.id, "ac-out")) == 4 else ("l",)
            volts = part.gives_v or default
            if len(lines) == 2 and volts > 200:
                volts = volts / 2
            span, back = part.spans.get(part.output_key, part.span), f"{part.id}.ac-out.n"
            for line in lines:
                yield Output(part, f"{part.id}.ac-out.{line}", back, volts, span)
