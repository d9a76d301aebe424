"""Settling the sizes of all runs together: the least copper that every rule and every budget allows."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from copperplate.model import System
from copperplate.sizing.holding import Hard, holding
from copperplate.sizing.instance import Option, Way
from copperplate.sizing.laying import Gauge
from copperplate.sizing.rules import ALONE, Rule, Rules
from copperplate.sizing.units import Unit
from copperplate.sizing.ways import Passage, Start
from copperplate.standards import conductors

ROUNDS = 12
"""Budgets are tightened towards voltage windows so many times at most; each round comes nearer by its own error."""
COPPER = 1e9
"""Copper is counted in whole units of 1e-9 mm²m."""
YIELDING: tuple[Rule, ...] = ("terminal", "stock")
"""Rules that give way where nothing else would serve; an error then tells."""


@dataclass(frozen=True)
class Settled:
    """The gauge of every run (None where no size serves). `given_up` are the rules that gave way, by run; `beyond`
    the loads whose budget no size can hold; `windowed` those whose own voltage window, and not the budget, set
    sizes; `budget_v` the volts that each load was allowed in the end; `started` the motors whose start the sizes were
    held to; `exact` whether it is proven the least."""

    gauges: Mapping[str, Gauge | None]
    given_up: Mapping[str, tuple[Rule, ...]]
    beyond: tuple[str, ...]
    windowed: frozenset[str]
    budget_v: Mapping[str, float]
    started: frozenset[str]
    exact: bool


@dataclass
class _Unit:
    """A unit with the sizes that its rules allow."""

    unit: Unit
    options: list[Gauge]
    given_up: tuple[Rule, ...] = field(default=())


def settle(
    system: System,
    rules: Mapping[str, Rules],
    units: Sequence[Unit],
    passages: Sequence[Passage],
    alone: Sequence[Passage] = (),
) -> Settled:
    """One size for each unit; what is stated stays. `alone` are the ways from the other sources of a zone, which hold
    as well where any size can make them. See `Settled`."""
    open_units = [_open(rules, unit) for unit in units]
    number = {run: n for n, unit in enumerate(open_units) for run in unit.unit.runs}
    passing = {p.load: p for p in passages}
    plan, beyond = _plan(system, rules, open_units, number, passages)
    if beyond:
        # A terminal or the shelf may stand in the way: let them give way before the budget does.
        held_back = {number[run] for load in beyond for run, _ in passing[load].runs if run in number}
        for n in held_back:
            open_units[n] = _open(rules, units[n], yielding=YIELDING)
        plan, beyond = _plan(system, rules, open_units, number, passages)
        in_vain = {number[run] for load in beyond for run, _ in passing[load].runs if run in number}
        for n in held_back & in_vain:
            open_units[n] = _open(rules, units[n])
    budgets = {p.load: p.budget_v for p in passages}
    windowed: set[str] = set()
    hopeless: set[str] = set(beyond)
    for _ in range(ROUNDS):
        kept = [replace(p, budget_v=budgets[p.load]) for p in passages if p.load not in beyond]
        also = [p for p in alone if p.load not in hopeless]
        plan, more = _plan(system, rules, open_units, number, kept, also)
        for load in more:
            # No size brings this load into its window: its budget holds again, and judging tells.
            budgets[load] = passing[load].budget_v
            windowed.discard(load)
            hopeless.add(load)
        tight = _outside(system, rules, plan, kept, hopeless)
        if not more and not tight:
            break
        for load, allowed in tight.items():
            budgets[load] = allowed
            windowed.add(load)
    given_up = {
        run: tuple(rule for rule in YIELDING if rules[run].refuses(rule, g))
        for unit in open_units
        for run in unit.unit.runs
        if (g := plan.gauges.get(run)) is not None
    }
    return Settled(
        gauges=plan.gauges,
        given_up={run: broken for run, broken in given_up.items() if broken},
        beyond=tuple(beyond),
        windowed=frozenset(windowed),
        budget_v=budgets,
        started=plan.started,
        exact=plan.exact,
    )


@dataclass(frozen=True)
class _Plan:
    gauges: dict[str, Gauge | None]
    started: frozenset[str]
    exact: bool


def _open(rules: Mapping[str, Rules], unit: Unit, yielding: tuple[Rule, ...] = ()) -> _Unit:
    """The sizes that all rules of a unit's runs allow; where there are none, without the rules that may yield."""
    first = rules[unit.runs[0]]
    steps: tuple[tuple[Rule, ...], ...] = (yielding, YIELDING[:1], YIELDING[1:], YIELDING)
    for without in dict.fromkeys(steps):
        asked = tuple(rule for rule in ALONE if rule not in without)
        allowed = list(first.gauges)
        for run in unit.runs:
            allowed = [g for g in allowed if rules[run].allows(_at(rules[run], g), asked)]
        if allowed:
            return _Unit(unit, allowed, without)
    return _Unit(unit, [])


