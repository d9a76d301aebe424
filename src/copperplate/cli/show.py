"""`show PLATE`: the system as a tree."""

from __future__ import annotations

import click

from copperplate.cli import plates as reading
from copperplate.cli import printing


@click.command()
@reading.PLATE
def show(plate: str) -> int:
    """Print the system as a tree, with sizes, devices and volts."""
    made = reading.compile_path(plate)
    if made.design is None:
        reading.print_findings(made)
        return reading.exit_code(made.findings)
    from copperplate.why import show as tree

    printing.write(tree(made.design, printing.width()))
    return reading.report_errors(made)
