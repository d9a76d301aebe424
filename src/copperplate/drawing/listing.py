"""Tables on sheets: columns of fixed width, rows in groups under headings, tables side by side where the sheet is
wide, further sheets where it is full. Nothing is cut: a text that is wider than its column is wrapped."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from copperplate.drawing import lettering
from copperplate.drawing.page import Page
from copperplate.drawing.paper import Paper
from copperplate.drawing.pen import Box, Group, Polyline, Primitive, words

PITCH = 4.3
"""From one row to the next, in mm."""
HEAD = 11.6
"""Title and heads of a table."""
SUBHEAD = 5.6
GUTTER = 5.0
"""Between tables side by side."""
TICK = "[ ]"
"""A cell to be ticked on paper."""


@dataclass(frozen=True, slots=True)
class ListColumn:
    """A column at least `width` mm wide. `share`: whether it gets its part of what the sheet is wider."""

    head: str
    width: float
    bold: bool = False
    share: bool = True


@dataclass(frozen=True, slots=True)
class ListRow:
    """One row: what it shows (`kind` and `address` name its group) and a text a column. `opens`: cells written again
    where the row is the first of a table, for what is written once in the rows above it."""

    kind: str
    address: str
    cells: tuple[str, ...]
    opens: tuple[str, ...] = ()
    notes: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class ListSection:
    """Rows under a heading. `address`: what its heading shows ("" for nothing). `apart`: it begins a table."""

    title: str
    rows: tuple[ListRow, ...]
    kind: str = "heads"
    address: str = ""
    apart: bool = False


@dataclass
class _Table:
    """One table as it will stand: (row, is it the first of the table) or (heading, is it a continuation)."""

    items: list[tuple[ListRow | ListSection, bool]] = field(default_factory=list)
    left: float = 0.0


def pages(
    paper: Paper, title: str, columns: Sequence[ListColumn], parts: Sequence[ListSection], remark: str
) -> list[Page]:
    """The sheets of one list."""
    if not any(part.rows for part in parts):
        return []
    room = paper.right - paper.left
    least = sum(column.width for column in columns)
    across = max(1, int((room + GUTTER) // (least + GUTTER)))
    wide = (room - GUTTER * (across - 1)) / across
    spread = (wide - least) / sum(column.width for column in columns if column.share)
    widths = [column.width * (1 + spread) if column.share else column.width for column in columns]
    tables = _split(columns, widths, parts, paper.bottom - paper.top - HEAD)
    made: list[Page] = []
    for start in range(0, len(tables), across):
        page = Page("", title, remark=remark)
        for place, table in enumerate(tables[start : start + across]):
            name = title + (", continued" if start or place else "")
            _draw(page, name, columns, widths, table, paper.left + place * (wide + GUTTER), paper.top)
        made.append(page)
    return made


def numbered(made: list[Page], slug: str) -> list[Page]:
    """The same sheets with their names; the first keeps its own when more are added."""
    for place, page in enumerate(made, 1):
        page.slug = slug if place == 1 else f"{slug}-{place}"
        page.title += "" if place == 1 else f", part {place}"
    return made


def _lines(columns: Sequence[ListColumn], widths: Sequence[float], cells: Sequence[str]) -> list[tuple[str, ...]]:
    """Each cell broken to its column."""
    return [
        (cell,) if cell == TICK else lettering.wrap(lettering.clean(cell), width - 2.0, bold=column.bold)
        for column, width, cell in zip(columns, widths, cells, strict=True)
    ]


def _height(lines: Sequence[tuple[str, ...]]) -> float:
    return PITCH + lettering.LINE * (max(len(cell) for cell in lines) - 1)


def _split(
    columns: Sequence[ListColumn], widths: Sequence[float], parts: Sequence[ListSection], down: float
) -> list[_Table]:
    """The rows in tables no taller than `down`; a heading is never the last of a table."""
    tables = [_Table(left=down)]
    for part in parts:
        for place, row in enumerate(part.rows):
            tall = _height(_lines(columns, widths, row.opens or row.cells))
            above = SUBHEAD if part.title and not place else 0.0
            is_full = above + tall > tables[-1].left or (part.apart and not place)
            if tables[-1].items and is_full:
                tables.append(_Table(left=down))
                above = SUBHEAD if part.title else 0.0
            if above:
                tables[-1].items.append((part, place > 0))
            first = not any(isinstance(item, ListRow) for item, _ in tables[-1].items) or above > 0
            tables[-1].items.append((row, first))
            tables[-1].left -= above + tall
    return tables


def _draw(
    page: Page,
    title: str,
    columns: Sequence[ListColumn],
    widths: Sequence[float],
    table: _Table,
    left: float,
    top: float,
) -> None:
    starts = [left]
    for width in widths:
        starts.append(starts[-1] + width)
    right = starts[-1]
    head = Group("heads", title, "symbol").add(words(left, top + 3.4, title, bold=True, size=lettering.NAME))
    for column, x in zip(columns, starts, strict=False):
        if column.head:
            head.add(words(x, top + 9.2, column.head, bold=True))
    page.groups.append(head)
    rules = Group("rule", "", "rule").add(Polyline(((left, top + 10.8), (right, top + 10.8)), "o", 0.25))
    y = top + HEAD
    for item, first in table.items:
        if isinstance(item, ListSection):
            text = item.title + (", continued" if first else "")
            kind, address = (item.kind, item.address) if item.address else ("heads", item.title)
            page.groups.append(
                Group(kind, address, "symbol").add(words(left, y + 3.8, _fitted(text, right - left), bold=True))
            )
            y += SUBHEAD
            rules.add(Polyline(((left, y - 0.5), (right, y - 0.5)), "h"))
            continue
        lines = _lines(columns, widths, item.opens if first and item.opens else item.cells)
        page.groups.append(_row(item, columns, starts, lines, y))
        y += _height(lines)
        rules.add(Polyline(((left, y - 0.5), (right, y - 0.5)), "h"))
    page.groups.append(rules)


def _fitted(text: str, room: float) -> str:
    """A heading on its one line; the names in it stand in full in the rows."""
    return lettering.shorten(lettering.clean(text), room, bold=True)


def _row(
    row: ListRow, columns: Sequence[ListColumn], starts: Sequence[float], lines: Sequence[tuple[str, ...]], y: float
) -> Group:
    items: list[Primitive] = []
    for column, (start, _), cell in zip(columns, pairwise(starts), lines, strict=True):
        if cell == (TICK,):
            items.append(Box(start + 1.0, y + 0.55, 2.4, 2.4, "o"))
            continue
        for number, line in enumerate(cell):
            if line:
                items.append(words(start, y + 2.9 + lettering.LINE * number, line, bold=column.bold))
    return Group(row.kind, row.address, "symbol", notes=row.notes).add(*items)
