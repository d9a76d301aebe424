"""Supply paths: how a consumer's current comes from its source and goes back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from copperplate.model.graph import Edge, Graph, Terminals
from copperplate.model.side_by_side import never_loaded
from copperplate.model.system import System


@dataclass(frozen=True, slots=True)
class Step:
    """One edge of a path; `along` +1 where the path runs through it from `a` to `b`, else -1; `reached` is the
    node at its far end. On the return the current runs towards the source."""

    edge: Edge
    along: int
    reached: str


@dataclass(frozen=True)
class Paths:
    """Supply paths from the sources of each zone to its consumers. `to` maps a consumer to its steps from the source's
    positive terminal to its own and from its own negative terminal back, in that order; `source` to the source at
    the beginning. A consumer without a path has no entry."""

    to: Mapping[str, tuple[Step, ...]]
    source: Mapping[str, str]
    origin: Mapping[str, tuple[str, str]] = field(default_factory=dict)


def paths(system: System, net: Graph) -> Paths:
    """The shortest path (fewest edges, then declaration order) of every consumer's current, out and back."""
    zones = dict.fromkeys(ends.zone for ends in net.consumers.values())
    return _paths(net, {zone: reach(system, net, zone) for zone in zones})


def paths_by_source(system: System, net: Graph) -> tuple[Paths, ...]:
    """Where several sources hold a zone, the paths from each of them alone, the zones with one source left out."""
    zones = dict.fromkeys(ends.zone for ends in net.consumers.values())
    by_zone = {zone: reaches(system, net, zone) for zone in zones}
    return tuple(_paths(net, {zone: tree}) for zone, trees in by_zone.items() if len(trees) > 1 for tree in trees)


def _paths(net: Graph, trees: Mapping[str, Reach]) -> Paths:
    """The paths of the consumers of these zones, each by the tree of its zone."""
    reached = {
        part: path
        for part, ends in net.consumers.items()
        if ends.zone in trees and (path := _path(net, trees[ends.zone], ends)) is not None
    }
    return Paths(
        to={part: steps for part, (_, _, steps) in reached.items()},
        source={part: source for part, (source, _, _) in reached.items()},
        origin={part: origin for part, (_, origin, _) in reached.items()},
    )


def _path(net: Graph, tree: Reach, ends: Terminals) -> tuple[str, tuple[str, str], tuple[Step, ...]] | None:
    """A consumer's source, that one's two terminals, and the steps out and back."""
    out = tree.walk(net, ends.pos)
    back = tree.walk(net, ends.neg)
    if out is None or back is None:
        return None
    feeding, first, steps_out = out
    _, last, steps_back = back
    steps = steps_out + tuple(Step(s.edge, -s.along, s.reached) for s in _turned(steps_back, last))
    return feeding, (first, last), steps


def _turned(steps: tuple[Step, ...], start: str) -> tuple[Step, ...]:
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
    with the longest leads, which stands for the others being out: of those whose sizes are left out, if any are, for
    they are sized by it."""
    trees = reaches(system, net, zone)
    if not trees:
        return Reach({}, {}, {})
    if len(trees) == 1:
        return trees[0]
    ends = next((e for e in net.consumers.values() if e.zone == zone), None)
    leads = [_wires(net, tree, ends) for tree in trees]
    common = set.intersection(*(set(wires) for wires in leads))

    def lead(number: int) -> tuple[bool, float]:
        wires = [system.conductors[c] for c in leads[number]]
        free = any(system.runs[wire.run].size is None for wire in wires if wire.id not in common)
        return free, sum(wire.length_m / system.runs[wire.run].parallel for wire in wires)

    return trees[max(range(len(trees)), key=lead)]


def reaches(system: System, net: Graph, zone: str) -> list[Reach]:
    """What a zone is reached from, by each of its sources alone, not over what bridges banks for other ends."""
    parted = never_loaded(system, net) | system.diodes
    sources = [part for part, ends in net.outputs.items() if ends.zone == zone and net.holds(part)]
    return [_spread(net, net.outputs[part], parted) for part in sources]


def _wires(net: Graph, tree: Reach, ends: Terminals | None) -> list[str]:
    """The conductors between a source and a consumer, out and back."""
    walks = [tree.walk(net, node) for node in (ends.pos, ends.neg)] if ends is not None else []
    return [s.edge.id for walk in walks if walk is not None for s in walk[2] if s.edge.kind == "conductor"]


def _spread(net: Graph, ends: Terminals, parted: frozenset[str]) -> Reach:
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
            if other not in found.root and net.edges[number].id not in parted:
                found.root[other], found.towards[other] = found.root[node], number
                front.append(other)
    return found
