"""The report's Markdown read into blocks, for every form that is made of it.

CommonMark with pipe tables; raw HTML is off, so that nothing in a plate's text can become markup. Of comments
only the closed list counts, each alone on its line.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import get_args
from urllib.parse import unquote

from markdown_it import MarkdownIt
from markdown_it.rules_block import StateBlock
from markdown_it.token import Token

from copperplate.report.rows import reader, right_aligned, split, table_rule
from copperplate.report.tables import Mark

Inline = tuple[Token, ...]
_COMMENT = re.compile(rf"<!-- ({'|'.join(get_args(Mark))})((?: [a-z0-9]+)*) -->")
_CAPTION = re.compile(r"Table (\d+)\. ")
_NUMBER = re.compile(r"-?\d+(?:\.(\d+))?")


@dataclass(frozen=True)
class Heading:
    level: int
    number: str
    words: Inline


@dataclass(frozen=True)
class Paragraph:
    words: Inline


@dataclass(frozen=True)
class Callout:
    """`kind`: warning, danger or notice; `words` without that word."""

    kind: str
    words: Inline


@dataclass(frozen=True)
class Points:
    ordered: bool
    items: tuple[Inline, ...]


@dataclass(frozen=True)
class Cell:
    """`raw` is its Markdown."""

    words: Inline
    raw: str = ""

    @cached_property
    def text(self) -> str:
        """Its characters as a reader sees them."""
        return plain_text(self.words)

    @property
    def tick(self) -> bool:
        """A box to tick: `[ ]`, and not those characters in a plate's text."""
        return self.raw == "[ ]"

    @cached_property
    def decimals(self) -> int | None:
        """Digits behind the point of a number; None where it is none."""
        numeral = _NUMBER.fullmatch(self.text)
        return None if numeral is None else len(numeral[1] or "")

    @cached_property
    def address(self) -> str:
        """The first code span; "" where there is none."""
        return next((token.content for token in self.words if token.type == "code_inline"), "")


@dataclass(frozen=True)
class Grid:
    """A table. `number` 0: without caption. `marks` stood before it; `chart` after it says how to draw it."""

    number: int
    caption: Inline
    note: Inline
    head: tuple[Cell, ...]
    rows: tuple[tuple[Cell, ...], ...]
    numeric: tuple[bool, ...]
    marks: tuple[str, ...] = ()
    chart: str = ""


@dataclass(frozen=True)
class Picture:
    source: str
    title: str


@dataclass(frozen=True)
class Break:
    """A page ends here."""


Block = Heading | Paragraph | Callout | Points | Grid | Picture | Break


def read(markdown: str) -> list[Block]:
    """The blocks of a report in order, tables joined with their captions, marks and charts."""
    parser = MarkdownIt("commonmark", {"html": False})
    parser.block.ruler.before("paragraph", "rows", table_rule, {"alt": ["paragraph"]})
    parser.block.ruler.before("paragraph", "mark", _mark_rule, {"alt": ["paragraph", "rows"]})
    return _join(_blocks(parser.parse(markdown), reader(parser)))


def _mark_rule(state: StateBlock, line: int, _end: int, silent: bool) -> bool:
    start = state.bMarks[line] + state.tShift[line]
    comment = _COMMENT.fullmatch(state.src[start : state.eMarks[line]].rstrip())
    if comment is None:
        return False
    if not silent:
        token = state.push("mark", "", 0)
        token.info, token.content = comment[1], comment[2].strip()
        state.line = line + 1
    return True


@dataclass(frozen=True)
class _Mark:
    name: str
    argument: str


def _blocks(tokens: list[Token], read_cell: Callable[[str], list[Token]]) -> list[Block | _Mark]:
    blocks: list[Block | _Mark] = []
    place = 0
    while place < len(tokens):
        token = tokens[place]
        end = _closing(tokens, place)
        inside = tokens[place + 1 : end]
        if token.type == "mark":
            blocks.append(_Mark(token.info, token.content))
        elif token.type == "heading_open":
            blocks.append(_heading(int(token.tag[1:]), _words(inside)))
        elif token.type == "paragraph_open":
            blocks.append(_paragraph(_words(inside)))
        elif token.type == "blockquote_open":
            blocks.append(_callout(_words(inside)))
        elif token.type in ("ordered_list_open", "bullet_list_open"):
            items = tuple(_filled(t.children) for t in inside if t.type == "inline")
            blocks.append(Points(token.type.startswith("ordered"), items))
        elif token.type == "rows":
            blocks.append(_grid(token.meta["lines"], read_cell))
        place = end + 1
    return blocks


