"""The report as values: the blocks that Markdown, HTML and PDF are written from.

The words of a block and the cells of a table are inline Markdown, made by `words.py`, so that nothing in a plate's
text can become markup; a block that is a text is a paragraph.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Any, Literal

from markdown_it import MarkdownIt
from markdown_it.token import Token

Mark = Literal["titleblock", "figures", "schedule", "form", "small"]
"""What a table is for, where it is no plain one."""

_PARSER = MarkdownIt("commonmark", {"html": False})
_NUMBER = re.compile(r"-?\d+(?:\.(\d+))?")
_PLAIN = re.compile(r"[^\n\\`*_\[\]!<&]+")
"""Characters that no rule of CommonMark for inline text begins with."""
_ADDRESS = re.compile(r"`([^`\s](?:[^`\n]*[^`\s])?)`")


@lru_cache(maxsize=65536)
def inline(words: str) -> tuple[Token, ...]:
    """The tokens of inline Markdown, without the empty texts that the parser leaves around emphasis. Most are a few
    plain words, a number or an address."""
    if _PLAIN.fullmatch(words):
        return (Token("text", "", 0, content=words),)
    if address := _ADDRESS.fullmatch(words):
        return (Token("code_inline", "code", 0, content=address[1], markup="`"),)
    tokens = _PARSER.parseInline(words)[0].children or ()
    return tuple(token for token in tokens if token.type != "text" or token.content)


def plain_text(words: str) -> str:
    """The characters of inline Markdown as a reader sees them."""
    return "".join(" " if token.type in ("softbreak", "hardbreak") else token.content for token in inline(words))


@dataclass(frozen=True)
class Heading:
    """`number` "" where it has none: that of the title, and of what stands below a section of its own number."""

    level: int
    number: str
    words: str

    @property
    def name(self) -> str:
        """The id of a numbered heading."""
        return "section-" + self.number.replace(".", "-") if self.number else ""


@dataclass(frozen=True)
class Callout:
    """Words that hurt to miss, without that of their kind."""

    kind: Literal["warning", "danger", "notice"]
    words: str


@dataclass(frozen=True)
class Points:
    ordered: bool
    items: tuple[str, ...]


@dataclass(frozen=True)
class Picture:
    """A sheet by the name of its file."""

    source: str
    title: str


@dataclass(frozen=True)
class Break:
    """A page ends here."""


@dataclass(frozen=True, slots=True)
class Column:
    """`head` and its `unit`; `width` in characters, the same whatever the rows say, so that a long name moves
    only its own row. `decimals` not None: a column of numbers with at most so many decimals. `cell`: what it shows of
    a thing that `Table.of` lists."""

    head: str
    width: int
    unit: str = ""
    decimals: int | None = None
    cell: Callable[[Any], str] = str

    @property
    def title(self) -> str:
        return f"{self.head}, {self.unit}" if self.unit else self.head


@dataclass(frozen=True)
class Cell:
    """A cell of a table in Markdown."""

    words: str

    @cached_property
    def text(self) -> str:
        return plain_text(self.words)

    @property
    def tick(self) -> bool:
        """A box to tick: `[ ]`, and not those characters in a plate's text."""
        return self.words == "[ ]"

    @cached_property
    def decimals(self) -> int | None:
        """Digits behind the point of a number; None where it is none."""
        numeral = _NUMBER.fullmatch(self.text)
        return None if numeral is None else len(numeral[1] or "")

    @cached_property
    def address(self) -> str:
        """The first code span; "" where there is none."""
        return next((token.content for token in inline(self.words) if token.type == "code_inline"), "")


@dataclass(frozen=True)
class Table:
    """`caption` names it, `note` says how to read it; `chart` names the view that is drawn of its own cells. Rows are
    cells in Markdown, as many as columns. `number` 0: without caption."""

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""
    marks: tuple[Mark, ...] = ()
    chart: str = ""
    number: int = 0

    @classmethod
    def of(cls, things: Iterable[Any], caption: str, *columns: Column, **more: Any) -> Table:
        """A table with a row for each thing, in which each column shows what it shows of a thing."""
        return cls(caption, columns, tuple(tuple(column.cell(thing) for column in columns) for thing in things), **more)

    @cached_property
    def head(self) -> tuple[Cell, ...]:
        return tuple(Cell(column.title) for column in self.columns)

    @cached_property
    def cells(self) -> tuple[tuple[Cell, ...], ...]:
        known: dict[str, Cell] = {}
        return tuple(tuple(known.setdefault(words, Cell(words)) for words in row) for row in self.rows)

    @cached_property
    def numeric(self) -> tuple[bool, ...]:
        """Which columns are numbers."""
        return tuple(column.decimals is not None for column in self.columns)

    @cached_property
    def decimals(self) -> tuple[int, ...]:
        """By column, the most digits behind the point that a number there has."""
        return tuple(max((row[i].decimals or 0 for row in self.cells), default=0) for i in range(len(self.columns)))


Block = str | Heading | Callout | Points | Picture | Break | Table


def numbered(blocks: Iterable[Block]) -> list[Block]:
    """The blocks without empty paragraphs, tables with a caption numbered in order."""
    made: list[Block] = []
    number = 0
    for block in blocks:
        if isinstance(block, Table) and block.caption:
            number += 1
            block = replace(block, number=number)
        made += [block] if block else []
    return made


def title_of(blocks: Iterable[Block]) -> str:
    """The title of a report."""
    return next((plain_text(block.words) for block in blocks if isinstance(block, Heading)), "Report")


def title_block(blocks: Iterable[Block]) -> dict[str, str]:
    """What the title block says, by its entries."""
    rows = (block.cells for block in blocks if isinstance(block, Table) and "titleblock" in block.marks)
    return {row[0].text: row[1].text for row in next(rows, ())}


def foot(blocks: Iterable[Block]) -> str:
    """The running words at the foot of every page."""
    entries = title_block(blocks)
    return ", ".join(entries[key] for key in ("Document", "Revision", "Date", "Status") if entries.get(key))
