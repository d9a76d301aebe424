"""Voltages that sources hold, by case."""

from __future__ import annotations

from typing import Literal

from copperplate.model import Assumption, Case, Part, System
from copperplate.model.graph import Graph, Terminals
from copperplate.network.wiring import held_pairs
from copperplate.standards import batteries

End = Literal["low", "full"]


def battery_v(part: Part, end: End) -> tuple[float, Assumption | None]:
    """Terminal voltage of a bank at the low end of its range, or while charging ends, and what was assumed.

    Stated figures are of one battery; a string of them in series adds up. `full` falls back on the high end of the
    range, both on the figures of the chemistry."""
    series = int(part.get("series", 1))
    window = part.values.get("range")
    if end == "low" and window is not None:
        return window.low * series, None
    if end == "full" and part.values.get("full_v") is not None:
        return part.values["full_v"] * series, None
    if end == "full" and window is not None:
        text = f"held at {window.high * series:.4g} V while charging, the high end of its range: no `full` is stated"
        return window.high * series, Assumption(part.id, text)
    name = part.get("chemistry", "flooded")
    facts = batteries.chemistry(name, part.get("voltage_v", 12.0))
    usual = facts.low_v if end == "low" else facts.full_v
    volts = usual.value * series
    what = "the low end of its range" if end == "low" else "its voltage while charging"
    return volts, Assumption(part.id, f"{what} is taken as {volts:.4g} V, usual for {name}", usual.source)


def highest_v(part: Part) -> float:
    """The highest voltage that a bank's terminals see: charging, or the high end of its range."""
    window = part.values.get("range")
    full = battery_v(part, "full")[0]
    return max(full, window.high * int(part.get("series", 1))) if window is not None else full


def output_v(part: Part, ends: Terminals) -> float:
    """Voltage that a source other than a battery holds at its output; for a solar controller the voltage of the
    array at rated power."""
    if part.kind == "converter":
        return float(part.get("out_v", ends.nominal_v))
    return ends.nominal_v


def held_v(system: System, net: Graph, case: Case | None) -> dict[str, float]:
    """By source id, the voltage held in a case: banks at `full` where it charges, else at their low end."""
    end: End = "full" if case is not None and case.kind == "charge" else "low"
    volts: dict[str, float] = {}
    for part_id, ends in held_pairs(system, net):
        part = system.parts[part_id]
        volts[part_id] = battery_v(part, end)[0] if part.kind == "battery" else output_v(part, ends)
    return volts


def zone_low_v(system: System, net: Graph) -> dict[str, float]:
    """By zone, the lowest voltage that its sources hold in load cases."""
    volts = held_v(system, net, None)
    lowest: dict[str, float] = {}
    for part_id, ends in held_pairs(system, net):
        if system.parts[part_id].kind != "controller":
            lowest[ends.zone] = min(lowest.get(ends.zone, volts[part_id]), volts[part_id])
    return lowest


def assumptions(system: System) -> tuple[Assumption, ...]:
    """What the plate left open about the voltages of its banks."""
    found = [battery_v(part, end)[1] for part in system.of_kind("battery") for end in ("low", "full")]
    return tuple(a for a in found if a is not None)
