"""What the least copper of a tree of units costs at least, and a choice near it: its Lagrangian relaxation. Numbers
only.

Were a unit allowed any mixture of two of its sizes, the least copper of a subtree would be a convex function of the
slack that it must leave to the wiring above. It is made of straight pieces, each a *rate* (copper saved for a volt
given up) and a length in volts: a unit adds the pieces of its own sizes in order of their rates, a budget cuts the
steepest off, and where branches meet, their rates add up. From these pieces come the rates at which a volt is worth
giving up in each unit (the multipliers of the budgets), and from the rates a bound that no choice of sizes falls
below. A choice whose units give up only what is worth more than its rate holds every budget and is near the least.
H. Everett, Generalized Lagrange multiplier method for solving problems of optimum allocation of resources, 1963.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from heapq import heapify, heappop, heappush
from itertools import pairwise
from math import inf

EVEN = 1 + 1e-10
"""Rates nearer to each other than this are equal: the larger size is then taken, which holds every budget."""


@dataclass(frozen=True)
class LagrangianBound:
    """A subtree that must leave a certain slack. By unit: the `rate` there, and `line`, so that no choice in that
    unit and below it leaves a slack for less than line + rate x slack.

    `choice` is a choice near the least, `slack` what each unit leaves in it, `cost` what it costs (infinite where there
    is none), `gap` how much dearer it is than the bound."""

    rate: dict[int, float]
    line: dict[int, float]
    choice: dict[int, int]
    slack: dict[int, int]
    cost: float
    gap: float


@dataclass(frozen=True)
class _Hull:
    """The sizes of a unit worth having by some rate, the largest first, and the rates between them, falling, each with
    a minus."""

    options: tuple[int, ...]
    minus_rates: tuple[float, ...]
    lengths: tuple[float, ...]


Pieces = list[tuple[float, float]]
"""(minus rate, length) as a heap: the steepest first."""


class LagrangianRelaxation:
    """The relaxation of a whole tree. `order` has parents before children and every subtree in one piece; `caps` is
    the least budget of the paths that end at a unit, `losses` what each option of a unit loses."""

    def __init__(
        self,
        order: Sequence[int],
        children: Sequence[Sequence[int]],
        costs: Sequence[Sequence[int]],
        losses: Sequence[Sequence[int]],
        caps: Sequence[float],
    ) -> None:
        self.order, self.children, self.costs, self.losses, self.caps = order, children, costs, losses, caps
        self.place = {unit: n for n, unit in enumerate(order)}
        self.size = dict.fromkeys(order, 1)
        known: dict[tuple[int, int], _Hull] = {}
        self.hulls: dict[int, _Hull] = {}
        for unit in reversed(order):
            self.size[unit] += sum(self.size[child] for child in children[unit])
            key = id(costs[unit]), id(losses[unit])
            if key not in known:
                known[key] = _hull(costs[unit], losses[unit])
            self.hulls[unit] = known[key]
        self.most: dict[int, float] = {}
        self.worth = dict.fromkeys(order, inf)
        """The rate of what a budget at its parent leaves of an only child."""
        self.pieces: dict[int, tuple[list[float], list[float]]] = {}
        """Of roots and of units beside others: (minus slack at which each piece begins, its rate)."""
        self.meeting: dict[int, tuple[list[float], list[float]]] = {}
        """The same of all branches of a unit together."""
        self._gather()

    def _gather(self) -> None:
        """From the leaves to the roots."""
        heaps: dict[int, Pieces] = {}
        for unit in reversed(self.order):
            below = self.children[unit]
            slack = min((self.most[child] for child in below), default=inf)
            most = min(slack, self.caps[unit])
            if len(below) == 1:
                heap = heaps.pop(below[0])
                if most < slack:
                    _cut(heap, slack - most)
                    self.worth[below[0]] = -heap[0][0] if heap else 0.0
            elif below:
                for child in below:
                    self.pieces[child] = _laid_out(heaps.pop(child), self.most[child])
                heap, self.meeting[unit] = _together([self.pieces[child] for child in below], most)
            else:
                heap = []
            hull = self.hulls[unit]
            for piece in zip(hull.minus_rates, hull.lengths, strict=True):
                heappush(heap, piece)
            self.most[unit] = most - self.losses[unit][hull.options[0]]
            heaps[unit] = heap
        for unit, heap in heaps.items():
            self.pieces[unit] = _laid_out(heap, self.most[unit])

    def below(self, unit: int) -> Sequence[int]:
        """A unit and all below it, parents first."""
        return self.order[self.place[unit] : self.place[unit] + self.size[unit]]

    def bound(self, top: int, slack: int) -> LagrangianBound:
        """The subtree of a root, or of a unit beside others, that must leave `slack`."""
        rate = {top: _rate_at(self.pieces[top], slack)}
        choice: dict[int, int] = {}
        within = self.below(top)
        for unit in within:
            hull = self.hulls[unit]
            here = rate[unit]
            choice[unit] = hull.options[bisect_left(hull.minus_rates, -here * EVEN)]
            children = self.children[unit]
            if len(children) == 1:
                rate[children[0]] = min(here, self.worth[children[0]])
            elif children:
                rate.update(zip(children, self._parted(unit, here), strict=True))
        line: dict[int, float] = {}
        left: dict[int, float] = {}
        for unit in reversed(within):
            children, here, option = self.children[unit], rate[unit], choice[unit]
            cap = left[unit] = min([self.caps[unit], *(left[c] - self.losses[c][choice[c]] for c in children)])
            at_ends = here - sum(rate[c] for c in children)
            least = self.costs[unit][option] + here * self.losses[unit][option] + sum(line[c] for c in children)
            line[unit] = least - (at_ends * self.caps[unit] if self.caps[unit] < inf else 0.0)
            left[unit] = cap
        leaves = {top: slack}
        cost = self._filled(within, choice, left, leaves)
        return LagrangianBound(rate, line, choice, leaves, cost, max(cost - line[top] - rate[top] * slack, 0.0))

    def _filled(
        self, within: Sequence[int], choice: dict[int, int], left: dict[int, float], leaves: dict[int, int]
    ) -> float:
        """Takes smaller sizes, from the top down, as far as the slack that was left over allows; gives the cost."""
        cost = 0
        for unit in within:
            room = left[unit] - leaves[unit]
            losses = self.losses[unit]
            option = next((n for n in range(choice[unit] + 1) if losses[n] <= room), None)
            if option is None:
                return inf
            choice[unit] = option
            cost += self.costs[unit][option]
            for child in self.children[unit]:
                leaves[child] = leaves[unit] + losses[option]
        return float(cost)

    def _parted(self, unit: int, rate: float) -> list[float]:
        """The rate of a unit parted among its branches, each by its own pieces at the slack they have in common."""
        starts, rates = self.meeting[unit]
        children = self.children[unit]
        at = bisect_left(rates, -rate, key=lambda r: -r)
        common = -starts[at] if at < len(starts) else -inf
        parts = [_rate_at(self.pieces[child], common, after=True) for child in children]
        rest = rate - sum(parts)
        ends = self.caps[unit] < inf and common >= self.caps[unit]
        if rest > 0.0 and not ends:
            for n, child in enumerate(children):
                more = min(rest, max(_rate_at(self.pieces[child], common) - parts[n], 0.0))
                parts[n] += more
                rest -= more
            parts[min(range(len(children)), key=lambda n: self.most[children[n]])] += rest
        elif rest < 0.0:
            whole = sum(parts)
            parts = [part * rate / whole for part in parts]
        return parts


def _hull(costs: Sequence[int], losses: Sequence[int]) -> _Hull:
    """The lower convex hull of (loss, cost), from the least loss."""
    kept: list[int] = []
    for option in sorted(range(len(costs)), key=lambda n: (losses[n], costs[n])):
        if kept and (costs[option] >= costs[kept[-1]] or losses[option] == losses[kept[-1]]):
            continue
        while len(kept) > 1 and _rate(costs, losses, kept[-2], kept[-1]) <= _rate(costs, losses, kept[-1], option):
            kept.pop()
        kept.append(option)
    minus_rates = tuple(-_rate(costs, losses, a, b) for a, b in pairwise(kept))
    return _Hull(tuple(kept), minus_rates, tuple(float(losses[b] - losses[a]) for a, b in pairwise(kept)))


def _rate(costs: Sequence[int], losses: Sequence[int], larger: int, smaller: int) -> float:
    return float(costs[larger] - costs[smaller]) / (losses[smaller] - losses[larger])


def _cut(heap: Pieces, volts: float) -> None:
    """Takes so many volts off the steep end."""
    while heap and volts > 0.0:
        rate, length = heappop(heap)
        if length > volts:
            heappush(heap, (rate, length - volts))
        volts -= length


def _laid_out(heap: Pieces, most: float) -> tuple[list[float], list[float]]:
    """The pieces one after another, from the most slack down."""
    starts, rates, here = [], [], most
    for minus_rate, length in sorted(heap):
        starts.append(-here)
        rates.append(-minus_rate)
        here -= length
    starts.append(-here)
    rates.append(0.0)
    return starts, rates


def _rate_at(pieces: tuple[list[float], list[float]], slack: float, after: bool = False) -> float:
    """The rate at a slack; where two pieces meet the steeper, or the one `after` it."""
    starts, rates = pieces
    at = bisect_left(starts, -slack) - 1
    if after and at + 1 < len(starts) and starts[at + 1] == -slack:
        at += 1
    return rates[max(at, 0)]


def _together(
    branches: Sequence[tuple[list[float], list[float]]], most: float
) -> tuple[Pieces, tuple[list[float], list[float]]]:
    """Branches side by side: at every slack their rates add up."""
    steps: list[tuple[float, float]] = []
    for starts, rates in branches:
        before = 0.0
        for start, rate in zip(starts, rates, strict=True):
            steps.append((max(start, -most), rate - before))
            before = rate
    steps.sort()
    heap: Pieces = []
    laid: tuple[list[float], list[float]] = [], []
    rate = 0.0
    for n, (start, change) in enumerate(steps):
        rate += change
        if n + 1 < len(steps) and steps[n + 1][0] == start:
            continue
        length = steps[n + 1][0] - start if n + 1 < len(steps) else inf
        laid[0].append(start)
        laid[1].append(max(rate, 0.0) if length < inf else 0.0)
        if length < inf:
            heap.append((-max(rate, 0.0), length))
    heapify(heap)
    return heap, laid
