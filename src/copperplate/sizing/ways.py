"""What each consumer's current passes on its way, for budgets: runs with their ampere-metres, and what else is lost.

The ampere-metres of a run are current x length over its conductors in parallel, summed over both poles. The current
is the largest over the load cases. In a loop it is the signed current of the case that loses most on this way.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from copperplate.model import Load, System
from copperplate.model.graph import Terminals, earth_ohm
from copperplate.model.paths import Paths, Step
from copperplate.model.results import Demand


@dataclass(frozen=True)
class Start:
    """A motor's start on its way: the most volts that may be lost in warm copper so that it stays inside its window,
    and (run, ampere-metres) with its starting current in place of its own, everything else as in the load cases."""

    amperes: float
    allowed_v: float
    runs: tuple[tuple[str, float], ...]
    fixed_v: float


@dataclass(frozen=True)
class Passage:
    """One consumer's way: (run, ampere-metres) in the order of the path, and the volts lost in devices and earths
    that have a resistance. `source` feeds it; `low_v` is what that source holds at least."""

    load: str
    ends: Terminals
    source: str
    low_v: float
    budget_v: float
    runs: tuple[tuple[str, float], ...]
    fixed_v: float
    start: Start | None = None
    alone: bool = False
    """From another source than the one that sizes are settled by first: this one, left to carry all."""


def passages(
    system: System, demand: Demand, consumers: Mapping[str, Terminals], ways: Paths, looped: frozenset[str]
) -> tuple[Passage, ...]:
    """The passage of every consumer that has a budget and a way, in declaration order."""
    found: list[Passage] = []
    for load, ends in consumers.items():
        if load not in demand.budget_v or load not in ways.to:
            continue
        steps = ways.to[load]
        metres: dict[str, float] = {}
        for step, amount in zip(steps, ampere_metres(system, demand, steps, looped), strict=True):
            if step.edge.kind == "conductor":
                run = system.conductors[step.edge.id].run
                metres[run] = metres.get(run, 0.0) + amount
        found.append(
            Passage(
                load=load,
                ends=ends,
                source=ways.source[load],
                low_v=demand.low_v.get(ends.zone, ends.nominal_v),
                budget_v=demand.budget_v[load].value,
                runs=tuple((run, max(amount, 0.0)) for run, amount in metres.items()),
                fixed_v=fixed_v(system, demand, steps),
                start=_start(system, demand, load, ends, steps, metres),
            )
        )
    return tuple(found)


def passages_alone(
    system: System,
    demand: Demand,
    consumers: Mapping[str, Terminals],
    first: Paths,
    others: tuple[Paths, ...],
    looped: frozenset[str],
) -> tuple[Passage, ...]:
    """The passages from every other source of a zone (batteries in parallel, supplies that take turns) than the one
    in `first`, each left to carry all."""
    found: list[Passage] = []
    for ways in others:
        apart = {load: ends for load, ends in consumers.items() if ways.source.get(load) != first.source.get(load)}
        found += [replace(p, alone=True) for p in passages(system, demand, apart, ways, looped)]
    return tuple(found)


def _start(
    system: System, demand: Demand, load: str, ends: Terminals, steps: tuple[Step, ...], steady: Mapping[str, float]
) -> Start | None:
    """The start of a load that states `inrush` and `works`; what it adds flows through the whole of its way."""
    part = system.parts[load]
    if not isinstance(part, Load) or part.works is None or not part.inrush_a:
        return None
    works, amperes = part.works, part.inrush_a
    added = max(0.0, amperes - demand.load_a.get(load, 0.0))
    runs = dict(steady)
    ohm = 0.0
    for step in steps:
        if step.edge.kind == "conductor":
            conductor = system.conductors[step.edge.id]
            runs[conductor.run] += added * conductor.length_m / system.runs[conductor.run].parallel
            ohm += sum(earth_ohm(system, node) for node in (conductor.from_node, conductor.to_node))
        elif step.edge.kind == "device":
            ohm += system.devices[step.edge.id].resistance_ohm
    low_v = demand.low_v.get(ends.zone, ends.nominal_v)
    lost_v = fixed_v(system, demand, steps) + added * ohm
    return Start(amperes, low_v - works.low, tuple((run, max(am, 0.0)) for run, am in runs.items()), lost_v)


def ampere_metres(system: System, demand: Demand, steps: tuple[Step, ...], looped: frozenset[str]) -> tuple[float, ...]:
    """Current x length over the conductors in parallel, by step of a way; 0.0 for a device. In a loop signed along
    the way, by the load case in which the loop's conductors lose most on it."""
    around = [step for step in steps if step.edge.kind == "conductor" and step.edge.id in looped]
    cases = [case.id for case in system.cases if case.kind == "load"]
    worst = max(cases, key=lambda case: sum(_signed(system, demand, case, s) for s in around), default="")
    found: list[float] = []
    for step in steps:
        if step.edge.kind != "conductor":
            found.append(0.0)
        elif step.edge.id in looped:
            found.append(_signed(system, demand, worst, step) if worst else 0.0)
        else:
            conductor = system.conductors[step.edge.id]
            metres = conductor.length_m / system.runs[conductor.run].parallel
            found.append(demand.drop_a[conductor.id] * metres)
    return tuple(found)


def _signed(system: System, demand: Demand, case: str, step: Step) -> float:
    conductor = system.conductors[step.edge.id]
    metres = conductor.length_m / system.runs[conductor.run].parallel
    return demand.case_a[case][conductor.id] * step.along * metres


def fixed_v(system: System, demand: Demand, steps: tuple[Step, ...]) -> float:
    """Volts lost on a way in devices and conducting earths, by the current of the conductor next to each."""
    lost, amperes = 0.0, 0.0
    waiting = 0.0
    for step in steps:
        if step.edge.kind == "device":
            ohm = system.devices[step.edge.id].resistance_ohm
            if amperes:
                lost += ohm * amperes
            else:
                waiting += ohm
        elif step.edge.kind == "conductor":
            amperes = demand.drop_a[step.edge.id]
            lost += waiting * amperes
            waiting = 0.0
            conductor = system.conductors[step.edge.id]
            lost += amperes * sum(earth_ohm(system, node) for node in (conductor.from_node, conductor.to_node))
    return lost
