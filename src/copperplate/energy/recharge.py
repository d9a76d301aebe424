"""How long each source takes to fill its bank, and whether a day's sources give back a day's energy."""

from __future__ import annotations

from dataclasses import dataclass

from copperplate.energy.bank import Bank
from copperplate.model import Part, System
from copperplate.model.graph import Graph, Terminals


@dataclass(frozen=True, slots=True)
class Charging:
    """One source that charges a bank: amperes into it as a day's average allows, volts that it gives at most (None
    where the plate says none), hours a day that it runs (None where the plate says none)."""

    part: Part
    amperes: float
    volts: float | None
    daily_h: float | None

    @property
    def rated_a(self) -> float:
        """What it can push at most."""
        return float(self.part.get("charges_a") or self.part.get("current_a") or self.amperes)


def charging_of(system: System, net: Graph, bank: Bank) -> tuple[Charging, ...]:
    """The sources that push into a bank's zone, in declaration order. A solar controller gives what its arrays give
    at their rated power and the bank's voltage, and its own rating at most; it runs as long as its arrays."""
    found: list[Charging] = []
    for part in system.parts.values():
        ends = _into(net, part)
        if ends is None or ends.zone != bank.zone:
            continue
        if part.kind == "controller":
            arrays = arrays_of(system, net, part)
            watts = sum(array_w(array) for array in arrays)
            amperes = watts / bank.nominal_v if watts else part.get("current_a", 0.0)
            if part.get("current_a"):
                amperes = min(amperes, part.get("current_a"))
            hours = max((array.get("daily_h", 0.0) for array in arrays), default=0.0)
            found.append(Charging(part, amperes, part.get("out_v"), hours or None))
        elif part.kind == "solar":
            found.append(Charging(part, array_w(part) / bank.nominal_v, None, part.get("daily_h")))
        elif part.kind == "inverter":
            if part.get("charges_a"):
                found.append(Charging(part, part.get("charges_a"), None, None))
        elif part.kind == "alternator":
            found.append(Charging(part, part.get("current_a", 0.0), part.get("voltage_v"), part.get("daily_h")))
        else:
            found.append(Charging(part, part.get("current_a", 0.0), part.get("out_v"), None))
    return tuple(one for one in found if one.amperes > 0.0)


def _into(net: Graph, part: Part) -> Terminals | None:
    """Where a source pushes: an inverter at its battery side, the others at their output."""
    if part.kind == "inverter":
        return net.consumers.get(part.id)
    if part.kind in ("charger", "controller", "solar", "alternator"):
        return net.outputs.get(part.id)
    if part.kind == "converter" and part.get("charges", False):
        return net.outputs.get(part.id)
    return None


def arrays_of(system: System, net: Graph, controller: Part) -> tuple[Part, ...]:
    """The arrays that feed a solar controller."""
    inlet = net.consumers.get(controller.id)
    if inlet is None:
        return ()
    return tuple(a for a in system.of_kind("solar") if a.id in net.outputs and net.outputs[a.id].zone == inlet.zone)


def array_w(array: Part) -> float:
    """Rated power of a whole array."""
    each = array.get("power_w") or array.get("vmp_v", 0.0) * array.get("imp_a", 0.0)
    return float(each * array.get("series", 1) * array.get("parallel", 1))


def recharge(bank: Bank, sources: tuple[Charging, ...]) -> tuple[tuple[str, float, float], ...]:
    """(source, amperes into the bank, hours from usable-empty to full) by source: amperehours over the current that
    the bank takes and its charge efficiency. Nothing for a bank without a capacity."""
    if bank.usable_ah is None:
        return ()
    limit = bank.limit_a("max_charge_a")
    result: list[tuple[str, float, float]] = []
    for source in sources:
        amperes = source.amperes if limit is None else min(source.amperes, limit)
        result.append((source.part.id, amperes, bank.usable_ah / bank.charge_efficiency.value / amperes))
    return tuple(result)


def given_wh(bank: Bank, sources: tuple[Charging, ...]) -> float | None:
    """Watt-hours that the sources with stated hours bring to the bank in a day, after charging losses; None where no
    source states its hours."""
    timed = [source for source in sources if source.daily_h]
    if not timed:
        return None
    return sum(
        source.amperes * (source.daily_h or 0.0) * bank.nominal_v * bank.charge_efficiency.value for source in timed
    )
