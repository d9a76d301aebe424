"""Section 6: what each device protects, can carry and can break, and where it sits."""

from __future__ import annotations

from copperplate.model.results import DeviceResult
from copperplate.report.facts import Facts, carried
from copperplate.report.tables import Block, Column, Table
from copperplate.report.words import code, codes, fixed, text, trimmed
from copperplate.units import number


def protection(facts: Facts) -> list[Block]:
    """Section 6: what each fuse and breaker protects, can carry and can break, and where it sits."""
    devices = facts.design.system.devices.values()
    built = [(d, facts.design.devices[d.id]) for d in devices if d.id in facts.design.devices]
    protective = [result for device, result in built if device.roles.protects]
    if not protective:
        return ["## 6 Protection", "No protective device was judged."]
    columns = (
        Column("Device", 18),
        Column("Protects", 22),
        Column("Family", 12),
        Column("Rating", 10, "A", 1),
        Column("Needs", 9, "A", 2),
        Column("Ampacity", 11, "A", 1),
        Column("Largest fault", 17, "kA", 2),
        Column("Breaks", 10, "kA", 2),
        Column("Far-end fault", 17, "kA", 2),
        Column("Opens in", 11, "s", 3),
        Column("Result", 14),
    )
    note = (
        "Needs is the current with its continuous factor; ampacity is that of the thinnest conductor it protects."
        " Far-end fault is the smallest, with hot copper and the lowest volts; the result is what the device does at"
        " it, or what was found at the device."
    )
    rows = tuple(_device_row(facts, result) for result in protective)
    return [
        "## 6 Protection",
        Table("Every fuse and breaker.", columns, rows, note, ("schedule",)),
        *_placement(facts, protective),
        *_heat(protective),
        *_earth_faults(facts, protective),
        *_sources(facts),
        *_others(facts, [result for device, result in built if not device.roles.protects]),
    ]


def _kilo(amperes: float | None) -> str:
    return fixed(amperes / 1000, 2) if amperes is not None else ""


def _device_row(facts: Facts, result: DeviceResult) -> tuple[str, ...]:
    return (
        code(result.device),
        codes(result.protects),
        text(result.rating.family),
        trimmed(result.rating.rating_a, 1),
        fixed(result.rating.needs_a.value, 2),
        fixed(result.smallest_ampacity_a, 1),
        _kilo(result.prospective_fault.value if result.prospective_fault else None),
        trimmed(result.interrupting_a / 1000, 2) if result.interrupting_a else "",
        _kilo(result.end_fault.value if result.end_fault else None),
        trimmed(result.opens_within_s, 3),
        _verdict(facts, result),
    )


def _verdict(facts: Facts, result: DeviceResult) -> str:
    """Codes of what was found at the device, else how it behaves at the far end."""
    return " ".join(facts.codes_at.get(result.device, ())) or result.far_end or "not judged"


def _placement(facts: Facts, protective: list[DeviceResult]) -> list[Block]:
    placed = [r for r in protective if r.distance_from_source_m is not None]
    if not placed:
        return []
    columns = (
        Column("Device", 18),
        facts.length_column("From its source", 19),
        facts.length_column("Limit", 10),
        Column("Rule", 50),
    )
    rows = tuple(
        (
            code(r.device),
            facts.length(r.distance_from_source_m),
            facts.length(r.placement_limit_m),
            text(r.placement_rule),
        )
        for r in placed
    )
    return [Table("Distance of each device from its source, along the conductor.", columns, rows, marks=("schedule",))]


def _heat(protective: list[DeviceResult]) -> list[Block]:
    """Heat that a far-end fault brings into the smallest conductor, against what its insulation withstands."""
    known = [r for r in protective if r.i2t_a2s is not None and r.k2s2_a2s]
    if not known:
        return []
    columns = (
        Column("Device", 18),
        Column("Let through", 18, "A²s", 0),
        Column("Withstood", 16, "A²s", 0),
        Column("Used", 8, "%", 2),
    )
    rows = tuple(
        (
            code(r.device),
            number(r.i2t_a2s or 0.0),
            number(r.k2s2_a2s or 0.0),
            fixed(100 * (r.i2t_a2s or 0.0) / (r.k2s2_a2s or 1.0), 2),
        )
        for r in known
    )
    caption = "Heat of a far-end fault in the thinnest conductor, I²t against k²S²."
    return [Table(caption, columns, rows, marks=("schedule",), chart="bar")]


def _earth_faults(facts: Facts, protective: list[DeviceResult]) -> list[Block]:
    """The smallest current of a line to the protective earth behind each AC device, and whether that opens anything."""
    known = [r for r in protective if r.earth_fault is not None]
    if not known:
        return []
    columns = (
        Column("Device", 18),
        Column("Rating", 10, "A", 1),
        Column("Curve", 8),
        Column("Residual", 12, "mA", 0),
        Column("Earth fault", 15, "A", 0),
        Column("Times rating", 14, decimals=1),
        Column("Result", 14),
    )
    rows = tuple(
        (
            code(r.device),
            trimmed(r.rating.rating_a, 1),
            facts.device(r.device).curve.upper(),
            trimmed(1000 * (facts.device(r.device).residual_a or 0.0), 0) if facts.device(r.device).residual_a else "",
            fixed(r.earth_fault.value, 0),
            fixed(r.earth_fault.value / r.rating.rating_a, 1) if r.rating.rating_a else "",
            r.earth_end or "not judged",
        )
        for r in known
        if r.earth_fault is not None
    )
    caption = "Earth faults of AC circuits: a line to the protective earth at the far end, by the weakest supply."
    return [Table(caption, columns, rows, marks=("schedule",))]


def _sources(facts: Facts) -> list[Block]:
    """What each source brings into a fault."""
    known = [s for s in facts.design.sources.values() if s.fault_current_a is not None]
    if not known:
        return []
    columns = (
        Column("Source", 18),
        Column("Kind", 12),
        Column("Full e.m.f.", 15, "V", 2),
        Column("Lowest resistance", 23, "mohm", 3),
        Column("Fault current", 17, "kA", 2),
    )
    rows = tuple(
        (
            code(s.source),
            text(s.kind),
            trimmed(s.emf_full_v, 2),
            trimmed(1000 * s.resistance_low_ohm, 3) if s.resistance_low_ohm is not None else "",
            _kilo(s.fault_current_a),
        )
        for s in known
    )
    return [Table("Sources of fault current, at their own terminals.", columns, rows, marks=("schedule",))]


def _others(facts: Facts, others: list[DeviceResult]) -> list[Block]:
    if not others:
        return []
    columns = (
        Column("Device", 18),
        Column("Kind", 10),
        Column("Carries", 10, "A", 2),
        Column("Rating", 10, "A", 1),
        Column("Used", 8, "%", 0),
    )
    rows = tuple(
        (
            code(r.device),
            facts.device(r.device).kind,
            fixed(carried(r), 2),
            trimmed(r.rating.rating_a, 1),
            fixed(100 * carried(r) / r.rating.rating_a, 0) if r.rating.rating_a else "",
        )
        for r in others
    )
    return [Table("Switches, shunts and relays.", columns, rows, marks=("schedule",), chart="bar")]
