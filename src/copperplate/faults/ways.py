"""The ways that a short's current takes, in a circuit that is a tree of blocks.

All batteries that feed a short stand at one voltage, so that nothing flows before it, and its current is that voltage
over what the passive circuit has between the two shorted nodes (Thevenin). That circuit is a tree of blocks: a way
leads over bridges, which carry all of the current, and through blocks, whose branches share it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import inf

from copperplate.model.blocks import Block, blocks
from copperplate.model.elimination import Factors, back_solve, factor, order
from copperplate.model.groups import Groups

NEARLY_NONE = 1e-7
"""Ohms that stand for none in a loop, so that the shares of its branches are defined."""
TOGETHER = 0.99
"""Devices with this share of the most times their rating open together with that which has it."""
FLOWS_A = 0.05
"""What is less is no current: the leak of a solution."""


NO_SHARE = 1e-9
"""Of the current of a short: what less than this is of the arithmetic alone, and opens nothing."""


@dataclass(frozen=True, slots=True)
class Link:
    """A branch of the circuit: what opens by itself has its `device` and that one's rating, amperes; a conductor of the
    return its address as `back`."""

    a: int
    b: int
    ohm: complex
    device: str = ""
    rating_a: float = inf
    back: str = ""


@dataclass(frozen=True, slots=True)
class Way:
    """Ohms from end to end, and the devices that open first: by device, the share of the current that it carries.
    `times` are the times of its rating that the first has, an ampere."""

    ohm: complex = 0.0
    times: float = 0.0
    first: tuple[tuple[str, float, float], ...] = ()
    """(device, share of the current, times its rating an ampere)."""

    def on(self, other: Way) -> Way:
        """The two one after the other."""
        times = max(self.times, other.times)
        if not self.first or not other.first:
            first = self.first or other.first
        else:
            first = tuple(each for each in (*self.first, *other.first) if each[2] >= TOGETHER * times)
        return Way(self.ohm + other.ohm, times, first)

    @property
    def parts(self) -> bool:
        """Whether one of the first carries all, so that nothing flows without it."""
        return any(share > 1.0 - 1e-9 for _, share, _ in self.first)


HERE = Way()
CUT = Way(inf)


@dataclass(frozen=True, slots=True)
class Opened:
    """A device that opens, with the current through it, amperes."""

    device: str
    amperes: float


@dataclass(frozen=True, slots=True)
class Turn:
    """What a short drives, amperes, until the next devices open."""

    amperes: float
    opened: tuple[Opened, ...]


@dataclass(frozen=True, slots=True)
class Step:
    """One turn of a short, with its way and the turns before it."""

    way: Way
    turn: Turn
    earlier: tuple[Turn, ...]

    @property
    def opened(self) -> tuple[str, ...]:
        """The devices that opened before."""
        return tuple(each.device for turn in self.earlier for each in turn.opened)


class Ways:
    """The ways in a circuit, seen from one of its branches, the `root`: that of a battery."""

    def __init__(self, nodes: int, links: Sequence[Link], root: int) -> None:
        self._links = links
        self._parts = blocks(nodes, [(link.a, link.b) for link in links])
        self._solved: dict[tuple[int, frozenset[str]], _Solved] = {}
        in_parts: list[list[int]] = [[] for _ in range(nodes)]
        for number, part in enumerate(self._parts):
            for node in part.nodes:
                in_parts[node].append(number)
        self._root = next(number for number in in_parts[links[root].a] if root in self._parts[number].lines)
        self._up: dict[int, tuple[int, int]] = {}
        self.order = list(self._parts[self._root].nodes)
        """The nodes that are joined to the root, each after those that lie nearer."""
        self._anchor = {node: node for node in self.order}
        self._from = dict.fromkeys(self.order, HERE)
        self._depth = dict.fromkeys(self.order, 0)
        for node in self.order:
            for number in in_parts[node]:
                if number == self._root or (node in self._up and number == self._up[node][0]):
                    continue
                for other in self._parts[number].nodes:
                    if other != node:
                        self._up[other] = number, node
                        self._anchor[other], self._depth[other] = self._anchor[node], self._depth[node] + 1
                        self._from[other] = self._from[node].on(self._through(number, other, node, frozenset()))
                        self.order.append(other)

    def up(self, node: int) -> tuple[int, int] | None:
        """The block that leads on towards the root, and its node nearest to it: without that one the root is not
        reached. None for a node of the root's block."""
        return self._up.get(node)

    def meet(self, a: int, b: int) -> int:
        """The nearest node that both need to reach the root."""
        while a != b:
            if self._depth[a] < self._depth[b]:
                a, b = b, a
            if a not in self._up:
                return a
            a = self._up[a][1]
        return a

    def from_root(self, node: int) -> Way:
        """The way from the root's block to a node."""
        return self._from[node]

    def between(self, start: int, end: int, opened: frozenset[str] = frozenset()) -> Way:
        """The way between two nodes, some devices open; `CUT` where nothing joins them."""
        if start not in self._anchor or end not in self._anchor:
            return CUT
        if not opened and self._anchor[start] != self._anchor[end]:
            core = self._through(self._root, self._anchor[start], self._anchor[end], opened)
            return self._from[start].on(core).on(self._from[end])
        way = HERE
        for number, near, far in self._steps(start, end):
            way = way.on(self._through(number, near, far, opened))
        return way

    def core(self, start: int, end: int) -> int:
        """The node from which on the way to `end` is that from `start`: where it enters the root's block, or `start`
        itself where it does not lead that far."""
        return start if self._anchor[start] == self._anchor[end] else self._anchor[start]

    def shares(self, start: int, end: int, opened: frozenset[str]) -> Iterator[tuple[Link, float]]:
        """The branches of the way between two nodes with the share of its current that each carries."""
        for number, near, far in self._steps(start, end):
            part = self._parts[number]
            if len(part.lines) == 1:
                yield self._links[part.lines[0]], 1.0
            else:
                yield from self._block(number, opened).shares(near, far)

    def _steps(self, start: int, end: int) -> Iterator[tuple[int, int, int]]:
        """The blocks on the way between two nodes, with the nodes where it enters and leaves them."""
        here, there = list(self._climb(start)), list(self._climb(end))
        while here and there and here[-1] == there[-1]:
            here.pop()
            there.pop()
        if here and there and here[-1][0] == there[-1][0]:
            number, near, _ = here.pop()
            _, far, _ = there.pop()
            yield number, near, far
        elif self._anchor[start] != self._anchor[end]:
            yield self._root, self._anchor[start], self._anchor[end]
        yield from here
        yield from there

    def _climb(self, node: int) -> Iterator[tuple[int, int, int]]:
        while node in self._up:
            number, upper = self._up[node]
            yield number, node, upper
            node = upper

    def _through(self, number: int, near: int, far: int, opened: frozenset[str]) -> Way:
        """The way through one block."""
        part = self._parts[number]
        if len(part.lines) == 1:
            link = self._links[part.lines[0]]
            if link.device in opened:
                return CUT
            if link.rating_a == inf:
                return Way(link.ohm)
            return Way(link.ohm, 1.0 / link.rating_a, ((link.device, 1.0, 1.0 / link.rating_a),))
        return self._block(number, opened).between(near, far)

    def _block(self, number: int, opened: frozenset[str]) -> _Solved:
        part = self._parts[number]
        key = number, opened & {self._links[line].device for line in part.lines} if opened else opened
        if key not in self._solved:
            self._solved[key] = _Solved(part, self._links, opened)
        return self._solved[key]


