"""The report as Typst: its blocks as calls of the functions in `report.typ`.

Whatever comes out of a plate stands in string literals, so nothing of it can become markup or code.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from importlib.resources import files

from copperplate.report import charts, columns
from copperplate.report.blocks import (
    READERS,
    Block,
    Callout,
    Cell,
    Heading,
    Labels,
    Picture,
    Points,
    Reader,
    Table,
    documents,
    foot,
    inline,
    plain_text,
    title_of,
)
from copperplate.report.sheets import Sheet, size_mm

KEPT_TOGETHER = 12
"""Rows of a table that is not parted over two pages."""
BLANK = "____"
"""What a cell to be filled in begins with."""
LONGEST = 26
"""Characters that a word may have before it may be broken anywhere."""


def typst(blocks: Sequence[Block], sheets: Sequence[Sheet], reader: Reader) -> str:
    """The Typst source of one document of a report. `sheets` are those that the report names, in the same order."""
    letter = any(279.4 in size_mm(sheet) for sheet in sheets)
    width, height = (215.9, 279.4) if letter else (210.0, 297.0)
    parts = [
        files("copperplate.report").joinpath("report.typ").read_text(encoding="utf-8"),
        f"#show: report.with(title: {_string(title_of(blocks))}, foot: {_string(foot(blocks))}, "
        f"reader: {_string(READERS[reader])}, width: {width}mm, height: {height}mm)",
        *_body(blocks, sheets, reader, (width, height)),
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
        elif token.type in ("link_open", "link_close"):
            continue
        elif token.type in ("softbreak", "hardbreak"):
            parts.append('" "')
        else:
            parts.append(_string(_breakable(token.content)))
    return _joined(parts)


def _joined(parts: list[str]) -> str:
    return " + ".join(parts) or '""'


def _body(blocks: Sequence[Block], sheets: Sequence[Sheet], reader: Reader, paper: tuple[float, float]) -> list[str]:
    """Calls in order: the front where it is the client's, the sections, and every drawing behind them."""
    mine = documents(blocks)[reader]
    start = next(n for n, b in enumerate(blocks) if isinstance(b, Heading) and b.level == 2)
    width, height = paper
    first = next((b for b in mine[1:] if isinstance(b, Heading)), mine[0])
    wide = isinstance(first, Heading) and first.wide
    made = [_front(blocks[:start], reader == "client")]
    made += [f"#lying({height}mm, {width}mm)["] if wide else []
    drawn: list[str] = []
    for n, block in enumerate(mine[1:], 1):
        if isinstance(block, Heading) and block.level == 3:
            following = mine[n + 1] if n + 1 < len(mine) else None
            if isinstance(following, Picture):
                continue
            if wide != block.wide:
                made.append("]" if wide else f"#lying({height}mm, {width}mm)[")
            wide = block.wide
        if isinstance(block, Picture):
            found = ((at, sheet) for at, sheet in enumerate(sheets, 1) if sheet.filename == block.source)
            drawn += [_sheet(at, plain_text(block.title), sheet, foot(blocks)) for at, sheet in found]
            continue
        made.append(_block(block, (height if wide else width) - (26.0 if wide else 30.0)))
    if reader == "installer":
        drawn = [_sheet(1, sheets[0].title, sheets[0], foot(blocks)), *drawn] if sheets else drawn
    return [*made, *(["]"] if wide else []), *drawn]


def _front(blocks: Sequence[Block], whole: bool) -> str:
    """Title, words and title block; the title alone where it is not the `whole`."""
    title = next((_words(b.words) for b in blocks if isinstance(b, Heading)), '""')
    words = _array(_words(b) for b in blocks if isinstance(b, str))
    entries = _array(
        f"({_string(row[0].text)}, {_words(row[1].words)})"
        for b in blocks
        if isinstance(b, Table) and "titleblock" in b.marks
        for row in b.cells
    )
    return f"#front({title}, {words}, {entries})" if whole else ""


def _sheet(number: int, title: str, sheet: Sheet, foot: str) -> str:
    across, down = size_mm(sheet)
    return (
        f"#sheet({_string(sheet.svg)}, {_string(title)}, {_string(f'sheet-{number}')}, {_string(foot)}, "
        f"{across}mm, {down}mm)"
    )


def _block(block: Block, width: float) -> str:
    match block:
        case str():
            return f"#para({_words(block)})"
        case Heading(level, words):
            room = {3: 42, 4: 26}.get(level, 42)
            return f"#room({room}mm)\n#heading(level: {level - 2}, {_words(words)})"
        case Callout("verdict", words):
            return f"#verdict({'true' if 'Ready to install.' in words else 'false'}, {_words(words)})"
        case Callout(kind, words):
            return f"#callout({_string(kind)}, {_words(words)})"
        case Points(ordered, items):
            return f"#points({'true' if ordered else 'false'}, {_array(_words(item) for item in items)})"
        case Labels(title, labels):
            lines = (_array(_string(_breakable(line)) for line in label.lines) for label in labels)
            return f"#heading(level: 2, {_string(title)})\n#scale\n#labels({_array(lines)})"
        case Table(marks=marks):
            if "figures" in marks:
                return f"#figures({_array(_array(_words(cell.words) for cell in row) for row in block.cells)})"
            return _table(block, width)
        case _:
            return ""


def _table(table: Table, width: float) -> str:
    """A table with its caption before and its chart behind it; a chart stays on the page of its table."""
    bars = charts.bars(table)
    full = bool({"schedule", "form", "points"} & set(table.marks))
    widths = columns.widths(table, width, full, bars.column if bars else -1)
    barred = [bars is not None and bars.column == i for i in range(len(table.head))]
    align = ("left" if barred[i] or not numeric else "right" for i, numeric in enumerate(table.numeric))
    heads = (_head(cell) for cell in table.head)
    groups = dict(table.groups)
    lines: list[str] = []
    for n, row in enumerate(table.cells):
        if n in groups:
            lines.append(f"  group({len(row)}, {_words(groups[n])}),")
        for i, cell in enumerate(row):
            lines.append(f"  {_cell(cell, table.numeric[i], table.decimals[i], bars if barred[i] else None)},")
    form = "form" in table.marks and not any(cell.text for row in table.cells for cell in row[1:])
    row_height = ", row: 9mm" if form else ", pitch: 1.8mm" if "points" in table.marks else ""
    lines = [
        f"#schedule(columns: {_array(f'{w:.2f}mm' for w in widths)}, align: {_array(align)}, "
        f"head: {_array(heads)}{row_height},",
        *lines,
        ")",
    ]
    if table.number or table.note:
        number = str(table.number) if table.number else ""
        note = _words(table.note) if table.note else "none"
        lines.insert(0, f"#caption({_string(number)}, {_words(table.caption)}, {note})")
    drawn = charts.picture(table)
    if drawn:
        what = f"Chart of table {table.number}" if table.number else "Chart of the table above"
        lines.append(f"#chart({_string(drawn)}, {_string(what)})")
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
    if cell.words.startswith(BLANK):
        unit = cell.words.lstrip("_").strip()
        return f"blank({_string(unit)})" if cell.words.startswith(2 * BLANK) else "initials"
    if (fill := charts.SWATCHES.get(cell.text)) is not None:
        return f"swatch({_string(fill if fill.startswith('#') else '')}) + {_words(cell.words)}"
    if cell.text[:1] in ("✓", "✗"):
        return f"answer({_string(cell.text[0])}) + {_words(cell.words[1:])}"
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
