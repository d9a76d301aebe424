"""`diff OLD NEW`: what changed electrically, and why."""

from __future__ import annotations

import json

import click

from copperplate.cli import printing, revisions


@click.command()
@click.argument("old", type=click.Path())
@click.argument("new", type=click.Path())
@click.option(
    "--format", "form", type=click.Choice(["text", "markdown", "json"]), default="text", help="How it is written."
)
@click.option("--exit-code", "differing", is_flag=True, help="Exit code 1 where the designs differ.")
@click.option(
    "--beside", metavar="DIR", type=click.Path(), help="Where files named by `use` lie, when OLD and NEW are copies."
)
def diff(old: str, new: str, form: str, differing: bool, beside: str | None) -> int:
    """Print what changed from the design of OLD to that of NEW, and what caused it.

    OLD and NEW are plates: files, or REVISION:path of the git repository here (HEAD~1:boat.plate; :boat.plate is the
    staged one). Order, spacing, comments and units make no difference.
    """
    from copperplate import diff as comparing

    before, after = (revisions.compile_any(name, beside) for name in (old, new))
    document = comparing.compare(
        comparing.as_json(before.design, before.findings), comparing.as_json(after.design, after.findings), old, new
    )
    if form == "json":
        printing.write(json.dumps(document, indent=2, ensure_ascii=False) + "\n")
    elif form == "markdown":
        printing.write(comparing.markdown(document))
    else:
        printing.write(comparing.text(document, printing.width(), printing.paint()))
    return int(differing and document["differs"])
