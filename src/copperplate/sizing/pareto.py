"""Pareto fronts of (slack left, copper spent), merged up a tree. Numbers only.

The bottom-up step of dynamic programming on trees; see `least_copper`. A point is kept where no other leaves as much
slack for less copper."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise
from math import inf

from copperplate.sizing.cutoffs import MOST_CUTOFFS, Cutoff, CutoffGroup, Line, NeededSlacks, promising
from copperplate.sizing.instance import PICO, Option
from copperplate.sizing.lagrangian import LagrangianRelaxation
from copperplate.sizing.trees import Tree, costs

SHORT = 100
"""Points of a front up to which the fronts are built without bounds."""
AFFORDED, SHORTEST = 600_000, 200
"""Points that the fronts of all units together may have, and how long one may be in any case. A longer one is
thinned, and the answer is no longer proven."""
NARROW, WIDER = 1 / 8, 3
"""Share of the gap between bound and known choice that is searched first, and how many times more next."""

Point = tuple[int, int, int]
"""(minus slack, cost, option)."""


class ParetoFronts:
    """The fronts of every unit, children before parents, and the choice read back from the top.

    A *branch* of a unit is a child unit, or -1 - path for a path that ends there."""

    def __init__(
        self, options: Sequence[Sequence[Option]], ohms: Sequence[Sequence[float]], budgets: Sequence[int], tree: Tree
    ) -> None:
        self.tree = tree
        self.order = tree.order
        self.cost = costs(options, self.order)
        self.budget = budgets
        self.fronts: dict[int, list[Point]] = {}
        self.taken = [0] * len(options)
        self.thinned = False
        self.longest = max(AFFORDED // max(len(self.order), 1), SHORTEST)
        self.branches: list[list[int]] = [[] for _ in options]
        self.lost: list[list[int]] = [[]] * len(tree.above)
        """By branch, what the unit above it loses in each of its options, as that branch sees it."""
        # The most slack that each unit can leave above itself, and the least of that among its branches.
        self.most = [0] * len(options)
        self.narrowest = [0] * len(options)
        self.same: list[list[int] | None] = [None] * len(options)
        """What a unit loses by option, where all its branches see the same."""
        above, lost = tree.above, self.lost
        for unit in reversed(self.order):
            branches = self.branches[unit] = tree.children[unit] + [-1 - n for n in tree.ends[unit]]
            alike: dict[float, list[int]] = {}
            slack = []
            for branch in branches:
                am = above[branch]
                if am not in alike:
                    alike[am] = [int(v * PICO) + 1 if (v := am * ohm) else 0 for ohm in ohms[unit]]
                lost[branch] = alike[am]
                slack.append(self.most[branch] if branch >= 0 else self.budget[-1 - branch])
            if len(alike) == 1:
                first = self.same[unit] = lost[branches[0]]
                self.narrowest[unit] = narrowest = min(slack)
                self.most[unit] = narrowest - min(first)
            else:
                losses = [lost[branch] for branch in branches]
                self.most[unit] = min(s - min(volts) for s, volts in zip(slack, losses, strict=True))
                self.narrowest[unit] = self.most[unit] + max(map(max, losses))

    def take(self) -> list[int] | None:
        """Fronts from the leaves to the sources, then the choice from the sources to the leaves. None where unlike
        ampere-metres, taken at their largest, leave a budget no choice.

        First without bounds, for the fronts of most plates are short. Where one is not, the relaxation tells what a
        point costs in the end at least, and those that must end above a choice that is known are dropped."""
        parent = self.tree.parent
        roots = [unit for unit in self.order if parent[unit] == -1]
        if any(self.most[unit] < 0 for unit in roots):
            return None
        trees = [CutoffGroup(unit, []) for unit in roots]
        if not self._short(self._needed(trees, None)[0]):
            relaxation = self._relaxation()
            if relaxation is not None:
                trees = [CutoffGroup(unit, [Cutoff(0, relaxation.bound(unit, 0))]) for unit in roots]
            needed, groups = self._needed(trees, relaxation)
            for group in reversed(groups):
                self._fill(group, needed)
        for group in trees:
            bound = group.cutoffs[0].bound if group.cutoffs else None
            front = self.fronts[group.top]
            at = _reaching(front, 0)
            if bound is not None and self.thinned and (at < 0 or front[at][1] > bound.cost):
                for unit, option in bound.choice.items():
                    self.taken[unit] = option
            else:
                self._read_back(group.top, 0)
        return self.taken

    def _short(self, needed: dict[int, NeededSlacks]) -> bool:
        """Builds all fronts as long as they are short; whether they are."""
        for unit in reversed(self.order):
            front = self.fronts[unit] = self._front(unit, needed[unit], ())
            if len(front) > SHORT:
                return False
        return True

    def _relaxation(self) -> LagrangianRelaxation | None:
        """The relaxation of the tree; None where a unit's branches see it with unlike ampere-metres."""
        losses = [self.same[unit] or [] for unit in range(len(self.taken))]
        if not all(losses[unit] for unit in self.order):
            return None
        caps = [min((float(self.budget[n]) for n in ends), default=inf) for ends in self.tree.ends]
        return LagrangianRelaxation(self.order, self.tree.children, self.cost, losses, caps)

    def _needed(
        self, trees: list[CutoffGroup], relaxation: LagrangianRelaxation | None
    ) -> tuple[dict[int, NeededSlacks], list[CutoffGroup]]:
        """The slacks that each unit may have to leave, and the units in groups that share cutoffs. With a relaxation,
        what only options lead to that cannot be part of the least is left out."""
        children, parent = self.tree.children, self.tree.parent
        needed = {group.top: NeededSlacks([0]) for group in trees}
        groups = list(trees)
        of = {group.top: group for group in trees}
        for unit in self.order:
            own = needed[unit]
            above = parent[unit]
            if above >= 0:
                beside = relaxation is not None and len(children[above]) > 1 and bool(children[unit])
                if relaxation is not None and beside and own.listed and len(own.slacks) <= MOST_CUTOFFS:
                    of[unit] = CutoffGroup(unit, [Cutoff(slack, relaxation.bound(unit, slack)) for slack in own.slacks])
                    groups.append(of[unit])
                else:
                    of[unit] = of[above]
            of[unit].units.append(unit)
            known: dict[tuple[int, bool], NeededSlacks] = {}
            for child in children[unit]:
                lost = self.lost[child]
                parts = len(self.branches[child]) > 1 or bool(children[child])
                key = id(lost), parts
                if key not in known:
                    worth = self._worth(unit, lost, of[unit].cutoffs)
                    known[key] = own.below(worth, self.narrowest[unit], parts)
                needed[child] = known[key]
        return needed, groups

    def _worth(self, unit: int, lost: list[int], cutoffs: list[Cutoff]) -> list[int]:
        """Losses of the options that may be part of the least."""
        if not cutoffs:
            return lost
        kept: set[int] = set()
        for cutoff in cutoffs:
            rate = cutoff.bound.rate[unit]
            ends = [cost + rate * volts for cost, volts in zip(self.cost[unit], lost, strict=True)]
            limit = min(ends) + cutoff.bound.gap + cutoff.unsure(unit)
            kept.update(n for n, end in enumerate(ends) if end <= limit)
        return [v for n, v in enumerate(lost) if n in kept]

    def _fill(self, group: CutoffGroup, needed: dict[int, NeededSlacks]) -> None:
        """The fronts of a group. They are built within a part of the gap between bound and known choice first: what
        lies inside that part is the least, and where nothing does, the part is taken wider."""
        for cutoff in group.cutoffs:
            cutoff.within = cutoff.bound.gap * NARROW
        while not self._within(group, needed):
            pass

    def _within(self, group: CutoffGroup, needed: dict[int, NeededSlacks]) -> bool:
        """Builds the fronts of a group within its cutoffs. False where wider ones, which are then set, are needed."""
        for unit in reversed(group.units):
            front = self._front(unit, needed[unit], [cutoff.line(unit) for cutoff in group.cutoffs])
            if len(front) > self.longest:
                front = self._thin(front, [c.bound.slack[unit] for c in group.cutoffs if c.bound.cost < inf])
            if not front:
                break
            self.fronts[unit] = front
        proven = True
        for cutoff in group.cutoffs:
            at = _reaching(front, -cutoff.slack) if front else -1
            least = cutoff.bound.line[group.top] + cutoff.bound.rate[group.top] * cutoff.slack
            over = front[at][1] - least if at >= 0 else cutoff.within * WIDER
            if cutoff.within < cutoff.bound.gap and (at < 0 or over > cutoff.within):
                cutoff.within = min(over, cutoff.bound.gap)
                proven = False
        return proven

    def _front(self, unit: int, needed: NeededSlacks, lines: Sequence[Line]) -> list[Point]:
        """Points by falling slack and falling cost, as far as the wiring above may need them."""
        least, most = needed.slacks[0], needed.slacks[-1]
        branches = self.branches[unit]
        lost = self.same[unit]
        if len(branches) == 1 and branches[0] < 0:
            return self._end(unit, self.lost[branches[0]], self.budget[-1 - branches[0]], least, most)
        below: Sequence[tuple[int, ...]] = self._merged([(b, 0) for b in branches]) if lost is not None else ()
        ends = [step[1] + lines[0][1] * step[0] for step in below] if len(lines) == 1 else []
        points: list[Point] = []
        for number, cost in enumerate(self.cost[unit]):
            if lost is not None:
                shift = lost[number]
            else:
                below = self._merged([(b, self.lost[b][number]) for b in branches])
                shift = 0
            last = bisect_right(below, (1 - least - shift,)) - 1
            if last < 0:
                continue
            serving = bisect_right(below, (1 - most - shift,)) - 1
            first = max(serving, 0)
            nearest = (max(below[first][0] + shift, -most), below[first][1] + cost, number)
            if needed.listed and len(needed.slacks) <= last - first:
                steps = [
                    (-slack, below[at][1] + cost, number)
                    for slack in needed.slacks
                    if (at := bisect_right(below, (1 - slack - shift,)) - 1) >= 0
                ]
            elif ends and first < last:
                limit, rate = lines[0]
                limit -= cost + rate * shift
                points += promising([nearest], lines)
                points += [
                    (step[0] + shift, step[1] + cost, number)
                    for step, end in zip(below[first + 1 : last + 1], ends[first + 1 : last + 1], strict=True)
                    if end <= limit
                ]
                continue
            else:
                steps = [nearest]
                steps += [(step[0] + shift, step[1] + cost, number) for step in below[first + 1 : last + 1]]
            points += promising(steps, lines) if lines else steps
            if lost is not None and serving == len(below) - 1:
                break  # All that may be needed is served by the cheapest below already: larger sizes cost more.
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
        """The front of a unit at which one path ends and nothing else branches."""
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
        """Takes the cheapest choice of a whole tree that leaves the slack."""
        stack = [(top, slack)]
        while stack:
            stack += self._take_leaving(*stack.pop())

    def _take_leaving(self, unit: int, slack: int) -> list[tuple[int, int]]:
        """Takes the cheapest point of a unit that leaves the slack; gives what its children must leave."""
        front = self.fronts[unit]
        return self._take(unit, front[_reaching(front, -slack)])

    def _take(self, unit: int, point: Point) -> list[tuple[int, int]]:
        self.taken[unit] = point[2]
        return [(child, self.lost[child][point[2]] - point[0]) for child in self.tree.children[unit]]

    def _earlier(self, unit: int, point: Point, other: Point) -> bool:
        """Whether of two equal points the first gives the unit declared first the smaller size."""
        mine, theirs = self._choices(unit, point), self._choices(unit, other)
        first = min((u for u in mine if mine[u] != theirs[u]), default=None)
        return first is not None and mine[first] < theirs[first]

    def _choices(self, unit: int, point: Point) -> dict[int, int]:
        stack = self._take(unit, point)
        seen = [unit]
        while stack:
            below, slack = stack.pop()
            seen.append(below)
            stack += self._take_leaving(below, slack)
        return {u: self.taken[u] for u in seen}


def _reaching(stair: Sequence[tuple[int, ...]], minus_slack: int) -> int:
    """The last step of a stair that still leaves this slack."""
    return bisect_right(stair, (minus_slack + 1,)) - 1