def _at(rules: Rules, g: Gauge) -> Gauge:
    """The same size where this run lies."""
    return g if g.laying is rules.laying else rules.of(g.size)


def stand_in(rules: Rules) -> Gauge:
    """The largest gauge: what is reckoned with where no size serves, so that the rest can be judged."""
    return rules.gauges[-1]


def _plan(
    system: System,
    rules: Mapping[str, Rules],
    open_units: Sequence[_Unit],
    number: Mapping[str, int],
    passages: Sequence[Passage],
    alone: Sequence[Passage] = (),
) -> tuple[_Plan, list[str]]:
    """The least copper for these budgets, and the loads whose budget no size holds."""
    links_m = _links_m(system, rules)
    options = []
    for unit in open_units:
        metres = sum(
            system.conductors[c].length_m * system.runs[run].parallel
            for run in unit.unit.runs
            for c in system.runs[run].conductor_ids
        ) + sum(links_m.get(run, 0.0) for run in unit.unit.runs)
        options.append([Option(g.judged.value, g.area_mm2, round(g.area_mm2 * metres * COPPER)) for g in unit.options])
    ways = []
    for passage in passages:
        left = passage.budget_v - passage.fixed_v
        weights: dict[int, float] = {}
        for run, ampere_metres in passage.runs:
            n = number.get(run)
            if n is not None and open_units[n].options:
                weights[n] = weights.get(n, 0.0) + ampere_metres
            elif run in rules:
                left -= ampere_metres * _fixed(rules[run]).judged.value
        ways.append(Way(left, tuple(weights.items())))
    starts = _starts(rules, open_units, number, passages)
    plan = holding(options, ways, (*starts.values(), *_alone(system, rules, open_units, number, alone)))
    gauges: dict[str, Gauge | None] = {}
    for run, r in rules.items():
        n = number.get(run)
        if n is None:
            gauges[run] = _fixed(r)
        else:
            taken = plan.taken[n]
            gauges[run] = None if taken is None else _at(r, open_units[n].options[taken])
    return _Plan(gauges, frozenset(starts), plan.exact), [passages[n].load for n in plan.beyond]


def _starts(
    rules: Mapping[str, Rules], open_units: Sequence[_Unit], number: Mapping[str, int], passages: Sequence[Passage]
) -> dict[str, Hard]:
    """By motor, what its start may lose and what it loses in each size of each unit; without those whose start no
    size can help, which judging tells of."""
    found: dict[str, Hard] = {}
    for passage in passages:
        start = passage.start
        if start is None:
            continue
        hard = _hard(rules, open_units, number, start.allowed_v - start.fixed_v, start.runs, hot_ohm_per_m)
        if hard is not None:
            found[passage.load] = hard
    return found


def _alone(
    system: System,
    rules: Mapping[str, Rules],
    open_units: Sequence[_Unit],
    number: Mapping[str, int],
    passages: Sequence[Passage],
) -> list[Hard]:
    """The budget, and the window in warm copper, of every way from a source that is left to carry all."""
    found: list[Hard | None] = []
    for p in passages:
        found.append(_hard(rules, open_units, number, p.budget_v - p.fixed_v, p.runs, lambda _, g: g.judged.value))
        works = system.parts[p.load].works
        if works is not None and p.low_v > works.low:
            found.append(_hard(rules, open_units, number, p.low_v - works.low - p.fixed_v, p.runs, hot_ohm_per_m))
    return [hard for hard in found if hard is not None]


