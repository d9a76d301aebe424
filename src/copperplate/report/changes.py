"""What changed since another revision: the last section of the engineer, so that no other moves for it."""

from __future__ import annotations

from dataclasses import dataclass

from copperplate.report.blocks import Block, Callout, Column, Heading, Picture, Table
from copperplate.report.sheets import Sheet
from copperplate.report.words import code, prose, text

MOST = 30
"""Changes that are listed."""


@dataclass(frozen=True, slots=True)
class Changes:
    """The comparison with another revision, in words. `since`: the name of the old plate. `remarks`: what leaves the
    comparison in doubt. `rows`: mark as a word, address, what changed and why; the first ask most of a reader.
    `totals`: what it comes to. `closing`: the counts. `drawing`: the sheets with every change marked."""

    since: str
    revisions: tuple[str, str]
    remarks: tuple[str, ...]
    rows: tuple[tuple[str, str, str], ...]
    totals: str
    closing: str
    drawing: Sheet
    questions: tuple[str, ...] = ()
    """Those of the old revision in the order of their letters."""


def changes(since: Changes) -> list[Block]:
    """The section of revisions."""
    old, new = (text(revision) for revision in since.revisions)
    columns = (Column("Mark", 8), Column("Address", 20), Column("What changed", 60))
    rows = tuple((word, code(address), _prose(words)) for word, address, words in since.rows[:MOST])
    more = len(since.rows) - MOST
    return [
        Heading(3, "Revisions"),
        f"Changes since {code(since.since)}.",
        f"From revision {old} to revision {new}." if old and new else "",
        *(Callout("notice", f"{_prose(remark)}.") for remark in since.remarks),
        *([Table("", columns, rows, marks=("small",))] if rows else []),
        f"And {more} more." if more > 0 else "",
        f"{_prose(since.totals)}." if since.totals else "",
        f"**{text(since.closing)}**",
        Picture(since.drawing.filename, since.drawing.title),
    ]


def _prose(words: str) -> str:
    return prose(words.replace(" -> ", " → "))
