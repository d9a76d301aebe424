"""Sections 7 and 8: volts at the loads, loading."""

from __future__ import annotations

from copperplate.report.facts import Facts, carried
from copperplate.report.front import ampacity_used, budget_used
from copperplate.report.tables import Block, Column, Table
from copperplate.report.words import code, codes, counted, fixed, text, trimmed
from copperplate.schema import loaded_conductors

FULLEST = 30
"""Rows of the loading table: enough to see what is near its limit."""


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
    return ["## 7 Volts at the loads", Table(caption, columns, rows, note, ("schedule",), "bar"), _cases(facts)]


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
    for case in facts.design.system.cases:
        on = ("everything" if case.kind == "load" else "every source") if case.implied else codes(list(case.shares))
        for source in facts.design.sources.values():
            held, given = source.terminal_v.get(case.id), source.current_a.get(case.id)
            if held is not None or given is not None:
                rows.append((text(case.id), case.kind, code(source.source), fixed(held, 2), fixed(given, 2), on))
                on = ""
    note = "A negative current is taken in."
    return Table("Cases that were solved, source by source.", columns, tuple(rows), note, ("small",))


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
            kind = facts.device(d.device).kind
            what = text(" ".join(dict.fromkeys((kind, d.rating.family))))
            amperes = carried(d)
            row = (code(d.device), what, fixed(amperes, 2), trimmed(d.rating.rating_a, 1))
            entries.append((amperes / d.rating.rating_a, row))
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
    caption = "Conductors and devices against their limits, fullest first."
    return ["## 8 Loading", Table(caption, columns, rows, note, ("schedule",), "bar"), *_routes(facts)]


def _routes(facts: Facts) -> list[Block]:
    """Places that conductors share: how warm, how many."""
    routes = facts.design.system.routes.values()
    if not routes:
        return []
    ambient = facts.design.system.settings.ambient_c
    columns = (
        Column("Route", 18),
        Column("Place", 24),
        Column("Air", 8, "°C", 1),
        Column("Laid", 14),
        Column("Runs", 5, decimals=0),
        Column("Loaded conductors", 17, decimals=0),
    )
    rows = tuple(
        (
            code(route.id),
            text(route.title),
            trimmed(ambient if route.ambient_c is None else route.ambient_c, 1),
            " ".join(word for word in (route.laid, "engine space" if route.engine_space else "") if word),
            str(len(route.runs)),
            str(loaded_conductors(facts.design, route)),
        )
        for route in routes
    )
    note = "Loaded conductors carry current in some case; those side by side in one pole are counted each."
    return [Table("Routes that runs share.", columns, rows, note, ("schedule",))]
