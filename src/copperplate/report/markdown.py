"""The report in Markdown: CommonMark with pipe tables. What Markdown cannot say stands in comments of a closed list,
each alone on its line; whoever does not know them ignores them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from urllib.parse import quote

from copperplate.report.blocks import Block, Break, Callout, Column, Heading, Labels, Picture, Points, Table

_NUMBER = re.compile(r"[-−]?\d+(\.\d+)?")


def markdown(blocks: Iterable[Block]) -> str:
    """The blocks as one text."""
    return "\n\n".join(part for block in blocks for part in _parts(block)) + "\n"


def _parts(block: Block) -> Iterator[str]:
    match block:
        case str():
            yield block
        case Heading(level, words):
            yield f"{'#' * level} {words}"
        case Callout("verdict", words):
            yield f"> {words}"
        case Callout(kind, words):
            yield f"> **{kind.capitalize()}.** {words}"
        case Points(ordered, items):
            yield "\n".join(f"{n}. {item}" if ordered else f"- {item}" for n, item in enumerate(items, 1))
        case Picture(source, title):
            yield f"![{title}]({quote(source)})"
        case Labels(title, labels):
            yield f"{title}: {len(labels)}."
        case Break():
            yield "<!-- page -->"
        case Table():
            yield from (f"<!-- {mark} -->" for mark in block.marks)
            if block.number:
                yield f"Table {block.number}. {' '.join(filter(None, (block.caption, block.note)))}"
            yield "\n".join(_lines(block))
            if block.chart:
                yield f"<!-- chart {block.chart} -->"


def _lines(table: Table) -> list[str]:
    heads = [_cell(column, column.title) for column in table.columns]
    rules = [
        "-" * (column.width - 1) + ":" if column.decimals is not None else "-" * column.width
        for column in table.columns
    ]
    rows = [
        " | ".join(_cell(column, cell) for column, cell in zip(table.columns, row, strict=True)) for row in table.rows
    ]
    for before, words in reversed(table.groups):
        at = 1 if len(table.columns) > 1 and not table.columns[0].head else 0
        group = (f"**{words}**" if n == at else "" for n in range(len(table.columns)))
        rows.insert(before, " | ".join(c.ljust(column.width) for column, c in zip(table.columns, group, strict=True)))
    return [f"| {line} |" for line in (" | ".join(heads), " | ".join(rules), *rows)]


def _cell(column: Column, cell: str) -> str:
    """Padded to the column; the points of numbers stand below each other."""
    if column.decimals is None:
        return cell.ljust(column.width)
    if column.decimals and _NUMBER.fullmatch(cell):
        whole, point, fraction = cell.partition(".")
        cell = whole + (point or " ") + fraction.ljust(column.decimals)
    return cell.rjust(column.width)