def _hard(
    rules: Mapping[str, Rules],
    open_units: Sequence[_Unit],
    number: Mapping[str, int],
    left_v: float,
    runs: Sequence[tuple[str, float]],
    ohm_per_m: Callable[[Rules, Gauge], float],
) -> Hard | None:
    """What a way may lose and loses in each size of each unit on it; None where no size can help."""
    left = left_v
    lost: dict[int, list[float]] = {}
    for run, ampere_metres in runs:
        n = number.get(run)
        if run not in rules:
            continue
        if n is None or not open_units[n].options:
            left -= ampere_metres * ohm_per_m(rules[run], _fixed(rules[run]))
            continue
        volts = [ampere_metres * ohm_per_m(rules[run], _at(rules[run], g)) for g in open_units[n].options]
        lost[n] = [a + b for a, b in zip(lost[n], volts, strict=True)] if n in lost else volts
    for volts in lost.values():
        # Series mixed on one shelf: where a larger area has more resistance, the smaller is held to lose as much.
        for at in range(len(volts) - 2, -1, -1):
            volts[at] = max(volts[at], volts[at + 1])
    hard = Hard(left, {n: tuple(volts) for n, volts in lost.items()})
    return hard if lost and hard.can_hold() else None


def _links_m(system: System, rules: Mapping[str, Rules]) -> dict[str, float]:
    """By lead of a bank, the metres of conductor between its batteries, which are laid in the size of that lead. Of
    several leads the one with most current stands for the largest."""
    leads: dict[str, list[str]] = {}
    for run in system.runs.values():
        if run.id in rules:
            for part in dict.fromkeys(system.end_parts(run)):
                leads.setdefault(part, []).append(run.id)
    found: dict[str, float] = {}
    for run in system.runs.values():
        own = leads.get(run.from_end.split(".")[0], []) if run.role == "link" else []
        if own:
            lead = max(own, key=lambda one: rules[one].need.carries_a)
            found[lead] = found.get(lead, 0.0) + run.length_m * run.count * system.runs[lead].parallel
    return found


def _fixed(rules: Rules) -> Gauge:
    """The gauge of a run whose size is stated, or that has none."""
    return rules.of(rules.run.size) if rules.run.size is not None else stand_in(rules)


def _outside(
    system: System, rules: Mapping[str, Rules], plan: _Plan, passages: Sequence[Passage], hopeless: set[str]
) -> dict[str, float]:
    """Loads that would fall below their voltage window, with the judged volts that would keep them inside."""
    found: dict[str, float] = {}
    for passage in passages:
        works = system.parts[passage.load].works
        if works is None or passage.load in hopeless:
            continue
        allowed = passage.low_v - works.low
        lost = physical_v(rules, plan.gauges, passage)
        if lost > allowed > 0.0:
            judged = judged_v(rules, plan.gauges, passage)
            found[passage.load] = judged * allowed / lost * (1.0 - 1e-3)
    return found


NO_SWAP: Mapping[str, Gauge] = {}


def judged_v(
    rules: Mapping[str, Rules],
    gauges: Mapping[str, Gauge | None],
    passage: Passage,
    swap: Mapping[str, Gauge] = NO_SWAP,
) -> float:
    """Volts lost on a way by the profile's figure; `swap` puts other gauges on some runs."""
    return _lost_v(rules, gauges, passage, swap, lambda _, g: g.judged.value)


def physical_v(
    rules: Mapping[str, Rules],
    gauges: Mapping[str, Gauge | None],
    way: Passage | Start,
    swap: Mapping[str, Gauge] = NO_SWAP,
) -> float:
    """Volts lost on a way, or on it while its motor starts, in copper at the temperature that the sizing currents give
    it: no less than as built."""
    return _lost_v(rules, gauges, way, swap, hot_ohm_per_m)


def _lost_v(
    rules: Mapping[str, Rules],
    gauges: Mapping[str, Gauge | None],
    way: Passage | Start,
    swap: Mapping[str, Gauge],
    ohm_per_m: Callable[[Rules, Gauge], float],
) -> float:
    lost = way.fixed_v
    for run, ampere_metres in way.runs:
        if run in rules:
            g = swap.get(run) or gauges.get(run) or stand_in(rules[run])
            lost += ampere_metres * ohm_per_m(rules[run], g)
    return lost


def hot_ohm_per_m(rules: Rules, g: Gauge) -> float:
    """Physical resistance at Ta + (Tmax - Ta)(I/Iz)², I the design current and Iz the ampacity after factors."""
    laying = rules.laying
    ampacity = g.ampacity_a * rules.run.parallel
    heating = min((rules.need.design.value / ampacity) ** 2, 1.0) if ampacity else 1.0
    temperature_c = laying.ambient_c + (laying.insulation_c - laying.ambient_c) * heating
    return conductors.ohm_per_m(g.size, temperature_c, laying.tinned)
