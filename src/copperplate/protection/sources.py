"""What each source gives: held voltages, currents by case, and a short at its terminals."""

from __future__ import annotations

from copperplate.faults import banks, supplies
from copperplate.model import Battery, Inverter, Part, System
from copperplate.model.graph import graph
from copperplate.model.results import Solution, SourceResult
from copperplate.standards import Profile


def sources(system: System, profile: Profile, solution: Solution) -> dict[str, SourceResult]:
    """Every source: the voltage it is held at and the current it gives by case, and what it delivers into a short."""
    all_banks = banks(system)
    mains = supplies(system, profile, graph(system))
    result: dict[str, SourceResult] = {}
    for part in system.parts.values():
        if not part.roles.gives:
            continue
        bank, supply = all_banks.get(part.id), mains.get(part.id)
        fault_a = bank.fault_a if bank else supply.most_a if supply else None
        result[part.id] = SourceResult(
            source=part.id,
            kind=part.kind,
            terminal_v={c: volts[part.id] for c, volts in solution.held_v.items() if part.id in volts},
            current_a={c: amperes[part.id] for c, amperes in solution.source_a.items() if part.id in amperes},
            emf_full_v=bank.emf_full_v if bank else None,
            resistance_low_ohm=bank.resistance_ohm if bank else None,
            fault_current_a=fault_a,
            limits=_limits(part),
        )
    return result


def _limits(part: Part) -> dict[str, float]:
    """What a source states to give at most; a bank all its strings together."""
    stated = {
        "max_discharge_a": part.max_discharge_a if isinstance(part, Battery) else None,
        "max_charge_a": part.max_charge_a if isinstance(part, Battery) else None,
        "current_a": part.current_a,
        "power_w": part.power_w,
        "charges_a": part.charges_a if isinstance(part, Inverter) else None,
    }
    strings = part.parallel if isinstance(part, Battery) else 1
    return {key: figure * strings for key, figure in stated.items() if figure is not None}
