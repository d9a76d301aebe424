"""Section 10: energy of a day, what each case takes, how the bank is filled again."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from copperplate.model import Case
from copperplate.model.results import EnergyResult, LoadResult
from copperplate.report.facts import Facts
from copperplate.report.tables import Block, Column, Table
from copperplate.report.words import code, fixed, text, thousands

ABREAST = 6
"""Cases that stand side by side in one table."""


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
    sentences = [used if balance.lines else f"No daily use of {code(balance.bank)} is stated"]
    if balance.usable_wh is not None:
        sentences[0] += f"; of what it holds, {thousands(balance.usable_wh)} Wh may be used"
    sentences[0] += "."
    if balance.autonomy_days is not None:
        sentences.append(f"Without charging that is **{fixed(balance.autonomy_days, 1)} days**.")
    blocks.append(" ".join(sentences))
    blocks += _cases(facts, balance)
    if balance.recharge:
        blocks.append(_recharge(balance))
    return blocks


def _cases(facts: Facts, balance: EnergyResult) -> list[Block]:
    """Watts of each load in each case, and what the bank then gives."""
    in_load = [case for case in facts.design.system.cases if case.kind == "load"]
    cases = [case.id for case in in_load]
    loads = _loads_on(facts, balance)
    watts = {(load.load, case): facts.watts(load, case) for load in loads for case in cases}
    caption = f"Power of each load on {code(balance.bank)}, case by case."
    note = "Taken at the load; what the conductors lose comes on top."
    drawn = Figures([load.load for load in loads], cases, watts, "W", 1)
    blocks: list[Block] = [Table(caption, *part, note, ("schedule",)) for part in drawn.parts(facts)]
    blocks += _days(facts, balance, in_load)
    if any(given for _, given, _ in balance.by_case):
        blocks.append(_lasting(balance))
    return blocks


def _days(facts: Facts, balance: EnergyResult, cases: Sequence[Case]) -> list[Block]:
    """A whole day spent in each case: what the consumers that are on in it take in their hours a day."""
    taken = [line for line in balance.lines if line.what in ("load", "output")]
    daily = {(line.subject, case.id): line.wh * case.shares.get(line.subject, 0.0) for line in taken for case in cases}
    caption = f"Energy over a day spent in each case, of what hangs on {code(balance.bank)}."
    note = "What is on takes its power for the hours a day that the plate states; losses and idle draw come on top."
    drawn = Figures([line.subject for line in taken], [case.id for case in cases], daily, "Wh", 0)
    return [Table(caption, *part, note, ("schedule",), "cases") for part in drawn.parts(facts)]


@dataclass(frozen=True)
class Figures:
    """A figure of each consumer in each case, by (consumer, case). What rounds to nothing in a case is left empty, and
    what does so in all of them has no row."""

    consumers: Sequence[str]
    cases: Sequence[str]
    amounts: Mapping[tuple[str, str], float]
    unit: str
    places: int

    def parts(self, facts: Facts) -> Iterator[tuple[tuple[Column, ...], tuple[tuple[str, ...], ...]]]:
        """Columns and rows of one table after the other, ABREAST cases in each."""
        least = 0.5 * 10.0**-self.places
        drawing = [
            consumer for consumer in self.consumers if any(self.amounts[consumer, case] >= least for case in self.cases)
        ]
        for start in range(0, len(self.cases), ABREAST) if drawing else ():
            shown = self.cases[start : start + ABREAST]
            width = len(self.unit) + 2
            columns = (
                Column("Address", 18),
                Column("Load", 24),
                *(Column(text(case), max(10, len(case) + width), self.unit, self.places) for case in shown),
            )
            yield (
                columns,
                tuple(
                    (
                        code(consumer),
                        text(facts.title(consumer)),
                        *(
                            fixed(self.amounts[consumer, c], self.places) if self.amounts[consumer, c] >= least else ""
                            for c in shown
                        ),
                    )
                    for consumer in drawing
                ),
            )


def _loads_on(facts: Facts, balance: EnergyResult) -> Sequence[LoadResult]:
    """The loads that hang on a bank's own bars; what a converter feeds is in what the converter takes."""
    nodes = facts.design.system.nodes
    zones = {node.zone for node in nodes.values() if node.part == balance.bank and node.pole == "pos"}
    return [load for load in facts.design.loads.values() if (end := facts.supplied(load)) and nodes[end].zone in zones]


def _lasting(balance: EnergyResult) -> Table:
    columns = (Column("Case", 16), Column("Bank gives", 13, "W", 0), Column("Lasts", 10, "h", 1))
    rows = tuple((text(case), fixed(watts, 0), fixed(hours, 1)) for case, watts, hours in balance.by_case)
    caption = f"What {code(balance.bank)} gives in each case, and how long what may be used of it lasts at that."
    return Table(caption, columns, rows, marks=("small",), chart="bar")


def _recharge(balance: EnergyResult) -> Table:
    columns = (Column("Source", 18), Column("Into the bank", 16, "A", 1), Column("From empty to full", 21, "h", 1))
    rows = tuple((code(source), fixed(a, 1), fixed(hours, 1)) for source, a, hours in balance.recharge)
    return Table(f"Filling {code(balance.bank)} from its usable end, by one source alone.", columns, rows)
