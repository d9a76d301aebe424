"""Section 11: materials, copper by size, cut list."""

from __future__ import annotations

from copperplate.model.results import Material
from copperplate.report.blocks import Block, Column, Heading, Table
from copperplate.report.facts import Facts
from copperplate.report.words import code, codes, fixed, sentence, text, trimmed
from copperplate.units import from_si

GROUPS: dict[str, str] = {
    "conductor": "Conductors by size and colour",
    "cable": "AC cables by size",
    "lug": "Lugs by size and stud",
    "ferrule": "Ferrules by size",
    "splice": "Splices",
    "fuse": "Fuses by family and rating",
    "holder": "Fuse holders",
    "breaker": "Breakers",
    "device": "Switches and other devices",
}
NOTES: dict[str, str] = {
    "conductor": "Lengths with slack, as in the cut list.",
    "lug": "A conductor that is named may need one at each end. Lug or ferrule: the plate states no terminal there.",
    "fuse": "A spare of each is counted in; colours of blades by ISO 8820-3.",
    "holder": "For fuses in the line; a fuse of a panel sits in it.",
    "cable": "Lengths with slack, as in the cut list.",
}


def materials(facts: Facts) -> list[Block]:
    """Section 11: what to buy and what to cut."""
    design = facts.design
    blocks: list[Block] = [Heading(2, "11", "Materials and cut list")]
    groups = [*GROUPS, *(m.group for m in design.materials if m.group not in GROUPS)]
    for group in dict.fromkeys(groups):
        lines = [m for m in design.materials if m.group == group]
        if lines:
            blocks.append(_materials(facts, group, lines))
        if group == "cable" and facts.copper:
            blocks.append(_copper(facts))
    if len(blocks) == 1:
        blocks.append("Nothing was sized, so there is nothing to buy.")
    if design.system.stock is not None and design.system.stock.sizes:
        shelf = ", ".join(size.label for size in design.system.stock.sizes)
        blocks.append(f"Sizes on the shelf: {shelf}.")
    if design.cuts:
        blocks.append(_cuts(facts))
    return blocks


def _materials(facts: Facts, group: str, lines: list[Material]) -> Table:
    unit = facts.length_unit
    if all(line.unit == "m" for line in lines):
        quantity = Column("Total", 10, unit, 2, lambda line: fixed(from_si(line.quantity, unit), 2))
    else:
        quantity = Column("Quantity", 10, decimals=0, cell=lambda line: trimmed(line.quantity, 2))
    return Table.of(
        lines,
        f"{GROUPS.get(group, sentence(group).rstrip('.'))}.",
        Column("Item", 34, cell=lambda line: text(line.item)),
        quantity,
        Column(
            "Ends" if group in ("lug", "ferrule", "splice") else "For",
            40,
            cell=lambda line: codes(list(dict.fromkeys(line.where))),
        ),
        note=NOTES.get(group, ""),
        marks=("small",),
        chart="bar 2" if group == "conductor" else "",
    )


def _copper(facts: Facts) -> Table:
    """What each size weighs, of the lengths in the cut list."""
    unit, copper = facts.length_unit, facts.copper
    return Table.of(
        copper,
        "Copper by size.",
        facts.size_column("Size", lambda size: text(facts.bare(size))),
        Column("Total", 10, unit, 2, lambda size: fixed(from_si(copper[size].length_m, unit), 2)),
        Column("Conductors", 10, decimals=0, cell=lambda size: str(copper[size].conductors)),
        Column("Copper", 10, "kg", 2, lambda size: fixed(copper[size].kilograms, 2)),
        note="With slack; the metal alone, without insulation.",
        marks=("small",),
        chart="bar",
    )


def _cuts(facts: Facts) -> Table:
    return Table.of(
        facts.cuts,
        "Cut list, by size and colour.",
        Column("Tag", 20, cell=lambda cut: code(cut.conductor)),
        facts.size_column("Size", lambda cut: text(facts.bare(cut.size))),
        Column("Cores", 5, decimals=0, cell=lambda cut: str(cut.cores)),
        Column("Colours", 10, cell=lambda cut: cut.colour),
        facts.length_column("Length", lambda cut: cut.length_m),
        facts.length_column("Cut at", lambda cut: cut.cut_m, 10),
        Column("First end", 20, cell=lambda cut: text(facts.cut_ends(cut)[0])),
        Column("Fitting", 26, cell=lambda cut: text(cut.from_fitting)),
        Column("Second end", 20, cell=lambda cut: text(facts.cut_ends(cut)[1])),
        Column("Fitting", 26, cell=lambda cut: text(cut.to_fitting)),
        Column("Cut", 3, cell=lambda _: "[ ]"),
        note="Cut at is the length with its slack.",
        marks=("schedule",),
    )
