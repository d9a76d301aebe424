"""Batteries as sources of fault current: e.m.f. fully charged, lowest resistance, what a bank can deliver."""

from __future__ import annotations

from dataclasses import dataclass

from copperplate.model import Battery, System
from copperplate.standards import chemistry_of


@dataclass(frozen=True, slots=True)
class Bank:
    """One `battery` statement as a source. Volts and ohms of the whole bank; `fault_a` and `resistance_ohm` None
    where the plate gives no figure to tell them from."""

    part: str
    emf_full_v: float
    low_v: float
    highest_v: float
    resistance_ohm: float | None
    fault_a: float | None
    source: str
    """Where the resistance comes from, in words."""


def bank(battery: Battery) -> Bank:
    """The bank of a battery part. Batteries in series add voltage and resistance, strings in parallel divide the
    resistance. Of a stated fault current and a stated internal resistance the one that gives more current is
    taken. Links between the batteries count nothing: the larger current of two readings."""
    series, kind, window = battery.series, chemistry_of(battery), battery.range
    full_v, emf_v = battery.full_v or kind.full_v.value, kind.emf_full_v.value
    candidates: list[tuple[float, str]] = []
    if battery.fault_current_a:
        candidates.append((emf_v / battery.fault_current_a, "fault current of one battery"))
    if battery.internal_ohm:
        candidates.append((battery.internal_ohm, "internal resistance of one battery"))
    ohm, source = min(candidates) if candidates else (None, "")
    resistance = None if ohm is None else ohm * series / battery.parallel
    return Bank(
        battery.id,
        emf_v * series,
        (window.low if window else kind.low_v.value) * series,
        max(full_v, window.high if window else 0.0) * series,
        resistance,
        None if resistance is None else emf_v * series / resistance,
        source,
    )


def banks(system: System) -> dict[str, Bank]:
    """Every bank by part id, in declaration order."""
    return {battery.id: bank(battery) for battery in system.of(Battery)}


def fault_a_by_source(system: System) -> dict[str, float | None]:
    """What each battery delivers into a short at its terminals; None where the plate gives no figure."""
    return {name: found.fault_a for name, found in banks(system).items()}
