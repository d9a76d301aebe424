"""What each source gives: held voltages, currents by case, and a short at its terminals."""

from __future__ import annotations

from copperplate.model import System
from copperplate.model.graph import graph
from copperplate.model.results import Solution, SourceResult
from copperplate.protection.ac_faults import supplies
from copperplate.protection.battery import banks
from copperplate.standards import Profile


def sources(system: System, profile: Profile, solution: Solution) -> dict[str, SourceResult]:
    """Every source: the voltage it is held at and the current it gives by case, and what it delivers into a short."""
    all_banks = banks(system)
    mains = supplies(system, profile, graph(system))
    result: dict[str, SourceResult] = {}
    kinds = ("battery", "solar", "controller", "alternator", "charger", "converter", "inverter", "shore", "generator")
    for part in system.of_kind(*kinds):
        bank, supply = all_banks.get(part.id), mains.get(part.id)
        fault_a = bank.fault_a if bank else supply.most_a if supply else None
        limits = {
            key: part.get(key) * part.get("parallel", 1)
            for key in ("max_discharge_a", "max_charge_a")
            if part.get(key) is not None
        }
        limits |= {key: part.get(key) for key in ("current_a", "power_w", "charges_a") if part.get(key) is not None}
        result[part.id] = SourceResult(
            source=part.id,
            kind=part.kind,
            terminal_v={c: volts[part.id] for c, volts in solution.held_v.items() if part.id in volts},
            current_a={c: amperes[part.id] for c, amperes in solution.source_a.items() if part.id in amperes},
            emf_full_v=bank.emf_full_v if bank else None,
            resistance_low_ohm=bank.resistance_ohm if bank else None,
            fault_current_a=fault_a,
            limits=limits,
        )
    return result
