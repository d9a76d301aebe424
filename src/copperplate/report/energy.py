"""Section 10: energy of a day, what each case takes, how the bank is filled again."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from copperplate.model import Case
from copperplate.model.results import EnergyResult, LoadResult
from copperplate.report.blocks import Block, Column, Heading, Table
from copperplate.report.facts import Facts
from copperplate.report.words import code, fixed, text, thousands

ABREAST = 6
"""Cases that stand side by side in one table."""


def energy(facts: Facts) -> list[Block]:
    """Section 10: a day's use by load and loss, what the bank gives, how it is filled again."""
    blocks: list[Block] = [Heading(2, "10", "Energy")]
    for balance in facts.design.energy:
        blocks += _balance(facts, balance)
    if len(blocks) == 1:
        blocks.append("The plate states no hours of use, so no energy is told.")
    return blocks


def _balance(facts: Facts, balance: EnergyResult) -> list[Block]:
    blocks: list[Block] = []
    if balance.lines:
        day = Table.of(
            balance.lines,
            f"A day's energy from {code(balance.bank)}.",
            Column("Subject", 18, cell=lambda line: code(line.subject)),
            Column("Circuit", 24, cell=lambda line: text(facts.title(line.subject))),
            Column("How", 34, cell=lambda line: text(line.what)),
            Column("A day", 10, "Wh", 0, lambda line: fixed(line.wh, 0)),
            marks=("schedule",),
            chart="bar",
        )
        blocks.append(day)
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
    blocks: list[Block] = [*drawn.tables(facts, caption, note), *_days(facts, balance, in_load)]
    if any(given for _, given, _ in balance.by_case):
        blocks.append(_lasting(balance))
    return blocks


def _days(facts: Facts, balance: EnergyResult, cases: Sequence[Case]) -> Iterator[Table]:
    """A whole day spent in each case: what the consumers that are on in it take in their hours a day."""
    taken = [line for line in balance.lines if line.what in ("load", "output")]
    daily = {(line.subject, case.id): line.wh * case.shares.get(line.subject, 0.0) for line in taken for case in cases}
    caption = f"Energy over a day spent in each case, of what hangs on {code(balance.bank)}."
    note = "What is on takes its power for the hours a day that the plate states; losses and idle draw come on top."
    drawn = Figures([line.subject for line in taken], [case.id for case in cases], daily, "Wh", 0)
    return drawn.tables(facts, caption, note, "cases")


@dataclass(frozen=True)
class Figures:
    """A figure of each consumer in each case, by (consumer, case). What rounds to nothing in a case is left empty, and
    what does so in all of them has no row."""

    consumers: Sequence[str]
    cases: Sequence[str]
    amounts: Mapping[tuple[str, str], float]
    unit: str
    places: int

    def tables(self, facts: Facts, caption: str, note: str, chart: str = "") -> Iterator[Table]:
        """One table after the other, ABREAST cases in each."""
        least = 0.5 * 10.0**-self.places
        drawing = [
            consumer for consumer in self.consumers if any(self.amounts[consumer, case] >= least for case in self.cases)
        ]

        def column(case: str) -> Column:
            def cell(consumer: str) -> str:
                amount = self.amounts[consumer, case]
                return fixed(amount, self.places) if amount >= least else ""

            return Column(text(case), max(10, len(case) + len(self.unit) + 2), self.unit, self.places, cell)

        for start in range(0, len(self.cases), ABREAST) if drawing else ():
            yield Table.of(
                drawing,
                caption,
                Column("Address", 18, cell=code),
                Column("Load", 24, cell=lambda consumer: text(facts.title(consumer))),
                *map(column, self.cases[start : start + ABREAST]),
                note=note,
                marks=("schedule",),
                chart=chart,
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
