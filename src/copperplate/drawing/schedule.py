"""The conductor schedule: every conductor of the power and AC sheets, and the links of banks, one a row.

Branch circuits are written out on their ladders; what a ladder could not show is listed here too.
"""

from __future__ import annotations

from collections.abc import Iterable

from copperplate.drawing import captions, lettering
from copperplate.drawing.captions import Task
from copperplate.drawing.page import Page
from copperplate.drawing.pen import Group, Stroke, words

PITCH = 4.6
HEAD = 12.0
WIDE = 271.0
"""Width of one table, in mm, at its best: the room of an A4 sheet."""
COLUMNS: tuple[tuple[str, float], ...] = (
    ("Tag", 0.0),
    ("From", 48.0),
    ("To", 92.0),
    ("Size", 136.0),
    ("Colour", 164.0),
    ("Length", 186.0),
    ("Protected by", 206.0),
)
"""Heads with the place of each column in a table of `WIDE`; narrower tables keep the shares."""


def pages(task: Task, names: Iterable[str]) -> list[Page]:
    """The schedule of the conductors `names`, in their order; two tables side by side where the sheet is wide."""
    rows = [_row(task, name) for name in names] + _links(task)
    if not rows:
        return []
    paper = task.paper
    room = paper.right - paper.left
    across = max(1, int((room + 8) // 190))
    wide = (room - 8 * (across - 1)) / across
    down = paper.bottom - paper.top - HEAD
    made: list[Page] = []
    tables = _split([_wrapped(row, wide) for row in rows], down)
    for start in range(0, len(tables), across):
        page = Page("", "", remark="Lengths are one way.")
        for place, some in enumerate(tables[start : start + across]):
            _table(task, page, some, paper.left + place * (wide + 8), wide, bool(start or place))
        made.append(page)
    for place, page in enumerate(made, 1):
        page.slug = "schedule" if len(made) == 1 else f"schedule-{place}"
        page.title = "Conductor schedule" + ("" if len(made) == 1 else f", part {place}")
    return made


def _row(task: Task, name: str) -> tuple[str, list[str]]:
    """The address of a conductor and its cells."""
    system = task.design.system
    conductor = system.conductors[name]
    run = system.runs[conductor.run]
    start, end = captions.ends(task, conductor)
    cells = [
        conductor.marker,
        start,
        end,
        captions.cable(task, run) if run.current == "ac" else captions.size(task, run),
        captions.colour(task, name),
        captions.length(task, conductor.length_m),
        _protected(task, conductor.run),
    ]
    return name, cells


def _protected(task: Task, run: str) -> str:
    found = task.design.system.runs[run]
    result = task.design.runs.get(run)
    if found.earth:
        return "earthing"
    if result is None or not result.protected_by:
        return "none"
    return ", ".join(result.protected_by)


def _links(task: Task) -> list[tuple[str, list[str]]]:
    """The links inside banks: one row a bank, they carry no tags of their own."""
    found = []
    for run in task.design.system.runs.values():
        if run.role == "link":
            long = captions.length(task, run.length_m) if run.length_m else ""
            bank = run.from_end.split(".")[0]
            cells = [run.id, bank, bank, captions.size(task, run), "", long, f"{run.count} links between batteries"]
            found.append((run.id, cells))
    return found


Cells = tuple[str, list[tuple[str, ...]]]
"""An address with the lines of each cell of its row."""


def _wrapped(row: tuple[str, list[str]], wide: float) -> Cells:
    """A row with each cell broken to its column."""
    address, cells = row
    starts = [place * wide / WIDE for _, place in COLUMNS]
    ends = [*starts[1:], wide]
    return address, [
        lettering.wrap(cell, end - start - 2.5, bold=column == 0)
        for column, (cell, start, end) in enumerate(zip(cells, starts, ends, strict=True))
    ]


def _height(row: Cells) -> float:
    return PITCH + lettering.LINE * (max(len(lines) for lines in row[1]) - 1)


def _split(rows: list[Cells], down: float) -> list[list[Cells]]:
    """Rows in tables no taller than `down`."""
    tables: list[list[Cells]] = [[]]
    left = down
    for row in rows:
        if _height(row) > left and tables[-1]:
            tables.append([])
            left = down
        tables[-1].append(row)
        left -= _height(row)
    return tables


def _table(task: Task, page: Page, rows: list[Cells], left: float, wide: float, again: bool) -> None:
    top = task.paper.top
    starts = [left + place * wide / WIDE for _, place in COLUMNS]
    title = "Conductor schedule (power, AC, links)" + (", continued" if again else "")
    head = Group("heads", "schedule", "symbol").add(words(left, top + 3.4, title, bold=True, size=lettering.NAME))
    for (word, _), x in zip(COLUMNS, starts, strict=True):
        head.add(words(x, top + 9.6, word, bold=True))
    page.groups.append(head)
    rules = Group("rule", "", "rule")
    rules.add(Stroke(((left, top + 11.2), (left + wide, top + 11.2)), "o", 0.25))
    conductors = task.design.system.conductors
    y = top + HEAD
    for place, row in enumerate(rows):
        address, cells = row
        group = Group("scheduled" if address in conductors else "run", address, "symbol")
        for column, (lines, x) in enumerate(zip(cells, starts, strict=True)):
            for number, line in enumerate(lines):
                if line:
                    group.add(words(x, y + 3.0 + lettering.LINE * number, line, bold=column == 0))
        page.groups.append(group)
        y += _height(row)
        if place % 5 == 4 or place == len(rows) - 1:
            rules.add(Stroke(((left, y - 0.1), (left + wide, y - 0.1)), "h"))
    page.groups.append(rules)
