"""Supply paths for budgets: from its source to each consumer and back, with the ampere-metres of each run on it.

The ampere-metres of a run are current x length over its conductors in parallel, summed over both poles (A m): times
the resistance per metre they are the volts lost in it, by Ohm's law. The current is the largest over the load cases. In
a loop it is the signed current of the case that loses most on this path.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from copperplate.model import Inverter, Load, System
from copperplate.model.graph import Terminals, earth_ohm
from copperplate.model.paths import Paths, Step
from copperplate.model.results import Demand


@dataclass(frozen=True)
class MotorStart:
    """A motor's start on its supply path: the most volts that may be lost in warm copper so that it stays inside its
    window, and (run, ampere-metres) with its starting current in place of its own, everything else as in the load
    cases; `fixed_v` is lost in devices and earths."""

    amperes: float
    allowed_v: float
    runs: tuple[tuple[str, float], ...]
    fixed_v: float


@dataclass(frozen=True)
class SupplyPath:
    """One consumer's path: (run, ampere-metres) in the order of the path, and the volts lost in devices and earths
    that have a resistance. `source` feeds it; `low_v` is what that source holds at least."""

    load: str
    ends: Terminals
    source: str
    low_v: float
    budget_v: float
    runs: tuple[tuple[str, float], ...]
    fixed_v: float
    start: MotorStart | None = None
    alone: bool = False
    """From another source than the first, which sizes are optimised by: this one, left to carry all."""


def supply_paths(
    system: System, demand: Demand, consumers: Mapping[str, Terminals], shortest: Paths, ringed: frozenset[str]
) -> tuple[SupplyPath, ...]:
    """The path of every consumer that has a budget and a source, in declaration order. `ringed` are the conductors
    that lie in a loop."""
    paths: list[SupplyPath] = []
    for load, ends in consumers.items():
        if load not in demand.budget_v or load not in shortest.to:
            continue
        steps = shortest.to[load]
        runs: dict[str, float] = {}
        for step, amount in zip(steps, ampere_metres(system, demand, steps, ringed), strict=True):
            if step.edge.kind == "conductor":
                run = system.conductors[step.edge.id].run
                runs[run] = runs.get(run, 0.0) + amount
        paths.append(
            SupplyPath(
                load=load,
                ends=ends,
                source=shortest.source[load],
                low_v=demand.low_v.get(ends.zone, ends.nominal_v),
                budget_v=demand.budget_v[load].value,
                runs=tuple((run, max(amount, 0.0)) for run, amount in runs.items()),
                fixed_v=fixed_v(system, demand, steps),
                start=_start(system, demand, load, ends, steps, runs),
            )
        )
    return tuple(paths)


def supply_paths_alone(
    system: System,
    demand: Demand,
    consumers: Mapping[str, Terminals],
    first: Paths,
    others: tuple[Paths, ...],
    ringed: frozenset[str],
) -> tuple[SupplyPath, ...]:
    """The paths from every other source of a zone (batteries in parallel, supplies that take turns) than the one in
    `first`, each left to carry all."""
    paths: list[SupplyPath] = []
    for shortest in others:
        apart = {load: ends for load, ends in consumers.items() if shortest.source.get(load) != first.source.get(load)}
        paths += [replace(p, alone=True) for p in supply_paths(system, demand, apart, shortest, ringed)]
    return tuple(paths)


def _start(
    system: System, demand: Demand, load: str, ends: Terminals, steps: tuple[Step, ...], steady: Mapping[str, float]
) -> MotorStart | None:
    """The start of a load that states `inrush` and `works`, or the surge of an inverter at the low end of its window;
    what it adds flows through the whole of its path and through its bank."""
    part = system.parts[load]
    if part.works is None:
        return None
    starting_a = part.inrush_a if isinstance(part, Load) else None
    if isinstance(part, Inverter) and part.surge_w:
        starting_a = part.surge_w / part.efficiency / part.works.low
    if not starting_a:
        return None
    added_a = max(0.0, starting_a - demand.load_a.get(load, 0.0))
    runs = dict(steady)
    ohm = demand.bank_ohm.get(ends.zone, 0.0)
    for step in steps:
        if step.edge.kind == "conductor":
            conductor = system.conductors[step.edge.id]
            runs[conductor.run] += added_a * conductor.length_m / system.runs[conductor.run].parallel
            ohm += sum(earth_ohm(system, node) for node in (conductor.from_node, conductor.to_node))
        elif step.edge.kind == "device":
            ohm += system.devices[step.edge.id].resistance_ohm
    low_v = demand.low_v.get(ends.zone, ends.nominal_v)
    lost_v = fixed_v(system, demand, steps) + added_a * ohm
    whole = tuple((run, max(amount, 0.0)) for run, amount in runs.items())
    return MotorStart(starting_a, low_v - part.works.low, whole, lost_v)


def ampere_metres(system: System, demand: Demand, steps: tuple[Step, ...], ringed: frozenset[str]) -> tuple[float, ...]:
    """Current x length over the conductors in parallel, by step of a path; 0.0 for a device. In a loop signed along
    the path, by the load case in which the loop's conductors lose most on it."""
    around = [step for step in steps if step.edge.kind == "conductor" and step.edge.id in ringed]
    cases = [case.id for case in system.cases if case.kind == "load"]
    worst = max(cases, key=lambda case: sum(_signed(system, demand, case, s) for s in around), default="")
    amounts: list[float] = []
    for step in steps:
        if step.edge.kind != "conductor":
            amounts.append(0.0)
        elif step.edge.id in ringed:
            amounts.append(_signed(system, demand, worst, step) if worst else 0.0)
        else:
            conductor = system.conductors[step.edge.id]
            metres = conductor.length_m / system.runs[conductor.run].parallel
            amounts.append(demand.drop_a[conductor.id] * metres)
    return tuple(amounts)


def _signed(system: System, demand: Demand, case: str, step: Step) -> float:
    conductor = system.conductors[step.edge.id]
    metres = conductor.length_m / system.runs[conductor.run].parallel
    return demand.case_a[case][conductor.id] * step.along * metres


def fixed_v(system: System, demand: Demand, steps: tuple[Step, ...]) -> float:
    """Volts lost on a path in devices and conducting earths, by the current of the conductor next to each."""
    lost, amperes = 0.0, 0.0
    waiting_ohm = 0.0
    for step in steps:
        if step.edge.kind == "device":
            ohm = system.devices[step.edge.id].resistance_ohm
            if amperes:
                lost += ohm * amperes
            else:
                waiting_ohm += ohm
        elif step.edge.kind == "conductor":
            amperes = demand.drop_a[step.edge.id]
            lost += waiting_ohm * amperes
            waiting_ohm = 0.0
            conductor = system.conductors[step.edge.id]
            lost += amperes * sum(earth_ohm(system, node) for node in (conductor.from_node, conductor.to_node))
    return lost
