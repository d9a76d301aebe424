"""The report as values: the blocks that Markdown, HTML and PDF are written from.

The words of a block and the cells of a table are inline Markdown, made by `words.py`, so that nothing in a plate's
text can become markup; a block that is a text is a paragraph.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from itertools import accumulate
from typing import Any, Literal

from markdown_it import MarkdownIt
from markdown_it.token import Token

Mark = Literal["titleblock", "figures", "schedule", "form", "small", "matrix", "points"]
"""What a table is for, where it is no plain one. `matrix`: its cells begin with a verdict; `points`: what is to be
settled, a letter a row."""
Reader = Literal["client", "installer", "inspector", "engineer"]
READERS: dict[Reader, str] = {
    "client": "For the client",
    "installer": "For the installer",
    "inspector": "For inspection and commissioning",
    "engineer": "For the engineer",
}
"""The documents of a report, in their order, with the words at the head of each of their pages."""

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
    """The title is of level 1, a document of level 2 with the word of its reader, its sections of level 3. `wide`: its
    section is printed on pages that lie."""

    level: int
    words: str
    wide: bool = False

    @property
    def name(self) -> str:
        """The id of a document or section, as forges make it of its words."""
        return re.sub(r"[^a-z0-9]+", "-", plain_text(self.words).lower()).strip("-") if self.level in (2, 3) else ""


@dataclass(frozen=True)
class Callout:
    """Words that hurt to miss, without that of their kind."""

    kind: Literal["warning", "danger", "notice", "verdict"]
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
    groups: tuple[tuple[int, str], ...] = ()
    """Headings among the rows, each with the number of the row that it stands before."""
    keys: tuple[str, ...] = ()
    """What a page keeps ticks and values of a row under, row by row."""

    @classmethod
    def of(cls, things: Iterable[Any], caption: str, *columns: Column, **more: Any) -> Table:
        """A table with a row for each thing, in which each column shows what it shows of a thing."""
        return cls(caption, columns, tuple(tuple(column.cell(thing) for column in columns) for thing in things), **more)

    @classmethod
    def grouped(cls, groups: Iterable[tuple[str, Sequence[Any]]], caption: str, *columns: Column, **more: Any) -> Table:
        """A table of several groups of things, each under its heading; those that hold nothing fall away."""
        held = [(words, things) for words, things in groups if things]
        starts = accumulate((len(things) for _, things in held), initial=0)
        heads = tuple((start, words) for start, (words, _) in zip(starts, held, strict=False))
        return cls.of((thing for _, things in held for thing in things), caption, *columns, groups=heads, **more)

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


@dataclass(frozen=True)
class Label:
    """A label to be cut out: its lines as plain text, the first of them bold."""

    lines: tuple[str, ...]


@dataclass(frozen=True)
class Labels:
    """Labels at true scale under a title; they repeat what tables say."""

    title: str
    labels: tuple[Label, ...]


Block = str | Heading | Callout | Points | Picture | Break | Table | Labels


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


def documents(blocks: Sequence[Block]) -> dict[Reader, list[Block]]:
    """The blocks of each document, its heading first; what stands before them all is of none."""
    found: dict[Reader, list[Block]] = {}
    reader: Reader | None = None
    for block in blocks:
        if isinstance(block, Heading) and block.level == 2:
            reader = next(name for name in READERS if name == block.name)
        if reader is not None:
            found.setdefault(reader, []).append(block)
    return found


def title_block(blocks: Iterable[Block]) -> dict[str, str]:
    """What the title block says, by its entries."""
    rows = (block.cells for block in blocks if isinstance(block, Table) and "titleblock" in block.marks)
    return {row[0].text: row[1].text for row in next(rows, ())}


def foot(blocks: Iterable[Block]) -> str:
    """The running words at the foot of every page."""
    entries = title_block(blocks)
    return ", ".join(entries[key] for key in ("Document", "Revision", "Date", "Status") if entries.get(key))
