"""`diff OLD NEW`: what changed electrically, and why."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from copperplate.cli import printing, revisions
from copperplate.cli.writing import write_file
from copperplate.text import json_text

if TYPE_CHECKING:
    from copperplate.making import Made


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
@click.option(
    "--drawing", metavar="FILE.svg", type=click.Path(), help="Write the new sheets there, with every change marked."
)
def diff(old: str, new: str, form: str, differing: bool, beside: str | None, drawing: str | None) -> int:
    """Print what changed from the design of OLD to that of NEW, and what caused it.

    OLD and NEW are plates: files, or REVISION:path of the git repository here (HEAD~1:boat.plate; :boat.plate is the
    staged one). Order, spacing, comments and units make no difference.
    """
    from copperplate import diff as comparing

    before, after = (revisions.compile_any(name, beside) for name in (old, new))
    document = revisions.compare(before, after, old, new)
    if drawing is not None:
        _draw(document, before, after, drawing)
    if form == "json":
        printing.write(json_text(document))
    elif form == "markdown":
        printing.write(comparing.markdown(document))
    else:
        printing.write(comparing.text(document, printing.width(), printing.paint()))
    return int(differing and document["differs"])


def _draw(document: dict[str, Any], before: Made, after: Made, path: str) -> None:
    """Write the marked drawing. Raises click.ClickException where the new plate has none."""
    from copperplate.diff.marks import marked

    if after.sound is None:
        raise click.ClickException(f"{after.called} has errors, and no drawing is made of it")
    write_file(path, marked(document, before.drawn().sheets, after.drawn().sheets).encode())
