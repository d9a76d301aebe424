"""The banks of a system as stores of energy."""

from __future__ import annotations

from dataclasses import dataclass

from copperplate.model import Assumption, Part, System, Traced
from copperplate.model.graph import Graph
from copperplate.standards import Chemistry, chemistry

DEFAULT_CHEMISTRY = "flooded"
"""Taken for a battery whose plate names none."""


@dataclass(frozen=True, slots=True)
class Bank:
    """The batteries of one zone, as one store. `parts` in declaration order; volts of the whole bank.

    `full_v` is the voltage at the end of charging, `stated_full` whether the plate says it; `usable_ah`, `usable_wh`
    None where a capacity is missing; `charge_efficiency` amperehours out over amperehours in."""

    zone: str
    parts: tuple[Part, ...]
    nominal_v: float
    full_v: float
    stated_full: bool
    series: int
    kind: Chemistry
    usable_ah: float | None
    usable_wh: float | None

    @property
    def id(self) -> str:
        return self.parts[0].id

    @property
    def charge_efficiency(self) -> Traced:
        return self.kind.charge_efficiency

    def limit_a(self, key: str) -> float | None:
        """A current limit of the whole bank: that of one battery by its strings. None where a part states none."""
        limits = [part.get(key) for part in self.parts]
        if any(limit is None for limit in limits):
            return None
        return sum(part.get(key) * part.get("parallel", 1) for part in self.parts)


def chemistry_of(part: Part) -> Chemistry:
    """The figures of one battery's chemistry."""
    return chemistry(part.get("chemistry", DEFAULT_CHEMISTRY), part.get("voltage_v", 12.0))


def banks(system: System, net: Graph) -> tuple[tuple[Bank, ...], tuple[Assumption, ...]]:
    """The bank of every zone that has batteries, in declaration order, and what was assumed of them."""
    by_zone: dict[str, list[Part]] = {}
    for part in system.of_kind("battery"):
        if part.id in net.outputs:
            by_zone.setdefault(net.outputs[part.id].zone, []).append(part)
    assumed: list[Assumption] = []
    return tuple(_bank(zone, tuple(parts), assumed) for zone, parts in by_zone.items()), tuple(assumed)


def _bank(zone: str, parts: tuple[Part, ...], assumed: list[Assumption]) -> Bank:
    first = parts[0]
    kind, series = chemistry_of(first), first.get("series", 1)
    usable_ah: float | None = 0.0
    for part in parts:
        capacity = part.get("capacity_ah")
        share = part.get("usable")
        if share is None:
            usual = chemistry_of(part).usable_share
            share = usual.value
            assumed.append(
                Assumption(part.id, f"{share * 100:.0f} % of its capacity is usable: {usual.formula}", usual.source)
            )
        if capacity is None or usable_ah is None:
            usable_ah = None
        else:
            usable_ah += capacity * part.get("parallel", 1) * share
    full_v = min(_full_v(part) for part in parts)
    nominal_v = first.get("voltage_v", 12.0) * series
    return Bank(
        zone,
        parts,
        nominal_v,
        full_v,
        any(part.get("full_v") for part in parts),
        series,
        kind,
        usable_ah,
        None if usable_ah is None else usable_ah * nominal_v,
    )


def _full_v(part: Part) -> float:
    """Voltage of a whole battery statement at the end of charging: stated, else the high end of its range, else
    usual for its chemistry."""
    window = part.get("range")
    each = part.get("full_v") or (window.high if window else chemistry_of(part).full_v.value)
    return float(each * part.get("series", 1))
