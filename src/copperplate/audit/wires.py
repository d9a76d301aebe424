"""Conductors as the re-check sees them: ohms, ampacity, loaded neighbours, from the plate and the tables alone."""

from __future__ import annotations

import math
from functools import lru_cache
from math import prod

from copperplate.model import Conductor, Load, Run, System
from copperplate.model.graph import earth_ohm
from copperplate.model.results import Design
from copperplate.standards import OutsideTable, Profile, conductors, profile, with_terminals
from copperplate.standards.adiabatic import adiabatic_k

CARRYING_A = 1e-9
"""What is less is the rounding of a solution."""


def ohms(design: Design, conductor: Conductor, temperature_c: float) -> float | None:
    """Resistance of a conductor of its run's size at a temperature, its parallels together and the earth that it
    lands on included; None without a size."""
    result = design.runs.get(conductor.run)
    if result is None or result.size is None:
        return None
    tinned = design.system.settings.tinned
    copper = conductors.ohm_per_m(result.size, temperature_c, tinned) * conductor.length_m / result.parallel
    return copper + sum(earth_ohm(design.system, node) for node in (conductor.from_node, conductor.to_node))


def area_mm2(design: Design, run: str) -> float:
    """Copper of one pole of a run, its parallels together; 0.0 without a size."""
    result = design.runs.get(run)
    return conductors.area_mm2(result.size) * result.parallel if result is not None and result.size is not None else 0.0


def _rules(design: Design) -> Profile:
    return with_terminals(profile(design.profile), design.system.settings.terminals_c)


def ampacity_a(design: Design, run: Run, together: int) -> float | None:
    """Table times factors times parallels, with `together` loaded conductors in its fullest route; None without a size
    or where the table does not reach."""
    result = design.runs.get(run.id)
    if result is None or result.size is None or not run.conductor_ids:
        return None
    rules, system = _rules(design), design.system
    insulation_c = run.insulation_c if run.insulation_c is not None else system.settings.insulation_c
    nominal_v = system.nodes[system.conductors[run.conductor_ids[0]].from_node].nominal_v
    try:
        table = rules.ampacity(result.size, insulation_c)
        factors = rules.factors(
            result.size, insulation_c, run.ambient_c, run.engine_space, nominal_v, together, run.laid
        )
    except OutsideTable:
        return None
    return table.value * prod(factor.value for factor in factors) * result.parallel


def brief_a(design: Design, run: str) -> float:
    """What a run may carry for as long as the loads run that run but briefly, where it was made for some: kS/sqrt(t)
    of the longest of all; 0.0 where it was not."""
    result = design.runs.get(run)
    seconds = _longest_s(design.system)
    if result is None or result.brief_s is None or not seconds:
        return 0.0
    return adiabatic_k(result.insulation_c).value * area_mm2(design, run) / math.sqrt(seconds)


@lru_cache(maxsize=1)
def _longest_s(system: System) -> float:
    return max((load.for_h * 3600 for load in system.of(Load) if load.for_h), default=0.0)


def unfactored_a(design: Design, run: str) -> float:
    """Ampacity before any factor, at most that of the terminals' column, its parallels together; 0.0 without a size."""
    result, rules = design.runs[run], _rules(design)
    laid = design.system.runs[run]
    insulation_c = laid.insulation_c if laid.insulation_c is not None else design.system.settings.insulation_c
    return rules.unfactored_a(result.size, insulation_c) * result.parallel if result.size is not None else 0.0


def loaded_together(design: Design) -> dict[str, int]:
    """By run: loaded conductors in its fullest route at once, itself always counted whole. Every current-carrying
    pole counts, each conductor in parallel by itself; earths do not, nor the neutral between two lines."""
    system = design.system
    poles: dict[str, list[str]] = {}
    for run in system.runs.values():
        by_pole: dict[str, str] = {}
        for conductor in run.conductor_ids:
            by_pole.setdefault(system.conductors[conductor].pole, conductor)
        if {"l1", "l2"} <= set(by_pole):
            by_pole.pop("n", None)
        by_pole.pop("pe", None)
        poles[run.id] = [] if run.earth else list(by_pole.values())
    own = {run.id: len(poles[run.id]) * run.parallel for run in system.runs.values()}
    result = dict(own)
    for route in system.routes.values():
        members = [name for name in dict.fromkeys(route.runs) if name in own]
        for case in (*system.cases, *design.states):
            live = {
                name: system.runs[name].parallel * sum(_carries(design, c, case.id) for c in poles[name])
                for name in members
            }
            total = sum(live.values())
            for name in members:
                result[name] = max(result[name], total - live[name] + own[name])
    return result


def _carries(design: Design, conductor: str, case: str) -> bool:
    result = design.conductors.get(conductor)
    return result is not None and abs(result.current_a.get(case, 0.0)) > CARRYING_A
