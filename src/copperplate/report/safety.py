"""Sections 6 to 8: protection, volts at the loads, loading."""

from __future__ import annotations

from copperplate.model.results import DeviceResult
from copperplate.model.system import PROTECTIVE
from copperplate.report.facts import Facts
from copperplate.report.front import ampacity_used, budget_used
from copperplate.report.tables import Block, Column, Table
from copperplate.report.words import code, codes, counted, fixed, text, trimmed

FULLEST = 30
"""Rows of the loading table: enough to see what is near its limit."""


def protection(facts: Facts) -> list[Block]:
    """Section 6: what each fuse and breaker protects, can carry and can break, and where it sits."""
    devices = facts.design.system.devices.values()
    built = [(d, facts.design.devices[d.id]) for d in devices if d.id in facts.design.devices]
    protective = [result for device, result in built if device.kind in PROTECTIVE]
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
        " Far-end fault is the smallest, with hot copper and the lowest volts."
    )
    rows = tuple(_device_row(facts, result) for result in protective)
    return [
        "## 6 Protection",
        Table("Every fuse and breaker.", columns, rows, note, ("schedule",)),
        *_placement(facts, protective),
        *_others(facts, [result for device, result in built if device.kind not in PROTECTIVE]),
    ]


def _kilo(amperes: float | None) -> str:
    return trimmed(amperes / 1000, 2) if amperes is not None else ""


def _device_row(facts: Facts, result: DeviceResult) -> tuple[str, ...]:
    return (
        code(result.device),
        codes(result.protects),
        text(result.rating.family),
        trimmed(result.rating.rating_a, 1),
        fixed(result.rating.needs_a.value, 2),
        fixed(result.smallest_ampacity_a, 1),
        _kilo(result.prospective_fault.value if result.prospective_fault else None),
        _kilo(result.interrupting_a),
        _kilo(result.end_fault.value if result.end_fault else None),
        trimmed(result.opens_within_s, 3),
        _verdict(facts, result),
    )


def _verdict(facts: Facts, result: DeviceResult) -> str:
    """Codes of what was found at the device, else how it behaves at the far end."""
    found = dict.fromkeys(
        f.code for f in facts.design.findings if f.subject == result.device and f.severity != "advice"
    )
    return " ".join(found) or result.far_end or "holds"


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
            fixed(_carried(r), 2),
            trimmed(r.rating.rating_a, 1),
            fixed(100 * _carried(r) / r.rating.rating_a, 0) if r.rating.rating_a else "",
        )
        for r in others
    )
    return [Table("Switches, shunts and relays.", columns, rows, marks=("schedule",), chart="bar")]


def _carried(result: DeviceResult) -> float:
    """The largest current of all cases, without a sign."""
    return max((abs(a) for a in result.current_a.values()), default=0.0)


def volts(facts: Facts) -> list[Block]:
    """Section 7: the voltage at every load in its worst case."""
    loads = facts.design.loads.values()
    if not loads:
        return ["## 7 Volts at the loads", "No load was solved."]
    columns = (
        Column("Address", 18),
        Column("Load", 24),
        Column("Current", 10, "A", 2),
        Column("Worst case", 14),
        Column("At load", 10, "V", 2),
        Column("Works from", 13, "V", 2),
        Column("Margin", 9, "V", 2),
        Column("Solved", 9, "%", 2),
        Column("Judged", 9, "%", 2),
        Column("Budget", 9, "%", 2),
        Column("Used", 8, "%", 0),
    )
    rows = tuple(
        (
            code(load.load),
            text(facts.title(load.load)),
            fixed(load.current_a, 2),
            text(load.worst_case),
            fixed(load.voltage_v, 2),
            trimmed(load.works_low_v, 2),
            fixed(load.voltage_v - load.works_low_v, 2) if load.works_low_v is not None else "",
            fixed(load.solved_percent, 2),
            fixed(load.drop_percent, 2),
            trimmed(load.budget_percent, 2),
            fixed(100 * budget_used(load), 0),
        )
        for load in loads
    )
    note = (
        "Percent is of the nominal voltage, over the whole path out and back. Judged is by the rule profile's own"
        " figure and settles the budget; solved is physical, with warm copper. Used is judged of budget."
    )
    caption = "Voltage at every load in its worst case."
    return ["## 7 Volts at the loads", Table(caption, columns, rows, note, ("schedule",), "bar")]


def loading(facts: Facts) -> list[Block]:
    """Section 8: conductors and devices against their limits, fullest first."""
    entries: list[tuple[float, tuple[str, ...]]] = []
    for r in facts.design.runs.values():
        if r.ampacity and r.ampacity.value and r.size:
            what = f"conductor {Facts.several(r.parallel, r.size.label)}"
            row = (code(r.run), what, fixed(r.design_current.value, 2), fixed(r.ampacity.value, 1))
            entries.append((ampacity_used(r), row))
    for d in facts.design.devices.values():
        if d.rating.rating_a:
            what = f"{facts.device(d.device).kind} {text(d.rating.family)}".strip()
            carried = _carried(d)
            row = (code(d.device), what, fixed(carried, 2), trimmed(d.rating.rating_a, 1))
            entries.append((carried / d.rating.rating_a, row))
    if not entries:
        return ["## 8 Loading", "Nothing was sized."]
    entries.sort(key=lambda entry: -entry[0])
    columns = (
        Column("Where", 18),
        Column("What", 24),
        Column("Carries", 10, "A", 2),
        Column("Of", 9, "A", 1),
        Column("Used", 8, "%", 0),
    )
    rows = tuple((*row, fixed(100 * used, 0)) for used, row in entries[:FULLEST])
    rest = len(entries) - len(rows)
    note = f"{counted(rest, 'less full one is', 'less full ones are')} left out." if rest else ""
    return ["## 8 Loading", Table("Conductors and devices against their limits, fullest first.", columns, rows, note,
                                  ("schedule",), "bar")]  # fmt: skip
