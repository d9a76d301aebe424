"""The least copper that holds every voltage-drop budget at once. Numbers only; `instance` defines them.

Exact where the supply paths form a tree, as the wiring of one source does: Pareto fronts of (slack left, copper spent)
are merged up the tree, the bottom-up step of dynamic programming on trees (`pareto`). Paths that hold whatever is taken
are left out before. Where fronts grow long, as on chains of taps, the Lagrangian relaxation of the budgets
(`lagrangian`) gives a choice near the least and a bound under everything that may still be built on a point: points
that must end above the copper of that choice are dropped, which drops no optimum.

Where the paths form no tree (`Assignment.exact` is False) sizes go up one at a time, each time the one that brings most
volts for its copper, and afterwards down again wherever a budget allows it: every budget holds, and the copper may not
be the least. Nor is it proven, and as safe, where fronts stay too long to be kept whole even so.

Ties go to the smaller largest size, then to the smaller size of the unit declared first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from copperplate.sizing.instance import PICO, BudgetedPath, Option
from copperplate.sizing.pareto import ParetoFronts
from copperplate.sizing.stepping import step_up
from copperplate.sizing.trees import tree


@dataclass(frozen=True)
class Assignment:
    """The option taken for each unit (None where it has none), the paths whose budget no choice can hold, and
    whether the rest is proven to be the least."""

    taken: tuple[int | None, ...]
    beyond: tuple[int, ...]
    exact: bool


def least_copper(options: Sequence[Sequence[Option]], paths: Sequence[BudgetedPath]) -> Assignment:
    """The cheapest option of every unit so that all budgets hold that can be held at all."""
    ohms = [[o.ohm_per_m for o in unit] or [0.0] for unit in options]
    best, worst = [min(unit) for unit in ohms], [max(unit) for unit in ohms]
    binding: list[BudgetedPath] = []
    beyond: list[int] = []
    for number, path in enumerate(paths):
        if sum([int(v * PICO) + 1 for u, am in path.units if (v := am * worst[u])]) <= path.allowed:
            continue  # Whatever sizes are taken, it holds.
        if sum([int(v * PICO) + 1 for u, am in path.units if (v := am * best[u])]) > path.allowed:
            beyond.append(number)
        else:
            binding.append(path)
    taken, exact = _assign(options, ohms, binding)
    choice = tuple([t if unit else None for t, unit in zip(taken, options, strict=True)])
    return Assignment(choice, tuple(beyond), exact)


def _assign(
    options: Sequence[Sequence[Option]], ohms: Sequence[Sequence[float]], paths: Sequence[BudgetedPath]
) -> tuple[Sequence[int | None], bool]:
    """The option of every unit, for budgets that can all be held, and whether the choice is proven."""
    if not paths:
        return [0] * len(options), True
    nested = tree(len(options), paths)
    if nested is None:
        return step_up(options, paths), False
    fronts = ParetoFronts(options, ohms, [path.allowed for path in paths], nested)
    taken = fronts.take()
    if taken is None:
        return step_up(options, paths), False
    return taken, nested.uniform and not fronts.thinned
