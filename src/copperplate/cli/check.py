"""`check PLATE...`: findings only."""

from __future__ import annotations

import click

from copperplate import __version__
from copperplate.cli import plates as reading
from copperplate.cli import printing
from copperplate.cli.mending import fix_json, mend, offers
from copperplate.cli.together import check_all
from copperplate.findings.terminal import one_line


@click.command()
@reading.PLATES
@click.option(
    "--format", "form", type=click.Choice(["text", "line", "json", "sarif"]), default="text",
    help="How findings are written; `line` is one a line, FILE:LINE:COLUMN: SEVERITY CODE MESSAGE.",
)  # fmt: skip
@click.option("--fix", is_flag=True, help="Mend the writing where one edit alone serves, and say what was changed.")
@click.option("--diff", is_flag=True, help="Write nothing; print what --fix would change.")
@click.option("--strict", is_flag=True, help="Warnings give exit code 1 too.")
def check(plates: tuple[str, ...], form: str, fix: bool, diff: bool, strict: bool) -> int:
    """Check plates ("-" for standard input) and print every finding.

    --fix changes nothing of a design that has a meaning already: sizes and ratings are offered, never changed."""
    if fix or diff:
        return mend(plates, diff, strict)
    contents, all_read = reading.read_each(plates)
    if not contents:
        return 2
    checked = check_all(contents)
    if form == "json":
        from copperplate.findings import as_json

        objects = [
            {**as_json.finding_json(f, made.folder), "fixes": [fix_json(fix, made.folder) for fix in found]}
            for made, data in zip(checked, contents, strict=True)
            for f, found in offers(made, data[1])
        ]
        printing.write(as_json.document(objects, [made.folder + name for made in checked for name in made.sources]))
    elif form == "sarif":
        from copperplate.findings import sarif

        mended = [(made, offers(made, data)) for made, (_, data) in zip(checked, contents, strict=True)]
        placed = [
            (f, made.folder, [(fix.title, fix.span, fix.text) for fix in found])
            for made, each in mended
            for f, found in each
        ]
        printing.write(sarif.document(placed, __version__))
    elif form == "line":
        for made in checked:
            for f in made.open_findings:
                printing.write(one_line(f, made.folder, made.called) + "\n")
    else:
        for made in checked:
            reading.print_findings(made)
        if len(checked) > 1:
            printing.write(reading.summary(checked) + "\n")
    return reading.exit_code((f for made in checked for f in made.findings), strict) if all_read else 2
