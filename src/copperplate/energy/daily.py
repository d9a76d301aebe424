"""Energy of a day: what each load takes from its bank, through converters and inverters and their losses."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from copperplate.energy.bank import EnergyStore
from copperplate.model import Assumption, Device, Inverter, Load, Part, System
from copperplate.model.graph import Graph, Terminals
from copperplate.model.results import EnergyLine, Solution

DAY_H = 24.0


@dataclass
class _Book:
    """The lines of one bank while they are gathered."""

    lines: list[EnergyLine] = field(default_factory=list)
    silent: list[str] = field(default_factory=list)
    assumed: list[Assumption] = field(default_factory=list)


def day_of(
    system: System, net: Graph, solution: Solution, bank: EnergyStore
) -> tuple[tuple[EnergyLine, ...], tuple[str, ...], tuple[Assumption, ...]]:
    """(lines of a bank's day in watt-hours, loads that state no hours, what was assumed).

    A load takes its power for its daily hours at the bank's nominal voltage (behind a converter or inverter at
    that one's output); the device before it adds its losses while it works and its idle draw for the rest of the
    day. Conductors lose what the solved network loses in them for as long."""
    book = _Book()
    _walk(system, net, bank, book)
    for device in system.devices.values():
        wh = _coil_wh(system, device, bank)
        if wh > 0.0:
            book.lines.append(EnergyLine(device.id, "coil", wh))
    lost = _in_conductors(system, net, solution, bank.zone)
    if lost > 0.0:
        book.lines.append(EnergyLine(bank.id, "lost in conductors", lost))
    return tuple(book.lines), tuple(book.silent), tuple(book.assumed)


def _coil_wh(system: System, device: Device, bank: EnergyStore) -> float:
    """What a coil takes in a day: as long as what closes its contact runs, or else what its run leads to."""
    if device.coil_a is None or system.nodes[device.legs[0][0]].zone != bank.zone:
        return 0.0
    by = device.closed_by.partition(".")[0] or system.end_parts(system.runs[device.run])[1]
    part = system.parts.get(by)
    return device.coil_a * bank.nominal_v * ((part.runs_h if part is not None else None) or 0.0)


@dataclass
class _Zone:
    """A zone while its consumers are gone through: those still to come, what the others take in watt-hours, and the
    hours of the longest of them. `part` feeds it; None for the bank."""

    part: Part | None
    volts: float
    rest: Iterator[tuple[str, Terminals]]
    wh: float = 0.0
    hours: float = 0.0

    def add(self, wh: float, hours: float) -> None:
        self.wh += wh
        self.hours = max(self.hours, hours)


def _walk(system: System, net: Graph, bank: EnergyStore, book: _Book) -> None:
    """Every consumer of a bank, those behind an inverter or converter before what it loses itself. Chains of them may
    be of any length."""
    consumers: dict[str, list[tuple[str, Terminals]]] = {}
    for part_id, ends in net.consumers.items():
        consumers.setdefault(ends.zone, []).append((part_id, ends))
    zones = [_Zone(None, bank.nominal_v, iter(consumers.get(bank.zone, ())))]
    above: set[str] = set()
    while zones:
        here = zones[-1]
        following = next(here.rest, None)
        if following is None:
            zones.pop()
            if here.part is not None:
                above.discard(here.part.id)
                zones[-1].add(*_changed(here.part, here.wh, here.hours, book))
            continue
        part_id, ends = following
        part = system.parts[part_id]
        if isinstance(part, Load):
            here.add(*_load(part, here.volts, ends.current == "ac", book))
        elif part.holds_voltage and part_id not in above:
            above.add(part_id)
            output = net.outputs.get(part_id)
            volts = (part.out_v or output.nominal_v) if output is not None else 0.0
            zones.append(_Zone(part, volts, iter(consumers.get(output.zone, ()) if output is not None else ())))


def _load(load: Load, volts: float, ac: bool, book: _Book) -> tuple[float, float]:
    """Watt-hours and hours of a load's day."""
    if load.runs_h is None:
        book.silent.append(load.id)
        return 0.0, 0.0
    wh = power_w(load, volts, ac) * load.runs_h
    book.lines.append(EnergyLine(load.id, "load", wh))
    return wh, load.runs_h


def power_w(load: Load, volts: float, ac: bool = False) -> float:
    """Power of a load at its rating and `volts`, all of its count together."""
    if load.power_w is not None:
        return load.power_w * load.count
    if load.current_a is not None:
        return load.current_a * load.count * volts * (load.power_factor if ac else 1.0)
    return volts**2 / load.resistance_ohm * load.count if load.resistance_ohm else 0.0


def _changed(part: Part, wh: float, hours: float, book: _Book) -> tuple[float, float]:
    """An inverter or converter behind which so much is taken: that with what it loses on the way and its idle draw."""
    if wh == 0.0 and isinstance(part, Inverter):
        if part.daily_h is None:
            book.silent.append(part.id)
        else:
            # Nothing is drawn behind it: its own hours say how long it gives its rating.
            wh, hours = (part.power_w or 0.0) * part.daily_h, part.daily_h
            book.lines.append(EnergyLine(part.id, "output", wh))
    hours = max(hours, part.daily_h or 0.0)
    loss = wh * (1.0 / part.efficiency - 1.0)
    if loss > 0.0:
        book.lines.append(EnergyLine(part.id, "conversion loss", loss))
    idle_w = part.idle_w or 0.0
    idle = idle_w * max(0.0, DAY_H - hours)
    if idle > 0.0:
        book.lines.append(EnergyLine(part.id, "idle", idle))
        text = f"it is left on: it draws its idle {idle_w:g} W for the {DAY_H - hours:.3g} h without load"
        book.assumed.append(Assumption(part.id, text))
    return wh + loss + idle, hours


def _in_conductors(system: System, net: Graph, solution: Solution, zone: str) -> float:
    """Watt-hours a day lost between the bank and the consumers of its own zone: the volts lost on the way of each
    in the case where it loses the most, times its current and its hours."""
    total = 0.0
    for part_id, ends in net.consumers.items():
        hours = system.parts[part_id].runs_h
        if ends.zone != zone or hours is None:
            continue
        worst = 0.0
        for case in system.cases:
            volts = solution.node_v.get(case.id, {})
            held = _held(net, solution.held_v.get(case.id, {}), zone)
            amperes = solution.load_a.get(case.id, {}).get(part_id, 0.0)
            if case.kind == "load" and held is not None and ends.pos in volts and ends.neg in volts:
                lost_v = held - (volts[ends.pos] - volts[ends.neg])
                worst = max(worst, lost_v * abs(amperes))
        total += worst * hours
    return total


def _held(net: Graph, held: Mapping[str, float], zone: str) -> float | None:
    """The voltage that a zone's sources hold."""
    volts = [v for part, v in held.items() if part in net.outputs and net.outputs[part].zone == zone]
    return max(volts, default=None)
