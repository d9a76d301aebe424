"""A bank of batteries from its statement and its chemistry: volts, e.m.f. and ohms of all in series and in strings."""

from __future__ import annotations

from copperplate.model import Battery, System
from copperplate.model.graph import Graph
from copperplate.standards import chemistry
from copperplate.standards.batteries import Chemistry


def chemistry_of(battery: Battery) -> Chemistry:
    """The figures of one battery's chemistry; lead with liquid acid where the plate names none."""
    return chemistry(battery.chemistry or "flooded", battery.voltage_v or 12.0)


def nominal_v(battery: Battery) -> float:
    return (battery.voltage_v or 12.0) * battery.series


def low_v(battery: Battery) -> float:
    """The low end of its range: stated, else usual for its chemistry."""
    each = battery.range.low if battery.range else chemistry_of(battery).low_v.value
    return each * battery.series


def full_v(battery: Battery) -> float:
    """The voltage while charging ends: stated, else the high end of its range, else usual."""
    high = battery.range.high if battery.range else chemistry_of(battery).full_v.value
    return (battery.full_v or high) * battery.series


def own_ohm(battery: Battery) -> float:
    """Ohms of all in series and in strings: as stated, else the e.m.f. over the stated short; 0.0 where neither is."""
    each = battery.internal_ohm or 0.0
    if not each and battery.fault_current_a:
        each = chemistry_of(battery).emf_full_v.value / battery.fault_current_a
    return each / (battery.health or 1.0) * battery.series / battery.parallel


def cold_source(battery: Battery) -> tuple[float, float | None]:
    """E.m.f. fully charged in volts, and the lowest internal resistance in ohms that the plate tells; None where it
    tells none."""
    emf = chemistry_of(battery).emf_full_v.value
    each = [battery.internal_ohm] if battery.internal_ohm else []
    if battery.fault_current_a:
        each.append(emf / battery.fault_current_a)
    return emf * battery.series, min(each) * battery.series / battery.parallel if each else None


def batteries_by_zone(system: System, net: Graph) -> dict[str, list[Battery]]:
    """Batteries that are wired, by the system that they feed."""
    zones: dict[str, list[Battery]] = {}
    for battery in system.of(Battery):
        if battery.id in net.outputs:
            zones.setdefault(net.outputs[battery.id].zone, []).append(battery)
    return zones
