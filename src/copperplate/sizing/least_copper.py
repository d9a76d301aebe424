"""The least copper that holds every voltage-drop budget at once. Numbers only.

A *unit* is what must be one size: a run with its both poles, or the two leads of one device. It offers *options*, by
ascending area: a resistance per metre and an amount of copper. A *way* is what one load's current passes: units, each
with a weight (ampere-metres: current times length, out and back), and a budget in volts. The volts lost in a unit are
weight x resistance per metre; on each way they may not add up to more than its budget.

Exact where the ways form a tree, as the wiring of one source does: fronts of (slack left, copper spent) from which
no point can be dropped are merged up the tree, the bottom-up step of dynamic programming on trees. Ways that hold
whatever is taken are left out before. Where fronts grow long, as on chains of taps, the convex relaxation (`relaxed`)
gives a choice near the least and a bound under everything that may still be built on a point: points that must end
above the copper of that choice are dropped, which drops no optimum.

Where the ways form no tree (`Plan.exact` is False) sizes go up one at a time, each time the one that brings most
volts for its copper, and afterwards down again wherever a budget allows it: a safe answer that may not be the least.
Nor is it proven, and as safe, where fronts stay too long to be kept whole even so.

Ties go to the smaller largest size, then to the smaller size of the unit declared first.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import inf

from copperplate.sizing.instance import Option, Way, budget, picovolts
from copperplate.sizing.relaxed import Outlook, Relaxed
from copperplate.sizing.stepping import step_up

MOST_ASKED = 400
"""Slacks that a unit may be asked for are listed up to here, which keeps its front short."""
FIRST = 100
"""Points of a front up to which the fronts are built without bounds."""
AFFORDED, SHORTEST = 600_000, 200
"""Points that the fronts of all units together may have, and how long one may be in any case. A longer one is
thinned, and the answer is no longer proven."""
MOST_BOUNDS = 16
"""Slacks of a unit for each of which its subtree gets bounds of its own."""
NARROW, WIDER = 1 / 8, 3
"""Share of the gap between bound and known choice that is searched first, and how many times more next."""
SURE = 1e-9
"""Share of a cost within which a bound is not trusted: it is reckoned in floating point."""


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
    ohms = [[o.ohm_per_m for o in unit] or [0.0] for unit in options]
    best, worst = [min(unit) for unit in ohms], [max(unit) for unit in ohms]
    open_ways: list[Way] = []
    beyond: list[int] = []
    for number, way in enumerate(ways):
        allowed = budget(way)
        if sum([picovolts(w * worst[u]) for u, w in way.units]) <= allowed:
            continue  # Whatever sizes are taken, it holds.
        if sum([picovolts(w * best[u]) for u, w in way.units]) > allowed:
            beyond.append(number)
        else:
            open_ways.append(way)
    taken, exact = _settle(options, open_ways)
    choice = tuple(t if unit else None for t, unit in zip(taken, options, strict=True))
    return Plan(choice, tuple(beyond), exact)


def _settle(options: Sequence[Sequence[Option]], ways: Sequence[Way]) -> tuple[Sequence[int | None], bool]:
    """The option of every unit, for budgets that can all be held, and whether the choice is proven."""
    if not ways:
        return [0] * len(options), True
    tree = _tree(len(options), ways)
    if tree is None:
        return step_up(options, ways), False
    fronts = _Fronts(options, ways, tree)
    taken = fronts.take()
    if taken is None:
        return step_up(options, ways), False
    return taken, tree.uniform and not fronts.thinned


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
        self.tree = tree
        self.order = _order(tree)
        self.cost = _costs(options, self.order)
        self.budget = [budget(way) for way in ways]
        self.fronts: dict[int, list[Point]] = {}
        self.taken = [0] * len(options)
        self.thinned = False
        self.longest = max(AFFORDED // max(len(self.order), 1), SHORTEST)
        self.branches = [
            children + [-1 - n for n in ends] for children, ends in zip(tree.children, tree.ends, strict=True)
        ]
        self.lost: dict[tuple[int, int], list[int]] = {}
        alike: dict[tuple[int, float], list[int]] = {}
        for (unit, branch), weight in tree.weight.items():
            lost = alike.get((unit, weight))
            if lost is None:
                lost = alike[unit, weight] = [picovolts(weight * o.ohm_per_m) for o in options[unit]] or [0]
            self.lost[unit, branch] = lost
        # The most slack that each unit can leave above itself, and the least of that among its branches.
        self.most: dict[int, int] = {}
        self.narrowest: dict[int, int] = {}
        self.same: dict[int, list[int] | None] = {}
        """What a unit loses by option, where all its branches see the same."""
        for unit in reversed(self.order):
            slack = [self.most[b] if b >= 0 else self.budget[-1 - b] for b in self.branches[unit]]
            losses = [self.lost[unit, b] for b in self.branches[unit]]
            first = losses[0]
            if all(lost is first for lost in losses):
                self.same[unit] = first
                self.narrowest[unit] = narrowest = min(slack)
                self.most[unit] = narrowest - min(first)
            else:
                self.same[unit] = None
                self.most[unit] = min(s - min(lost) for s, lost in zip(slack, losses, strict=True))
                self.narrowest[unit] = self.most[unit] + max(map(max, losses))

    def take(self) -> list[int] | None:
        """Fronts from the leaves to the sources, then the choice from the sources to the leaves. None where unlike
        weights, taken at their largest, leave a budget no choice.

        First without bounds, for the fronts of most plates are short. Where one is not, the relaxation tells what a
        point costs in the end at least, and those that must end above a choice that is known are dropped."""
        parent = self.tree.parent
        roots = [unit for unit in self.order if parent[unit] == -1]
        if any(self.most[unit] < 0 for unit in roots):
            return None
        whole = [_Group(unit, []) for unit in roots]
        if not self._short(self._asked(whole, None)[0]):
            relaxed = self._relaxed()
            whole = [_Group(unit, [_Bound(0, relaxed.outlook(unit, 0))] if relaxed else []) for unit in roots]
            asked, groups = self._asked(whole, relaxed)
            for group in reversed(groups):
                self._fill(group, asked)
        for group in whole:
            outlook = group.bounds[0].outlook if group.bounds else None
            front = self.fronts[group.top]
            at = _reaching(front, 0)
            if outlook is not None and self.thinned and (at < 0 or front[at][1] > outlook.cost):
                for unit, option in outlook.choice.items():
                    self.taken[unit] = option
            else:
                self._read_back(group.top, 0)
        return self.taken

    def _short(self, asked: dict[int, _Asked]) -> bool:
        """Builds all fronts as long as they are short; whether they are."""
        for unit in reversed(self.order):
            front = self.fronts[unit] = self._front(unit, asked[unit], ())
            if len(front) > FIRST:
                return False
        return True

    def _relaxed(self) -> Relaxed | None:
        """The relaxation; None where a unit's branches see it with unlike weights."""
        losses = [self.same.get(unit) or [] for unit in range(len(self.taken))]
        if not all(losses[unit] for unit in self.order):
            return None
        caps = [min((float(self.budget[n]) for n in ends), default=inf) for ends in self.tree.ends]
        return Relaxed(self.order, self.tree.children, self.cost, losses, caps)

    def _asked(self, whole: list[_Group], relaxed: Relaxed | None) -> tuple[dict[int, _Asked], list[_Group]]:
        """What the wiring above may ask of each unit, and the units in groups that share bounds. With a relaxation,
        what no option asks for that may be part of the least is left out."""
        children, parent = self.tree.children, self.tree.parent
        asked = {group.top: _Asked([0]) for group in whole}
        groups = list(whole)
        of = {group.top: group for group in whole}
        for unit in self.order:
            own = asked[unit]
            above = parent[unit]
            if above >= 0:
                beside = relaxed is not None and len(children[above]) > 1 and bool(children[unit])
                if relaxed is not None and beside and own.listed and len(own.slacks) <= MOST_BOUNDS:
                    of[unit] = _Group(unit, [_Bound(slack, relaxed.outlook(unit, slack)) for slack in own.slacks])
                    groups.append(of[unit])
                else:
                    of[unit] = of[above]
            of[unit].units.append(unit)
            known: dict[int, _Asked] = {}
            for child in children[unit]:
                lost = self.lost[unit, child]
                if id(lost) not in known:
                    known[id(lost)] = own.below(self._worth(unit, lost, of[unit].bounds), self.narrowest[unit])
                asked[child] = known[id(lost)]
        return asked, groups

    def _worth(self, unit: int, lost: list[int], bounds: list[_Bound]) -> list[int]:
        """Losses of the options that may be part of the least."""
        if not bounds:
            return lost
        kept: set[int] = set()
        for bound in bounds:
            rate = bound.outlook.rate[unit]
            ends = [cost + rate * volts for cost, volts in zip(self.cost[unit], lost, strict=True)]
            limit = min(ends) + bound.outlook.gap + bound.unsure(unit)
            kept.update(n for n, end in enumerate(ends) if end <= limit)
        return [v for n, v in enumerate(lost) if n in kept]

    def _fill(self, group: _Group, asked: dict[int, _Asked]) -> None:
        """The fronts of a group. They are built within a part of the gap between bound and known choice first: what
        is found inside that part is the least, and where nothing is, the part is taken wider."""
        for bound in group.bounds:
            bound.within = bound.outlook.gap * NARROW
        while not self._within(group, asked):
            pass

    def _within(self, group: _Group, asked: dict[int, _Asked]) -> bool:
        """Builds the fronts of a group within its bounds. False where wider bounds, which are then set, are needed."""
        for unit in reversed(group.units):
            lines = [bound.line(unit) for bound in group.bounds]
            front = self._front(unit, asked[unit], lines)
            if len(front) > self.longest:
                front = self._thin(front, [b.outlook.asked[unit] for b in group.bounds if b.outlook.cost < inf])
            if not front:
                break
            self.fronts[unit] = front
        proven = True
        for bound in group.bounds:
            at = _reaching(front, -bound.slack) if front else -1
            least = bound.outlook.line[group.top] + bound.outlook.rate[group.top] * bound.slack
            over = front[at][1] - least if at >= 0 else bound.within * WIDER
            if bound.within < bound.outlook.gap and (at < 0 or over > bound.within):
                bound.within = min(over, bound.outlook.gap)
                proven = False
        return proven

    def _front(self, unit: int, asked: _Asked, lines: Sequence[_Line]) -> list[Point]:
        """Points by falling slack and falling cost, as far as the wiring above can ask for them."""
        least, most = asked.slacks[0], asked.slacks[-1]
        branches = self.branches[unit]
        losses = [self.lost[unit, b] for b in branches]
        if len(branches) == 1 and branches[0] < 0:
            return self._end(unit, losses[0], self.budget[-1 - branches[0]], least, most)
        same = self.same[unit] is not None
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
                steps = [
                    (-slack, below[at][1] + cost, number)
                    for slack in asked.slacks
                    if (at := _reaching(below, -slack - shift)) >= 0
                ]
            else:
                steps = [(max(below[first][0] + shift, -most), below[first][1] + cost, number)]
                steps += [(step[0] + shift, step[1] + cost, number) for step in below[first + 1 : last + 1]]
            points += _promising(steps, lines) if lines else steps
        points.sort()
        front = points[:1]
        for point in points[1:]:
            if point[1] < front[-1][1]:
                front.append(point)
            elif point[:2] == front[-1][:2] and self._earlier(unit, point, front[-1]):
                front[-1] = point
        return front

    def _thin(self, front: list[Point], known: list[int]) -> list[Point]:
        """A third as many points as are kept at most, evenly by slack, the first and the last among them, and those
        that serve the slacks of the choices known already."""
        self.thinned = True
        top, bottom = front[0][0], front[-1][0]
        step = max((bottom - top) // (self.longest // 3), 1)
        serving = {_reaching(front, -slack) for slack in known}
        kept = [0]
        for at, point in enumerate(front[1:], 1):
            # Of the points of one step the last before the next step begins is the cheapest; it leaves least slack.
            same = (point[0] - top) // step == (front[kept[-1]][0] - top) // step
            if same and len(kept) > 1 and kept[-1] not in serving:
                kept[-1] = at
            else:
                kept.append(at)
        return [front[at] for at in kept]

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


_Line = tuple[float, float]
"""(limit, rate): a point of a front is kept only if it costs no more than limit + rate x slack."""


@dataclass
class _Bound:
    """The bound under what a subtree costs that must leave a slack; what is searched `within` above it."""

    slack: int
    outlook: Outlook
    within: float = inf

    def unsure(self, unit: int) -> float:
        """How far the bound may be off by floating point."""
        return SURE * max(abs(self.outlook.line[unit]), self.outlook.cost) if self.outlook.cost < inf else 0.0

    def line(self, unit: int) -> _Line:
        return self.outlook.line[unit] + self.within + self.unsure(unit), self.outlook.rate[unit]


@dataclass
class _Group:
    """Units, parents first, that share the bounds of the topmost of them."""

    top: int
    bounds: list[_Bound]
    units: list[int] = field(default_factory=list)


def _promising(points: list[Point], lines: Sequence[_Line]) -> list[Point]:
    """The points that one of the lines at least lets pass."""
    if len(lines) == 1:
        limit, rate = lines[0]
        return [p for p in points if p[1] <= limit - rate * p[0]]
    return [p for p in points if p[1] <= max([limit - rate * p[0] for limit, rate in lines])]


def _order(tree: _Tree) -> list[int]:
    """Parents before children, each subtree in one piece."""
    order: list[int] = []
    stack = [unit for unit, above in enumerate(tree.parent) if above == -1][::-1]
    while stack:
        unit = stack.pop()
        order.append(unit)
        stack += tree.children[unit][::-1]
    return order


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


def _costs(options: Sequence[Sequence[Option]], units: Sequence[int]) -> list[list[int]]:
    """Copper with the tie rule in its last digits: counted by area, so that of equal copper the choice with the
    smaller largest size is cheaper."""
    rank = {area: n for n, area in enumerate(sorted({o.area_mm2 for unit in units for o in options[unit]}))}
    digit = len(units).bit_length() + 1
    whole, last = digit * len(rank), {area: 1 << digit * n for area, n in rank.items()}
    found: list[list[int]] = [[] for _ in options]
    for unit in units:
        found[unit] = [(o.copper << whole) + last[o.area_mm2] for o in options[unit]] or [0]
    return found


def _reaching(stair: Sequence[tuple[int, ...]], minus_slack: int) -> int:
    """The last step of a stair that still leaves this slack."""
    return bisect_right(stair, (minus_slack + 1,)) - 1
