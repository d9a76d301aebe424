"""`check PLATE...`: findings only."""

from __future__ import annotations

import click

from copperplate import __version__
from copperplate.cli import plates as reading
from copperplate.cli import printing
from copperplate.cli.together import check_all


@click.command()
@reading.PLATES
@click.option(
    "--format", "form", type=click.Choice(["text", "json", "sarif"]), default="text", help="How findings are written."
)
@click.option("--strict", is_flag=True, help="Warnings give exit code 1 too.")
def check(plates: tuple[str, ...], form: str, strict: bool) -> int:
    """Check plates ("-" for standard input) and print every finding."""
    contents, all_read = reading.read_each(plates)
    if not contents:
        return 2
    checked = check_all(contents)
    if form == "json":
        from copperplate.findings import as_json

        objects = [as_json.finding_json(f, made.folder) for made in checked for f in made.findings]
        printing.write(as_json.document(objects, [made.folder + name for made in checked for name in made.sources]))
    elif form == "sarif":
        from copperplate.findings import sarif

        printing.write(sarif.document([(f, made.folder) for made in checked for f in made.findings], __version__))
    else:
        for made in checked:
            reading.print_findings(made)
        if len(checked) > 1:
            printing.write(reading.summary(checked) + "\n")
    return reading.exit_code((f for made in checked for f in made.findings), strict) if all_read else 2
