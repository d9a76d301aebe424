"""The circuit graph of a system, both poles: who supplies and who consumes at which nodes, what joins the nodes,
and the way that a consumer's current takes from its source and back.

Topology only; no number of a standard and no current enters here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

from copperplate.model.system import Node, Part, System

SUPPLY_PORTS: dict[str, tuple[str, ...]] = {
    "load": ("", "ac-in"),
    "inverter": ("",),
    "charger": ("ac-in",),
    "converter": ("in",),
    "controller": ("pv",),
}
"""Where each kind takes its power: the ports to try, in order; "" for a plain `pos` and `neg`."""
OUTPUT_PORTS: dict[str, str] = {
    "battery": "",
    "converter": "out",
    "inverter": "ac-out",
    "charger": "",
    "solar": "",
    "controller": "",
    "alternator": "",
    "shore": "ac-out",
    "generator": "ac-out",
}
HOLDING = ("battery", "converter", "inverter", "shore", "generator")
"""Kinds whose output holds a voltage; the others push a current. A converter that charges pushes too."""


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


@dataclass(frozen=True)
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
        front = list(dict.fromkeys(ends.third for ends in self.outputs.values() if ends.third))
        found = set(front)
        for node in front:
            for number in self.at.get(node, ()):
                other = self.other(number, node)
                if other not in found:
                    found.add(other)
                    front.append(other)
        return frozenset(found)

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


def holds(part: Part) -> bool:
    """Whether the part's output holds a voltage by its kind: a zone without a battery is then supplied by it."""
    return part.kind in HOLDING and not (part.kind == "converter" and part.get("charges", False))


def graph(system: System) -> Graph:
    """The graph of every conductor, device leg and tie, switches closed."""
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
        for port in SUPPLY_PORTS.get(part.kind, ()):
            found = _terminals(part, nodes, port)
            if found is not None:
                consumers[part.id] = found
                break
        if part.kind in OUTPUT_PORTS:
            found = _terminals(part, nodes, OUTPUT_PORTS[part.kind])
            if found is not None:
                outputs[part.id] = found
        if part.kind == "inverter":
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


def _joins(
    system: System, consumers: Mapping[str, Terminals], outputs: Mapping[str, Terminals]
) -> Iterator[Join]:
    """What each source holds apart. A converter on the bars of a battery holds nothing: it pushes."""
    banked = {ends.zone for part, ends in outputs.items() if system.parts[part].kind == "battery"}
    for part, ends in outputs.items():
        kind = system.parts[part].kind
        if holds(system.parts[part]) and not (kind == "converter" and ends.zone in banked):
            yield Join(part, ends.pos, ends.neg, 1)
            if ends.third:
                yield Join(part, ends.third, ends.neg, -1)
    for part, ends in consumers.items():
        if system.parts[part].kind == "controller":
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
    if "l1" in by_pole and "l2" in by_pole and "n" in by_pole and part.kind != "load":
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


@dataclass(frozen=True, slots=True)
class Step:
    """One edge of a path; `along` +1 where the path runs through it from `a` to `b`, else -1; `reached` is the
    node at its far end. On the way back to the source the current runs towards the source."""

    edge: Edge
    along: int
    reached: str


@dataclass(frozen=True)
class Paths:
    """Ways from the sources of each zone to its consumers. `to` maps a consumer to its steps from the source's
    positive terminal to its own and from its own negative terminal back, in that order; `source` to the source at
    the beginning. A consumer whose way is missing has no entry."""

    to: Mapping[str, tuple[Step, ...]]
    source: Mapping[str, str]
    origin: Mapping[str, tuple[str, str]] = field(default_factory=dict)


def paths(system: System, net: Graph) -> Paths:
    """The shortest way (fewest edges, then declaration order) of every consumer's current, out and back."""
    trees: dict[str, Reach] = {}
    to: dict[str, tuple[Step, ...]] = {}
    source: dict[str, str] = {}
    origin: dict[str, tuple[str, str]] = {}
    for part, ends in net.consumers.items():
        tree = trees.get(ends.zone)
        if tree is None:
            tree = trees[ends.zone] = reach(system, net, ends.zone)
        out = tree.walk(net, ends.pos)
        back = tree.walk(net, ends.neg)
        if out is None or back is None:
            continue
        feeding, first, steps_out = out
        _, last, steps_back = back
        to[part] = steps_out + tuple(Step(s.edge, -s.along, s.reached) for s in _turned(net, steps_back, last))
        source[part] = feeding
        origin[part] = (first, last)
    return Paths(to, source, origin)


def _turned(net: Graph, steps: tuple[Step, ...], start: str) -> tuple[Step, ...]:
    """Steps from `start` outwards, walked back towards it."""
    reached = [start, *(step.reached for step in steps)]
    return tuple(Step(step.edge, step.along, reached[i]) for i, step in reversed(list(enumerate(steps))))


