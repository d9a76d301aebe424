"""Every code a finding may carry. One table a family; `make()` is the way to make a finding."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from types import MappingProxyType
from typing import Any

from copperplate.findings import ac, conductors, devices, names, protection, reading, recheck, rules, sources, structure
from copperplate.findings.entry import Entry, measured, render, sentences
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

CODES: dict[str, Entry] = {
    code: entry
    for family in (reading, names, structure, conductors, devices, protection, rules, recheck, sources, ac)
    for code, entry in family.CODES.items()
}


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
