"""The least copper that holds every voltage-drop budget at once. Numbers only.

A *unit* is what must be one size: a run with its both poles, or the two leads of one device. It offers *options*, by
ascending area: a resistance per metre and an amount of copper. A *way* is what one load's current passes: units, each
with a weight (ampere-metres: current times length, out and back), and a budget in volts. The volts lost in a unit are
weight x resistance per metre; on each way they may not add up to more than its budget.

Exact where the ways form a tree, as the wiring of one source does: fronts of (slack left, copper spent) from which
no point can be dropped are merged up the tree, the bottom-up step of dynamic programming on trees. A first pass keeps
short fronts, rounding slack against the load. Where that dropped anything, a second pass keeps them whole and drops
only points that cannot end below the copper of the first: the units above a point need at least what conductors of
any area would, (sum of roots of loss x copper)² / slack, as Cauchy's inequality gives it.

Where the ways form no tree (`Plan.exact` is False) sizes go up one at a time, each time the one that brings most
volts for its copper, and afterwards down again wherever a budget allows it: a safe answer that may not be the least.
Nor is it exact, and as safe, where a very long chain of taps makes fronts too long to keep whole.

Ties go to the smaller largest size, then to the smaller size of the unit declared first.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf, sqrt

from copperplate.sizing.instance import Option, Way, budget, picovolts
from copperplate.sizing.stepping import step_up

MOST_ASKED = 400
"""Slacks that a unit may be asked for are listed up to here, which keeps its front short."""
FIRST = 100
"""Points of a front that the first pass keeps. Where no front grows longer it is exact, and the last."""
LONGEST = ((64, 30_000), (128, 6_000), (512, 1_500))
"""(units on the longest way, points) that the second pass keeps: long chains of taps are kept affordable, and are no
longer exact."""
LONGEST_IN_DEEPER = 300


@dataclass(frozen=True)
class Plan:
    """The option taken for each unit (None where it has none), the ways whose budget no choice can hold, and
    whether the rest is proven to be the least."""

    taken: tuple[int | None, ...]
    beyond: tuple[int, ...]
    exact: bool


Point = tuple[int, int, int]
"""(minus slack, cost, option)."""


def least(options: Sequence[Sequence[Option]], ways: Sequence[Way]) -> Plan:
    """The cheapest option of every unit so that all budgets hold that can be held at all."""
    best = [min((o.ohm_per_m for o in unit), default=0.0) for unit in options]
    held: list[int] = []
    beyond: list[int] = []
    for number, way in enumerate(ways):
        lost = sum(picovolts(w * best[u]) for u, w in way.units)
        (held if lost <= budget(way) else beyond).append(number)
    tree = _tree(len(options), [ways[n] for n in held])
    if tree is None:
        return Plan(step_up(options, [ways[n] for n in held]), tuple(beyond), False)
    fronts = _Fronts(options, [ways[n] for n in held], tree)
    taken = fronts.take(FIRST)
    if taken is None:
        return Plan(step_up(options, [ways[n] for n in held]), tuple(beyond), False)
    if fronts.thinned:
        spent = sum(cost[k] for cost, k in zip(fronts.cost, taken, strict=True))
        longest = next((points for units, points in LONGEST if fronts.depth <= units), LONGEST_IN_DEEPER)
        taken = fronts.take(longest, spent) or taken
    choice = tuple(t if unit else None for t, unit in zip(taken, options, strict=True))
    return Plan(choice, tuple(beyond), tree.uniform and not fronts.thinned)


@dataclass(frozen=True)
class _Tree:
    """Units by parent (-1 at a source), the ways that end at each unit, and the weight of every unit as each child
    sees it. `uniform` is False where loads below one child see unlike weights: the largest is then taken."""

    parent: list[int]
    children: list[list[int]]
    ends: list[list[int]]
    weight: dict[tuple[int, int], float]
    """By (unit, child unit) or (unit, -1 - way)."""
    bare: list[int]
    uniform: bool


def _tree(count: int, ways: Sequence[Way]) -> _Tree | None:
    """The tree of the units, or None where the ways do not nest: units by the number of ways through them."""
    through = [0] * count
    for way in ways:
        for unit, _ in way.units:
            through[unit] += 1
    parent = [-2] * count
    ends: list[list[int]] = [[] for _ in range(count)]
    bare: list[int] = []
    weight: dict[tuple[int, int], float] = {}
    uniform = True
    for number, way in enumerate(ways):
        above = -1
        chain = sorted(way.units, key=lambda pair: (-through[pair[0]], pair[0]))
        for place, (unit, ampere_metres) in enumerate(chain):
            if parent[unit] == -2:
                parent[unit] = above
            elif parent[unit] != above:
                return None
            child = chain[place + 1][0] if place + 1 < len(chain) else -1 - number
            known = weight.get((unit, child))
            if known is not None and abs(known - ampere_metres) > 1e-9 * max(known, ampere_metres):
                uniform = False
            weight[unit, child] = max(ampere_metres, known or 0.0)
            above = unit
        (ends[above] if chain else bare).append(number)
    children: list[list[int]] = [[] for _ in range(count)]
    for unit, above in enumerate(parent):
        if above >= 0:
            children[above].append(unit)
    return _Tree(parent, children, ends, weight, bare, uniform)


class _Fronts:
    """Fronts of every unit, children before parents, and the choice read back from the top.

    A *branch* of a unit is a child unit, or -1 - way for a way that ends there."""

    def __init__(self, options: Sequence[Sequence[Option]], ways: Sequence[Way], tree: _Tree) -> None:
        self.cost = _costs(options)
        self.budget = [budget(way) for way in ways]
        self.tree = tree
        self.fronts: dict[int, list[Point]] = {}
        self.taken = [0] * len(options)
        self.longest, self.most_cost = FIRST, inf
        self.thinned = False
        self.depth = 0
        self.above: dict[int, tuple[float, float, float]] = {}
        self.branches = [
            children + [-1 - n for n in ends] for children, ends in zip(tree.children, tree.ends, strict=True)
        ]
        self.lost: dict[tuple[int, int], list[int]] = {}
        alike: dict[tuple[int, float], list[int]] = {}
        for (unit, branch), weight in tree.weight.items():
            lost = alike.get((unit, weight))
            if lost is None:
                lost = [picovolts(weight * o.ohm_per_m) for o in options[unit]] or [0]
                alike[unit, weight] = lost
            self.lost[unit, branch] = lost

    def take(self, longest: int, most_cost: float = inf) -> list[int] | None:
        """Fronts from the leaves to the sources, then the choice from the sources to the leaves. `longest` points
        are kept of a front, and none that must end above `most_cost`. None where unlike weights, taken at their
        largest, leave a budget no choice."""
        self.longest, self.most_cost, self.thinned = longest, float(most_cost), False
        tree = self.tree
        order = [u for u, above in enumerate(tree.parent) if above == -1]
        for unit in order:
            order += tree.children[unit]
        # The most slack that each unit can leave above itself, and the least of that among its branches.
        most: dict[int, int] = {}
        narrowest: dict[int, int] = {}
        for unit in reversed(order):
            slack = [most[b] if b >= 0 else self.budget[-1 - b] for b in self.branches[unit]]
            losses = [self.lost[unit, b] for b in self.branches[unit]]
            most[unit] = min(s - min(lost) for s, lost in zip(slack, losses, strict=True))
            alike = all(lost is losses[0] for lost in losses)
            narrowest[unit] = min(slack) if alike else most[unit] + max(map(max, losses))
        if any(most[unit] < 0 for unit in order if tree.parent[unit] == -1):
            return None
        asked = dict.fromkeys(order, _Asked([0]))
        for unit in order:
            known: dict[int, _Asked] = {}
            for child in tree.children[unit]:
                lost = self.lost[unit, child]
                if id(lost) not in known:
                    known[id(lost)] = asked[unit].below(lost, narrowest[unit])
                asked[child] = known[id(lost)]
        self._bound(order, narrowest, asked)
        for unit in reversed(order):
            self.fronts[unit] = self._front(unit, asked[unit])
        for unit in order:
            if tree.parent[unit] == -1:
                self._read_back(unit, 0)
        return self.taken

    def _bound(self, order: list[int], narrowest: dict[int, int], asked: dict[int, _Asked]) -> None:
        """What the units outside each subtree cost at least: (those that are not above it, those above it, the sum
        of roots of loss x copper of those above it)."""
        tree = self.tree
        own: dict[int, float] = {}
        below: dict[int, float] = {}
        for unit in reversed(order):
            room = narrowest[unit] - asked[unit].slacks[0]
            lost = self.lost[unit, self.branches[unit][0]]
            own[unit] = min((float(c) for c, v in zip(self.cost[unit], lost, strict=True) if v <= room), default=0.0)
            below[unit] = own[unit] + sum(below[child] for child in tree.children[unit])
        total = sum(below[unit] for unit in order if tree.parent[unit] == -1)
        self.above = {}
        depth: dict[int, int] = {}
        for unit in order:
            parent = tree.parent[unit]
            depth[unit] = depth.get(parent, 0) + 1
            if parent == -1:
                self.above[unit] = (total - below[unit], 0.0, 0.0)
                continue
            _, least, roots = self.above[parent]
            products = (float(c) * v for c, v in zip(self.cost[parent], self.lost[parent, unit], strict=True))
            least, roots = least + own[parent], roots + sqrt(min(products))
            self.above[unit] = (total - below[unit] - least, least, roots)
        self.depth = max(depth.values(), default=0)

    def _promising(self, unit: int, front: list[Point]) -> list[Point]:
        """The points that may end at no more than the cost that is known to do."""
        beside, least, roots = self.above[unit]
        limit = self.most_cost * (1 + 1e-9) - beside
        squared = roots * roots
        kept = [p for p in front if p[1] + (max(least, squared / -p[0]) if p[0] < 0 else least) <= limit]
        return kept or front

    def _front(self, unit: int, asked: _Asked) -> list[Point]:
        """Points by falling slack and falling cost, as far as the wiring above can ask for them."""
        least, most = asked.slacks[0], asked.slacks[-1]
        branches = self.branches[unit]
        losses = [self.lost[unit, b] for b in branches]
        if len(branches) == 1 and branches[0] < 0:
            return self._end(unit, losses[0], self.budget[-1 - branches[0]], least, most)
        same = all(lost is losses[0] for lost in losses)
        together = self._merged([(b, 0) for b in branches]) if same else []
        points: list[Point] = []
        for number, cost in enumerate(self.cost[unit]):
            if same:
                below, shift = together, losses[0][number]
            else:
                below = self._merged([(b, lost[number]) for b, lost in zip(branches, losses, strict=True)])
                shift = 0
            first = max(_reaching(below, -most - shift), 0)
            last = _reaching(below, -least - shift)
            if first > last:
                continue
            if asked.listed and len(asked.slacks) <= last - first:
                for slack in asked.slacks:
                    at = _reaching(below, -slack - shift)
                    if at >= 0:
                        points.append((-slack, below[at][1] + cost, number))
            else:
                points.append((max(below[first][0] + shift, -most), below[first][1] + cost, number))
                points += [(step[0] + shift, step[1] + cost, number) for step in below[first + 1 : last + 1]]
        points.sort()
        front = points[:1]
        for point in points[1:]:
            if point[1] < front[-1][1]:
                front.append(point)
            elif point[:2] == front[-1][:2] and self._earlier(unit, point, front[-1]):
                front[-1] = point
        if self.most_cost < inf:
            front = self._promising(unit, front)
        return self._thin(front) if len(front) > self.longest else front

    def _thin(self, front: list[Point]) -> list[Point]:
        """A third as many points as are kept at most, evenly by slack, the first and the last among them."""
        self.thinned = True
        top, bottom = front[0][0], front[-1][0]
        step = max((bottom - top) // (self.longest // 3), 1)
        kept: list[Point] = []
        for point in front:
            # Of the points of one step the last before the next step begins is the cheapest; it leaves least slack.
            if kept and (point[0] - top) // step == (kept[-1][0] - top) // step and len(kept) > 1:
                kept[-1] = point
            else:
                kept.append(point)
        return kept

    def _end(self, unit: int, lost: list[int], budget: int, least: int, most: int) -> list[Point]:
        """The front of a unit at which one way ends and nothing else branches."""
        front: list[Point] = []
        for number, cost in enumerate(self.cost[unit]):
            slack = budget - lost[number]
            if slack >= least and (not front or -slack < front[-1][0]):
                front.append((-min(slack, most), cost, number))
                if slack >= most:
                    break
        front.reverse()
        return front

    def _merged(self, branches: list[tuple[int, int]]) -> Sequence[tuple[int, ...]]:
        """(minus slack, cost) of several branches side by side, each first losing its own shift: for every slack
        that all of them can have, the sum of the cheapest."""
        stairs: list[Sequence[tuple[int, ...]]] = [
            [(shift - self.budget[-1 - b], 0)]
            if b < 0
            else [(step[0] + shift, step[1]) for step in self.fronts[b]]
            if shift
            else self.fronts[b]
            for b, shift in branches
        ]
        if len(stairs) == 1:
            return stairs[0]
        top = max(stair[0][0] for stair in stairs)
        cost = 0
        steps: list[tuple[int, int]] = []
        for stair in stairs:
            at = _reaching(stair, top)
            cost += stair[at][1]
            steps += [(now[0], now[1] - before[1]) for before, now in pairwise(stair[at:])]
        steps.sort()
        result = [(top, cost)]
        for minus, less in steps:
            cost += less
            result.append((minus, cost))
        return result

    def _read_back(self, top: int, slack: int) -> None:
        stack = [(top, slack)]
        while stack:
            unit, asked = stack.pop()
            stack += self._settle(unit, asked)

    def _settle(self, unit: int, asked: int) -> list[tuple[int, int]]:
        """Takes the cheapest point of a unit that leaves the slack asked for; gives what its children must leave."""
        front = self.fronts[unit]
        return self._take(unit, front[_reaching(front, -asked)])

    def _take(self, unit: int, point: Point) -> list[tuple[int, int]]:
        self.taken[unit] = point[2]
        return [(child, self.lost[unit, child][point[2]] - point[0]) for child in self.tree.children[unit]]

    def _earlier(self, unit: int, point: Point, other: Point) -> bool:
        """Whether of two equal points the first gives the unit declared first the smaller size."""
        mine, theirs = self._choices(unit, point), self._choices(unit, other)
        first = min((u for u in mine if mine[u] != theirs[u]), default=None)
        return first is not None and mine[first] < theirs[first]

    def _choices(self, unit: int, point: Point) -> dict[int, int]:
        stack = self._take(unit, point)
        seen = [unit]
        while stack:
            below, asked = stack.pop()
            seen.append(below)
            stack += self._settle(below, asked)
        return {u: self.taken[u] for u in seen}


@dataclass(frozen=True, slots=True)
class _Asked:
    """The slacks that the wiring above may ask of a unit, rising: every one where they are `listed`, else the least
    and the most."""

    slacks: list[int]
    listed: bool = True

    def below(self, lost: list[int], narrowest: int) -> _Asked:
        """What is then asked of a child: what its parent loses too, as far as every branch can have it."""
        if self.listed and len(self.slacks) * len(lost) <= MOST_ASKED:
            return _Asked(sorted({s + loss for s in self.slacks for loss in lost if s + loss <= narrowest}))
        return _Asked([self.slacks[0] + min(lost), min(self.slacks[-1] + max(lost), narrowest)], False)


def _costs(options: Sequence[Sequence[Option]]) -> list[list[int]]:
    """Copper with the tie rule in its last digits: counted by area, so that of equal copper the choice with the
    smaller largest size is cheaper."""
    rank = {area: n for n, area in enumerate(sorted({o.area_mm2 for unit in options for o in unit}))}
    digit = len(options).bit_length() + 1
    return [
        [(o.copper << digit * len(rank)) + (1 << digit * rank[o.area_mm2]) for o in unit] or [0] for unit in options
    ]


def _reaching(stair: Sequence[tuple[int, ...]], minus_slack: int) -> int:
    """The last step of a stair that still leaves this slack."""
    return bisect_right(stair, (minus_slack + 1,)) - 1
