"""How long each source takes to fill its bank, and whether a day's sources give back a day's energy."""

from __future__ import annotations

from dataclasses import dataclass, replace

from copperplate.energy.bank import EnergyStore
from copperplate.model import Alternator, Battery, Charger, Controller, Inverter, Part, Solar, System
from copperplate.model.graph import Graph, Terminals


@dataclass(frozen=True, slots=True)
class Charging:
    """One source that charges a bank: amperes into it as a day's average allows, the most that it can push, volts that
    it gives at most (None where the plate says none), hours a day that it runs (None where the plate says none)."""

    part: Part
    amperes: float
    rated_a: float
    volts: float | None = None
    daily_h: float | None = None
    lost_v: float = 0.0
    """What a splitter on the way takes of its volts."""


def charging_of(system: System, net: Graph, bank: EnergyStore) -> tuple[Charging, ...]:
    """The sources that push into a bank's zone, in declaration order."""
    pushing = [
        part for part in system.parts.values() if (ends := _into(net, part)) is not None and ends.zone == bank.zone
    ]
    sources = [replace(_charging(system, net, bank, part), lost_v=_lost_v(system, net, part)) for part in pushing]
    return tuple(source for source in sources if source.amperes > 0.0)


def _lost_v(system: System, net: Graph, part: Part) -> float:
    """What is lost in the splitter by which alone a source reaches banks; nothing where one stands before that."""
    ends = _into(net, part)
    if not system.diodes or ends is None:
        return 0.0
    seen, lost = {ends.pos}, 0.0
    for node in (front := [ends.pos]):
        if system.parts.get(system.nodes[node].part) in system.of(Battery):
            return 0.0
        for edge in (net.edges[number] for number in net.at[node]):
            if edge.id in system.diodes:
                lost = max(lost, system.devices[edge.id].loses_v if edge.a == node else 0.0)
            elif (other := edge.b if edge.a == node else edge.a) not in seen:
                seen.add(other)
                front.append(other)
    return lost


def _into(net: Graph, part: Part) -> Terminals | None:
    """Where a source pushes: an inverter at its battery side, the others at their output."""
    if isinstance(part, Inverter):
        return net.consumers.get(part.id)
    return net.outputs.get(part.id) if part.roles.pushes_current and not part.holds_voltage else None


def _charging(system: System, net: Graph, bank: EnergyStore, part: Part) -> Charging:
    """What a source pushes into a bank. A solar controller gives what its arrays give at their rated power and the
    bank's voltage, and its own rating at most; it runs as long as its arrays."""
    if isinstance(part, Solar):
        amperes = array_w(part) / bank.nominal_v
        return Charging(part, amperes, amperes, None, part.daily_h)
    if isinstance(part, Inverter):
        return Charging(part, part.charges_a or 0.0, part.charges_a or 0.0)
    rated_a = part.current_a or 0.0
    if isinstance(part, Controller):
        arrays = arrays_of(system, net, part)
        watts = sum(array_w(array) for array in arrays)
        amperes = watts / bank.nominal_v if watts else rated_a
        hours = max((array.daily_h or 0.0 for array in arrays), default=0.0)
        return Charging(part, min(amperes, rated_a or amperes), rated_a or amperes, part.out_v, hours or None)
    if isinstance(part, Alternator):
        engine = system.parts.get(part.engine or "")
        runs_h = part.daily_h or (engine.daily_h if engine is not None else None)
        lasting_a = part.lasting_a or 0.0
        return Charging(part, max(lasting_a - bank.taken_a, 0.0), lasting_a, part.voltage_v, runs_h)
    if isinstance(part, Charger) and part.set_to_a is not None:
        rated_a = min(rated_a, part.set_to_a)
    return Charging(part, max(rated_a - bank.taken_a, 0.0), rated_a, part.out_v or part.voltage_v, part.daily_h)


def arrays_of(system: System, net: Graph, controller: Part) -> tuple[Solar, ...]:
    """The arrays that feed a solar controller."""
    inlet = net.consumers.get(controller.id)
    if inlet is None:
        return ()
    return tuple(a for a in system.of(Solar) if a.id in net.outputs and net.outputs[a.id].zone == inlet.zone)


def array_w(array: Solar) -> float:
    """Rated power of a whole array."""
    each = array.power_w or (array.vmp_v or 0.0) * (array.imp_a or 0.0)
    return each * array.series * array.parallel


def recharge(bank: EnergyStore, sources: tuple[Charging, ...]) -> tuple[tuple[str, float, float], ...]:
    """(source, amperes into the bank, hours from usable-empty to full) by source: amperehours over the current that
    the bank takes and its charge efficiency. Nothing for a bank without a capacity."""
    if bank.usable_ah is None:
        return ()
    limit_a = bank.max_charge_a
    result: list[tuple[str, float, float]] = []
    for source in sources:
        amperes = source.amperes if limit_a is None else min(source.amperes, limit_a)
        result.append((source.part.id, amperes, bank.usable_ah / bank.charge_efficiency.value / amperes))
    return tuple(result)


def given_wh(bank: EnergyStore, sources: tuple[Charging, ...]) -> tuple[tuple[str, float], ...]:
    """(source, watt-hours that it brings to the bank in a day, after charging losses), of the sources with stated
    hours."""
    kept = bank.nominal_v * bank.charge_efficiency.value
    return tuple((s.part.id, s.amperes * s.daily_h * kept) for s in sources if s.daily_h)
