"""`show PLATE`: the system as a tree."""

from __future__ import annotations

import click

from copperplate.cli import plates as reading
from copperplate.cli import printing


@click.command()
@reading.PLATE
def show(plate: str) -> int:
    """Print the system as a tree, with sizes, devices and volts."""
    compiled = reading.compile_path(plate)
    if compiled.design is None:
        reading.print_findings(compiled)
        return reading.exit_code(compiled.findings)
    from copperplate.why import show as tree

    printing.write(tree(compiled.design, printing.width()))
    return reading.report_errors(compiled)
