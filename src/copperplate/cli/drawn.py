"""The sheets of a design, for the commands that draw."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from copperplate.drawing import Sheet
    from copperplate.model.results import Design


def drawn(design: Design) -> tuple[Sheet, ...]:
    """The sheets; a missing layout engine is said in one sentence with its remedy, and the command could not run."""
    from copperplate import drawing

    try:
        return drawing.sheets(design)
    except drawing.LayoutEngineMissing as problem:
        raise click.ClickException(str(problem)) from problem
