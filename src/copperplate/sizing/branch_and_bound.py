"""The least copper that holds a second kind of budget as well: volts told option by option. Numbers only.

The volts that a motor's start loses follow warm copper and other currents than the steady ones, so that one path has
two budgets, whose slacks no single Pareto front can carry. Hence branch and bound over `least_copper`: its choice
without these constraints is a lower bound; where it overdraws one, some unit of it must be larger than chosen, and each
in turn is tried, those before it no larger. What cannot be in time, with everything else as large as may be, is left
out at once. A. Land and A. Doig, An automatic method of solving discrete programming problems, 1960.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush

from copperplate.sizing.instance import BudgetedPath, Option
from copperplate.sizing.least_copper import Assignment, least_copper
from copperplate.units import NOISE

MOST_WORK = 60_000
"""Units times nodes of the search; past it the best choice known stands, and is not proven the least."""
FEWEST = 8
"""Nodes searched however many units there are."""


@dataclass(frozen=True)
class SideConstraint:
    """One more budget: for each unit of its path, the volts lost in it by option."""

    budget_v: float
    lost_v: Mapping[int, tuple[float, ...]]

    def can_hold(self) -> bool:
        """Whether the best options hold it."""
        return self.allows(sum(min(volts) for volts in self.lost_v.values()))

    def holds(self, taken: Sequence[int | None]) -> bool:
        """Whether these options hold it."""
        return self.allows(sum(volts[taken[unit] or 0] for unit, volts in self.lost_v.items()))

    def allows(self, volts: float) -> bool:
        """Whether so many volts may be lost."""
        return volts <= self.budget_v + abs(self.budget_v) * NOISE


@dataclass(frozen=True)
class _Node:
    """A part of the search: by unit the first and the last option that may be taken."""

    first: tuple[int, ...]
    last: tuple[int, ...]

    def narrowed(self, constraints: Sequence[SideConstraint]) -> _Node | None:
        """Without the options that lose too much even where every other unit is the largest it may be; None where
        nothing is left."""
        first = list(self.first)
        for constraint in constraints:
            floor = {u: volts[self.last[u]] for u, volts in constraint.lost_v.items()}
            total = sum(floor.values())
            for u, volts in constraint.lost_v.items():
                while not constraint.allows(total - floor[u] + volts[first[u]]):
                    first[u] += 1
                    if first[u] > self.last[u]:
                        return None
        return _Node(tuple(first), self.last)


def branch_and_bound(
    options: Sequence[Sequence[Option]], paths: Sequence[BudgetedPath], constraints: Sequence[SideConstraint]
) -> Assignment:
    """The cheapest option of every unit so that all budgets hold. Each of `constraints` must be one that can be held,
    and options lose less volts the larger they are."""
    free = least_copper(options, paths)
    if all(constraint.holds(free.taken) for constraint in constraints):
        return free
    beyond, exact = len(free.beyond), free.exact
    whole = _Node(tuple(0 for _ in options), tuple(max(len(unit) - 1, 0) for unit in options))
    best = _raised(options, paths, constraints, whole)
    best_cost = _copper(options, best)
    most_nodes = max(FEWEST, MOST_WORK // max(len(options), 1))
    shared = [sum(u in constraint.lost_v for constraint in constraints) for u in range(len(options))]
    heap: list[tuple[int, int, _Node, Assignment]] = []
    count = 0

    def visit(node: _Node) -> None:
        nonlocal count, exact
        narrow = node.narrowed(constraints)
        if narrow is None:
            return
        count += 1
        bound = _within(options, paths, narrow)
        exact = exact and bound.exact
        cost = _copper(options, bound)
        if len(bound.beyond) == beyond and cost < best_cost:
            heappush(heap, (cost, count, narrow, bound))

    visit(whole)
    while heap:
        cost, _, node, bound = heappop(heap)
        if cost >= best_cost:
            break
        over = next((constraint for constraint in constraints if not constraint.holds(bound.taken)), None)
        if over is None:
            best, best_cost = bound, cost
            break
        if count >= most_nodes:
            exact = False
            break
        first, last = list(node.first), list(node.last)
        # Feeders first: what hangs on them follows.
        for unit in sorted(over.lost_v, key=lambda u: (-shared[u], u)):
            now = bound.taken[unit] or 0
            if now < last[unit]:
                raised = first.copy()
                raised[unit] = now + 1
                visit(_Node(tuple(raised), tuple(last)))
            last[unit] = now
    return Assignment(best.taken, best.beyond, exact)


def _within(options: Sequence[Sequence[Option]], paths: Sequence[BudgetedPath], node: _Node) -> Assignment:
    """The least copper of the options of a node."""
    some = [unit[a : b + 1] for unit, a, b in zip(options, node.first, node.last, strict=True)]
    least = least_copper(some, paths)
    taken = tuple(None if t is None else t + a for t, a in zip(least.taken, node.first, strict=True))
    return Assignment(taken, least.beyond, least.exact)


def _raised(
    options: Sequence[Sequence[Option]],
    paths: Sequence[BudgetedPath],
    constraints: Sequence[SideConstraint],
    whole: _Node,
) -> Assignment:
    """A choice that holds: step by step up where a volt costs the least copper."""
    first = list(whole.first)
    while True:
        choice = _within(options, paths, _Node(tuple(first), whole.last))
        over = next((constraint for constraint in constraints if not constraint.holds(choice.taken)), None)
        if over is None:
            return choice
        steps = []
        for unit, volts in over.lost_v.items():
            now = choice.taken[unit] or 0
            for to in range(now + 1, len(volts)):
                spent = max(options[unit][to].copper - options[unit][now].copper, 1)
                if volts[now] > volts[to]:
                    steps.append(((volts[to] - volts[now]) / spent, unit, to))
        _, unit, to = min(steps)
        first[unit] = to


def _copper(options: Sequence[Sequence[Option]], choice: Assignment) -> int:
    return sum(unit[t].copper for unit, t in zip(options, choice.taken, strict=True) if t is not None)
