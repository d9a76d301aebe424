"""Lasting overload of returns in an earthed system: the same flow on both poles."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import chain, product

from copperplate.flow.lasting import Grid
from copperplate.flow.messages import Cut, Messages
from copperplate.flow.shared import shared_cut
from copperplate.model.blocks import Block, blocks

Ranges = tuple[tuple[int, int], ...]
"""Rising ranges that do not touch, each from its first number to before its last."""

MOST_CHOICES = 8
"""What may give or take in the loops of one place is tried both ways up to so many, 256 choices."""
NOTHING = Cut(0.0, (), ())


@dataclass(frozen=True, eq=False)
class Returns:
    """The return pole of an earthed system. Its conductors carry whatever comes; a bank is source and consumer."""

    nodes: int
    ends: Sequence[tuple[int, int]]
    """The two nodes of each return conductor."""
    sources: Sequence[tuple[int, int]]
    """The live node and the return node of each source, which supplies what the grid has at its live node."""
    consumers: Sequence[tuple[int, int]]
    """The live node and the return node of each consumer."""

    @cached_property
    def blocks(self) -> tuple[Block, ...]:
        return blocks(self.nodes, self.ends)

    @cached_property
    def hanging(self) -> tuple[list[int], list[list[Ranges]]]:
        return _hanging(self.nodes, self.blocks)


def returning(grid: Grid, returns: Returns) -> tuple[tuple[Cut, Cut], ...]:
    """For each return conductor, from its first node a to its second b and the other way: the most that it may carry
    for ever, with the minimum cut of the live pole that limits it. Nothing where its ends coincide.

    From a to b flows what sources whose return lies behind b supply to the live nodes of consumers whose return lies
    on the side of a, and these take all that comes. So two devices that feed one load add in its return, and what
    several loads share is limited by the main device. In a loop of returns a takes, with all that hangs on it, and b
    gives. Each other node of the loop, with all that hangs on it, gives or takes, for what it gives to itself takes no
    return of the loop: the largest flow of all choices; with more than eight to choose, all do both at once.

    By hand: a bank (live 0, return 0) feeds a bar, live 1, through 100 A, and the bar two lamps, live 2 and 3, through
    10 A and 15 A. The returns of the lamps, nodes 2 and 3, meet at node 1, from where a conductor leads to the bank.

    >>> from math import inf
    >>> grid = Grid(4, [(0, 1), (1, 2), (1, 3)], [100, 10, 15], [100, 10, 15], [inf, 0, 0, 0], [inf, 0, inf, inf])
    >>> lamps = Returns(4, [(2, 1), (3, 1), (1, 0)], sources=[(0, 0)], consumers=[(0, 0), (2, 2), (3, 3)])
    >>> [(there.amperes, back.amperes) for there, back in returning(grid, lamps)]
    [(10.0, 0.0), (15.0, 0.0), (25.0, 0.0)]
    >>> returning(grid, lamps)[2][0]
    Cut(amperes=25.0, lines=(1, 2), supplies=())
    """
    parts = returns.blocks
    start, hanging = returns.hanging
    sources = sorted(returns.sources, key=lambda source: start[source[1]])
    consumers = sorted(returns.consumers, key=lambda consumer: start[consumer[1]])
    flows = _Flows(grid, [live for live, _ in sources], [live for live, _ in consumers])
    source_starts = [start[node] for _, node in sources]
    consumer_starts = [start[node] for _, node in consumers]
    answers = [(NOTHING, NOTHING)] * len(returns.ends)
    for number, part in enumerate(parts):
        gives = dict(zip(part.nodes, (_count(each, source_starts) for each in hanging[number]), strict=True))
        takes = dict(zip(part.nodes, (_count(each, consumer_starts) for each in hanging[number]), strict=True))
        for line in part.lines:
            a, b = returns.ends[line]
            answers[line] = (_largest(flows, gives, takes, a, b), _largest(flows, gives, takes, b, a))
    return tuple(answers)


def _largest(flows: _Flows, gives: dict[int, Ranges], takes: dict[int, Ranges], a: int, b: int) -> Cut:
    """The largest flow to the consumers at a from the sources at b, for all choices at the other nodes of the block."""
    others = [node for node in gives if node not in (a, b)]
    if not any(gives[node] for node in (b, *others)) or not any(takes[node] for node in (a, *others)):
        return NOTHING
    either = [node for node in others if gives[node] and takes[node]]
    if len(either) > MOST_CHOICES:
        either = []
    both = [node for node in others if node not in either]
    largest = NOTHING
    for choice in product((True, False), repeat=len(either)):
        giving = [b, *both, *(node for node, chosen in zip(either, choice, strict=True) if chosen)]
        taking = [a, *both, *(node for node, chosen in zip(either, choice, strict=True) if not chosen)]
        cut = flows.cut(_join(gives[node] for node in giving), _join(takes[node] for node in taking))
        largest = max(largest, cut, key=lambda cut: cut.amperes)
    return largest


class _Flows:
    """Flows from some sources to some consumers, each set in ranges of the given order; none is reckoned twice."""

    def __init__(self, grid: Grid, sources: Sequence[int], consumers: Sequence[int]) -> None:
        self._grid, self._sources, self._consumers = grid, sources, consumers
        self._messages: dict[Ranges, Messages] = {}
        self._cuts: dict[tuple[Ranges, Ranges], Cut] = {}

    def cut(self, giving: Ranges, taking: Ranges) -> Cut:
        if not giving or not taking:
            return NOTHING
        if (giving, taking) not in self._cuts:
            live = frozenset(node for first, last in taking for node in self._consumers[first:last])
            self._cuts[giving, taking] = shared_cut(self._brought(giving), live)
        return self._cuts[giving, taking]

    def _brought(self, giving: Ranges) -> Messages:
        """What some sources bring to the live nodes."""
        if giving not in self._messages:
            live = {node for first, last in giving for node in self._sources[first:last]}
            supplies = [amperes if node in live else 0.0 for node, amperes in enumerate(self._grid.supplies)]
            all_give = supplies == list(self._grid.supplies)
            self._messages[giving] = self._grid.inward if all_give else self._grid.brought(supplies)
        return self._messages[giving]


def _hanging(nodes: int, parts: Sequence[Block]) -> tuple[list[int], list[list[Ranges]]]:
    """An order of the nodes, by node its number there; and by block what hangs on each of its nodes, the node among
    it, as ranges of that order: for the top, all of the connected part but what is below the block."""
    size = [1] * nodes
    lower = [False] * nodes
    for part in parts:
        size[part.nodes[0]] += sum(size[node] for node in part.nodes[1:])
        for node in part.nodes[1:]:
            lower[node] = True
    start = [0] * nodes
    free = [0] * nodes
    whole = [(0, 0)] * nodes
    count = 0
    for node in range(nodes):
        if not lower[node]:
            start[node], free[node], whole[node] = count, count + 1, (count, count + size[node])
            count += size[node]
    hanging: list[list[Ranges]] = [[] for _ in parts]
    for number in reversed(range(len(parts))):
        top, *others = parts[number].nodes
        first = free[top]
        for node in others:
            start[node], free[node], whole[node] = free[top], free[top] + 1, whole[top]
            free[top] += size[node]
        beside = ((whole[top][0], first), (free[top], whole[top][1]))
        hanging[number] = [beside, *(((start[node], start[node] + size[node]),) for node in others)]
    return start, hanging


def _count(ranges: Ranges, starts: Sequence[int]) -> Ranges:
    """Ranges of an order as ranges of the rising places in it that are taken."""
    return _join([[(bisect_left(starts, first), bisect_left(starts, last)) for first, last in ranges]])


def _join(ranges: Iterable[Iterable[tuple[int, int]]]) -> Ranges:
    """Ranges put together: rising, none empty, those that touch made one."""
    joined: list[tuple[int, int]] = []
    for first, last in sorted(chain.from_iterable(ranges)):
        if joined and joined[-1][1] == first:
            joined[-1] = (joined[-1][0], last)
        elif first < last:
            joined.append((first, last))
    return tuple(joined)
