"""Supply paths for budgets: from its source to each consumer and back, with the ampere-metres of each run on it.

The ampere-metres of a run are current x length over its conductors in parallel, summed over both poles (A m): times
the resistance per metre they are the volts lost in it, by Ohm's law. The current is the largest over the load cases. In
a loop it is the signed current of the case that loses most on this path.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import fsum

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
        path = legs(system, demand, shortest.to[load], ringed)
        runs: dict[str, float] = {}
        for leg in path:
            if leg.run:
                runs[leg.run] = runs.get(leg.run, 0.0) + leg.ampere_metres
        paths.append(
            SupplyPath(
                load=load,
                ends=ends,
                source=shortest.source[load],
                low_v=demand.low_v.get(ends.zone, ends.nominal_v),
                budget_v=demand.budget_v[load].value,
                runs=tuple((run, max(amount, 0.0)) for run, amount in runs.items()),
                fixed_v=fixed_v(path),
                start=_start(system, demand, load, ends, path, runs),
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
    system: System, demand: Demand, load: str, ends: Terminals, path: tuple[Leg, ...], steady: Mapping[str, float]
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
    for leg in path:
        ohm += leg.ohm
        if leg.run:
            runs[leg.run] += added_a * leg.metres
    low_v = demand.low_v.get(ends.zone, ends.nominal_v)
    lost_v = fixed_v(path) + added_a * ohm
    whole = tuple((run, max(amount, 0.0)) for run, amount in runs.items())
    return MotorStart(starting_a, low_v - part.works.low, whole, lost_v)


@dataclass(frozen=True, slots=True)
class Leg:
    """One step of a supply path. `run` of a conductor, "" of anything else; its `metres` over the conductors in
    parallel. `amperes` are what it is sized for, of a device what the conductor next to it is; `ampere_metres` those
    of a conductor by which budgets are judged. `ohm` is that of a device, or of the earths that a conductor lands
    on."""

    step: Step
    run: str
    metres: float
    amperes: float
    ampere_metres: float
    ohm: float


def legs(system: System, demand: Demand, steps: tuple[Step, ...], ringed: frozenset[str]) -> tuple[Leg, ...]:
    """A path leg by leg. In a loop ampere-metres are signed along the path, by the load case in which the loop's
    conductors lose most on it."""

    def signed(case: str, step: Step) -> float:
        return demand.case_a[case][step.edge.id] * step.along * metres_of(step)

    def metres_of(step: Step) -> float:
        conductor = system.conductors[step.edge.id]
        return conductor.length_m / system.runs[conductor.run].parallel

    around = [step for step in steps if step.edge.kind == "conductor" and step.edge.id in ringed]
    cases = [case.id for case in system.cases if case.kind == "load"]
    worst = max(cases, key=lambda case: sum(signed(case, step) for step in around), default="")
    found: list[Leg] = []
    near = 0.0
    for number, step in enumerate(steps):
        edge = step.edge
        if edge.kind == "conductor":
            conductor, near, metres = system.conductors[edge.id], demand.drop_a[edge.id], metres_of(step)
            ohm = sum(earth_ohm(system, node) for node in (conductor.from_node, conductor.to_node))
            looped = (signed(worst, step) if worst else 0.0) if edge.id in ringed else near * metres
            found.append(Leg(step, conductor.run, metres, near, looped, ohm))
        else:
            ohm = system.devices[edge.id].resistance_ohm if edge.kind == "device" else 0.0
            after = (demand.drop_a[s.edge.id] for s in steps[number:] if s.edge.kind == "conductor")
            found.append(Leg(step, "", 0.0, near or next(after, 0.0), 0.0, ohm))
    return tuple(found)


def fixed_v(path: tuple[Leg, ...]) -> float:
    """Volts lost on a path in devices and conducting earths."""
    return fsum(leg.amperes * leg.ohm for leg in path)