@dataclass(frozen=True)
class Reach:
    """Breadth-first trees from the terminals of a zone's source, nodes in the order they were reached: by node, the
    edge towards the source (-1 at its terminal), that terminal, and by terminal the source."""

    towards: dict[str, int]
    root: dict[str, str]
    source_of_root: dict[str, str]

    def walk(self, net: Graph, node: str) -> tuple[str, str, tuple[Step, ...]] | None:
        """The source that reaches a node, the terminal it begins at, and the steps; None where none does."""
        if node not in self.root:
            return None
        steps: list[Step] = []
        here = node
        while self.towards[here] >= 0:
            number = self.towards[here]
            edge = net.edges[number]
            steps.append(Step(edge, 1 if edge.b == here else -1, here))
            here = net.other(number, here)
        return self.source_of_root[here], here, tuple(reversed(steps))


def reach(system: System, net: Graph, zone: str) -> Reach:
    """What a zone is reached from. Of several sources (batteries in parallel, supplies that take turns) it is the one
    with the longest leads, which stands for the others being out."""
    sources = [part for part, ends in net.outputs.items() if ends.zone == zone and net.holds(part)]
    trees = [_spread(system, net, net.outputs[part]) for part in sources]
    if not trees:
        return Reach({}, {}, {})
    if len(trees) == 1:
        return trees[0]
    ends = next((e for e in net.consumers.values() if e.zone == zone), None)

    def lead_m(tree: Reach) -> float:
        ways = [tree.walk(net, node) for node in (ends.pos, ends.neg)] if ends is not None else []
        steps = [step for way in ways if way is not None for step in way[2]]
        return sum(
            system.conductors[s.edge.id].length_m / system.runs[system.conductors[s.edge.id].run].parallel
            for s in steps
            if s.edge.kind == "conductor"
        )

    return max(trees, key=lead_m)


def _spread(system: System, net: Graph, ends: Terminals) -> Reach:
    """Breadth first from the terminals of one source."""
    found = Reach({}, {}, {})
    front: list[str] = []
    for node in (ends.pos, ends.neg, ends.third):
        if node:
            found.root[node], found.source_of_root[node], found.towards[node] = node, ends.part, -1
            front.append(node)
    for node in front:
        for number in net.at[node]:
            other = net.other(number, node)
            if other not in found.root:
                found.root[other], found.towards[other] = found.root[node], number
                front.append(other)
    return found


def loops(net: Graph) -> tuple[tuple[int, ...], ...]:
    """The loops of the graph: its two-connected parts of more than one edge, as rising numbers of edges, and of
    joins after them. Linear in edges.

    What hangs on by one edge is stripped first, which leaves nothing of a radial plate; the rest is parted by
    R. Tarjan, Depth-first search and linear graph algorithms, 1972."""
    ends = [(edge.a, edge.b) for edge in net.edges] + [(join.a, join.b) for join in net.joins]
    at: dict[str, dict[int, None]] = {}
    for number, (a, b) in enumerate(ends):
        if a != b:
            at.setdefault(a, {})[number] = None
            at.setdefault(b, {})[number] = None
    hanging = [node for node, here in at.items() if len(here) == 1]
    for node in hanging:
        for number in at.pop(node, ()):
            a, b = ends[number]
            other = b if a == node else a
            if other in at:
                del at[other][number]
                if len(at[other]) == 1:
                    hanging.append(other)
    return tuple(block for block in _blocks(ends, {node: tuple(here) for node, here in at.items()}) if len(block) > 1)


def is_ring(net: Graph, loop: tuple[int, ...]) -> bool:
    """Whether a loop is one of conductors and devices alone: equal conductors around it share its current by their
    lengths. A loop through sources (batteries in parallel, supplies that take turns) or through the common negative
    of a converter does not: any one of its ways may have to carry all."""
    return all(number < len(net.edges) and net.edges[number].kind != "part" for number in loop)


def joins_batteries(system: System, net: Graph, loop: tuple[int, ...]) -> bool:
    """Whether a loop goes through batteries in parallel, whose leads are then laid in one size."""
    parts = [net.joins[n - len(net.edges)].part for n in loop if n >= len(net.edges)]
    return bool(parts) and all(system.parts[part].kind == "battery" for part in parts)


def _blocks(ends: Sequence[tuple[str, str]], at: Mapping[str, tuple[int, ...]]) -> Iterator[tuple[int, ...]]:
    """Two-connected parts of what is joined in `at`, as rising edge numbers."""
    seen: dict[str, int] = {}
    low: dict[str, int] = {}
    for root in at:
        if root in seen:
            continue
        seen[root] = low[root] = len(seen)
        stack = [(root, -1, iter(at[root]))]
        trail: list[int] = []
        while stack:
            node, came_by, onward = stack[-1]
            for number in onward:
                if number == came_by:
                    continue
                a, b = ends[number]
                other = b if a == node else a
                if other not in seen:
                    trail.append(number)
                    seen[other] = low[other] = len(seen)
                    stack.append((other, number, iter(at[other])))
                    break
                if seen[other] < seen[node]:
                    trail.append(number)
                    low[node] = min(low[node], seen[other])
            else:
                stack.pop()
                if not stack:
                    continue
                above = stack[-1][0]
                low[above] = min(low[above], low[node])
                if low[node] >= seen[above]:
                    block = [trail.pop()]
                    while block[-1] != came_by:
                        block.append(trail.pop())
                    yield tuple(sorted(block))
