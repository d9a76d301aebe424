"""What the file of a rule profile says: figures and choices by name, each with what it is for.

The tables that a file is held to when it is read, `figures.csv` and `entries.csv`, so that whatever asks a
profile finds an answer there.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from importlib.resources import files
from io import StringIO
from typing import NamedTuple


class Figure(NamedTuple):
    """A number below `[constants]`. A file may word the quantity in its own way; `optional`: a profile need not have
    it."""

    quantity: str
    unit: str
    optional: bool


FORMS = ("text", "texts", "number", "table", "size", "colour")


@dataclass(frozen=True, slots=True)
class Entry:
    """Something that a file says besides its figures, by its path ("ambient.base_c").

    `form`: one of `FORMS` ("texts" a list of them, "table" that stands in a folder, "size" and "colour" with their
    source and status), or the words to choose from ("table|formula"). `beside`: it is asked for only where that path
    has that value ("ambient.rule=table"), or any where none is named. `optional`: it may be left out. `columns` that a
    table must have, numbers in each."""

    purpose: str
    form: str
    beside: str
    optional: bool
    columns: tuple[str, ...]


def _rows(name: str) -> Iterator[Mapping[str, str]]:
    return csv.DictReader(StringIO((files("copperplate") / "standards" / f"{name}.csv").read_text("utf-8")))


FIGURES: Mapping[str, Figure] = {
    row["name"]: Figure(row["quantity"], row["unit"], row["optional"] == "yes") for row in _rows("figures")
}
ENTRIES: Mapping[str, Entry] = {
    row["path"]: Entry(
        row["purpose"], row["form"], row["beside"], row["optional"] == "yes", tuple(row["columns"].split())
    )
    for row in _rows("entries")
}
