"""The report as Typst: its blocks as calls of the functions in `report.typ`.

Whatever comes out of a plate stands in string literals, so nothing of it can become markup or code.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from importlib.resources import files

from copperplate.report import charts, columns
from copperplate.report.blocks import (
    Block,
    Break,
    Callout,
    Cell,
    Heading,
    Picture,
    Points,
    Table,
    foot,
    inline,
    plain_text,
    title_of,
)  # fmt: skip
from copperplate.report.sheets import Sheet, size_mm

KEPT_TOGETHER = 12
"""Rows of a table that is not parted over two pages."""
CONTENTS = 40
"""Lines of contents and list of sheets that stand on one page."""
LONGEST = 26
"""Characters that a word may have before it may be broken anywhere."""


def typst(blocks: Sequence[Block], sheets: Sequence[Sheet] = ()) -> str:
    """The Typst source of a report. `sheets` are those that it names, in the same order."""
    letter = any(279.4 in size_mm(sheet) for sheet in sheets)
    width, height = (215.9, 279.4) if letter else (210.0, 297.0)
    parts = [
        files("copperplate.report").joinpath("report.typ").read_text(encoding="utf-8"),
        f"#show: report.with(title: {_string(title_of(blocks))}, foot: {_string(foot(blocks))}, "
        f"width: {width}mm, height: {height}mm)",
        *_body(blocks, sheets, width - 30.0, height - 44.0),
    ]
    return "\n".join(parts) + "\n"


def _string(value: str) -> str:
    """A Typst string literal of exactly these characters."""
    return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _array(items: Iterable[str]) -> str:
    """A Typst array, of one item too."""
    return "(" + "".join(f"{item}, " for item in items) + ")"


def _breakable(value: str) -> str:
    """Text in which a very long word may be broken."""
    return re.sub(rf"\S{{{LONGEST},}}", lambda word: "\u200b".join(re.findall(r".{1,12}", word[0])), value)


def _words(markdown: str) -> str:
    """Inline Markdown as a Typst expression: strings, emphasis, addresses in semibold."""
    parts: list[str] = []
    opened: list[tuple[str, list[str]]] = []
    for token in inline(markdown):
        if token.type in ("strong_open", "em_open"):
            opened.append(("strong" if token.type == "strong_open" else "emph", parts))
            parts = []
        elif token.type in ("strong_close", "em_close"):
            name, outer = opened.pop()
            parts = [*outer, f"{name}({_joined(parts)})"]
        elif token.type == "code_inline":
            parts.append(f"semi({_string(_breakable(token.content))})")
        elif token.type in ("softbreak", "hardbreak"):
            parts.append('" "')
        else:
            parts.append(_string(_breakable(token.content)))
    return _joined(parts)


def _joined(parts: list[str]) -> str:
    return " + ".join(parts) or '""'


def _body(blocks: Sequence[Block], sheets: Sequence[Sheet], width: float, height: float) -> list[str]:
    """Calls in order. The front is one; contents stand before section 2, together with what that says before its
    sheets, and every drawing behind them, so that the page before the drawings is well filled."""
    start = next((i for i, b in enumerate(blocks) if isinstance(b, Heading) and b.level == 2), len(blocks))
    first = next((i for i, b in enumerate(blocks) if isinstance(b, Heading) and b.number == "2"), start)
    last = next((i for i, b in enumerate(blocks) if isinstance(b, Heading) and b.number == "3"), first)
    pictures = [b for b in blocks[start:last] if isinstance(b, Picture)]
    drawn = [(n, p, s) for p in pictures for n, s in enumerate(sheets, 1) if p.source == s.filename]
    listed = _array(f"({_string(plain_text(picture.title))}, {_string(f'sheet-{n}')})" for n, picture, _ in drawn)
    kept = [_contents(blocks), *(_block(b, width) for b in blocks[first:last] if not isinstance(b, Picture))]
    lines = len(drawn) + sum(isinstance(b, Heading) for b in blocks) / 2
    return [
        _front(blocks[:start]),
        *_flow([b for b in blocks[start:first] if not isinstance(b, Picture)], width, height),
        f"#block(breakable: {'false' if lines <= CONTENTS else 'true'})[",
        *kept,
        *([f"#sheets-listed({listed})"] if drawn else []),
        "]",
        *(_sheet(n, plain_text(picture.title), sheet, foot(blocks)) for n, picture, sheet in drawn),
        *_flow(blocks[last:], width, height),
    ]


def _flow(blocks: Sequence[Block], width: float, height: float) -> list[str]:
    """Blocks one after the other. What ends a page elsewhere asks here for the room that what follows needs: a table
    with a chart is never parted from the heading before it. The reasons of each circuit stand on one page."""
    made: list[str] = []
    n = 0
    while n < len(blocks):
        block = blocks[n]
        if _is_reason(block):
            end = next((i for i in range(n + 1, len(blocks)) if _ends_reason(blocks, i)), len(blocks))
            middle = next(
                (i + 1 for i in range(n, end) if isinstance(b := blocks[i], Table) and charts.picture(b)), end
            )
            first, rest = (
                [_block(b, width, fitted=True) for b in part] for part in (blocks[n:middle], blocks[middle:end])
            )
            made += [f"#fitted({height}mm, (pitch, tall) => [", *first, "], (pitch, tall) => [", *rest, "])"]
            n = end
            continue
        if isinstance(block, Break):
            drawn = any(_is_drawn(b) for b in blocks[n + 1 : n + 6])
            if not _is_reason(blocks[n + 1]):
                made.append(f"#room({150 if drawn else 80}mm)")
        else:
            made.append(_block(block, width))
        n += 1
    return made


def _is_drawn(block: Block) -> bool:
    """Whether a chart of its cells stands below a block."""
    return isinstance(block, Table) and bool(charts.picture(block))


def _is_reason(block: Block) -> bool:
    """Whether the reasons of a circuit begin here; the first of them with the head of their section."""
    return isinstance(block, Heading) and block.number.split(".")[0] == "9"


def _ends_reason(blocks: Sequence[Block], n: int) -> bool:
    head = blocks[n]
    if isinstance(head, Break):
        return True
    return isinstance(head, Heading) and head.number != "9.1"


def _front(blocks: Sequence[Block]) -> str:
    title = next((_words(b.words) for b in blocks if isinstance(b, Heading)), '""')
    words = _array(_words(b) for b in blocks if isinstance(b, str))
    entries = _array(
        f"({_string(row[0].text)}, {_words(row[1].words)})"
        for b in blocks
        if isinstance(b, Table) and "titleblock" in b.marks
        for row in b.cells
    )
    callouts = "\n".join(_block(b, 0.0) for b in blocks if isinstance(b, Callout))
    return f"#front({title}, {words}, {entries})\n{callouts}"


def _contents(blocks: Sequence[Block]) -> str:
    entries = _array(
        f"({b.level - 1}, {_string(b.number)}, {_words(b.words)}, {_string(b.name)})"
        for b in blocks
        if isinstance(b, Heading) and b.number
    )
    return f"#contents({entries})"


def _sheet(number: int, title: str, sheet: Sheet, foot: str) -> str:
    across, down = size_mm(sheet)
    return (
        f"#sheet({_string(sheet.svg)}, {_string(title)}, {_string(f'sheet-{number}')}, {_string(foot)}, "
        f"{across}mm, {down}mm)"
    )


def _block(block: Block, width: float, fitted: bool = False) -> str:
    match block:
        case str():
            return f"#para({_words(block)})"
        case Heading(level, number, words):
            if not number:
                return f"#room({42 if level == 2 else 26}mm)\n#heading(level: {level - 1}, {_words(words)})"
            name = "section" if level == 2 else "part"
            return f"#{name}({_string(number)}, {_string(block.name)}, {_words(words)})"
        case Callout(kind, words):
            return f"#callout({_string(kind)}, {_words(words)})"
        case Points(ordered, items):
            return f"#points({'true' if ordered else 'false'}, {_array(_words(item) for item in items)})"
        case Picture(source, title):
            return f"#para({_string(f'{plain_text(title)}: {source}')})"
        case Break():
            return ""
        case Table(marks=marks):
            if "figures" in marks:
                return f"#figures({_array(_array(_words(cell.words) for cell in row) for row in block.cells)})"
            return _table(block, width, fitted)


def _table(table: Table, width: float, fitted: bool) -> str:
    """A table with its caption before and its chart behind it; a chart stays on the page of its table. `fitted`:
    among what is set as openly as a page allows."""
    bars = charts.bars(table)
    full = "schedule" in table.marks or "form" in table.marks
    widths = columns.widths(table, width, full, bars.column if bars else -1)
    barred = [bars is not None and bars.column == i for i in range(len(table.head))]
    align = ("left" if barred[i] or not numeric else "right" for i, numeric in enumerate(table.numeric))
    heads = (_head(cell) for cell in table.head)
    cells = (
        _cell(cell, table.numeric[i], table.decimals[i], bars if barred[i] else None)
        for row in table.cells
        for i, cell in enumerate(row)
    )
    row = ", row: 11mm" if "form" in table.marks and not table.number else ", pitch: pitch" if fitted else ""
    lines = [
        f"#schedule(columns: {_array(f'{w:.2f}mm' for w in widths)}, align: {_array(align)}, "
        f"head: {_array(heads)}{row},",
        *(f"  {cell}," for cell in cells),
        ")",
    ]
    if table.number:
        note = _words(table.note) if table.note else "none"
        lines.insert(0, f"#caption({_string(str(table.number))}, {_words(table.caption)}, {note})")
    drawn = charts.picture(table)
    if drawn:
        low = charts.picture(table, low=True)
        shown = f"if tall {{ {_string(drawn)} }} else {{ {_string(low)} }}" if fitted else _string(drawn)
        lines.append(f"#chart({shown}, {_string(f'Chart of table {table.number}')})")
    if drawn or len(table.cells) <= KEPT_TOGETHER:
        lines = ["#block(breakable: false)[", *lines, "]"]
    return "\n".join(lines)


def _head(cell: Cell) -> str:
    """`Load, A` with its unit on a second line."""
    name, comma, unit = cell.text.rpartition(", ")
    return f"head({_string(name)}, {_string(unit)})" if comma else f"semi({_words(cell.words)})"


def _cell(cell: Cell, numeric: bool, decimals: int, bars: charts.Bars | None) -> str:
    if cell.tick:
        return "tick"
    shown = _words(cell.words)
    value = charts.number_in(cell)
    if bars is not None:
        if value is None:
            return shown
        share, colour = charts.filled(value, bars.full, bars.limited)
        return (
            f'box(width: {columns.BAR_NUMBER}mm, align(right, {shown})) + h(1.5mm) + bar({share:.3f}, rgb("{colour}"))'
        )
    own = cell.decimals
    if numeric and own is not None and own < decimals:
        return f"{shown} + hide({_string(('' if own else '.') + '0' * (decimals - own))})"
    return shown
