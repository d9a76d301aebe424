"""The sizes of all runs together: the least copper that every rule and every budget allows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from copperplate.model import System
from copperplate.sizing.drops import VoltageDrops
from copperplate.sizing.laying import Gauge
from copperplate.sizing.problem import OpenUnit, SizingProblem
from copperplate.sizing.rules import ALONE, Rule, Rules
from copperplate.sizing.sizing_units import SizingUnit
from copperplate.sizing.supply_paths import SupplyPath

ROUNDS = 12
"""Budgets are tightened towards voltage windows so many times at most; each round comes nearer by its own error."""
INSIDE = 1.0 - 1e-3
"""A budget is tightened to this share of what the window allows, so that the rounds end."""
YIELDING: tuple[Rule, ...] = ("terminal", "stock")
"""Rules that give way where nothing else would serve; an error then tells."""


@dataclass(frozen=True)
class OptimisedSizes:
    """The gauge of every run (None where no size serves). `given_up` are the rules that gave way, by run; `windowed`
    the loads whose own voltage window, and not the budget, set sizes; `budget_v` the volts that each load was allowed
    in the end; `started` the motors whose start the sizes were held to; `exact` whether it is proven the least."""

    gauges: Mapping[str, Gauge | None]
    given_up: Mapping[str, tuple[Rule, ...]]
    windowed: frozenset[str]
    budget_v: Mapping[str, float]
    started: frozenset[str]
    exact: bool


def optimise_sizes(
    system: System,
    rules: Mapping[str, Rules],
    units: Sequence[SizingUnit],
    paths: Sequence[SupplyPath],
    alone: Sequence[SupplyPath] = (),
) -> OptimisedSizes:
    """One size for each unit; what is stated stays. `alone` are the paths from the other sources of a zone, which hold
    as well where any size can make them. See `OptimisedSizes`."""
    problem = SizingProblem(system, rules, tuple(_open(rules, unit) for unit in units))
    answer = problem.solve(paths)
    beyond = answer.beyond
    if beyond:
        # A terminal or the shelf may stand in the way: let them give way before the budget does.
        runs_of = {path.load: [run for run, _ in path.runs] for path in paths}
        held_back = {problem.number[run] for load in beyond for run in runs_of[load] if run in problem.number}
        problem = problem.with_units({n: _open(rules, units[n], yielding=YIELDING) for n in held_back})
        answer = problem.solve(paths)
        beyond = answer.beyond
        in_vain = {problem.number[run] for load in beyond for run in runs_of[load] if run in problem.number}
        problem = problem.with_units({n: _open(rules, units[n]) for n in held_back & in_vain})
    stated_v = {path.load: path.budget_v for path in paths}
    budget_v = dict(stated_v)
    windowed: set[str] = set()
    hopeless: set[str] = set(beyond)
    for _ in range(ROUNDS):
        kept = [replace(path, budget_v=budget_v[path.load]) for path in paths if path.load not in beyond]
        answer = problem.solve(kept, [path for path in alone if path.load not in hopeless])
        for load in answer.beyond:
            # No size brings this load into its window: its budget holds again, and judging tells.
            budget_v[load] = stated_v[load]
            windowed.discard(load)
            hopeless.add(load)
        tighter_v = _tighter_v(system, VoltageDrops(rules, answer.gauges), kept, hopeless, stated_v)
        if not answer.beyond and not tighter_v:
            break
        budget_v |= tighter_v
        windowed |= {load for load in tighter_v if system.parts[load].works is not None}
    given_up = {
        run: tuple(rule for rule in YIELDING if rules[run].refuses(rule, g))
        for run in problem.number
        if (g := answer.gauges.get(run)) is not None
    }
    return OptimisedSizes(
        gauges=answer.gauges,
        given_up={run: yielded for run, yielded in given_up.items() if yielded},
        windowed=frozenset(windowed),
        budget_v=budget_v,
        started=answer.started,
        exact=answer.exact,
    )


def _open(rules: Mapping[str, Rules], unit: SizingUnit, yielding: tuple[Rule, ...] = ()) -> OpenUnit:
    """The sizes that all rules of a unit's runs allow; where there are none, without the rules that may yield."""
    steps: tuple[tuple[Rule, ...], ...] = (yielding, YIELDING[:1], YIELDING[1:], YIELDING)
    for without in dict.fromkeys(steps):
        kept = tuple(rule for rule in ALONE if rule not in without)
        options = list(rules[unit.runs[0]].gauges)
        for run in unit.runs:
            options = [g for g in options if rules[run].allows(rules[run].here(g), kept)]
        if options:
            return OpenUnit(unit, tuple(options))
    return OpenUnit(unit, ())


def _tighter_v(
    system: System,
    drops: VoltageDrops,
    paths: Sequence[SupplyPath],
    hopeless: set[str],
    stated_v: Mapping[str, float],
) -> dict[str, float]:
    """By load that would fall below its voltage window, or lose more than its budget where that is to hold in warm
    copper, the judged volts that would keep it inside."""
    tighter: dict[str, float] = {}
    for path in paths:
        works = system.parts[path.load].works
        if path.load in hopeless:
            continue
        allowed = path.low_v - works.low if works is not None else float("inf")
        if system.settings.judge == "warm":
            allowed = min(allowed, stated_v[path.load])
        lost = drops.warm_v(path)
        if lost > allowed > 0.0:
            tighter[path.load] = drops.judged_v(path) * allowed / lost * INSIDE
    return tighter
