"""The circuit graph of a system, both poles: who supplies and who consumes at which nodes, and what joins the nodes.

Topology only; no number of a standard and no current enters here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Literal

from copperplate.model.groups import reached
from copperplate.model.parts import Controller, Converter, Earth, Part
from copperplate.model.system import Node, System


@dataclass(frozen=True, slots=True)
class Terminals:
    """Two nodes of a part between which it takes or gives power. `zone` is the system it belongs to there.

    `third` is the outer conductor of a split-phase output (`l2`), whose voltage is opposite to `pos`."""

    part: str
    pos: str
    neg: str
    zone: str
    nominal_v: float
    current: Literal["dc", "ac"]
    third: str = ""


@dataclass(frozen=True, slots=True)
class Edge:
    """What joins two nodes: a conductor, one leg of a device, or a tie of the system (inside a part, "" its id)."""

    id: str
    kind: Literal["conductor", "device", "part"]
    a: str
    b: str


@dataclass(frozen=True, slots=True)
class Join:
    """Two nodes that a source holds `sign` times its voltage apart."""

    part: str
    a: str
    b: str
    sign: int


@dataclass(frozen=True, eq=False)
class Graph:
    """The nodes joined by edges, in declaration order. `consumers` and `outputs` by part id; `inlets` are the AC
    inlets of inverters, by part id. `joins` are the node pairs that sources hold apart, the array's side of solar
    controllers included; loops number them on after the edges."""

    edges: tuple[Edge, ...]
    at: Mapping[str, tuple[int, ...]]
    consumers: Mapping[str, Terminals]
    outputs: Mapping[str, Terminals]
    inlets: Mapping[str, Terminals]
    joins: tuple[Join, ...] = ()

    @cached_property
    def below(self) -> frozenset[str]:
        """Nodes of the second line of a split phase, which is held below its neutral."""
        thirds = (ends.third for ends in self.outputs.values() if ends.third)
        return frozenset(reached(thirds, lambda node: (self.other(n, node) for n in self.at.get(node, ()))))

    def holds(self, part: str) -> bool:
        """Whether the part's output holds the voltage of its zone."""
        ends = self.outputs.get(part)
        return ends is not None and any(join.a == ends.pos for join in self._by_part.get(part, ()))

    @cached_property
    def _by_part(self) -> Mapping[str, tuple[Join, ...]]:
        found: dict[str, tuple[Join, ...]] = {}
        for join in self.joins:
            found[join.part] = (*found.get(join.part, ()), join)
        return found

    def other(self, edge: int, node: str) -> str:
        """The far end of an edge seen from `node`."""
        found = self.edges[edge]
        return found.b if found.a == node else found.a


@lru_cache(maxsize=1)
def graph(system: System) -> Graph:
    """The graph of every conductor, device leg and tie, switches closed; that of the last system is kept."""
    by_part: dict[str, list[Node]] = {}
    for node in system.nodes.values():
        by_part.setdefault(node.part, []).append(node)
    edges = [Edge(c.id, "conductor", c.from_node, c.to_node) for c in system.conductors.values()]
    for device in system.devices.values():
        edges += [Edge(device.id, "device", a, b) for a, b in device.legs]
    consumers: dict[str, Terminals] = {}
    outputs: dict[str, Terminals] = {}
    inlets: dict[str, Terminals] = {}
    for part in system.parts.values():
        nodes = by_part.get(part.id, [])
        for port in part.roles.draws_at:
            found = _terminals(part, nodes, port)
            if found is not None:
                consumers[part.id] = found
                break
        if part.roles.gives_at is not None:
            found = _terminals(part, nodes, part.roles.gives_at)
            if found is not None:
                outputs[part.id] = found
        if part.roles.transfers:
            found = _terminals(part, nodes, "ac-in")
            if found is not None:
                inlets[part.id] = found
    edges += [Edge("", "part", a, b) for a, b in system.ties]
    at: dict[str, list[int]] = {node: [] for node in system.nodes}
    for number, edge in enumerate(edges):
        at.setdefault(edge.a, []).append(number)
        at.setdefault(edge.b, []).append(number)
    by_node = {node: tuple(here) for node, here in at.items()}
    joins = tuple(_joins(system, consumers, outputs))
    return Graph(tuple(edges), by_node, consumers, outputs, inlets, joins)


def _joins(system: System, consumers: Mapping[str, Terminals], outputs: Mapping[str, Terminals]) -> Iterator[Join]:
    """What each source holds apart. A converter on the bars of a battery holds nothing: it pushes."""
    banked = {ends.zone for part, ends in outputs.items() if system.parts[part].roles.stores}
    for part, ends in outputs.items():
        source = system.parts[part]
        if source.holds_voltage and not (isinstance(source, Converter) and ends.zone in banked):
            yield Join(part, ends.pos, ends.neg, 1)
            if ends.third:
                yield Join(part, ends.third, ends.neg, -1)
    for part, ends in consumers.items():
        if isinstance(system.parts[part], Controller):
            yield Join(part, ends.pos, ends.neg, 1)


def _terminals(part: Part, nodes: Iterable[Node], port: str) -> Terminals | None:
    """The two nodes of a part at `port`; None where the plate wires no such pair."""
    by_pole: dict[str, Node] = {}
    for node in nodes:
        within = node.id.removeprefix(part.id).lstrip(".").split(".")
        stem = ".".join(within[:-1]) if within[-1] in ("pos", "neg", "mid", "l", "l1", "l2", "n", "pe") else ""
        if stem == port and node.pole not in by_pole:
            by_pole[node.pole] = node
    if "pos" in by_pole and "neg" in by_pole:
        pos, neg = by_pole["pos"], by_pole["neg"]
        return Terminals(part.id, pos.id, neg.id, pos.zone, pos.nominal_v, "dc")
    if "l1" in by_pole and "l2" in by_pole and "n" in by_pole and part.roles.gives:
        line, neutral, other = by_pole["l1"], by_pole["n"], by_pole["l2"]
        return Terminals(part.id, line.id, neutral.id, line.zone, line.nominal_v, "ac", other.id)
    if "l1" in by_pole and "l2" in by_pole:
        line, other = by_pole["l1"], by_pole["l2"]
        return Terminals(part.id, line.id, other.id, line.zone, 2 * line.nominal_v, "ac")
    for pole in ("l", "l1", "l2"):
        if pole in by_pole and "n" in by_pole:
            line, neutral = by_pole[pole], by_pole["n"]
            return Terminals(part.id, line.id, neutral.id, line.zone, line.nominal_v, "ac")
    return None


def lines_of(net: Graph, ends: Terminals) -> tuple[int, ...]:
    """The lines of a split phase that something draws from, by number."""
    return (0, 1) if ends.neg in net.below else (1,) if ends.pos in net.below else (0,)


def earth_ohm(system: System, node: str) -> float:
    """What a conducting earth adds where a conductor lands on it: half of its resistance between any two of its
    points; 0.0 at any other node."""
    part = system.parts.get(system.nodes[node].part)
    return (part.resistance_ohm or 0.0) / 2.0 if isinstance(part, Earth) and part.conducts else 0.0


def doubled_negatives(system: System) -> frozenset[frozenset[str]]:
    """The pairs of negatives that a part joins inside though both have conductors of their own, as a converter's common
    negative does: what flows in one circuit then needs no way through it."""
    wired = {end for c in system.conductors.values() for end in (c.from_node, c.to_node)}
    nodes = system.nodes
    return frozenset(
        frozenset((a, b))
        for a, b in system.ties
        if a in wired and b in wired and nodes[a].part == nodes[b].part and nodes[a].pole == "neg"
    )
