"""The least copper that holds a second kind of budget as well: volts told option by option. Numbers only.

The volts that a motor's start loses follow warm copper and other currents than the steady ones, so that one way has
two budgets, whose slacks no single front can carry. Hence branch and bound over `least`: its choice without these
budgets is a lower bound; where it overdraws one, some unit on that way must be larger than chosen, and each in turn is
tried, those before it no larger. What cannot be in time, with everything else as large as may be, is left out at once.
A. Land and A. Doig, An automatic method of solving discrete programming problems, 1960.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush

from copperplate.sizing.instance import FORGIVEN, Option, Way
from copperplate.sizing.least_copper import Plan, least

MOST_WORK = 60_000
"""Units times choices looked at; past it the best choice found stands, and is no longer proven the least."""
FEWEST = 8
"""Choices looked at however many units there are."""


@dataclass(frozen=True)
class Hard:
    """One more budget: for each unit on the way, the volts lost in it by option."""

    budget_v: float
    lost_v: Mapping[int, tuple[float, ...]]

    def can_hold(self) -> bool:
        return self._within(sum(min(volts) for volts in self.lost_v.values()))

    def holds(self, taken: Sequence[int | None]) -> bool:
        return self._within(sum(volts[taken[unit] or 0] for unit, volts in self.lost_v.items()))

    def _within(self, volts: float) -> bool:
        return volts <= self.budget_v + abs(self.budget_v) * FORGIVEN


@dataclass(frozen=True)
class _Bounds:
    """By unit the first and the last option that may be taken."""

    first: tuple[int, ...]
    last: tuple[int, ...]

    def narrowed(self, hards: Sequence[Hard]) -> _Bounds | None:
        """Without the options that lose too much even where every other unit is the largest it may be; None where
        nothing is left."""
        first = list(self.first)
        for hard in hards:
            floor = {u: volts[self.last[u]] for u, volts in hard.lost_v.items()}
            total = sum(floor.values())
            for u, volts in hard.lost_v.items():
                while not hard._within(total - floor[u] + volts[first[u]]):
                    first[u] += 1
                    if first[u] > self.last[u]:
                        return None
        return _Bounds(tuple(first), self.last)


def holding(options: Sequence[Sequence[Option]], ways: Sequence[Way], hards: Sequence[Hard]) -> Plan:
    """The cheapest option of every unit so that all budgets hold. Each of `hards` must be one that can be held, and
    options lose less volts the larger they are."""
    plan = least(options, ways)
    if all(hard.holds(plan.taken) for hard in hards):
        return plan
    beyond, exact = len(plan.beyond), plan.exact
    widest = _Bounds(tuple(0 for _ in options), tuple(max(len(unit) - 1, 0) for unit in options))
    best = _raised(options, ways, hards, widest)
    best_cost = _copper(options, best)
    room = max(FEWEST, MOST_WORK // max(len(options), 1))
    shared = [sum(u in hard.lost_v for hard in hards) for u in range(len(options))]
    heap: list[tuple[int, int, _Bounds, Plan]] = []
    count = 0

    def visit(bounds: _Bounds) -> None:
        nonlocal count, exact
        narrow = bounds.narrowed(hards)
        if narrow is None:
            return
        count += 1
        found = _within(options, ways, narrow)
        exact = exact and found.exact
        cost = _copper(options, found)
        if len(found.beyond) == beyond and cost < best_cost:
            heappush(heap, (cost, count, narrow, found))

    visit(widest)
    while heap:
        cost, _, bounds, found = heappop(heap)
        if cost >= best_cost:
            break
        over = next((hard for hard in hards if not hard.holds(found.taken)), None)
        if over is None:
            best, best_cost = found, cost
            break
        if count >= room:
            exact = False
            break
        first, last = list(bounds.first), list(bounds.last)
        # Feeders first: once they are settled, what hangs on them follows.
        for unit in sorted(over.lost_v, key=lambda u: (-shared[u], u)):
            now = found.taken[unit] or 0
            if now < last[unit]:
                raised = first.copy()
                raised[unit] = now + 1
                visit(_Bounds(tuple(raised), tuple(last)))
            last[unit] = now
    return Plan(best.taken, best.beyond, exact)


def _within(options: Sequence[Sequence[Option]], ways: Sequence[Way], bounds: _Bounds) -> Plan:
    """The least copper of the options inside the bounds."""
    some = [unit[a : b + 1] for unit, a, b in zip(options, bounds.first, bounds.last, strict=True)]
    plan = least(some, ways)
    taken = tuple(None if t is None else t + a for t, a in zip(plan.taken, bounds.first, strict=True))
    return Plan(taken, plan.beyond, plan.exact)


def _raised(options: Sequence[Sequence[Option]], ways: Sequence[Way], hards: Sequence[Hard], widest: _Bounds) -> Plan:
    """A choice that holds: step by step up where a volt costs the least copper."""
    first = list(widest.first)
    while True:
        plan = _within(options, ways, _Bounds(tuple(first), widest.last))
        over = next((hard for hard in hards if not hard.holds(plan.taken)), None)
        if over is None:
            return plan
        steps = []
        for unit, volts in over.lost_v.items():
            now = plan.taken[unit] or 0
            for to in range(now + 1, len(volts)):
                spent = max(options[unit][to].copper - options[unit][now].copper, 1)
                if volts[now] > volts[to]:
                    steps.append(((volts[to] - volts[now]) / spent, unit, to))
        _, unit, to = min(steps)
        first[unit] = to


def _copper(options: Sequence[Sequence[Option]], plan: Plan) -> int:
    return sum(unit[t].copper for unit, t in zip(options, plan.taken, strict=True) if t is not None)
