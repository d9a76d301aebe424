"""Tables of the report in Markdown: a caption, fixed column widths, one fact a row."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Literal

Mark = Literal["titleblock", "figures", "schedule", "form", "small", "chart", "page"]
"""The closed list of comments, for what Markdown cannot say; whoever does not know them ignores them."""

_NUMBER = re.compile(r"[-−]?\d+(\.\d+)?")


@dataclass(frozen=True, slots=True)
class Column:
    """`head` and its `unit`; `width` in characters, the same whatever the rows say, so that a long name moves
    only its own row. `decimals` not None: a column of numbers with at most so many decimals."""

    head: str
    width: int
    unit: str = ""
    decimals: int | None = None

    @property
    def title(self) -> str:
        return f"{self.head}, {self.unit}" if self.unit else self.head


@dataclass(frozen=True, slots=True)
class Table:
    """`caption` names it, `note` says how to read it; `marks` stand before it, `chart` after it names the view
    that is drawn of its own cells. Rows are cells in Markdown, as many as columns."""

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""
    marks: tuple[Mark, ...] = ()
    chart: str = ""
    numbered: bool = field(default=True)


Block = str | Table


def comment(mark: Mark, argument: str = "") -> str:
    """A comment of the closed list, with what it applies to."""
    return f"<!-- {mark}{' ' + argument if argument else ''} -->"


def write(blocks: list[Block]) -> str:
    """The blocks as one Markdown text; tables are numbered in order."""
    number = 0
    parts: list[str] = []
    for block in blocks:
        if isinstance(block, Table):
            number += block.numbered
            parts += _table(block, number)
        elif block:
            parts.append(block)
    return "\n\n".join(parts) + "\n"


def _table(table: Table, number: int) -> list[str]:
    parts = [comment(mark) for mark in table.marks]
    if table.numbered:
        note = f" {table.note}" if table.note else ""
        parts.append(f"Table {number}. {table.caption}{note}")
    parts.append("\n".join(_lines(table)))
    if table.chart:
        parts.append(comment("chart", table.chart))
    return parts


def _lines(table: Table) -> list[str]:
    heads = [_cell(column, column.title) for column in table.columns]
    rules = [
        "-" * (column.width - 1) + ":" if column.decimals is not None else "-" * column.width
        for column in table.columns
    ]
    rows = [
        " | ".join(_cell(column, cell) for column, cell in zip(table.columns, row, strict=True)) for row in table.rows
    ]
    return [f"| {line} |" for line in (" | ".join(heads), " | ".join(rules), *rows)]


def _cell(column: Column, cell: str) -> str:
    """Padded to the column; the points of numbers stand below each other."""
    if column.decimals is None:
        return cell.ljust(column.width)
    if column.decimals and _NUMBER.fullmatch(cell):
        whole, point, fraction = cell.partition(".")
        cell = whole + (point or " ") + fraction.ljust(column.decimals)
    return cell.rjust(column.width)
