"""The shorts of which each device's smallest is taken: from a live node to a node of the return."""

from __future__ import annotations

from collections.abc import Iterable
from functools import reduce

from copperplate.faults.circuit import Circuit, Feed
from copperplate.faults.ways import Ways
from copperplate.model.graph import Graph


def shorts_from(circuit: Circuit, net: Graph, feed: Feed, ways: Ways) -> list[tuple[int, int]]:
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

    def __init__(self, circuit: Circuit, ways: Ways, start: int, end: int, users: Iterable[tuple[int, int]]) -> None:
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
