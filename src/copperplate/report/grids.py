"""Tables of the report as HTML: schedules with links to the sheets, numbers on their points, bars, key figures."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from html import escape

from copperplate.report import charts
from copperplate.report.blocks import Block, Cell, Table
from copperplate.report.markup import scrolled, tag, words

TAGGED = ("Marker",)
"""Heads of columns that name conductors by their markers; a marker may look like the id of a part."""
SEVERAL = ("For", "Protects")
"""Heads of columns whose cells list several addresses: they name no row."""

BLANK = "____"
"""What a cell to be filled in begins with."""
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
    def between(cls, blocks: Sequence[Block], homes: dict[str, str], conductors: Iterable[str]) -> Links:
        """The links of a report whose schedules are among `blocks`. The first schedule that names an address
        in its rows is where the sheet's link goes. A row under `Tag` is named by the marker of a conductor; such
        rows come first, for a run of one conductor has that conductor's address."""
        tags = {_marker(conductor): conductor for conductor in conductors}
        links = cls(homes, tags)
        tables = [block for block in blocks if isinstance(block, Table) and "schedule" in block.marks]
        for table in sorted(tables, key=lambda table: not _tagged(table)):
            tagged = _tagged(table)
            key = _key(table)
            seen: set[str] = set()
            for n, row in enumerate(table.cells):
                shown = row[key].address if key >= 0 else ""
                if shown and shown not in seen:
                    seen.add(shown)
                    identity = f"r{table.number}-{re.sub(r'[^A-Za-z0-9.+/-]', '_', shown)}"
                    own = tags.get(shown, shown) if tagged else shown
                    links.at[table.number, n] = (_first_of(own, homes, tags), identity)
                    links.rows.setdefault(own, identity)
        return links

    def of(self, address: str, head: str) -> str:
        """Where an address outside the schedules leads, in a column of this head: to its row, else to its sheet."""
        address = self.tags.get(address, address) if head in TAGGED else address
        return self.rows.get(address) or self.homes.get(address, "")


def _tagged(table: Table) -> bool:
    """Whether its rows are named by markers."""
    key = _key(table)
    return key >= 0 and table.head[key].text in TAGGED


def _first_of(address: str, homes: dict[str, str], tags: dict[str, str]) -> str:
    """A run stands on the sheets by its first conductor; everything else by itself."""
    guesses = (_marker(address) + end for end in ("+", "/1", "+/1", "", ".l", "-"))
    return address if address in homes else next((tags[guess] for guess in guesses if guess in tags), address)


def _marker(address: str) -> str:
    """The marker of a conductor: its id without `.run`."""
    return re.sub(r"\.run(?=[+\-/.]|$)", "", address, count=1)


def drawn(table: Table, links: Links) -> str:
    """A table with its chart. One with a mark becomes cards where the page is narrow, the rest scrolls: `schedule`
    and `form` are as wide as the page, `small` as wide as it needs."""
    bars = charts.bars(table)
    key = _key(table)
    heads = "".join(
        tag(
            "th",
            _head(head) or tag("span", "Letter or tick", class_="hide"),
            role="columnheader",
            scope="col",
            class_=_classes(n=table.numeric[i], key=i == key, t=bars is not None and bars.column == i),
        )
        for i, head in enumerate(table.head)
    )
    groups = dict(table.groups)
    rows = ""
    for n, row in enumerate(table.cells):
        if n in groups:
            head = tag("th", words(groups[n]), role="rowheader", scope="rowgroup", colspan=len(row))
            rows += tag("tr", head, role="row", class_="group")
        at, identity = links.at.get((table.number, n), ("", ""))
        shown = (_cell(table, n, i, bars, key, links) for i in range(len(row)))
        key_of = table.keys[n] if n < len(table.keys) else ""
        rows += tag("tr", *shown, role="row", id_=identity, data_at=at, data_key=key_of)
    cards = bool({"schedule", "form", "small", "points"} & set(table.marks))
    whole = tag(
        "table",
        _caption(table),
        tag("thead", tag("tr", heads, role="row"), role="rowgroup"),
        tag("tbody", rows, role="rowgroup"),
        role="table",
        class_=" ".join(table.marks),
        id_=f"table-{table.number}" if table.number else "",
    )
    return (
        tag("div", whole, class_="wrap cards")
        if cards
        else scrolled(whole, f"Table {table.number}" if table.number else "Table")
    ) + _path(table)


