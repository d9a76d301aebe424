"""Pipe tables as the report writes them, read in one go: most of a report is tables, and most cells are a few plain
words, a number or an address."""

from __future__ import annotations

import re
from collections.abc import Callable

from markdown_it import MarkdownIt
from markdown_it.rules_block import StateBlock
from markdown_it.token import Token

_RULE = re.compile(r"\|(?: -+:? \|)+")
_PIPE = re.compile(r"(?<!\\)\|")
_PLAIN = re.compile(r"[^\n\\`*_\[\]!<&]+")
"""Characters that no rule of CommonMark for inline text begins with."""
_ADDRESS = re.compile(r"`([^`\s](?:[^`\n]*[^`\s])?)`")


def table_rule(state: StateBlock, line: int, end_line: int, silent: bool) -> bool:
    """A block rule: a table whose lines begin and end with a pipe becomes one token `rows`, its lines in `meta`."""
    if line + 1 >= end_line or _line(state, line)[:2] != "| " or not _RULE.fullmatch(_line(state, line + 1)):
        return False
    if not silent:
        last = line + 2
        while last < end_line and _line(state, last).startswith("|"):
            last += 1
        token = state.push("rows", "", 0)
        token.meta = {"lines": [_line(state, n) for n in range(line, last)]}
        state.line = last
    return True


def _line(state: StateBlock, line: int) -> str:
    return state.src[state.bMarks[line] + state.tShift[line] : state.eMarks[line]].rstrip()


def right_aligned(rule: str) -> tuple[bool, ...]:
    """Of the line below a table's head: which columns are numbers."""
    return tuple(part.strip().endswith(":") for part in rule.strip("|").split("|"))


def split(line: str, columns: int) -> list[str]:
    """The cells of a line, as many as the head has; `\\|` is a pipe and no end of a cell."""
    cells = [cell.replace("\\|", "|").strip() for cell in _PIPE.split(line)[1:-1]]
    return [*cells, *[""] * (columns - len(cells))][:columns]


def reader(parser: MarkdownIt) -> Callable[[str], list[Token]]:
    """Reads the Markdown of a cell; the same text is read once."""
    known: dict[str, list[Token]] = {"": []}

    def read(cell: str) -> list[Token]:
        if cell not in known:
            known[cell] = _tokens(parser, cell)
        return known[cell]

    return read


def _tokens(parser: MarkdownIt, cell: str) -> list[Token]:
    if _PLAIN.fullmatch(cell):
        return [Token("text", "", 0, content=cell)]
    if address := _ADDRESS.fullmatch(cell):
        return [Token("code_inline", "code", 0, content=address[1], markup="`")]
    return parser.parseInline(cell)[0].children or []
