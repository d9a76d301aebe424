"""`why PLATE RUN`: the decision ladder of one run."""

from __future__ import annotations

import click
from click.shell_completion import CompletionItem

from copperplate.cli import plates as reading
from copperplate.cli import printing
from copperplate.text import json_text, nearest


def _complete(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """The runs of the plate that is already on the line, and what they lead to."""
    plate = ctx.params.get("plate")
    if not plate or plate == reading.STDIN:
        return []
    try:
        design = reading.compile_path(plate).design
    except click.ClickException:
        return []
    names = [] if design is None else [*design.system.runs, *design.loads, *design.system.devices]
    return [CompletionItem(name) for name in dict.fromkeys(names) if name.startswith(incomplete)]


@click.command()
@reading.PLATE
@click.argument("run", shell_complete=_complete)
@click.option("--format", "form", type=click.Choice(["text", "json"]), default="text", help="How it is written.")
def why(plate: str, run: str, form: str) -> int:
    """Print the decision ladder of one RUN: every candidate size, which rule refused it, and why.

    RUN is an address of the plate: a run, or the load, device or conductor whose run is meant.
    """
    from copperplate.why import ladder, ladder_json, run_of

    made = reading.compile_path(plate)
    design = made.design
    if design is None:
        reading.print_findings(made)
        return reading.exit_code(made.findings)
    address = run_of(design, run)
    if address is None:
        near = nearest(run, [*design.system.runs, *design.system.parts, *design.system.devices])
        hint = f"; did you mean {near}?" if near else ""
        raise click.ClickException(f"no run in {plate} has the address {run}{hint}")
    if form == "json":
        printing.write(json_text(ladder_json(design, address)))
    else:
        printing.write(ladder(design, address, printing.width()))
    return reading.report_errors(made)
