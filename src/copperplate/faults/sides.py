"""What each side of a branch brings into a short of both its ends, without the branch.

Every circuit with sources is, seen from one of its nodes, a current beside a conductance (E. L. Norton). Over a bridge
of r ohms (J, G) becomes J/(1 + rG), G/(1 + rG); what meets at a node adds; inside a block of branches that close
loops a sparse elimination serves. Once up the tree of blocks and once down gives every branch both its sides, with
sums and quotients of positive numbers alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import accumulate
from typing import NamedTuple

from copperplate.model.blocks import Block, blocks
from copperplate.model.elimination import Factors, back_solve, factor, order
from copperplate.model.groups import Groups, reached


class Norton(NamedTuple):
    """What a node sees: the amperes that it brings into a short, its siemens, and which sources reach it (a bit
    each)."""

    amperes: float
    siemens: float
    sources: int

    def beside(self, other: Norton) -> Norton:
        """Two at one node."""
        return Norton(self.amperes + other.amperes, self.siemens + other.siemens, self.sources | other.sources)

    def over(self, ohm: float) -> Norton:
        """The same seen over a resistance."""
        share = 1.0 / (1.0 + ohm * self.siemens)
        return Norton(self.amperes * share, self.siemens * share, self.sources)


NOTHING = Norton(0.0, 0.0, 0)
Wire = tuple[int, int, float]
"""Two nodes and the ohms between them; ohms without limit where current passes from the first to the second alone,
which it does without loss."""
ONE_WAY = float("inf")
BLOCKED_OHM = 1e6
"""What stands for no way back in a loop."""


def sides(
    nodes: int, wires: Sequence[Wire], given: Sequence[Norton], asked: Sequence[int]
) -> dict[int, tuple[Norton, Norton]]:
    """By branch that is `asked`, what comes to its first end and to its second with both shorted to a return without
    ohms and the branch taken out. `given` is what stands at each node by itself. Linear on trees. In a loop what passes
    one way passes nothing: no bank stands before it."""
    parts = blocks(nodes, [(a, b) for a, b, _ in wires])
    hanging: list[list[int]] = [[] for _ in range(nodes)]
    for number, part in enumerate(parts):
        hanging[part.nodes[0]].append(number)
    beside: list[dict[int, Norton]] = [{} for _ in parts]
    upward = [NOTHING] * len(parts)
    for number, part in enumerate(parts):
        for node in part.nodes[1:]:
            beside[number][node] = _sum([given[node], *(upward[lower] for lower in hanging[node])])
        upward[number] = _brought(part, wires, beside[number], part.nodes[0])
    lower_nodes = {node for part in parts for node in part.nodes[1:]}
    for node in range(nodes):
        if node not in lower_nodes:
            _hand_down(node, given[node], hanging[node], upward, parts, beside)
    for number in reversed(range(len(parts))):
        part = parts[number]
        for node in part.nodes[1:]:
            if hanging[node]:
                above = _brought(part, wires, beside[number], node).beside(given[node])
                _hand_down(node, above, hanging[node], upward, parts, beside)
    wanted = set(asked)
    found: dict[int, tuple[Norton, Norton]] = {}
    for number, part in enumerate(parts):
        for line in part.lines:
            if line in wanted:
                a, b, _ = wires[line]
                alone = len(part.lines) == 1
                found[line] = (
                    (beside[number][a], beside[number][b]) if alone else _in_block(part, wires, beside[number], line)
                )
    return found


def _sum(all_of: Sequence[Norton]) -> Norton:
    total = all_of[0]
    for each in all_of[1:]:
        total = total.beside(each)
    return total


def _hand_down(
    node: int,
    above: Norton,
    hanging: Sequence[int],
    upward: Sequence[Norton],
    parts: Sequence[Block],
    beside: Sequence[dict[int, Norton]],
) -> None:
    """Tells each block that hangs on a node what else meets there: all that comes before it and after it."""
    before = list(accumulate((upward[number] for number in hanging), Norton.beside, initial=above))
    after = list(accumulate((upward[number] for number in reversed(hanging)), Norton.beside, initial=NOTHING))
    for place, number in enumerate(hanging):
        beside[number][node] = before[place].beside(after[len(hanging) - 1 - place])


def _brought(part: Block, wires: Sequence[Wire], beside: dict[int, Norton], end: int) -> Norton:
    """What a block brings to one of its nodes, apart from what stands on that node."""
    others = [node for node in part.nodes if node != end]
    if len(part.lines) == 1:
        _, onward, ohm = wires[part.lines[0]]
        if ohm == ONE_WAY:
            return beside[others[0]] if end == onward else NOTHING
        return beside[others[0]].over(ohm)
    sources = 0
    for node in others:
        sources |= beside[node].sources
    if not any(beside[node].siemens > 0.0 for node in others):
        return Norton(0.0, 0.0, sources)
    dense = _Dense(part, wires, {node: beside[node] for node in others}, -1, ())
    volts, ohm = dense.volts(dense.injected)[dense.of(end)], dense.volts(dense.unit(end))[dense.of(end)]
    return Norton(volts / ohm, 1.0 / ohm, sources)


def _in_block(part: Block, wires: Sequence[Wire], beside: dict[int, Norton], line: int) -> tuple[Norton, Norton]:
    """Both sides of a branch that lies on a loop."""
    a, b, _ = wires[line]
    dense = _Dense(part, wires, beside, line, (a, b))
    volts = dense.volts(dense.injected)
    first, second = (
        Norton(dense.into(end, volts), 0.0, _reaching(part, wires, beside, line, end, other))
        for end, other in ((a, b), (b, a))
    )
    return first, second


def _reaching(
    part: Block, wires: Sequence[Wire], beside: dict[int, Norton], line: int, start: int, without: int
) -> int:
    """The sources that reach a node of a block without a branch and without another node."""
    at: dict[int, list[int]] = {}
    for each in part.lines:
        if each != line and without not in wires[each][:2]:
            a, b, _ = wires[each]
            at.setdefault(a, []).append(b)
            at.setdefault(b, []).append(a)
    found = 0
    for node in reached((start,), lambda node: at.get(node, ())):
        found |= beside[node].sources
    return found


class _Dense:
    """The nodes of a block, those without ohms between them made one, with what stands at each; some shorted."""

    def __init__(
        self, part: Block, wires: Sequence[Wire], beside: dict[int, Norton], without: int, shorted: Sequence[int]
    ) -> None:
        joined = Groups[int]()
        kept = [line for line in part.lines if line != without]
        for line in kept:
            a, b, ohm = wires[line]
            if ohm <= 0.0:
                joined.join(a, b)
        self._place: dict[int, int] = {}
        for node in part.nodes:
            self._place.setdefault(joined.root(node), len(self._place))
        self._joined = joined
        ground = len(self._place)
        held = [False] * ground + [True]
        for node in shorted:
            held[self.of(node)] = True
        self.injected = [0.0] * (ground + 1)
        self._wires = [(self.of(a), self.of(b), 1.0 / ohm) for a, b, ohm in self._between(kept, wires)]
        branches = list(self._wires)
        for node, norton in beside.items():
            self.injected[self.of(node)] += norton.amperes
            if norton.siemens > 0.0:
                branches.append((self.of(node), ground, norton.siemens))
        self._plan = order(ground + 1, held, [(a, b) for a, b, _ in branches])
        factors = factor(self._plan, [siemens for _, _, siemens in branches])
        assert isinstance(factors, Factors), "a block is joined to what holds it"
        self._factors = factors

    def _between(self, kept: Sequence[int], wires: Sequence[Wire]) -> Iterator[Wire]:
        for line in kept:
            a, b, ohm = wires[line]
            if ohm > 0.0 and self.of(a) != self.of(b):
                yield a, b, min(ohm, BLOCKED_OHM)

    def of(self, node: int) -> int:
        return self._place[self._joined.root(node)]

    def unit(self, node: int) -> list[float]:
        """One ampere into a node."""
        return [float(place == self.of(node)) for place in range(len(self.injected))]

    def volts(self, amperes: Sequence[float]) -> list[float]:
        return back_solve(self._plan, self._factors, list(amperes))

    def into(self, node: int, volts: Sequence[float]) -> float:
        """What comes into a shorted node."""
        place, total = self.of(node), self.injected[self.of(node)]
        for a, b, siemens in self._wires:
            if place in (a, b):
                total += siemens * volts[b if place == a else a]
        return total
