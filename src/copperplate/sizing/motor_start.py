"""The voltage at a motor while it starts and at an inverter in its surge, as built."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import sqrt

from copperplate.findings import Finding, make
from copperplate.model import Inverter, Load, Part, System
from copperplate.model.graph import Terminals
from copperplate.model.paths import Step
from copperplate.model.results import RunResult, Solution
from copperplate.standards import Profile, conductors


@dataclass(frozen=True)
class StartVoltage:
    """A motor's start in the load case that leaves it least: `volts` at its terminals, the resistance of its path out
    and back, and by run what that has of it."""

    amperes: float
    volts: float
    case: str
    ohm: float
    own_ohm: Mapping[str, float]


def start_voltage(
    system: System, solution: Solution, part: Part, ends: Terminals, steps: tuple[Step, ...], bank_ohm: float
) -> StartVoltage | None:
    """The start of a load that states `inrush`, or the surge of an inverter; None for any other, and where no load case
    has it on.

    The other loads stay as in the case; what the start adds flows through the resistance of the supply path as built,
    and through `bank_ohm` within the bank, whose terminals the case holds. Of a path with loops only the shortest way
    through counts, which loses more. A surge is of constant power: V = (E + sqrt(E² - 4 P R)) / 2 behind R, where E is
    the voltage without its current, and E / 2 where there is no such V."""
    starting_a = part.inrush_a if isinstance(part, Load) else None
    surge_w = (part.surge_w or 0.0) / part.efficiency if isinstance(part, Inverter) else 0.0
    if not starting_a and not surge_w:
        return None
    ohm = bank_ohm
    own: dict[str, float] = {}
    for step in steps:
        if step.edge.kind == "conductor":
            added = solution.hottest_ohm(step.edge.id)
            run = system.conductors[step.edge.id].run
            own[run] = own.get(run, 0.0) + added
        else:
            added = system.devices[step.edge.id].resistance_ohm if step.edge.kind == "device" else 0.0
        ohm += added
    lowest: tuple[float, float, str] | None = None
    for case in system.cases:
        volts, drawn = solution.node_v.get(case.id, {}), solution.load_a.get(case.id, {})
        if case.kind != "load" or ends.pos not in volts or ends.neg not in volts or not case.shares.get(part.id):
            continue
        across = volts[ends.pos] - volts[ends.neg]
        steady = abs(across) if ends.current == "ac" else across
        steady_a = abs(drawn.get(part.id, 0.0))
        if starting_a:
            amperes, at_start = starting_a, steady - max(0.0, starting_a - steady_a) * ohm
        else:
            behind_v = steady + steady_a * ohm
            at_start = (behind_v + sqrt(max(0.0, behind_v**2 - 4 * surge_w * ohm))) / 2
            amperes = surge_w / at_start
        if lowest is None or at_start < lowest[1]:
            lowest = (amperes, at_start, case.id)
    return StartVoltage(*lowest, ohm, own) if lowest is not None else None


def too_low(
    system: System, profile: Profile, runs: Mapping[str, RunResult], load: Part, start: StartVoltage, low: float
) -> Finding:
    """A start that takes the voltage below the `low` end of the window of its motor."""
    leads = [name for name in start.own_ohm if load.id in system.end_parts(system.runs[name])]
    worst = max(start.own_ohm, key=lambda name: start.own_ohm[name], default="")
    sized = all((result := runs.get(lead)) is not None and result.size is not None for lead in leads)
    return make(
        "CP427",
        load.id,
        load.spans.get("inrush_a") or load.spans.get("surge_w") or load.span,
        at={"run": system.runs[worst].span if worst else None},
        volts=start.volts,
        amperes=start.amperes,
        low=low,
        ohm=start.ohm,
        case=start.case,
        size=_leads_of(system, profile, runs, start, leads, low - start.volts) if sized else None,
        leads=leads,
        unsized=not sized,
    )


def _leads_of(
    system: System,
    profile: Profile,
    runs: Mapping[str, RunResult],
    start: StartVoltage,
    leads: list[str],
    missing_v: float,
) -> str | None:
    """The size of the motor's own leads, all alike, that would leave the voltage inside the window."""
    tinned = system.settings.tinned
    for size in profile.sizes(system.settings.conductors):
        ohm = 0.0
        for name in leads:
            result = runs[name]
            if result.size is not None:
                now = conductors.ohm_per_m(result.size, result.insulation_c, tinned)
                ohm += start.own_ohm[name] * conductors.ohm_per_m(size, result.insulation_c, tinned) / now
        if leads and (sum(start.own_ohm[name] for name in leads) - ohm) * start.amperes >= missing_v:
            return size.label
    return None