def _key(table: Table) -> int:
    """The column whose addresses name the rows; -1 where none does."""
    columns = (i for i, head in enumerate(table.head) if head.text not in SEVERAL)
    return next((i for i in columns if any(row[i].address for row in table.cells)), -1)


def _caption(table: Table) -> str:
    if not table.number:
        return ""
    note = " " + tag("span", words(table.note), class_="note") if table.note else ""
    return tag("caption", tag("b", f"Table {table.number}"), " ", words(table.caption), note)


def _path(table: Table) -> str:
    drawn = charts.picture(table)
    if not drawn:
        return ""
    caption = tag("figcaption", f"Drawn from Table {table.number}.") if table.number else ""
    return tag(
        "figure",
        scrolled(drawn, f"Chart of table {table.number}" if table.number else "Chart of the table above"),
        caption,
        class_="chart",
    )


def _cell(table: Table, row: int, place: int, bars: charts.Bars | None, key: int, links: Links) -> str:
    cell = table.cells[row][place]
    name = " ".join(filter(None, (other.text for other in table.cells[row][1:3])))
    if cell.tick:
        shown = tag("input", type="checkbox", class_="tick", aria_label=f"done: {name}")
    elif cell.words.startswith(BLANK):
        unit, head = cell.words.lstrip("_").strip(), table.head[place].text
        measured = "yes" if head == "Measured" else ""
        shown = tag("input", type="text", class_="blank", aria_label=f"{head}: {name}", data_measured=measured)
        shown += escape(f" {unit}" if unit else "")
    elif table.head[place].text == "Colour":
        shown = "".join(_swatch(letters) for letters in cell.text.split()) + words(cell.words)
    else:
        shown = words(cell.words)
    at, _ = links.at.get((table.number, row), ("", ""))
    target = links.homes.get(at) if at else links.of(cell.address, table.head[place].text)
    if place == key and target:
        shown = tag("a", shown, href=f"#{target}")
    value = charts.number_in(cell)
    barred = bars is not None and bars.column == place
    if bars is not None and barred and value is not None:
        shown = tag("span", shown) + charts.bar(value, bars.full, bars.limited)
    numeric = table.numeric[place]
    point = _missing(table.decimals[place], cell.decimals) if numeric and cell.decimals is not None else ""
    long = not numeric and len(f"{table.head[place].text} {cell.text}") > HALF
    classes = _classes(
        n=numeric, key=place == key, t=barred, none=not cell.text, long=long, yes=cell.text.startswith("✓"),
        no=cell.text.startswith("✗"), box=cell.tick,
    )  # fmt: skip
    return tag(
        "td", shown, role="cell", data_head=table.head[place].text, class_=" ".join(c for c in (classes, point) if c)
    )


def _swatch(letters: str) -> str:
    """A square in the colour of a conductor."""
    fill = charts.SWATCHES.get(letters)
    return tag("span", class_="swatch", style=f"background:{fill}", aria_hidden="true") if fill else ""


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


def terms(table: Table) -> str:
    """The title block as a list of terms; the status stands out."""
    rows = (
        tag(
            "div",
            tag("dt", words(name.words)),
            tag("dd", words(value.words)),
            class_="status" if name.text == "Status" else "",
        )
        for name, value in table.cells
    )
    return tag("dl", *rows, class_="titleblock")


def figures(table: Table) -> str:
    """Key figures: name, value and unit, what it belongs to."""
    items = (
        tag(
            "div",
            tag("dt", words(name.words)),
            tag("dd", words(value.words), " ", tag("span", words(unit.words)), class_="value"),
            tag("dd", words(of.words)),
        )
        for name, value, unit, of in table.cells
    )
    return tag("dl", *items, class_="figures")
