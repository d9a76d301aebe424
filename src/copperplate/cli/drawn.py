"""The sheets of a design, for the commands that draw."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from copperplate.drawing import Sheet
    from copperplate.model import Settings
    from copperplate.model.results import Design


def looked_at(design: Design, since: Settings | None = None) -> tuple[Design, tuple[Sheet, ...]]:
    """A design and its sheets, with what only the sheets can tell among its findings and on them."""
    from copperplate import design as compiling
    from copperplate import drawing

    sheets = drawn(design, since)
    found = drawing.cut_names(design, sheets)
    if not found:
        return design, sheets
    design = compiling.looked_at(design, found)
    return design, drawn(design, since)


def drawn(design: Design, since: Settings | None = None) -> tuple[Sheet, ...]:
    """The sheets, with the issue that `since` states before theirs; a missing layout engine is said in one sentence
    with its remedy, and the command could not run."""
    from copperplate import drawing

    try:
        return drawing.sheets(design, since)
    except drawing.LayoutEngineMissing as problem:
        raise click.ClickException(str(problem)) from problem