class _Solved:
    """A block with some devices open: ohms and shares between any two of its nodes, from potentials against one."""

    def __init__(self, part: Block, links: Sequence[Link], opened: frozenset[str]) -> None:
        self._links = [links[line] for line in part.lines if not links[line].device or links[line].device not in opened]
        self._joined = Groups[int]()
        for link in self._links:
            self._joined.join(link.a, link.b)
        self._nodes = part.nodes
        self._ways: dict[tuple[int, int], Way] = {}
        self._shares: dict[tuple[int, int], tuple[tuple[Link, float], ...]] = {}

    def shares(self, near: int, far: int) -> tuple[tuple[Link, float], ...]:
        """What each branch carries of the current between two nodes of the block."""
        if (near, far) not in self._shares:
            self._volts(near, far)
        return self._shares[near, far]

    def between(self, near: int, far: int) -> Way:
        """The way between two nodes of the block."""
        if (near, far) not in self._ways:
            joined = self._joined.root(near) == self._joined.root(far)
            self._ways[near, far] = self._way(near, far) if joined else CUT
        return self._ways[near, far]

    def _way(self, near: int, far: int) -> Way:
        ohm = self._volts(near, far)
        shares: dict[str, tuple[float, float]] = {}
        for link, share in self._shares[near, far]:
            if link.rating_a < inf and share > NO_SHARE:
                shares[link.device] = max(shares.get(link.device, (0.0, 0.0)), (share, share / link.rating_a))
        times = max((each for _, each in shares.values()), default=0.0)
        first = tuple((device, *each) for device, each in shares.items() if each[1] >= TOGETHER * times > 0.0)
        return Way(ohm, times, first)

    def _volts(self, near: int, far: int) -> complex:
        """Volts between two nodes at 1 A, and so their ohms; keeps what each branch carries of it."""
        root = self._joined.root(near)
        members = [node for node in self._nodes if self._joined.root(node) == root]
        place = {node: index for index, node in enumerate(members)}
        links = [link for link in self._links if link.a in place]
        siemens = [1.0 / (link.ohm if abs(link.ohm) > NEARLY_NONE else NEARLY_NONE) for link in links]
        plan = order(len(members), [node == far for node in members], [(place[k.a], place[k.b]) for k in links])
        factors = factor(plan, siemens)
        assert isinstance(factors, Factors), "the nodes are joined to the one that is held"
        into: list[complex] = [float(node == near) for node in members]
        volts = back_solve(plan, factors, into)
        carried = (abs((volts[place[k.a]] - volts[place[k.b]]) * g) for k, g in zip(links, siemens, strict=True))
        self._shares[near, far] = tuple(zip(links, carried, strict=True))
        return volts[place[near]]


def openings(ways: Ways, start: int, end: int, driven: Callable[[complex], float]) -> Iterator[Step]:
    """What a short between two nodes opens, turn by turn until nothing flows, or nothing opens; `driven` are the
    amperes that flow over an impedance."""
    opened: frozenset[str] = frozenset()
    earlier: tuple[Turn, ...] = ()
    while True:
        way = ways.between(start, end, opened)
        amperes = driven(way.ohm)
        if amperes < FLOWS_A:
            return
        turn = Turn(amperes, tuple(Opened(device, share * amperes) for device, share, _ in way.first))
        yield Step(way, turn, earlier)
        if way.parts or not way.first:
            return
        earlier = (*earlier, turn)
        opened |= {device for device, _, _ in way.first}
