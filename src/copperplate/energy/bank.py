"""The banks of a system as stores of energy."""

from __future__ import annotations

from dataclasses import dataclass

from copperplate.model import Assumption, Battery, System, Traced
from copperplate.model.graph import Graph
from copperplate.standards import chemistry_of
from copperplate.standards.batteries import DEFAULT_V


@dataclass(frozen=True, slots=True)
class EnergyStore:
    """The batteries of one zone, as one store. `batteries` in declaration order; volts of the whole bank.

    `full_v` is the voltage at the end of charging; `usable_ah`, `usable_wh` None where a capacity is missing;
    `charge_efficiency` amperehours out over amperehours in."""

    zone: str
    batteries: tuple[Battery, ...]
    nominal_v: float
    full_v: float
    usable_ah: float | None
    charge_efficiency: Traced

    @property
    def id(self) -> str:
        return self.batteries[0].id

    @property
    def usable_wh(self) -> float | None:
        return None if self.usable_ah is None else self.usable_ah * self.nominal_v

    @property
    def capacity_ah(self) -> float:
        """Of all its strings; a battery that states none counts nothing."""
        return sum((battery.holds_ah or 0.0) * battery.parallel for battery in self.batteries)

    @property
    def taken_a(self) -> float:
        """What batteries of the zone take of a charge beside those that state no such share."""
        takes = [battery.takes_a for battery in self.batteries]
        return sum(a for a in takes if a) if None in takes else 0.0

    @property
    def max_charge_a(self) -> float | None:
        """The largest charge of the whole bank: that of one battery by its strings. None where one states none."""
        limits = [b.max_charge_a * b.parallel for b in self.batteries if b.max_charge_a is not None]
        return sum(limits) if len(limits) == len(self.batteries) else None


def banks(system: System, net: Graph) -> tuple[tuple[EnergyStore, ...], tuple[Assumption, ...]]:
    """The bank of every zone that has batteries, in declaration order, and what was assumed of them."""
    by_zone: dict[str, list[Battery]] = {}
    for battery in system.of(Battery):
        if battery.id in net.outputs:
            by_zone.setdefault(net.outputs[battery.id].zone, []).append(battery)
    assumed = [
        Assumption(battery.id, f"{usual.value * 100:.0f} % of its capacity is usable: {usual.formula}", usual.source)
        for batteries in by_zone.values()
        for battery in batteries
        if battery.usable is None
        for usual in (chemistry_of(battery).usable_share,)
    ]
    return tuple(_bank(zone, tuple(batteries)) for zone, batteries in by_zone.items()), tuple(assumed)


def _bank(zone: str, batteries: tuple[Battery, ...]) -> EnergyStore:
    first = batteries[0]
    usable = [b.holds_ah * b.parallel * _usable_share(b) for b in batteries if b.holds_ah is not None]
    return EnergyStore(
        zone=zone,
        batteries=batteries,
        nominal_v=(first.voltage_v or DEFAULT_V) * first.series,
        full_v=min(_full_v(battery) for battery in batteries),
        usable_ah=sum(usable) if len(usable) == len(batteries) else None,
        charge_efficiency=chemistry_of(first).charge_efficiency,
    )


def _usable_share(battery: Battery) -> float:
    return battery.usable if battery.usable is not None else chemistry_of(battery).usable_share.value


def _full_v(battery: Battery) -> float:
    """Voltage of a whole battery statement at the end of charging: stated, else the high end of its range, else
    usual for its chemistry."""
    high_v = battery.range.high if battery.range is not None else chemistry_of(battery).full_v.value
    return (battery.full_v or high_v) * battery.series
