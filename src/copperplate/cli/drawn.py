"""The sheets of a design, for the commands that draw."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from copperplate.drawing import Sheet
    from copperplate.model import Settings
    from copperplate.model.results import Design


def drawn(design: Design, since: Settings | None = None) -> tuple[Sheet, ...]:
    """The sheets, with the issue that `since` states before theirs; a missing layout engine is said in one sentence
    with its remedy, and the command could not run."""
    from copperplate import drawing

    try:
        return drawing.sheets(design, since)
    except drawing.LayoutEngineMissing as problem:
        raise click.ClickException(str(problem)) from problem
