"""Section 7: volts at the loads."""

from __future__ import annotations

from copperplate.model import Battery
from copperplate.report.blocks import Block, Column, Heading, Table
from copperplate.report.facts import Facts
from copperplate.report.front import budget_used
from copperplate.report.words import code, codes, fixed, text, trimmed


def volts(facts: Facts) -> list[Block]:
    """Section 7: the voltage at every load in its worst case."""
    if not facts.design.loads:
        return [Heading(2, "7", "Volts at the loads"), "No load was solved."]
    note = (
        "Percent is of the nominal voltage, over the whole path out and back. Judged is by the rule profile's own"
        " figure and settles the budget; solved is physical, with warm copper. Used is judged of budget."
    )
    at_loads = Table.of(
        facts.design.loads.values(),
        "Voltage at every load in its worst case.",
        Column("Address", 18, cell=lambda r: code(r.load)),
        Column("Load", 24, cell=lambda r: text(facts.title(r.load))),
        Column("Current", 10, "A", 2, lambda r: fixed(r.current_a, 2)),
        Column("Worst case", 14, cell=lambda r: text(r.worst_case)),
        Column("At load", 10, "V", 2, lambda r: fixed(r.voltage_v, 2)),
        Column("Works from", 13, "V", 2, lambda r: trimmed(r.works_low_v, 2)),
        Column("Margin", 9, "V", 2, lambda r: "" if r.works_low_v is None else fixed(r.voltage_v - r.works_low_v, 2)),
        Column("Solved", 9, "%", 2, lambda r: fixed(r.solved_percent, 2)),
        Column("Judged", 9, "%", 2, lambda r: fixed(r.drop_percent, 2)),
        Column("Budget", 9, "%", 2, lambda r: trimmed(r.budget_percent, 2)),
        Column("Used", 8, "%", 0, lambda r: fixed(100 * budget_used(r), 0)),
        note=note,
        marks=("schedule",),
        chart="bar",
    )
    return [Heading(2, "7", "Volts at the loads"), at_loads, _cases(facts)]


def _cases(facts: Facts) -> Table:
    """What each case holds the sources at, and what they then give."""
    columns = (
        Column("Case", 16),
        Column("Kind", 8),
        Column("Source", 18),
        Column("Held at", 10, "V", 2),
        Column("Gives", 10, "A", 2),
        Column("On in this case", 40),
    )
    rows: list[tuple[str, ...]] = []
    banks = {bank.id for bank in facts.design.system.of(Battery)}
    for case in (*facts.design.system.cases, *facts.design.states):
        on = ("everything" if case.kind == "load" else "every source") if case.implied else codes(list(case.shares))
        for source in facts.design.sources.values():
            held, given = source.terminal_v.get(case.id), source.current_a.get(case.id)
            if given or (held is not None and source.source in banks):
                rows.append((text(case.id), case.kind, code(source.source), fixed(held, 2), fixed(given, 2), on))
                on = ""
    note = "A negative current is taken in; sources that give nothing in a case are left out."
    return Table("Cases that were solved, source by source.", columns, tuple(rows), note, ("small",))
