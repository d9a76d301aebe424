"""Volts at the loads, and the situations that were solved."""

from __future__ import annotations

from copperplate.report.blocks import Block, Column, Heading, Table
from copperplate.report.facts import Facts, budget_used
from copperplate.report.words import against, amperes, code, fixed, text, trimmed


def volts(facts: Facts) -> list[Block]:
    """The voltage at every load in its worst case."""
    if not facts.design.loads:
        return [Heading(3, "Volts at the loads"), "No load was solved."]
    note = "Percent is of the nominal voltage, out and back. Used is by rule, of the budget."
    at_loads = Table.of(
        facts.design.loads.values(),
        "Voltage at every load where that is least.",
        Column("Load", 26, cell=lambda r: text(facts.names.part(r.load))),
        Column("Address", 16, cell=lambda r: code(r.load)),
        Column("Situation", 16, cell=lambda r: text(facts.names.case(r.worst_case))),
        Column("Current", 9, "A", 1, lambda r: amperes(r.current_a)),
        Column("At load", 9, "V", 1, lambda r: against(r.voltage_v, r.works_low_v or 0.0, 1)),
        Column("Works from", 11, "V", 1, lambda r: fixed(r.works_low_v, 1)),
        Column("Warm", 8, "%", 1, lambda r: against(r.solved_percent, r.budget_percent, 1)),
        Column("By rule", 8, "%", 1, lambda r: against(r.drop_percent, r.budget_percent, 1)),
        Column("Budget", 8, "%", 1, lambda r: trimmed(r.budget_percent, 1)),
        Column("Used", 8, "%", 0, lambda r: against(100 * budget_used(r), 100.0, 0)),
        note=note,
        marks=("schedule",),
        chart="bar",
    )
    return [Heading(3, "Volts at the loads"), at_loads, _cases(facts)]


def _cases(facts: Facts) -> Table:
    """What each situation holds the sources at, and what they then give."""
    rows = [
        (case, source, held, given)
        for case in facts.design.system.cases
        for source in facts.design.sources.values()
        for held, given in [(source.terminal_v.get(case.id), source.current_a.get(case.id))]
        if given
    ]
    return Table.of(
        rows,
        "What each source is held at and gives, situation by situation.",
        Column("Situation", 22, cell=lambda row: text(facts.names.case(row[0].id))),
        Column("Kind", 8, cell=lambda row: row[0].kind),
        Column("Source", 24, cell=lambda row: text(facts.names.part(row[1].source))),
        Column("Held at", 9, "V", 2, lambda row: fixed(row[2], 2)),
        Column("Gives", 9, "A", 1, lambda row: amperes(row[3])),
        note="A negative current is taken in; sources that give nothing are left out.",
        marks=("small",),
    )
