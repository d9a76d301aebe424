"""Section 6: what each device protects, can carry and can break, and where it sits."""

from __future__ import annotations

from copperplate.model.results import DeviceResult
from copperplate.report.blocks import Block, Column, Heading, Table
from copperplate.report.facts import Facts, carried
from copperplate.report.words import code, codes, fixed, text, trimmed
from copperplate.units import number


def protection(facts: Facts) -> list[Block]:
    """Section 6: what each fuse and breaker protects, can carry and can break, and where it sits."""
    devices = facts.design.system.devices.values()
    built = [(d, facts.design.devices[d.id]) for d in devices if d.id in facts.design.devices]
    protective = [result for device, result in built if device.roles.protects]
    if not protective:
        return [Heading(2, "6", "Protection"), "No protective device was judged."]
    note = (
        "Needs is the current with its continuous factor; ampacity is that of the thinnest conductor it protects."
        " Far-end fault is the smallest, with hot copper and the lowest volts; the result is what the device does at"
        " it, or what was found at the device."
    )
    every = Table.of(
        protective,
        "Every fuse and breaker.",
        Column("Device", 18, cell=lambda r: code(r.device)),
        Column("Protects", 22, cell=lambda r: codes(r.protects)),
        Column("Family", 12, cell=lambda r: text(r.rating.family)),
        Column("Rating", 10, "A", 1, lambda r: trimmed(r.rating.rating_a, 1)),
        Column("Needs", 9, "A", 2, lambda r: fixed(r.rating.needs_a.value, 2)),
        Column("Ampacity", 11, "A", 1, lambda r: fixed(r.smallest_ampacity_a, 1)),
        Column("Largest fault", 17, "kA", 2, lambda r: _kilo(r.prospective_fault and r.prospective_fault.value)),
        Column("Breaks", 10, "kA", 2, lambda r: trimmed(r.interrupting_a / 1000, 2) if r.interrupting_a else ""),
        Column("Far-end fault", 17, "kA", 2, lambda r: _kilo(r.end_fault and r.end_fault.value)),
        Column("Opens in", 11, "s", 3, lambda r: trimmed(r.opens_within_s, 3)),
        # Codes of what was found at the device, else how it behaves at the far end.
        Column("Result", 14, cell=lambda r: " ".join(facts.codes_at.get(r.device, ())) or r.far_end or "not judged"),
        note=note,
        marks=("schedule",),
    )
    others = [result for device, result in built if not device.roles.protects]
    tables = (every, _placement(facts, protective), _heat(protective), _earth_faults(facts, protective))
    listed = (*tables, _sources(facts), _others(facts, others))
    return [Heading(2, "6", "Protection"), *(table for table in listed if table.rows)]


def _kilo(amperes: float | None) -> str:
    return fixed(amperes / 1000, 2) if amperes is not None else ""


def _placement(facts: Facts, protective: list[DeviceResult]) -> Table:
    return Table.of(
        [r for r in protective if r.distance_from_source_m is not None],
        "Distance of each device from its source, along the conductor.",
        Column("Device", 18, cell=lambda r: code(r.device)),
        facts.length_column("From its source", lambda r: r.distance_from_source_m, 19),
        facts.length_column("Limit", lambda r: r.placement_limit_m, 10),
        Column("Rule", 50, cell=lambda r: text(r.placement_rule)),
        marks=("schedule",),
    )


def _heat(protective: list[DeviceResult]) -> Table:
    """Heat that a far-end fault brings into the smallest conductor, against what its insulation withstands."""
    return Table.of(
        [r for r in protective if r.i2t_a2s is not None and r.k2s2_a2s],
        "Heat of a far-end fault in the thinnest conductor, I²t against k²S².",
        Column("Device", 18, cell=lambda r: code(r.device)),
        Column("Let through", 18, "A²s", 0, lambda r: number(r.i2t_a2s)),
        Column("Withstood", 16, "A²s", 0, lambda r: number(r.k2s2_a2s)),
        Column("Used", 8, "%", 2, lambda r: fixed(100 * r.i2t_a2s / r.k2s2_a2s, 2)),
        marks=("schedule",),
        chart="bar",
    )


def _earth_faults(facts: Facts, protective: list[DeviceResult]) -> Table:
    """The smallest current of a line to the protective earth behind each AC device, and whether that opens anything."""

    def times(r: DeviceResult) -> str:
        return fixed(r.earth_fault.value / r.rating.rating_a, 1) if r.earth_fault and r.rating.rating_a else ""

    def residual(r: DeviceResult) -> str:
        amperes = facts.design.system.devices[r.device].residual_a
        return trimmed(1000 * amperes, 0) if amperes else ""

    return Table.of(
        [r for r in protective if r.earth_fault is not None],
        "Earth faults of AC circuits: a line to the protective earth at the far end, by the weakest supply.",
        Column("Device", 18, cell=lambda r: code(r.device)),
        Column("Rating", 10, "A", 1, lambda r: trimmed(r.rating.rating_a, 1)),
        Column("Curve", 8, cell=lambda r: facts.design.system.devices[r.device].curve.upper()),
        Column("Residual", 12, "mA", 0, residual),
        Column("Earth fault", 15, "A", 0, lambda r: fixed(r.earth_fault.value, 0)),
        Column("Times rating", 14, decimals=1, cell=times),
        Column("Result", 14, cell=lambda r: r.earth_end or "not judged"),
        marks=("schedule",),
    )


def _sources(facts: Facts) -> Table:
    """What each source brings into a fault."""
    return Table.of(
        [s for s in facts.design.sources.values() if s.fault_current_a is not None],
        "Sources of fault current, at their own terminals.",
        Column("Source", 18, cell=lambda s: code(s.source)),
        Column("Kind", 12, cell=lambda s: text(s.kind)),
        Column("Full e.m.f.", 15, "V", 2, lambda s: trimmed(s.emf_full_v, 2)),
        Column("Lowest resistance", 23, "mohm", 3, lambda s: trimmed(_milli(s.resistance_low_ohm), 3)),
        Column("Fault current", 17, "kA", 2, lambda s: _kilo(s.fault_current_a)),
        marks=("schedule",),
    )


def _milli(ohm: float | None) -> float | None:
    return None if ohm is None else 1000 * ohm


def _others(facts: Facts, others: list[DeviceResult]) -> Table:
    def used(r: DeviceResult) -> str:
        return fixed(100 * carried(r) / r.rating.rating_a, 0) if r.rating.rating_a else ""

    return Table.of(
        others,
        "Switches, shunts and relays.",
        Column("Device", 18, cell=lambda r: code(r.device)),
        Column("Kind", 10, cell=lambda r: facts.design.system.devices[r.device].kind),
        Column("Carries", 10, "A", 2, lambda r: fixed(carried(r), 2)),
        Column("Rating", 10, "A", 1, lambda r: trimmed(r.rating.rating_a, 1)),
        Column(
            "Used", 8, "%", 0, lambda r: fixed(100 * carried(r) / r.rating.rating_a, 0) if r.rating.rating_a else ""
        ),
        marks=("schedule",),
        chart="bar",
    )