def _closing(tokens: list[Token], place: int) -> int:
    """Index of the token that closes the one at `place` (itself where it stands alone)."""
    depth = 0
    for index in range(place, len(tokens)):
        depth += tokens[index].nesting
        if depth == 0:
            return index
    return len(tokens) - 1


def _words(tokens: list[Token]) -> Inline:
    return next((_filled(t.children) for t in tokens if t.type == "inline"), ())


def _filled(tokens: list[Token] | None) -> Inline:
    """Without the empty texts that the parser leaves around emphasis."""
    return tuple(token for token in tokens or () if token.type != "text" or token.content)


def _heading(level: int, words: Inline) -> Heading:
    """The number that the heading begins with is taken from its words ("" where there is none)."""
    numbered = re.match(r"(\d+(?:\.\d+)?) +", words[0].content) if level > 1 and words else None
    return Heading(level, numbered[1], _behind(words, numbered.end())) if numbered else Heading(level, "", words)


def _behind(words: Inline, characters: int) -> Inline:
    """Inline tokens without the first characters of the first one."""
    first = replace(words[0], content=words[0].content[characters:])
    return (first, *words[1:]) if first.content else words[1:]


def _paragraph(words: Inline) -> Block:
    if len(words) == 1 and words[0].type == "image":
        image = words[0]
        return Picture(unquote(str(image.attrs.get("src", ""))), plain_text(tuple(image.children or ())))
    return Paragraph(words)


def _callout(words: Inline) -> Callout:
    """`**Warning.** text`: the bold word names the kind."""
    kind = plain_text(words[1:2]).rstrip(".").lower() if len(words) > 2 and words[0].type == "strong_open" else ""
    if kind not in ("warning", "danger", "notice"):
        return Callout("notice", words)
    closing = next(i for i, token in enumerate(words) if token.type == "strong_close")
    return Callout(kind, words[closing + 1 :])


def _grid(lines: list[str], read_cell: Callable[[str], list[Token]]) -> Grid:
    numeric = right_aligned(lines[1])
    cells: dict[str, Cell] = {}

    def cell(raw: str) -> Cell:
        if raw not in cells:
            cells[raw] = Cell(_filled(read_cell(raw)), raw)
        return cells[raw]

    head, *body = (tuple(map(cell, split(line, len(numeric)))) for line in (lines[0], *lines[2:]))
    return Grid(0, (), (), head, tuple(body), numeric)


def _join(blocks: list[Block | _Mark]) -> list[Block]:
    """Captions, marks and charts into their tables."""
    joined: list[Block] = []
    marks: list[str] = []
    caption: Paragraph | None = None
    for block in blocks:
        if isinstance(block, _Mark):
            if block.name == "page":
                joined.append(Break())
            elif block.name == "chart" and joined and isinstance(joined[-1], Grid):
                joined[-1] = replace(joined[-1], chart=block.argument)
            else:
                marks.append(block.name)
            continue
        if isinstance(block, Grid):
            if caption is not None:
                joined.pop()
                block = _captioned(block, caption)
            block = replace(block, marks=tuple(marks))
        is_caption = isinstance(block, Paragraph) and _CAPTION.match(plain_text(block.words[:1]))
        caption = block if is_caption and isinstance(block, Paragraph) else None
        if caption is None:
            marks = []
        joined.append(block)
    return joined


def _captioned(grid: Grid, paragraph: Paragraph) -> Grid:
    """`Table 3. Caption. Note.`: the first sentence is the caption, what follows the note."""
    caption = _CAPTION.match(paragraph.words[0].content)
    if caption is None:
        return grid
    words = _behind(paragraph.words, caption.end())
    for place, token in enumerate(words):
        stop = re.search(r"\.(?: |$)", token.content) if token.type == "text" else None
        if stop is not None:
            head = replace(token, content=token.content[: stop.start() + 1])
            rest = token.content[stop.end() :]
            tail = (replace(token, content=rest),) if rest else ()
            return replace(
                grid, number=int(caption[1]), caption=(*words[:place], head), note=(*tail, *words[place + 1 :])
            )
    return replace(grid, number=int(caption[1]), caption=words)


def plain_text(words: Inline) -> str:
    """The characters of inline tokens."""
    parts: list[str] = []
    for token in words:
        if token.type in ("softbreak", "hardbreak"):
            parts.append(" ")
        elif token.children:
            parts.append(plain_text(tuple(token.children)))
        else:
            parts.append(token.content)
    return "".join(parts)
