"""The smallest short that each device must clear, and how it comes about."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, reduce
from math import inf

from copperplate.faults.banks import Bank
from copperplate.faults.ways import Link, Ways
from copperplate.faults.wiring import Wiring, live, returning, wiring
from copperplate.model import Converter, Earth, System, Traced
from copperplate.model.graph import Graph
from copperplate.model.groups import Groups
from copperplate.model.results import Clearing, RunResult

FLOWS_A = 0.05
"""What is less is no current: the leak of a solution."""


@dataclass(frozen=True, slots=True)
class Opened:
    """A device that opened before, with the current through it, amperes."""

    device: str
    amperes: float


@dataclass(frozen=True, slots=True)
class FarEnd:
    """The smallest short that must open a device: at the end of `conductor`. `earlier` are the
    devices that open before it, turn by turn."""

    current: Traced
    conductor: str
    clearing: Clearing
    earlier: tuple[tuple[Opened, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class _Feed:
    """What drives a short: a battery at its low end behind its resistance, or a converter alone at its output voltage
    with `limit_a`, the most that it gives."""

    part: str
    pos: str
    neg: str
    volts: float
    inner_ohm: float
    limit_a: float = inf


def smallest(
    system: System,
    net: Graph,
    runs: Mapping[str, RunResult],
    banks: Mapping[str, Bank],
    rating_a: Mapping[str, float | None],
) -> dict[str, FarEnd]:
    """By device: the least current at which it opens, of all bolted shorts.

    A short is made at both ends of every live conductor, to the first negative that all share which give or take
    current behind it, and at the terminals of all that takes current; with a conducting body, to the body as well.
    Each battery feeds it alone, at the low end of its range, and all that a case
    leaves joined feed it together at the lowest of theirs; copper is as hot as its insulation allows, out and back;
    a converter gives what it does at most, where no battery stands in its circuit. What limits its own current
    drives none. The device with the most times its rating opens, those that have nearly as many with it, and the
    rest is solved again until nothing flows."""
    circuit = _Circuit(system, net, runs, rating_a)
    feeds = list(_feeds(system, net, banks))
    found: dict[str, FarEnd] = {}
    shorts: dict[str, list[tuple[int, int]]] = {}
    for feed in feeds:
        ways = circuit.ways((feed,), frozenset())
        shorts[feed.part] = _shorts(circuit, net, feed, ways)
        conductors = circuit.conductors(feed.pos)
        for node, back in shorts[feed.part]:
            _clear(circuit, ways, (feed,), node, back, conductors, found)
    batteries = [feed for feed in feeds if feed.limit_a == inf]
    for opened in dict.fromkeys(case.open_devices for case in system.cases) if len(batteries) > 1 else ():
        for joined in circuit.joined(batteries, opened):
            ways, conductors = circuit.ways(joined, opened), circuit.conductors(joined[0].pos)
            for node, back in dict.fromkeys(short for feed in joined for short in shorts[feed.part]):
                _clear(circuit, ways, joined, node, back, conductors, found)
    return found


def _feeds(system: System, net: Graph, banks: Mapping[str, Bank]) -> Iterator[_Feed]:
    zones = {net.outputs[part].zone for part in banks if part in net.outputs}
    for part, ends in net.outputs.items():
        source = system.parts[part]
        if part in banks:
            ohm = banks[part].resistance_ohm
            if ohm is not None:
                yield _Feed(part, ends.pos, ends.neg, banks[part].low_v, ohm)
        elif isinstance(source, Converter) and source.pushes_a and ends.zone not in zones:
            yield _Feed(part, ends.pos, ends.neg, source.out_v or ends.nominal_v, 0.0, source.pushes_a)


class _Circuit:
    """Both poles as one: the live nodes first, then those of the return."""

    def __init__(
        self, system: System, net: Graph, runs: Mapping[str, RunResult], rating_a: Mapping[str, float | None]
    ) -> None:
        self.system = system
        self.out = wiring(system, net, runs, live, None)
        self.back = wiring(system, net, runs, returning, None)
        self.first_back = len(self.out.names)
        self.names = (*self.out.names, *self.back.names)
        self._rating_a = rating_a
        self._links = [*self._of(self.out, 0), *self._of(self.back, self.first_back)]

    def _of(self, pole: Wiring, first: int) -> Iterator[Link]:
        for branch in pole.branches:
            device = branch.id if branch.id in self.system.devices else ""
            rating = self._rating_a.get(device) if branch.opens else None
            yield Link(first + branch.a, first + branch.b, branch.ohm, device, rating or inf)

    @cached_property
    def number(self) -> dict[str, int]:
        return {name: index for index, name in enumerate(self.names)}

    def is_body(self, node: int) -> bool:
        """Whether a node of the return is a conducting body."""
        part = self.system.parts.get(self.system.nodes[self.names[node]].part)
        return isinstance(part, Earth) and part.conducts

    def ways(self, feeds: Sequence[_Feed], opened: frozenset[str]) -> Ways:
        """The ways of shorts that some sources feed, seen from the first of them."""
        links = [link for link in self._links if link.device not in opened] if opened else list(self._links)
        links += [Link(self.number[feed.pos], self.number[feed.neg], feed.inner_ohm) for feed in feeds]
        return Ways(len(self.names), links, len(links) - len(feeds))

    def is_terminal(self, node: int) -> bool:
        """Whether a node belongs to a part."""
        return bool(self.system.nodes[self.names[node]].part)

    @cached_property
    def region(self) -> list[int]:
        """By node, what is joined to it without a protective device between."""
        groups = Groups[int]()
        for link, branch in zip(self._links, (*self.out.branches, *self.back.branches), strict=True):
            if not branch.opens:
                groups.join(link.a, link.b)
        return [groups.root(node) for node in range(len(self.names))]

    def joined(self, feeds: Iterable[_Feed], opened: frozenset[str]) -> Iterator[tuple[_Feed, ...]]:
        """Sources that stand in one circuit with some devices open, where there are several."""
        groups = Groups[int]()
        for link in self._links:
            if link.device not in opened and link.a < self.first_back:
                groups.join(link.a, link.b)
        by_root: dict[int, list[_Feed]] = {}
        for feed in feeds:
            by_root.setdefault(groups.root(self.number[feed.pos]), []).append(feed)
        yield from (tuple(together) for together in by_root.values() if len(together) > 1)

    def conductors(self, start: str) -> dict[int, str]:
        """By live node, the last conductor on the way to it."""
        found = {self.number[start]: ""}
        for node in (front := list(found)):
            for branch in self.out.at[node]:
                other = branch.other(node)
                if other not in found:
                    found[other] = branch.id if branch.conductor else found[node]
                    front.append(other)
        return found


def _shorts(circuit: _Circuit, net: Graph, feed: _Feed, ways: Ways) -> list[tuple[int, int]]:
    """(live node, node of the return) of each short that a source may drive alone, the nearest first."""
    number = circuit.number
    reached = set(ways.order)
    ends_of = [*net.consumers.values(), *(ends for part, ends in net.outputs.items() if part != feed.part)]
    users = [(number[each.pos], number[each.neg]) for each in ends_of if {each.pos, each.neg} <= number.keys()]
    users = [pair for pair in users if reached.issuperset(pair)]
    takes = [(number[each.pos], number[each.neg]) for each in net.consumers.values() if each.pos in number]
    joined = set(users)
    takes = [pair for pair in takes if pair in joined]
    shared = _Shared(circuit, ways, number[feed.pos], number[feed.neg], users)
    ends = {end for line in circuit.out.branches if line.conductor for end in (line.a, line.b)} & reached
    bodies = [node for node in sorted(reached) if node >= circuit.first_back and circuit.is_body(node)]
    found: dict[tuple[int, int], None] = {}
    for node in sorted(ends, key=lambda node: (ways.from_root(node).ohm, node)):
        found[node, shared.first(node)] = None
        found.update(dict.fromkeys((node, body) for body in bodies))
    return [*found, *(pair for pair in takes if pair not in found)]


class _Shared:
    """The first negative that all share which stand at a live node or behind it: without it none of them reaches the
    source. What lies behind a further protective device has a conductor of its own from there on, and its negative
    counts where its return lands. Where nothing lies behind a node, all counts that its branch from the source leads
    to."""

    def __init__(self, circuit: _Circuit, ways: Ways, start: int, end: int, users: Iterable[tuple[int, int]]) -> None:
        self._circuit, self._ways, self._end = circuit, ways, end
        self._near: dict[int, int] = {}
        """Of what stands behind a node without a device between."""
        self._far: dict[int, int] = {}
        """Of what stands behind a further device, where its return lands."""
        landed: dict[int, int] = {}
        self._branch: dict[int, int] = {}
        self._by_region: dict[int, dict[int, tuple[int, int]]] = {}
        """By branch from the source and region there: what all share in it, and where their returns land."""
        region = circuit.region
        for node in ways.order:
            if (up := ways.up(node)) is not None:
                self._branch[node] = up[0] if up[1] == start else self._branch.get(up[1], -1)
        for pos, neg in users:
            lands = self._landing(neg)
            self._add(self._near, pos, neg)
            self._add(landed, pos, lands)
            regions = self._by_region.setdefault(self._branch.get(pos, -1), {})
            both = regions.get(region[pos], (neg, lands))
            regions[region[pos]] = ways.meet(both[0], neg), ways.meet(both[1], lands)
        for node in reversed(ways.order):
            up = ways.up(node)
            if up is None or node not in landed:
                continue
            self._add(landed, up[1], landed[node])
            if region[node] != region[up[1]]:
                self._add(self._far, up[1], landed[node])
                continue
            for table in (self._near, self._far):
                if node in table:
                    self._add(table, up[1], table[node])

    def first(self, node: int) -> int:
        """The negative to which a short at a node is made."""
        here = [table[node] for table in (self._near, self._far) if node in table]
        if not here:
            regions = self._by_region.get(self._branch.get(node, -1), {})
            here = [each[region != self._circuit.region[node]] for region, each in regions.items()]
        return reduce(self._ways.meet, here) if here else self._end

    def _add(self, table: dict[int, int], node: int, neg: int) -> None:
        table[node] = self._ways.meet(table[node], neg) if node in table else neg

    def _landing(self, neg: int) -> int:
        """The terminal of another part at which the conductor of a negative lands."""
        while (up := self._ways.up(neg)) is not None:
            neg = up[1]
            if self._circuit.is_terminal(neg):
                return neg
        return self._end


def _clear(
    circuit: _Circuit,
    ways: Ways,
    feeds: Sequence[_Feed],
    node: int,
    back: int,
    conductors: Mapping[int, str],
    found: dict[str, FarEnd],
) -> None:
    """Opens device after device at a short, and keeps it for those of which it is the smallest."""
    volts, limit_a = min(feed.volts for feed in feeds), min(feed.limit_a for feed in feeds)
    opened: frozenset[str] = frozenset()
    earlier: tuple[tuple[Opened, ...], ...] = ()
    while True:
        way = ways.between(node, back, opened)
        amperes = min(volts / way.ohm if way.ohm > 0.0 else inf, limit_a)
        if amperes < FLOWS_A or not way.first:
            return
        for device, share, _ in way.first:
            if device not in found or share * amperes < found[device].current.value:
                found[device] = _far_end(circuit, ways, feeds, node, back, conductors, way.ohm, share, earlier)
        if way.parts:
            return
        earlier = (*earlier, tuple(Opened(device, share * amperes) for device, share, _ in way.first))
        opened |= {device for device, _, _ in way.first}


def _far_end(
    circuit: _Circuit,
    ways: Ways,
    feeds: Sequence[_Feed],
    node: int,
    back: int,
    conductors: Mapping[int, str],
    ohm: float,
    share: float,
    earlier: tuple[tuple[Opened, ...], ...],
) -> FarEnd:
    feed, *others = feeds
    opened = frozenset(each.device for turn in earlier for each in turn)
    volts = min(each.volts for each in feeds)
    amperes = volts / ohm if ohm > 0.0 else inf
    inputs: list[tuple[str, float | str, str]] = []
    formula = "lowest voltage / (battery + conductors as hot as their insulation allows, out and back)"
    out_ohm = back_ohm = None
    if others:
        inputs += [(f"{' and '.join(each.part for each in feeds)}, lowest", volts, "V")]
        inputs += [("batteries and conductors, hot", ohm * 1000, "mohm")]
    else:
        out_ohm = ways.between(circuit.number[feed.pos], node, opened).ohm
        back_ohm = ways.between(back, circuit.number[feed.neg], opened).ohm
        inputs.append((f"{feed.part}, lowest", volts, "V"))
        if feed.inner_ohm:
            inputs.append((f"{feed.part} resistance", feed.inner_ohm * 1000, "mohm"))
        inputs += [("out, hot", out_ohm * 1000, "mohm"), ("back, hot", back_ohm * 1000, "mohm")]
    if amperes > feed.limit_a:
        amperes, formula = feed.limit_a, "what the converter gives at most"
        inputs.append((f"{feed.part} gives", feed.limit_a, "A"))
    if share < 1.0:
        inputs.append(("its share", share, ""))
    if earlier:
        inputs.append(("devices that open before it", ", ".join(each.device for turn in earlier for each in turn), ""))
    source = "common practice: one source alone, far end of the conductor"
    if others:
        source = "common practice: sources that a case joins, far end of the conductor"
    current = Traced(share * amperes, "A", "smallest fault current", formula, tuple(inputs), source, "practice")
    conductor = conductors.get(node) or next((line.id for line in circuit.out.at[node] if line.conductor), "")
    names, parts = circuit.names, tuple(each.part for each in feeds)
    clearing = Clearing(names[node], names[back], parts, out_ohm, back_ohm, len(earlier) + 1)
    return FarEnd(current, conductor, clearing, earlier)
