"""`stock PLATE`: fewer sizes, and what each choice costs in copper."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from textwrap import wrap
from typing import TYPE_CHECKING

import click

from copperplate.cli import plates as reading
from copperplate.cli import printing
from copperplate.units import counted, number

if TYPE_CHECKING:
    from copperplate.model.results import Design
    from copperplate.stock import Shelf, SizedRun


@click.command()
@reading.PLATE
@click.option("--at-most", "wanted", type=click.IntRange(min=1), metavar="N", help="Show the best shelf of N sizes.")
def stock(plate: str, wanted: int | None) -> int:
    """Print what fewer conductor sizes would cost: for each number of sizes the shelf that runs the least copper.

    With --at-most N also which runs would move to another size. `stock at-most N` in the plate takes the choice.
    """
    from copperplate import stock as shelves

    made = reading.compile_path(plate)
    design = made.sound
    if design is None:
        reading.print_findings(made)
        printing.say("no shelf is chosen while errors stand")
        return 1
    runs = shelves.sized_runs(design.system, _unshelved(design).runs)
    trade = shelves.trade(runs)
    if not trade:
        printing.write("no run has a size to choose a shelf from\n")
        return 0
    printing.write(_table(trade, runs, printing.width()))
    if wanted is not None:
        shelf = shelves.fewest(runs, wanted)
        if shelf is None:
            fewest = len(trade[-1].sizes)
            raise click.ClickException(
                f"no {counted(wanted, 'size serves', 'sizes serve')} {plate}: "
                f"stated sizes and terminals ask for {fewest} at least"
            )
        printing.write("\n" + "".join(line + "\n" for line in _moves(shelf, runs, wanted)))
    return 0


def _unshelved(design: Design) -> Design:
    """The design as it would be without a greatest number of sizes: the choices are counted from there."""
    system = design.system
    if system.stock is None or system.stock.at_most is None:
        return design
    from copperplate.design import design_system

    shelf = system.stock
    free = replace(system, stock=replace(shelf, at_most=None) if shelf.sizes else None)
    again, _ = design_system(free, shelf.span.source, broken=True)
    return again or design


def _kg(area_mm2_m: float) -> float:
    from copperplate.standards import conductors

    return area_mm2_m * conductors.DENSITY / 1000.0


def _table(trade: Sequence[Shelf], runs: Sequence[SizedRun], width: int) -> str:
    """One line a shelf: how many sizes, copper, what it costs more, the sizes from the thinnest on."""
    from copperplate.standards import conductors

    least = _kg(sum(sized.metres * conductors.area_mm2(sized.size) for sized in runs))
    text = "sizes   copper, kg     more\n"
    for shelf in trade:
        extra = _kg(shelf.extra_mm2_m)
        more = f"{extra:+.2f}" if extra else "-"
        share = f"{100 * extra / least:+.0f} %" if extra and least else ""
        head = f"{len(shelf.sizes):>5}   {least + extra:>10.2f}   {more:>6} {share:>6}   "
        lines = wrap(", ".join(_spelled(shelf)), max(width - len(head), 24))
        text += head + f"\n{' ' * len(head)}".join(lines) + "\n"
    return text


def _spelled(shelf: Shelf) -> Iterator[str]:
    """The sizes, with the name of their series behind the last of it: `16, 14, 10 AWG`."""
    for at, size in enumerate(shelf.sizes):
        following = shelf.sizes[at + 1 :]
        yield size.number if following and following[0].system == size.system else size.label


def _moves(shelf: Shelf, runs: Sequence[SizedRun], wanted: int) -> Iterator[str]:
    """Which runs change their size for a shelf, and what to write into the plate."""
    from copperplate.standards import conductors

    moved = []
    for sized in runs:
        area = conductors.area_mm2(sized.size)
        size = next((s for s in shelf.sizes if conductors.area_mm2(s) >= area * (1 - 1e-9)), sized.size)
        if size != sized.size:
            extra = _kg(sized.metres * (conductors.area_mm2(size) - area))
            moved.append((sized.run, f"{sized.size.label} -> {size.label}", f"{extra:+.3f} kg"))
    widths = [max((len(row[column]) for row in moved), default=0) for column in range(2)]
    for run, sizes, extra_kg in moved:
        yield f"{run:<{widths[0]}}  {sizes:<{widths[1]}}  {extra_kg}"
    count = counted(len(moved), "run moves", "runs move") if moved else "no run moves"
    yield f"{count}: {number(_kg(shelf.extra_mm2_m), 2)} kg of copper more"
    yield f"to take it, write  stock at-most {wanted}  in the plate"
