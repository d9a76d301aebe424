"""Sections 10 and 11: energy, materials, cut list."""

from __future__ import annotations

from copperplate.model.results import EnergyResult, Material
from copperplate.report.facts import Facts
from copperplate.report.tables import Block, Column, Table
from copperplate.report.words import code, codes, fixed, sentence, text, thousands, trimmed
from copperplate.units import from_si

GROUPS: dict[str, str] = {
    "conductor": "Conductors",
    "lug": "Lugs",
    "ferrule": "Ferrules",
    "fuse": "Fuses",
    "breaker": "Breakers",
    "device": "Switches and other devices",
}


def energy(facts: Facts) -> list[Block]:
    """Section 10: a day's use by load and loss, what the bank gives, how it is filled again."""
    blocks: list[Block] = ["## 10 Energy"]
    for balance in facts.design.energy:
        blocks += _balance(facts, balance)
    if len(blocks) == 1:
        blocks.append("The plate states no hours of use, so no energy is told.")
    return blocks


def _balance(facts: Facts, balance: EnergyResult) -> list[Block]:
    blocks: list[Block] = []
    if balance.lines:
        columns = (Column("Subject", 18), Column("Circuit", 24), Column("How", 34), Column("A day", 10, "Wh", 0))
        rows = tuple(
            (code(line.subject), text(facts.title(line.subject)), text(line.what), fixed(line.wh, 0))
            for line in balance.lines
        )
        blocks.append(
            Table(f"A day's energy from {code(balance.bank)}.", columns, rows, marks=("schedule",), chart="bar")
        )
    used = f"{code(balance.bank)} gives {thousands(balance.daily_wh)} Wh a day"
    said = [used if balance.lines else f"No daily use of {code(balance.bank)} is stated"]
    if balance.usable_wh is not None:
        said[0] += f"; of what it holds, {thousands(balance.usable_wh)} Wh may be used"
    said[0] += "."
    if balance.autonomy_days is not None:
        said.append(f"Without charging that is **{fixed(balance.autonomy_days, 1)} days**.")
    blocks.append(" ".join(said))
    if balance.recharge:
        blocks.append(_recharge(balance))
    return blocks


def _recharge(balance: EnergyResult) -> Table:
    columns = (Column("Source", 18), Column("Into the bank", 16, "A", 1), Column("From empty to full", 21, "h", 1))
    rows = tuple((code(source), fixed(a, 1), fixed(hours, 1)) for source, a, hours in balance.recharge)
    return Table(f"Filling {code(balance.bank)} from its usable end, by one source alone.", columns, rows)


def materials(facts: Facts) -> list[Block]:
    """Section 11: what to buy and what to cut."""
    design = facts.design
    blocks: list[Block] = ["## 11 Materials and cut list"]
    groups = [*GROUPS, *(m.group for m in design.materials if m.group not in GROUPS)]
    for group in dict.fromkeys(groups):
        lines = [m for m in design.materials if m.group == group]
        if lines:
            blocks.append(_materials(facts, group, lines))
    if len(blocks) == 1:
        blocks.append("Nothing was sized, so there is nothing to buy.")
    if design.system.stock is not None and design.system.stock.sizes:
        shelf = ", ".join(size.label for size in design.system.stock.sizes)
        blocks.append(f"Sizes on the shelf: {shelf}.")
    if design.cuts:
        blocks.append(_cuts(facts))
    return blocks


def _materials(facts: Facts, group: str, lines: list[Material]) -> Table:
    in_length = all(line.unit == "m" for line in lines)
    quantity = facts.length_column("Total", 10) if in_length else Column("Quantity", 10, decimals=0)
    columns = (Column("Item", 34), quantity, Column("Ends" if group in ("lug", "ferrule") else "For", 40))
    rows = tuple(
        (
            text(line.item),
            fixed(from_si(line.quantity, facts.length_unit), 2) if in_length else trimmed(line.quantity, 2),
            codes(line.where),
        )
        for line in lines
    )
    note = "Slack is in it." if group == "conductor" else ""
    chart = "bar 2" if group == "conductor" else ""
    return Table(f"{GROUPS.get(group, sentence(group).rstrip('.'))}.", columns, rows, note, ("small",), chart)


def _cuts(facts: Facts) -> Table:
    columns = (
        Column("Tag", 20),
        facts.size_column(),
        Column("Colour", 6),
        facts.length_column("Length"),
        facts.length_column("Cut at", 10),
        Column("First end", 20),
        Column("Fitting", 26),
        Column("Second end", 20),
        Column("Fitting", 26),
        Column("Cut", 3),
    )
    rows = tuple(
        (
            code(cut.conductor),
            text(facts.bare(cut.size)),
            cut.colour,
            facts.length(cut.length_m),
            facts.length(cut.cut_m),
            text(facts.end(cut.from_end, True)),
            text(cut.from_fitting),
            text(facts.end(cut.to_end, False)),
            text(cut.to_fitting),
            "[ ]",
        )
        for cut in facts.design.cuts
    )
    note = "Cut at is the length with its slack."
    return Table("Cut list, in the order of the plate.", columns, rows, note, ("schedule",))
