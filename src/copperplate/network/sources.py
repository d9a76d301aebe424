"""Voltages that sources hold, by case."""

from __future__ import annotations

from typing import Literal

from copperplate.model import Assumption, Battery, Case, Controller, Converter, Part, System
from copperplate.model.graph import Graph, Terminals
from copperplate.standards import chemistry_of

End = Literal["low", "full"]


def battery_v(battery: Battery, end: End) -> tuple[float, Assumption | None]:
    """Terminal voltage of a bank at the low end of its range, or while charging ends, and what was assumed.

    Stated figures are of one battery; a string of them in series adds up. `full` falls back on the high end of the
    range, both on the figures of the chemistry."""
    series, window = battery.series, battery.range
    if end == "low" and window is not None:
        return window.low * series, None
    if end == "full" and battery.full_v is not None:
        return battery.full_v * series, None
    if end == "full" and window is not None:
        text = f"held at {window.high * series:.4g} V while charging, the high end of its range: no `full` is stated"
        return window.high * series, Assumption(battery.id, text)
    facts = chemistry_of(battery)
    usual = facts.low_v if end == "low" else facts.full_v
    volts = usual.value * series
    what = "the low end of its range" if end == "low" else "its voltage while charging"
    return volts, Assumption(battery.id, f"{what} is taken as {volts:.4g} V, usual for {facts.id}", usual.source)


def highest_v(battery: Battery) -> float:
    """The highest voltage that a bank's terminals see: charging, or the high end of its range."""
    full = battery_v(battery, "full")[0]
    return max(full, battery.range.high * battery.series) if battery.range is not None else full


def output_v(part: Part, ends: Terminals) -> float:
    """Voltage that a source other than a battery holds at its output; for a solar controller the voltage of the
    array at rated power."""
    return part.out_v or ends.nominal_v if isinstance(part, Converter) else ends.nominal_v


def held_v(system: System, net: Graph, case: Case | None) -> dict[str, float]:
    """By source id, the voltage held in a case (None: every source, at its low end): banks at `full` where it
    charges, else at the low end of their range; sources of alternating current that the case has on. Sources on the
    same bars hold one voltage, the lowest of theirs, while charging the highest."""
    end: End = "full" if case is not None and case.kind == "charge" else "low"
    own: dict[str, float] = {}
    zone: dict[str, str] = {}
    off = sources_off(system, net, case)
    for join in net.joins:
        part = system.parts[join.part]
        ends = net.consumers[part.id] if isinstance(part, Controller) else net.outputs[part.id]
        if join.part not in off:
            own[part.id] = battery_v(part, end)[0] if isinstance(part, Battery) else output_v(part, ends)
            zone[part.id] = ends.zone
    pick = max if end == "full" else min
    level: dict[str, float] = {}
    for part_id, volts in own.items():
        level[zone[part_id]] = pick(volts, level.get(zone[part_id], volts))
    return {part_id: level[zone[part_id]] for part_id in own}


def sources_off(system: System, net: Graph, case: Case | None) -> frozenset[str]:
    """Sources other than batteries that hold nothing in a case: those that it has off, as long as another source of
    their zone is on."""
    if case is None:
        return frozenset()
    holding: dict[str, list[str]] = {}
    for join in net.joins:
        if not isinstance(system.parts[join.part], Battery | Controller):
            holding.setdefault(net.outputs[join.part].zone, []).append(join.part)
    off: set[str] = set()
    for parts in holding.values():
        on = [part for part in parts if case.shares.get(part, 0.0) > 0.0]
        off.update(part for part in parts if on and part not in on)
    return frozenset(off)


def zone_low_v(system: System, net: Graph) -> dict[str, float]:
    """By zone, the lowest voltage that its sources hold in load cases."""
    volts = held_v(system, net, None)
    outputs = {part: ends for part, ends in net.outputs.items() if net.holds(part)}
    return {ends.zone: volts[part] for part, ends in outputs.items()}


def assumptions(system: System) -> tuple[Assumption, ...]:
    """What the plate left open about the voltages of its banks."""
    found = [battery_v(battery, end)[1] for battery in system.of(Battery) for end in ("low", "full")]
    return tuple(a for a in found if a is not None)
