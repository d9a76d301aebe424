"""The published tables: `BODY/TABLE.csv` of a folder of data, with its sheet `TABLE.toml`, read when first asked for.

A cell of a table stays text here; the modules that know what a column means turn it into numbers. A row's
`status` says how its figures were checked and travels with every number taken from it.
"""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from io import StringIO

from copperplate.model.folders import FOLDERS, file_of, names

STATUSES: dict[str, str] = {
    "verified": "read on two or more public pages",
    "read once": "read on one public page",
    "part read": "partly read, or supported by another value that was read",
    "stated": "stated in the plate",
    "computed": "calculated from a stated formula",
    "practice": "common practice, no source",
    "from memory": "from memory, not read on a public page",
}
"""How a figure was checked, best first. Every status in the data is one of these; "stated" is for figures that a
plate gives itself."""


class OutsideTable(LookupError):
    """No row or column of the published table holds what was asked for. The message is fit for a reader."""


@dataclass(frozen=True, slots=True)
class Table:
    """One published table. `rows` are text, one cell a heading; `status` is the sheet's sentence on how the
    figures were checked, `rounding` what the source did to its figures."""

    name: str
    title: str
    edition: str
    clause: str
    status: str
    rounding: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    @property
    def reference(self) -> str:
        """How a source line names it: "33 CFR 183.425 Table 5"."""
        return self.clause

    @property
    def records(self) -> tuple[Mapping[str, str], ...]:
        """The rows by heading."""
        return tuple(dict(zip(self.header, row, strict=True)) for row in self.rows)


@cache
def table(name: str) -> Table:
    """The table called `body/table`, for example "cfr/183-425-table-5"; KeyError where no folder has it."""
    cells, sheet = file_of(f"{name}.csv"), file_of(f"{name}.toml")
    if cells is None or sheet is None:
        raise KeyError(name)
    described = tomllib.loads(sheet.read_text("utf-8"))
    header, *rows = csv.reader(StringIO(cells.read_text("utf-8")))
    return Table(
        name,
        described["title"],
        described["edition"],
        described["clause"],
        described["status"],
        described.get("rounding", ""),
        tuple(header),
        tuple(tuple(row) for row in rows),
    )


def tables() -> tuple[Table, ...]:
    """Every table of the folders, by name."""
    bodies = (body for folder in FOLDERS for body in sorted(folder.iterdir(), key=lambda body: body.name))
    return tuple(map(table, dict.fromkeys(f"{body.name}/{name}" for body in bodies for name in names(body, ".csv"))))
