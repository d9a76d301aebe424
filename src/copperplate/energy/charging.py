"""Charging voltages against the batteries that they charge."""

from __future__ import annotations

from collections.abc import Iterator

from copperplate.energy.bank import EnergyStore
from copperplate.energy.recharge import Charging
from copperplate.findings import Finding, make
from copperplate.model import Battery, Part, Solar
from copperplate.network.sources import battery_v
from copperplate.standards import Profile, chemistry_of
from copperplate.units import exceeds, suffices


def check_charging(profile: Profile, bank: EnergyStore, sources: tuple[Charging, ...]) -> Iterator[Finding]:
    """Each source's voltage against the range of the chemistry, the bank's own `full` and the e.m.f. of a full
    bank; the bank's `full` against its chemistry; and batteries of different kinds on one bar."""
    yield from _mixed(bank)
    for battery in bank.batteries:
        yield from _unusual(battery)
    for source in sources:
        if source.volts is not None:
            yield from _voltage(bank, source.part, source.volts - source.lost_v, source.lost_v)
        elif isinstance(source.part, Solar):
            yield from _uncontrolled(profile, bank, source.part, source.amperes)


def _high_v(battery: Battery) -> float:
    """The highest voltage that a whole battery statement takes."""
    return chemistry_of(battery).high_v.value * battery.series


def _uncontrolled(profile: Profile, bank: EnergyStore, array: Solar, amperes: float) -> Iterator[Finding]:
    """An array on the bars of a bank: nothing ends its charge, which goes on towards its open-circuit voltage."""
    each_v = array.voc_v or array.vmp_v
    volts = each_v * array.series if each_v else None
    battery = min(bank.batteries, key=_high_v)
    kind, highest = chemistry_of(battery), _high_v(battery)
    trickle_a = profile.figures["trickle"].value * bank.capacity_ah
    if (volts is None or exceeds(volts, highest)) and amperes > trickle_a:
        yield make(
            "CP606",
            array.id,
            array.spans.get("voc_v", array.span),
            bank=bank.id,
            volts=volts,
            highest=highest,
            chemistry=kind.title,
            full=bank.full_v,
            open_circuit=bool(array.voc_v),
            rule=kind.high_v.source,
            at={"battery": battery.span},
        )


def _voltage(bank: EnergyStore, part: Part, volts: float, lost_v: float) -> Iterator[Finding]:
    """A source that ends its charge at a voltage of its own, of which a splitter may take `lost_v`."""
    battery = min(bank.batteries, key=_high_v)
    kind, highest = chemistry_of(battery), _high_v(battery)
    empty = kind.emf_full_v.value * battery.series
    span = part.spans.get("out_v") or part.spans.get("voltage_v") or part.span
    shared = {"volts": volts, "full": bank.full_v, "chemistry": kind.title, "battery": battery.id}
    at = {"battery": battery.span}
    if exceeds(volts, highest) and exceeds(volts, bank.full_v):
        high = kind.high_v
        yield make("CP606", part.id, span, at=at, **shared, highest=highest, formula=high.formula, rule=high.source)
    elif exceeds(volts, bank.full_v):
        yield make("CP607", part.id, span, at=at, **shared)
    elif not suffices(volts, empty):
        yield make("CP608", part.id, span, at=at, **shared, empty=empty, rule=kind.emf_full_v.source)
    elif lost_v and not suffices(volts, full := max(battery_v(each, "full")[0] for each in bank.batteries)):
        own = {"volts": volts, "full": full, "lost": lost_v, "gives": volts + lost_v, "wanted": full + lost_v}
        yield make("CP617", part.id, span, at=at, **own, battery=battery.id, chemistry=kind.title)


def _unusual(battery: Battery) -> Iterator[Finding]:
    """A stated `full` that the stated chemistry does not have."""
    kind, full = chemistry_of(battery), battery.full_v
    if full is None or "chemistry" not in battery.stated:
        return
    low, high = kind.emf_full_v.value, kind.high_v.value
    if not suffices(full, low) or exceeds(full, high):
        yield make(
            "CP609",
            battery.id,
            battery.spans.get("full_v", battery.span),
            full=full,
            low=low,
            high=high,
            chemistry=kind.title,
            nominal=kind.nominal_v,
            usual=kind.full_v.value,
            rule=kind.high_v.source,
        )


def _mixed(bank: EnergyStore) -> Iterator[Finding]:
    """The first battery of another chemistry than the bank's first one."""
    first = bank.batteries[0]
    for battery in bank.batteries[1:]:
        if battery.chemistry != first.chemistry and "chemistry" not in battery.unread | first.unread:
            span = battery.spans.get("chemistry", battery.span)
            kinds = {"own": battery.chemistry, "other": first.chemistry}
            yield make("CP611", battery.id, span, at={"first": first.span}, first=first.id, **kinds)
            return
