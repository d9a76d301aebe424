"""Resistances as built: conductors at their temperature, earths, the insides of batteries."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from copperplate.model import Battery, System
from copperplate.model.graph import Graph, earth_ohm
from copperplate.model.results import RunResult
from copperplate.standards import chemistry_of, conductors
from copperplate.standards.adiabatic import carries_a

HOTTEST_SQUARE = 4.0
"""Above twice its ampacity a conductor's temperature is no longer followed: an error has told of it."""


@dataclass(frozen=True)
class Wire:
    """A conductor as built: ohms at 20 °C, what the earth it lands on adds, and what heats it."""

    cold_ohm: float
    earth_ohm: float
    ambient_c: float
    insulation_c: float
    ampacity_a: float

    def temperature_c(self, amperes: float) -> float:
        """Ta + (Tmax - Ta)(I/Iz)²: the rise goes with the square of the current and reaches Tmax at the ampacity."""
        if not self.ampacity_a:
            return self.ambient_c
        heating = min((amperes / self.ampacity_a) ** 2, HOTTEST_SQUARE)
        return self.ambient_c + (self.insulation_c - self.ambient_c) * heating

    def ohm(self, temperature_c: float) -> float:
        """Copper's resistance at a temperature, referred to 20 °C."""
        return self.cold_ohm * (1.0 + conductors.TEMPERATURE_COEFFICIENT * (temperature_c - 20.0)) + self.earth_ohm


def wires_as_built(system: System, runs: Mapping[str, RunResult]) -> dict[str, Wire]:
    """By conductor id, those that have a size."""
    tinned = system.settings.tinned
    found: dict[str, Wire] = {}
    for conductor in system.conductors.values():
        run = runs.get(conductor.run)
        if run is None or run.size is None or conductor.length_m <= 0.0:
            continue
        cold = conductors.ohm_per_m(run.size, 20.0, tinned) * conductor.length_m / run.parallel
        earth = sum(earth_ohm(system, node) for node in (conductor.from_node, conductor.to_node))
        ampacity = run.ampacity.value if run.ampacity else 0.0
        carries = carries_a(ampacity, run.parallel, run.insulation_c, run.area_mm2, run.brief_s)
        found[conductor.id] = Wire(cold, earth, run.ambient_c, run.insulation_c, carries)
    return found


def inside_ohm(system: System, net: Graph) -> dict[str, float]:
    """Internal resistance of each bank, where several share one zone and all of them tell theirs."""
    zones: dict[str, list[Battery]] = {}
    for battery in system.of(Battery):
        if battery.id in net.outputs:
            zones.setdefault(net.outputs[battery.id].zone, []).append(battery)
    found: dict[str, float] = {}
    for banks in zones.values():
        ohms = [_battery_ohm(bank) for bank in banks]
        if len(banks) > 1 and all(ohms):
            found |= {bank.id: ohm for bank, ohm in zip(banks, ohms, strict=True)}
    return found


def starting_ohm(system: System, net: Graph) -> dict[str, float]:
    """By zone, what its banks have within themselves: of several, side by side, with the stiffest of them out. Nothing
    where one of them tells none."""
    zones: dict[str, list[float]] = {}
    for battery in system.of(Battery):
        if battery.id in net.outputs:
            zones.setdefault(net.outputs[battery.id].zone, []).append(_battery_ohm(battery))
    found: dict[str, float] = {}
    for zone, ohms in zones.items():
        left = sorted(ohms)[min(1, len(ohms) - 1) :]
        found[zone] = 1.0 / sum(1.0 / ohm for ohm in left) if all(ohms) else 0.0
    return found


def _battery_ohm(battery: Battery) -> float:
    """Resistance of a bank: as stated, or its e.m.f. over its short-circuit current, at its age; 0.0 where neither
    is told."""
    each = battery.internal_ohm or 0.0
    if not each and battery.fault_current_a:
        each = chemistry_of(battery).emf_full_v.value / battery.fault_current_a
    return each / (battery.health or 1.0) * battery.series / battery.parallel
