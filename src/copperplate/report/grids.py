"""Tables of the report as HTML: schedules with links to the sheets, numbers on their points, bars, key figures."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from html import escape

from copperplate.report import charts
from copperplate.report.markup import scrolled, tag, words
from copperplate.report.reading import Block, Cell, Grid

TAGGED = ("Tag", "Through")
"""Heads of columns that name conductors by their markers; a marker may look like the id of a part."""
SEVERAL = ("For", "Ends", "Protects", "On in this case")
"""Heads of columns whose cells list several addresses: they name no row."""

HALF = 24
"""Characters of a head and its cell that stand side by side on half a card."""


@dataclass
class Links:
    """Which row shows an address, and where the sheets show it.

    `homes`: by address, the id of its place on a sheet. `tags`: by marker, the conductor's address. `rows`: by
    address, the id of its first row. `at`: by table number and row, the address as the sheets write it and the id
    of the row."""

    homes: dict[str, str]
    tags: dict[str, str] = field(default_factory=dict)
    rows: dict[str, str] = field(default_factory=dict)
    at: dict[tuple[int, int], tuple[str, str]] = field(default_factory=dict)

    @classmethod
    def between(cls, blocks: list[Block], homes: dict[str, str], conductors: Iterable[str]) -> Links:
        """The links of a report whose schedules are among `blocks`. The first schedule that names an address
        in its rows is where the sheet's link goes. A row under `Tag` is named by the marker of a conductor; such
        rows come first, for a run of one conductor has that conductor's address."""
        tags = {_marker(conductor): conductor for conductor in conductors}
        links = cls(homes, tags)
        grids = [block for block in blocks if isinstance(block, Grid) and "schedule" in block.marks]
        for grid in sorted(grids, key=lambda grid: grid.head[0].text not in TAGGED):
            tagged = grid.head[0].text in TAGGED
            key = _key(grid)
            seen: set[str] = set()
            for n, row in enumerate(grid.rows):
                shown = row[key].address if key >= 0 else ""
                if shown and shown not in seen:
                    seen.add(shown)
                    identity = f"r{grid.number}-{re.sub(r'[^A-Za-z0-9.+/-]', '_', shown)}"
                    own = tags.get(shown, shown) if tagged else shown
                    links.at[grid.number, n] = (_first_of(own, homes, tags), identity)
                    links.rows.setdefault(own, identity)
        return links

    def of(self, address: str, head: str) -> str:
        """Where an address outside the schedules leads, in a column of this head: to its row, else to its sheet."""
        address = self.tags.get(address, address) if head in TAGGED else address
        return self.rows.get(address) or self.homes.get(address, "")


def _first_of(address: str, homes: dict[str, str], tags: dict[str, str]) -> str:
    """A run stands on the sheets by its first conductor; everything else by itself."""
    guesses = (_marker(address) + end for end in ("+", "/1", "+/1", "", ".l", "-"))
    return address if address in homes else next((tags[guess] for guess in guesses if guess in tags), address)


def _marker(address: str) -> str:
    """The marker of a conductor: its id without `.run`."""
    return re.sub(r"\.run(?=[+\-/.]|$)", "", address, count=1)


def table(grid: Grid, links: Links) -> str:
    """A table with its chart. One with a mark becomes cards where the page is narrow, the rest scrolls: `schedule`
    and `form` are as wide as the page, `small` as wide as it needs."""
    bars = charts.bars(grid)
    key = _key(grid)
    decimals = [max((row[i].decimals or 0 for row in grid.rows), default=0) for i in range(len(grid.head))]

    def cell(row: int, place: int) -> str:
        return _cell(grid, row, place, decimals[place], bars, key, links)

    heads = "".join(
        tag(
            "th",
            _head(head),
            role="columnheader",
            scope="col",
            class_=_classes(n=grid.numeric[i], key=i == key, t=bars is not None and bars.column == i),
        )
        for i, head in enumerate(grid.head)
    )
    rows = "".join(
        tag("tr", *(cell(n, i) for i in range(len(grid.head))), role="row", id_=identity, data_at=at)
        for n, (at, identity) in ((n, links.at.get((grid.number, n), ("", ""))) for n in range(len(grid.rows)))
    )
    cards = bool({"schedule", "form", "small"} & set(grid.marks))
    whole = tag(
        "table",
        _caption(grid),
        tag("thead", tag("tr", heads, role="row"), role="rowgroup"),
        tag("tbody", rows, role="rowgroup"),
        role="table",
        class_=" ".join(grid.marks),
        id_=f"table-{grid.number}" if grid.number else "",
    )
    return (tag("div", whole, class_="wrap cards") if cards else scrolled(whole, f"Table {grid.number}")) + _path(grid)


