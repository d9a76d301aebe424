"""The energy of a day by bank: what each load takes, what is lost before it, what the bank holds."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from copperplate.audit.banks import batteries_by_zone, chemistry_of, nominal_v
from copperplate.audit.reported import reported
from copperplate.findings import Finding, make
from copperplate.model import Battery, Converter, Inverter, Load, Part
from copperplate.model.graph import Graph, graph
from copperplate.model.results import Design, EnergyResult
from copperplate.units import exceeds, suffices

DAY_H = 24.0


def check_energy(design: Design) -> Iterator[Finding]:
    """Each bank's day against the sum of power times hours over the efficiencies on the way; what it can use; how long
    that lasts; how long its sources take to fill it."""
    net = graph(design.system)
    by_zone: dict[str, list[str]] = {}
    for name, ends in net.consumers.items():
        by_zone.setdefault(ends.zone, []).append(name)
    zones, short = batteries_by_zone(design.system, net), reported(design, "CP612")
    for energy in design.energy:
        if energy.bank not in net.outputs:
            continue
        zone = net.outputs[energy.bank].zone
        banks = zones[zone]
        volts = nominal_v(banks[0])
        daily = _day(design, by_zone, net, zone, volts)
        daily = None if daily is None else daily + _coils(design, zone, volts)
        counted = sum(line.wh for line in energy.lines if line.what != "lost in conductors")
        if daily is not None and (not suffices(counted + 1e-6, daily) or exceeds(counted - 1e-6, daily)):
            yield make("CP598", energy.bank, daily=daily, counted=counted)
        total = sum(line.wh for line in energy.lines)
        if abs(total - energy.daily_wh) > 1e-6 * max(1.0, total):
            yield make("CP598", energy.bank, lines=total, stated=energy.daily_wh)
        usable = _usable_wh(banks, volts)
        if usable is not None:
            if energy.usable_wh is None or exceeds(energy.usable_wh, usable):
                yield make("CP598", energy.bank, usable=usable, stated=energy.usable_wh or 0.0)
            yield from _lasts(energy, usable, energy.bank in short)
        yield from _fills(energy, banks[0])


def _day(design: Design, by_zone: Mapping[str, list[str]], net: Graph, zone: str, volts: float) -> float | None:
    """Watt-hours a day that leave a source, with all that hangs on its system and on those behind it, the innermost
    first. None where systems feed each other in a ring."""
    inner: dict[str, tuple[float, float]] = {}
    waiting, open_zones = [(zone, volts)], dict[str, None]()
    while waiting:
        here, at_v = waiting[-1]
        parts = [design.system.parts[name] for name in by_zone.get(here, ())]
        behind = [(part, net.outputs[part.id]) for part in parts if _turns(part) and part.id in net.outputs]
        deeper = [(ends.zone, part.out_v or ends.nominal_v) for part, ends in behind if ends.zone not in inner]
        if here in open_zones or not deeper:
            if deeper:
                return None
            waiting.pop()
            inner[here] = _zone(parts, net, at_v, inner)
            continue
        open_zones[here] = None
        waiting += deeper
        if len(waiting) > 2 * len(design.system.nodes):
            return None
    return inner[zone][0]


def _coils(design: Design, zone: str, volts: float) -> float:
    """Watt-hours a day of the coils of one system: while what closes each contact runs, or what it leads to."""
    system, total = design.system, 0.0
    for device in system.devices.values():
        hours = 0.0
        for name in (device.closed_by.split(".")[0], system.runs[device.run].to_end.split(".")[0]):
            if name:
                hours = _hours(system.parts.get(name)) or 0.0
                break
        if device.coil_a and system.nodes[device.legs[0][0]].zone == zone:
            total += device.coil_a * volts * hours
    return total


def _hours(part: Part | None) -> float | None:
    """Hours a day at its rating: those stated, of a load times the share of them that it runs."""
    if isinstance(part, Load) and part.duty is not None:
        return part.duty * (24.0 if part.daily_h is None else part.daily_h)
    return part.daily_h if part is not None else None


def _turns(part: Part) -> bool:
    """Whether it supplies another system with what it draws."""
    return isinstance(part, Inverter) or (isinstance(part, Converter) and not part.charges)


def _zone(parts: list[Part], net: Graph, volts: float, inner: Mapping[str, tuple[float, float]]) -> tuple[float, float]:
    """(watt-hours a day, longest hours) of the consumers of one system: power times hours, over the efficiency of what
    turns it, and idle power for the rest of the day."""
    total, longest = 0.0, 0.0
    for part in parts:
        hours = _hours(part)
        if isinstance(part, Load) and hours is not None:
            wh, own_h = _watts(part, volts, net.consumers[part.id].current) * hours, hours
        elif _turns(part):
            output = net.outputs.get(part.id)
            wh, own_h = inner[output.zone] if output is not None else (0.0, 0.0)
            if not wh and isinstance(part, Inverter) and hours is not None:
                wh = (part.power_w or 0.0) * hours
            own_h = max(own_h, hours or 0.0)
            wh = wh / part.efficiency + (part.idle_w or 0.0) * max(0.0, DAY_H - own_h)
        else:
            continue
        total, longest = total + wh, max(longest, own_h)
    return total, longest


def _watts(load: Load, volts: float, current: str) -> float:
    """What all units of a load take at the nominal volts of their system."""
    if load.power_w is not None:
        return load.power_w * load.count
    if load.current_a is not None:
        return load.current_a * load.count * volts * (load.power_factor if current == "ac" else 1.0)
    return volts**2 / load.resistance_ohm * load.count if load.resistance_ohm else 0.0


def _usable_wh(banks: list[Battery], volts: float) -> float | None:
    """None where one of them states no capacity."""
    usable_ah = 0.0
    for bank in banks:
        if bank.capacity_ah is None:
            return None
        share = bank.usable if bank.usable is not None else chemistry_of(bank).usable_share.value
        usable_ah += bank.capacity_ah * (bank.health or 1.0) * bank.parallel * share
    return volts * usable_ah


def _lasts(energy: EnergyResult, usable: float, warned: bool) -> Iterator[Finding]:
    if energy.daily_wh <= 0.0:
        return
    days, stated = usable / energy.daily_wh, energy.autonomy_days
    if stated is None or exceeds(stated, days):
        yield make("CP598", energy.bank, days=days, stated=stated or 0.0)
    elif not suffices(days, 1.0) and not warned:
        yield make("CP598", energy.bank, days=days)


def _fills(energy: EnergyResult, bank: Battery) -> Iterator[Finding]:
    """Hours from usable-empty to full: amperehours over current and charge efficiency."""
    for source, amperes, hours in energy.recharge:
        usable_ah = (energy.usable_wh or 0.0) / nominal_v(bank)
        fills_h = usable_ah / chemistry_of(bank).charge_efficiency.value / amperes
        if not suffices(hours, fills_h):
            yield make("CP598", source, bank=energy.bank, hours=fills_h, stated=hours)
