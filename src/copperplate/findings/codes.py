"""Every code a finding may carry. One file of rows a family; `make()` is the way to make a finding."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from copperplate.findings.entry import UNTIL, Each, Entry, measured, render, sentences
from copperplate.findings.model import Finding, Measure, Related
from copperplate.text import Span

FAMILIES: dict[str, str] = {
    "1": "reading",
    "2": "names and structure",
    "3": "conductors and voltage",
    "4": "protection",
    "5": "rules and terminals",
    "6": "sources and energy",
    "7": "AC",
}

FILES = (
    "reading", "names", "structure", "conductors", "devices", "protection", "rules", "recheck", "sources", "ac",
)  # fmt: skip
_ROW = re.compile(r"^\[(CP\d+)\]\n(.*?)(?=^\[|\Z)", re.MULTILINE | re.DOTALL)


class Rows(Mapping[str, Entry]):
    """The rows of the files by code, in their order. A row is read when it is first looked up: all of them take longer
    than the findings of a plate."""

    def __init__(self) -> None:
        self._entries: dict[str, Entry] = {}

    @cached_property
    def _rows(self) -> dict[str, str]:
        """The text of each row."""
        return {code: row for name in FILES for code, row in _ROW.findall(self._file(name))}

    @cached_property
    def _shared(self) -> dict[str, Any]:
        return tomllib.loads(self._file("shared"))

    def _file(self, name: str) -> str:
        return (files("copperplate") / "findings" / "rows" / f"{name}.toml").read_text("utf-8")

    def __getitem__(self, code: str) -> Entry:
        if code not in self._entries:
            row = tomllib.loads(self._rows[code])
            self._entries[code] = Entry(**self._value({"by": UNTIL[row["who"]], **row}))
        return self._entries[code]

    def __iter__(self) -> Iterator[str]:
        return iter(self._rows)

    def __len__(self) -> int:
        return len(self._rows)

    def _value(self, value: Any) -> Any:
        """What a row says, with what is shared in the place of its name."""
        if isinstance(value, str) and value.startswith("="):
            return self._value(self._shared[value[1:]])
        if isinstance(value, list):
            return tuple(self._value(each) for each in value)
        if isinstance(value, dict):
            read = {key: self._value(each) for key, each in value.items()}
            return Each(**read) if "each" in read else read
        return value


CODES = Rows()

Places = Mapping[str, Span | Iterable[Span] | Iterable[tuple[Span, Mapping[str, Any]]] | None]
NOWHERE: Places = MappingProxyType({})


def make(code: str, subject: str, /, span: Span | None = None, *, at: Places = NOWHERE, **figures: Any) -> Finding:
    """A finding of `code` in the words of its row; `{subject}` is a figure too.

    `at` are other places that it speaks of, by the names that the row's `related` gives labels to: those that are None
    fall away, and several of one name may come each with the figures of its label. KeyError for a code that no table
    holds or a place that the row does not know."""
    entry = CODES[code]
    figures = {"subject": subject, **figures}
    return Finding(
        code=code,
        severity=entry.severity,
        subject=subject,
        message=render(entry.message, figures),
        span=span,
        label=render(entry.label, figures),
        notes=sentences(entry.notes, figures),
        help=render(entry.help, figures),
        related=tuple(_places(entry, at, figures)),
        measure=_measure(entry, figures),
        rule=render(entry.rule, figures),
        edits=tuple(dict.fromkeys(filter(None, (render(edit, figures) for edit in entry.edit)))),
        figures=figures,
    )


def _places(entry: Entry, at: Places, figures: Mapping[str, Any]) -> Iterator[Related]:
    for name, places in at.items():
        for each in [places] if isinstance(places, Span) else places or ():
            place, more = (each, {}) if isinstance(each, Span) else each
            yield Related(place, render(entry.related[name], {**figures, **more}))


def _measure(entry: Entry, figures: Mapping[str, Any]) -> Measure | None:
    if entry.measure is None:
        return None
    found, limit, unit = entry.measure
    value = measured(found, figures)
    return Measure(value, measured(limit, figures), render(unit, figures)) if value is not None else None
