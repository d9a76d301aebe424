"""Sections 12 to 15: assumptions, accepted deviations, sources, checks on site, signatures."""

from __future__ import annotations

from copperplate.report.facts import Facts
from copperplate.report.front import ac_caution, battery_caution
from copperplate.report.tables import Block, Column, Table
from copperplate.report.words import code, fixed, prose, sentence, text, trimmed, unit
from copperplate.standards import STATUSES
from copperplate.units import number

BLANK = "________"
NAMED = 6
"""Subjects of one assumption that are named."""


def assumptions(facts: Facts) -> list[Block]:
    """Section 12: what the plate left open and what its author accepted."""
    blocks: list[Block] = ["## 12 Assumptions"]
    if facts.design.assumptions:
        columns = (Column("No", 3, decimals=0), Column("Where", 18), Column("Assumed", 70), Column("Source", 40))
        shared: dict[tuple[str, str], list[str]] = {}
        for a in facts.design.assumptions:
            shared.setdefault((prose(a.text), text(a.source)), []).append(code(a.subject))
        rows = tuple(
            (str(n), _subjects(subjects), assumed, source)
            for n, ((assumed, source), subjects) in enumerate(shared.items(), 1)
        )
        note = "State the value in the plate to replace one."
        blocks.append(
            Table("Values that the plate left open, and readings chosen among two.", columns, rows, note, ("small",))
        )
    else:
        blocks.append("None: the plate states every value that was needed.")
    accepted = [f for f in facts.design.findings if f.accepted is not None]
    blocks.append("### Accepted deviations")
    if accepted:
        columns = (Column("Finding", 7), Column("Where", 18), Column("What is so", 70), Column("Accepted because", 50))
        rows = tuple((f.code, code(f.subject), sentence(f.message), text(f.accepted or "")) for f in accepted)
        blocks.append(Table("Warnings that the designer accepted.", columns, rows, marks=("small",)))
    else:
        blocks.append("None.")
    return blocks


def _subjects(subjects: list[str]) -> str:
    """What one assumption is about. Of many that share it a few are named: `design.json` has them all."""
    more = f" and {len(subjects) - NAMED} more" if len(subjects) > NAMED else ""
    return " ".join(subjects[:NAMED]) + more


def sources(facts: Facts) -> list[Block]:
    """Section 13: what was published and used, how it was checked, and the constants of the rule profile."""
    used = list(dict.fromkeys(facts.design.sources_used))
    constants = facts.design.constants
    blocks: list[Block] = ["## 13 Sources"]
    if used:
        columns = (
            Column("No", 3),
            Column("Title", 64),
            Column("Edition", 26),
            Column("Clause", 34),
            Column("Status", 12),
        )
        rows = tuple(
            (f"S{n}", text(s.title), text(s.edition), text(s.clause), text(s.status)) for n, s in enumerate(used, 1)
        )
        caption = "Published sources that this design used."
        blocks.append(Table(caption, columns, rows, _statuses(facts), ("small",)))
    if constants:
        blocks.append(_constants(facts))
    return blocks


def _statuses(facts: Facts) -> str:
    """What the words for how a figure was checked mean; only those that stand in this report."""
    used = {s.status for s in facts.design.sources_used} | {c.status for c in facts.design.constants.values()}
    return " ".join(f"{word.capitalize()}: {meaning}." for word, meaning in STATUSES.items() if word in used)


def _constants(facts: Facts) -> Table:
    columns = (
        Column("Constant", 26),
        Column("What", 46),
        Column("Value", 10, decimals=4),
        Column("Unit", 10),
        Column("Source", 60),
        Column("Status", 12),
    )
    rows = tuple(
        (text(name), text(c.quantity), number(c.value, 5), unit(c.unit), text(c.source), text(c.status))
        for name, c in facts.design.constants.items()
    )
    caption = f"Constants of the rule profile {code(facts.design.profile)}."
    return Table(caption, columns, rows, marks=("small",))


def checks(facts: Facts) -> list[Block]:
    """Section 14: what to measure before and after power, what to expect, room for what was found."""
    design = facts.design
    before = [
        ("all conductors", "pulled and ended as the wiring list says", "every row ticked"),
        ("all terminals", "tight to their maker's torque, insulated, supported", "nothing moves"),
        ("positive to negative", "resistance with the banks off and all loads off", "no short circuit"),
    ]
    if design.system.settings.negative == "floating":
        before.append(("each pole to earth", "resistance with the banks off", "open"))
    before += [
        (code(d.id), "rating fitted", f"{trimmed(design.devices[d.id].rating.rating_a, 1)} A")
        for d in design.system.devices.values()
        if d.roles.protects and d.id in design.devices and design.devices[d.id].rating.rating_a is not None
    ]
    columns = (
        Column("Where", 22),
        Column("Check", 52),
        Column("Expected", 24),
        Column("Measured", 10),
        Column("Done", 4),
    )
    rows = tuple((*row, BLANK, "[ ]") for row in before)
    blocks: list[Block] = ["## 14 Checks on site", *battery_caution(design), *ac_caution(design)]
    blocks.append(Table("Before power.", columns, rows, marks=("form",)))
    if design.loads:
        blocks.append(_volts_to_measure(facts))
    return blocks


def _volts_to_measure(facts: Facts) -> Table:
    """The loss to each load, which holds at any state of charge, with room for what was found."""
    columns = (
        Column("Load", 18),
        Column("Case", 14),
        Column("Current", 10, "A", 2),
        Column("Lost", 10, "V", 2),
        Column("At load", 10, "V", 2),
        Column("Measured lost", 16, "V"),
        Column("Done", 4),
    )
    rows = tuple(
        (
            code(load.load),
            text(load.worst_case),
            fixed(load.current_a, 2),
            fixed(load.solved_drop_v, 2),
            fixed(load.voltage_v, 2),
            BLANK,
            "[ ]",
        )
        for load in facts.design.loads.values()
    )
    note = (
        "Lost is the voltage from the source's terminals to the load's, both poles; it can be compared at any state"
        " of charge. At load is with the source at the low end of its range."
    )
    return Table("After power, with the case's loads on.", columns, rows, note, ("form",))


def signatures(facts: Facts) -> list[Block]:
    """Section 15."""
    people = ["Designed by", "Checked by", "Accepted for the client", "Installed by"]
    if facts.design.system.settings.ac:
        people.append("AC by a licensed person")
    columns = (Column("As", 26), Column("Name", 24), Column("Signature", 24), Column("Date", 12))
    rows = tuple((who, "", "", "") for who in people)
    return ["## 15 Signatures", Table("", columns, rows, marks=("form",), numbered=False)]
