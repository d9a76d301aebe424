"""Sections 12 to 15: assumptions, accepted deviations, sources, checks on site, signatures."""

from __future__ import annotations

from copperplate.report.blocks import Block, Column, Heading, Table
from copperplate.report.facts import Facts
from copperplate.report.front import ac_caution, battery_caution
from copperplate.report.words import code, fixed, prose, sentence, text, trimmed, unit
from copperplate.standards import STATUSES
from copperplate.units import number

BLANK = "________"
NAMED = 6
"""Subjects of one assumption that are named."""


def assumptions(facts: Facts) -> list[Block]:
    """Section 12: what the plate left open and what its author accepted."""
    blocks: list[Block] = [Heading(2, "12", "Assumptions")]
    shared: dict[tuple[str, str], list[str]] = {}
    for a in facts.design.assumptions:
        shared.setdefault((prose(a.text), text(a.source)), []).append(code(a.subject))
    if shared:
        columns = (Column("No", 3, decimals=0), Column("Where", 18), Column("Assumed", 70), Column("Source", 40))
        rows = tuple(
            (str(n), _subjects(subjects), assumed, source)
            for n, ((assumed, source), subjects) in enumerate(shared.items(), 1)
        )
        caption = "Values that the plate left open, and readings chosen among two."
        blocks.append(Table(caption, columns, rows, "State the value in the plate to replace one.", ("small",)))
    else:
        blocks.append("None: the plate states every value that was needed.")
    accepted = Table.of(
        [f for f in facts.design.findings if f.accepted is not None],
        "Warnings that the designer accepted.",
        Column("Finding", 7, cell=lambda f: f.code),
        Column("Where", 18, cell=lambda f: code(f.subject)),
        Column("What is so", 70, cell=lambda f: sentence(f.message)),
        Column("Accepted because", 50, cell=lambda f: text(f.accepted)),
        marks=("small",),
    )
    return [*blocks, Heading(3, "", "Accepted deviations"), accepted if accepted.rows else "None."]


def _subjects(subjects: list[str]) -> str:
    """What one assumption is about. Of many that share it a few are named: `design.json` has them all."""
    more = f" and {len(subjects) - NAMED} more" if len(subjects) > NAMED else ""
    return " ".join(subjects[:NAMED]) + more


def sources(facts: Facts) -> list[Block]:
    """Section 13: what was published and used, how it was checked, and the constants of the rule profile."""
    used = list(enumerate(dict.fromkeys(facts.design.sources_used), 1))
    published = Table.of(
        used,
        "Published sources that this design used.",
        Column("No", 3, cell=lambda s: f"S{s[0]}"),
        Column("Title", 64, cell=lambda s: text(s[1].title)),
        Column("Edition", 26, cell=lambda s: text(s[1].edition)),
        Column("Clause", 34, cell=lambda s: text(s[1].clause)),
        Column("Status", 12, cell=lambda s: text(s[1].status)),
        note=_statuses(facts),
        marks=("small",),
    )
    constants = Table.of(
        facts.design.constants.items(),
        f"Constants of the rule profile {code(facts.design.profile)}.",
        Column("Constant", 26, cell=lambda c: text(c[0])),
        Column("What", 46, cell=lambda c: text(c[1].quantity)),
        Column("Value", 10, decimals=4, cell=lambda c: number(c[1].value, 5)),
        Column("Unit", 10, cell=lambda c: unit(c[1].unit)),
        Column("Source", 60, cell=lambda c: text(c[1].source)),
        Column("Status", 12, cell=lambda c: text(c[1].status)),
        marks=("small",),
    )
    return [Heading(2, "13", "Sources"), *(table for table in (published, constants) if table.rows)]


def _statuses(facts: Facts) -> str:
    """What the words for how a figure was checked mean; only those that stand in this report."""
    used = {s.status for s in facts.design.sources_used} | {c.status for c in facts.design.constants.values()}
    return " ".join(f"{word.capitalize()}: {meaning}." for word, meaning in STATUSES.items() if word in used)


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
    blocks: list[Block] = [Heading(2, "14", "Checks on site"), *battery_caution(design), *ac_caution(design)]
    blocks.append(Table("Before power.", columns, rows, marks=("form",)))
    if design.loads:
        blocks.append(_volts_to_measure(facts))
    return blocks


def _volts_to_measure(facts: Facts) -> Table:
    """The loss to each load, which holds at any state of charge, with room for what was found."""
    note = (
        "Lost is the voltage from the source's terminals to the load's, both poles; it can be compared at any state"
        " of charge. At load is with the source at the low end of its range."
    )
    return Table.of(
        facts.design.loads.values(),
        "After power, with the case's loads on.",
        Column("Load", 18, cell=lambda load: code(load.load)),
        Column("Case", 14, cell=lambda load: text(load.worst_case)),
        Column("Current", 10, "A", 2, lambda load: fixed(load.current_a, 2)),
        Column("Lost", 10, "V", 2, lambda load: fixed(load.solved_drop_v, 2)),
        Column("At load", 10, "V", 2, lambda load: fixed(load.voltage_v, 2)),
        Column("Measured lost", 16, "V", cell=lambda _: BLANK),
        Column("Done", 4, cell=lambda _: "[ ]"),
        note=note,
        marks=("form",),
    )


def signatures(facts: Facts) -> list[Block]:
    """Section 15."""
    people = ["Designed by", "Checked by", "Accepted for the client", "Installed by"]
    if facts.design.system.settings.ac:
        people.append("AC by a licensed person")
    columns = (Column("As", 26), Column("Name", 24), Column("Signature", 24), Column("Date", 12))
    rows = tuple((who, "", "", "") for who in people)
    return [Heading(2, "15", "Signatures"), Table("", columns, rows, marks=("form",))]
