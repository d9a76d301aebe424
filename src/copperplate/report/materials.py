"""Section 11: materials, copper by size, cut list."""

from __future__ import annotations

from copperplate.model.results import Material
from copperplate.report.facts import Facts
from copperplate.report.tables import Block, Column, Table
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
    blocks: list[Block] = ["## 11 Materials and cut list"]
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
    in_length = all(line.unit == "m" for line in lines)
    quantity = facts.length_column("Total", 10) if in_length else Column("Quantity", 10, decimals=0)
    columns = (Column("Item", 34), quantity, Column("Ends" if group in ("lug", "ferrule", "splice") else "For", 40))
    rows = tuple(
        (
            text(line.item),
            fixed(from_si(line.quantity, facts.length_unit), 2) if in_length else trimmed(line.quantity, 2),
            codes(list(dict.fromkeys(line.where))),
        )
        for line in lines
    )
    note = NOTES.get(group, "")
    chart = "bar 2" if group == "conductor" else ""
    return Table(f"{GROUPS.get(group, sentence(group).rstrip('.'))}.", columns, rows, note, ("small",), chart)


def _copper(facts: Facts) -> Table:
    """What each size weighs, of the lengths in the cut list."""
    columns = (
        facts.size_column(),
        facts.length_column("Total", 10),
        Column("Conductors", 10, decimals=0),
        Column("Copper", 10, "kg", 2),
    )
    rows = tuple(
        (
            text(facts.bare(size)),
            fixed(from_si(total.length_m, facts.length_unit), 2),
            str(total.conductors),
            fixed(total.kilograms, 2),
        )
        for size, total in facts.copper.items()
    )
    note = "With slack; the metal alone, without insulation."
    return Table("Copper by size.", columns, rows, note, ("small",), "bar")


def _cuts(facts: Facts) -> Table:
    columns = (
        Column("Tag", 20),
        facts.size_column(),
        Column("Cores", 5, decimals=0),
        Column("Colours", 10),
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
            str(cut.cores),
            cut.colour,
            facts.length(cut.length_m),
            facts.length(cut.cut_m),
            text(first),
            text(cut.from_fitting),
            text(second),
            text(cut.to_fitting),
            "[ ]",
        )
        for cut in facts.cuts
        for first, second in [facts.cut_ends(cut)]
    )
    note = "Cut at is the length with its slack."
    return Table("Cut list, by size and colour.", columns, rows, note, ("schedule",))
