"""Charging voltages against the batteries that they charge."""

from __future__ import annotations

import math

from copperplate.energy.bank import Bank, chemistry_of
from copperplate.energy.recharge import Charging
from copperplate.findings import Finding, Measure, Related, finding
from copperplate.model import Part
from copperplate.units import number

TRICKLE_PER_H = 0.01
"""An array that gives no more than the hundredth part of the capacity an hour may do without a controller. Common
practice, no source."""
VOLTAGE_KEYS = ("out_v", "voltage_v")


def check_charging(bank: Bank, sources: tuple[Charging, ...]) -> list[Finding]:
    """Each source's voltage against the range of the chemistry, the bank's own `full` and the e.m.f. of a full
    bank; the bank's `full` against its chemistry; and batteries of different kinds on one bar."""
    found = [*_mixed(bank), *(f for part in bank.parts for f in _unusual(part))]
    for source in sources:
        if source.volts is not None:
            found += _voltage(bank, source.part, source.volts)
        elif source.part.kind == "solar":
            found += _uncontrolled(bank, source)
    return found


def _uncontrolled(bank: Bank, source: Charging) -> list[Finding]:
    """An array on the bars of a bank: nothing ends its charge, which goes on towards its open-circuit voltage."""
    part = source.part
    volts = (part.get("voc_v") or part.get("vmp_v") or math.inf) * part.get("series", 1)
    battery = min(bank.parts, key=lambda p: chemistry_of(p).high_v.value * p.get("series", 1))
    kind = chemistry_of(battery)
    highest = kind.high_v.value * battery.get("series", 1)
    capacity = sum(p.get("capacity_ah", 0.0) * p.get("parallel", 1) for p in bank.parts)
    if volts <= highest * 1.0001 or source.amperes <= TRICKLE_PER_H * capacity:
        return []
    told = f"goes on to {number(volts, 4)} V" if math.isfinite(volts) else "states no voltage at which it ends"
    return [
        finding(
            "CP606",
            part.id,
            f"`{part.id}` charges `{bank.id}` without a controller and {told}; {kind.title} takes "
            f"{number(highest, 4)} V at most",
            part.spans.get("voc_v", part.span),
            label="open circuit" if part.get("voc_v") else "",
            help=f"a `controller` between them: `{part.id}` lands on its `pv`, and its `pos` and `neg` on the bars",
            related=(Related(battery.span, f"{kind.title}, full at {number(bank.full_v)} V"),),
            measure=Measure(volts, highest, "V") if math.isfinite(volts) else None,
            rule=kind.high_v.source,
        )
    ]


def _voltage(bank: Bank, part: Part, volts: float) -> list[Finding]:
    battery = min(bank.parts, key=lambda p: chemistry_of(p).high_v.value * p.get("series", 1))
    kind = chemistry_of(battery)
    series = battery.get("series", 1)
    highest, empty = kind.high_v.value * series, kind.emf_full_v.value * series
    span = next((part.spans[key] for key in VOLTAGE_KEYS if key in part.spans), part.span)
    place = (Related(battery.span, f"{kind.title}, full at {number(bank.full_v)} V"),)
    if volts > highest * 1.0001 and volts > bank.full_v * 1.0001:
        return [
            finding(
                "CP606",
                part.id,
                f"`{part.id}` charges to {number(volts, 4)} V, and {kind.title} takes {number(highest, 4)} V at most",
                span,
                label=f"{number(volts, 4)} V",
                notes=(f"{kind.high_v.formula}: {number(highest, 4)} V for `{battery.id}`",),
                help=f"set it to {number(bank.full_v, 4)} V, or state the battery's own `full` from its data sheet",
                related=place,
                measure=Measure(volts, highest, "V"),
                rule=kind.high_v.source,
            )
        ]
    if volts > bank.full_v * 1.0001:
        return [
            finding(
                "CP607",
                part.id,
                f"`{part.id}` charges to {number(volts, 4)} V, and `{battery.id}` is full at "
                f"{number(bank.full_v, 4)} V",
                span,
                label=f"{number(volts, 4)} V",
                help=f"set it to {number(bank.full_v, 4)} V",
                related=place,
                measure=Measure(volts, bank.full_v, "V"),
            )
        ]
    if volts < empty * 0.9999:
        return [
            finding(
                "CP608",
                part.id,
                f"`{part.id}` gives {number(volts, 4)} V, below the {number(empty, 4)} V of a full "
                f"`{battery.id}` at rest",
                span,
                label=f"{number(volts, 4)} V",
                help=f"set it to {number(bank.full_v, 4)} V",
                related=place,
                measure=Measure(volts, empty, "V"),
                rule=kind.emf_full_v.source,
            )
        ]
    return []


def _unusual(part: Part) -> list[Finding]:
    kind, full = chemistry_of(part), part.get("full_v")
    if full is None or "chemistry" not in part.stated:
        return []
    if kind.emf_full_v.value * 0.9999 <= full <= kind.high_v.value * 1.0001:
        return []
    return [
        finding(
            "CP609",
            part.id,
            f"`{part.id}` is full at {number(full, 4)} V, and {kind.title} usually is between "
            f"{number(kind.emf_full_v.value, 4)} and {number(kind.high_v.value, 4)} V",
            part.spans.get("full_v", part.span),
            label=f"of one battery of {number(kind.nominal_v)} V",
            help=f"`full {number(kind.full_v.value, 4)} V`, or accept it where its data sheet says so",
            measure=Measure(full, kind.high_v.value, "V"),
            rule=kind.high_v.source,
        )
    ]


def _mixed(bank: Bank) -> list[Finding]:
    first = bank.parts[0]
    for other in bank.parts[1:]:
        kinds = (first.get("chemistry"), other.get("chemistry"))
        if kinds[0] != kinds[1] and not any("chemistry" in part.unread for part in (first, other)):
            return [
                finding(
                    "CP611",
                    other.id,
                    f"`{other.id}` ({kinds[1] or 'no chemistry stated'}) and `{first.id}` "
                    f"({kinds[0] or 'no chemistry stated'}) share one bar and are charged alike",
                    other.spans.get("chemistry", other.span),
                    label="another kind than the first",
                    help=f"a converter that charges `{other.id}` by itself, or batteries of one kind",
                    related=(Related(first.span, "the first"),),
                    rule="common practice, no source",
                )
            ]
    return []