def _key(grid: Grid) -> int:
    """The column whose addresses name the rows; -1 where none does."""
    columns = (i for i, head in enumerate(grid.head) if head.text not in SEVERAL)
    return next((i for i in columns if any(row[i].address for row in grid.rows)), -1)


def _caption(grid: Grid) -> str:
    if not grid.number:
        return ""
    note = " " + tag("span", words(grid.note), class_="note") if grid.note else ""
    return tag("caption", tag("b", f"Table {grid.number}"), " ", words(grid.caption), note)


def _path(grid: Grid) -> str:
    drawn = charts.picture(grid)
    if not drawn:
        return ""
    caption = tag("figcaption", f"Drawn from Table {grid.number}.")
    return tag("figure", scrolled(drawn, f"Chart of table {grid.number}"), caption, class_="chart")


def _cell(grid: Grid, row: int, place: int, decimals: int, bars: charts.Bars | None, key: int, links: Links) -> str:
    cell = grid.rows[row][place]
    shown = tag("span", class_="tick", role="img", aria_label="to tick") if cell.tick else words(cell.words)
    at, _ = links.at.get((grid.number, row), ("", ""))
    target = links.homes.get(at) if at else links.of(cell.address, grid.head[place].text)
    if place == key and target:
        shown = tag("a", shown, href=f"#{target}")
    value = charts.number_in(cell)
    barred = bars is not None and bars.column == place
    if bars is not None and barred and value is not None:
        shown = tag("span", shown) + charts.bar(value, bars.full, bars.limited)
    numeric = grid.numeric[place]
    point = _missing(decimals, cell.decimals) if numeric and cell.decimals is not None else ""
    long = not numeric and len(f"{grid.head[place].text} {cell.text}") > HALF
    classes = _classes(n=numeric, key=place == key, t=barred, none=not cell.text, long=long)
    return tag(
        "td", shown, role="cell", data_head=grid.head[place].text, class_=" ".join(c for c in (classes, point) if c)
    )


def _missing(decimals: int, own: int) -> str:
    """Class of the room that a number leaves for the digits, and the point, that others have and it has not."""
    return "" if decimals == own else f"p{min(4, decimals - own)}{'' if own else 'd'}"


def _head(cell: Cell) -> str:
    """`Load, A` with its unit on a second line."""
    name, comma, unit = cell.text.rpartition(", ")
    if not comma:
        return words(cell.words)
    return escape(name) + tag("span", tag("span", ", ", class_="hide"), escape(unit), class_="unit")


def _classes(**wanted: bool) -> str:
    return " ".join(name for name, is_wanted in wanted.items() if is_wanted)


def title_block(grid: Grid) -> str:
    """The title block as a list of terms; the status stands out."""
    rows = (
        tag(
            "div",
            tag("dt", words(name.words)),
            tag("dd", words(value.words)),
            class_="status" if name.text == "Status" else "",
        )
        for name, value in grid.rows
    )
    return tag("dl", *rows, class_="titleblock")


def figures(grid: Grid) -> str:
    """Key figures: name, value and unit, what it belongs to."""
    items = (
        tag(
            "div",
            tag("dt", words(name.words)),
            tag("dd", words(value.words), " ", tag("span", words(unit.words)), class_="value"),
            tag("dd", words(of.words)),
        )
        for name, value, unit, of in grid.rows
    )
    return tag("dl", *items, class_="figures")
