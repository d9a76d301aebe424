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

from collections.abc import Sequence
from dataclasses import dataclass

from copperplate.sizing.fronts import Fronts
from copperplate.sizing.instance import PICO, Option, Way, budget
from copperplate.sizing.stepping import step_up
from copperplate.sizing.trees import tree


@dataclass(frozen=True)
class Plan:
    """The option taken for each unit (None where it has none), the ways whose budget no choice can hold, and
    whether the rest is proven to be the least."""

    taken: tuple[int | None, ...]
    beyond: tuple[int, ...]
    exact: bool


def least(options: Sequence[Sequence[Option]], ways: Sequence[Way]) -> Plan:
    """The cheapest option of every unit so that all budgets hold that can be held at all."""
    ohms = [[o.ohm_per_m for o in unit] or [0.0] for unit in options]
    best, worst = [min(unit) for unit in ohms], [max(unit) for unit in ohms]
    open_ways: list[Way] = []
    budgets: list[int] = []
    beyond: list[int] = []
    for number, way in enumerate(ways):
        allowed = budget(way)
        if sum([int(v * PICO) + 1 for u, w in way.units if (v := w * worst[u])]) <= allowed:
            continue  # Whatever sizes are taken, it holds.
        if sum([int(v * PICO) + 1 for u, w in way.units if (v := w * best[u])]) > allowed:
            beyond.append(number)
        else:
            open_ways.append(way)
            budgets.append(allowed)
    taken, exact = _settle(options, ohms, open_ways, budgets)
    choice = tuple([t if unit else None for t, unit in zip(taken, options, strict=True)])
    return Plan(choice, tuple(beyond), exact)


def _settle(
    options: Sequence[Sequence[Option]], ohms: Sequence[Sequence[float]], ways: Sequence[Way], budgets: Sequence[int]
) -> tuple[Sequence[int | None], bool]:
    """The option of every unit, for budgets that can all be held, and whether the choice is proven."""
    if not ways:
        return [0] * len(options), True
    nested = tree(len(options), ways)
    if nested is None:
        return step_up(options, ways), False
    fronts = Fronts(options, ohms, budgets, nested)
    taken = fronts.take()
    if taken is None:
        return step_up(options, ways), False
    return taken, nested.uniform and not fronts.thinned
