"""Energy: what each load takes in a day and in each situation."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from copperplate.report.blocks import Block, Column, Heading, Table
from copperplate.report.facts import Facts
from copperplate.report.words import code, fixed, text

ABREAST = 6
"""Cases that stand side by side in one table."""


def energy(facts: Facts) -> list[Block]:
    """A day's use by load and loss, and the power of each situation; what that comes to stands with the client."""
    blocks: list[Block] = [Heading(3, "Energy")]
    for balance in facts.design.energy:
        bank = text(facts.names.part(balance.bank))
        if balance.lines:
            day = Table.of(
                balance.lines,
                f"A day's energy from {bank}, line by line.",
                Column("Subject", 28, cell=lambda line: text(facts.names.of(line.subject))),
                Column("Address", 18, cell=lambda line: code(line.subject)),
                Column("How", 34, cell=lambda line: text(line.what)),
                Column("A day", 10, "Wh", 0, lambda line: fixed(line.wh, 0)),
                marks=("schedule",),
            )
            blocks.append(day)
        cases = [case.id for case in facts.design.system.cases if case.kind == "load"]
        loads = [facts.design.loads[part.id] for part in facts.loads_on(balance.bank)]
        watts = {(load.load, case): facts.watts(load, case) for load in loads for case in cases}
        drawn = Figures([load.load for load in loads], cases, watts, "W", 0)
        note = "Taken at the load; what the conductors lose comes on top."
        blocks += drawn.tables(facts, f"Power of each load on {bank}, situation by situation.", note)
    if len(blocks) == 1:
        blocks.append("The plate states no hours of use and no situations, so no energy is told.")
    return blocks


@dataclass(frozen=True)
class Figures:
    """A figure of each consumer in each case, by (consumer, case). What rounds to nothing in a case is left empty, and
    what does so in all of them has no row."""

    consumers: Sequence[str]
    cases: Sequence[str]
    amounts: Mapping[tuple[str, str], float]
    unit: str
    places: int

    def tables(self, facts: Facts, caption: str, note: str) -> Iterator[Table]:
        """One table after the other, ABREAST cases in each."""
        least = 0.5 * 10.0**-self.places
        drawing = [
            consumer for consumer in self.consumers if any(self.amounts[consumer, case] >= least for case in self.cases)
        ]

        def column(case: str) -> Column:
            def cell(consumer: str) -> str:
                amount = self.amounts[consumer, case]
                return fixed(amount, self.places) if amount >= least else ""

            return Column(
                text(facts.names.case(case)),
                max(10, len(facts.names.case(case)) + len(self.unit) + 2),
                self.unit,
                self.places,
                cell,
            )

        for start in range(0, len(self.cases), ABREAST) if drawing else ():
            yield Table.of(
                drawing,
                caption,
                Column("Load", 26, cell=lambda consumer: text(facts.names.part(consumer))),
                *map(column, self.cases[start : start + ABREAST]),
                note=note,
                marks=("schedule",),
            )
