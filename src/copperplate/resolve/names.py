"""The one namespace of a plate: components, routes, cases, named runs and named devices."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from copperplate.model.kinds import DEVICE_KINDS, KINDS
from copperplate.resolve.reading import Reading
from copperplate.resolve.words import plural, table
from copperplate.syntax.tree import (
    Atom,
    Bad,
    BadStatement,
    Bracket,
    Declaration,
    Item,
    RunStatement,
    Statement,
    Text,
    Word,
)
from copperplate.text import nearest

IMPLIED_CASES = ("everything", "charging")


@dataclass(frozen=True)
class Head:
    """What a declaration begins with: its name, its title, and the other atoms before the first comma."""

    name: Word | None
    title: Text | None
    rest: tuple[Atom, ...]


def read_head(declaration: Declaration) -> Head:
    """Name, title and the rest of a declaration's head, for a kind that is named."""
    atoms = declaration.head
    name = atoms[0] if atoms and isinstance(atoms[0], Word) else None
    atoms = atoms[1:] if name else atoms
    title = atoms[0] if atoms and isinstance(atoms[0], Text) else None
    return Head(name, title, atoms[1:] if title else atoms)


def declared(reading: Reading, *kinds: str) -> Iterator[tuple[Declaration, Head, Word]]:
    """The declarations of these kinds whose names count, in order: not those without a name or with one that is
    taken."""
    for statement in reading.plate.declarations(*kinds):
        head = read_head(statement)
        if head.name is not None and id(head.name) not in reading.names.twice:
            yield statement, head, head.name


def attach_lines(reading: Reading) -> None:
    """Lines that are not indented and go on with the statement above them: a finding each, and what they say counts."""
    statements: list[Statement] = []
    more: dict[int, list[Item]] = {}
    for statement in reading.plate.statements:
        above = statements[-1] if statements else None
        if isinstance(statement, Declaration) and isinstance(above, Declaration) and _goes_on(statement, above):
            _report_kind(statement, above, reading)
            first = Item((statement.keyword, *statement.head), statement.span)
            more.setdefault(len(statements) - 1, []).extend((first, *statement.items))
        else:
            statements.append(statement)
    for at, items in more.items():
        above = statements[at]
        assert isinstance(above, Declaration)
        statements[at] = replace(above, items=(*above.items, *items))
    reading.plate = replace(reading.plate, statements=tuple(statements))


def _goes_on(statement: Declaration, above: Declaration) -> bool:
    word, kind = statement.keyword.text, above.keyword.text
    strange = word not in KINDS and word not in DEVICE_KINDS and not _is_lost_run(statement)
    return strange and kind in KINDS and word in table(kind).known


def gather_names(reading: Reading) -> None:
    """Every name that the plate declares, and findings for names twice and names missing."""
    names = reading.names
    above: Declaration | None = None
    for statement in reading.plate.statements:
        if isinstance(statement, BadStatement):
            names.lost_case = names.lost_case or statement.keyword == "case"
            if statement.name:
                names.unread.add(statement.name)
            names.touched.update(word.text.split(".")[0] for word in statement.words)
            above = None
            continue
        for word, kind in _declared(statement, above, reading):
            _declare(word, kind, reading)
        if isinstance(statement, Declaration) and statement.keyword.text in KINDS:
            above = statement
    names.unread -= names.kinds.keys()


def _declared(statement: Statement, above: Declaration | None, reading: Reading) -> Iterable[tuple[Word, str]]:
    """The names that a statement declares, each with the kind of what carries it. `above` is the last declaration
    before it."""
    if isinstance(statement, RunStatement):
        if statement.name is not None:
            yield statement.name, "run"
        for element in statement.elements:
            if isinstance(element, Bracket) and element.name is not None:
                yield element.name, "device"
    elif isinstance(statement, Declaration):
        kind = statement.keyword.text
        entry = KINDS.get(kind)
        if entry is None and _is_lost_run(statement):
            reading.names.touched.update(re.findall("[a-z][a-z0-9-]*", statement.span.text))
        elif entry is None:
            head = read_head(statement)
            if head.name is not None:
                yield head.name, "unknown"
            _report_kind(statement, above, reading)
        elif entry.named and kind not in ("part", "place"):
            head = read_head(statement)
            if head.name is None:
                _report_nameless(statement, reading)
            else:
                yield head.name, kind


def _is_lost_run(statement: Declaration) -> bool:
    """True for a run whose first stroke could not be read; its finding is made."""
    return "--" in statement.span.text or "-/" in statement.span.text


def _declare(word: Word, kind: str, reading: Reading) -> None:
    name, names = word.text, reading.names
    if "." in name:
        reading.report("CP206", name, word.span, spelled=name.replace(".", "-"))
    if kind == "unknown":
        names.unread.add(name)
        return
    if kind == "case" and name in IMPLIED_CASES:
        reading.report("CP201", name, word.span, implied=True)
        names.twice.add(id(word))
        return
    first = names.spans.get(name)
    if first is not None:
        was: str | None = names.kinds[name]
        other = f"{name}-2" if f"{name}-2" not in names.spans else f"{name}-3"
        was, at = was if was != kind else None, {"first": first}
        reading.report("CP201", name, word.span, kind=kind, was=was, kinds=plural(kind), other=other, at=at)
        names.twice.add(id(word))
        return
    if "." in name:
        names.unread.add(name.partition(".")[0])
        names.twice.add(id(word))
        return
    names.kinds[name] = kind
    names.spans[name] = word.span


def _report_nameless(statement: Declaration, reading: Reading) -> None:
    kind = statement.keyword.text
    title = next((atom for atom in statement.head if isinstance(atom, Text)), None)
    words = "".join(c if c.isalnum() and c.isascii() else " " for c in title.text.lower()).split() if title else []
    name = "-".join(words) if words and words[0][0].isalpha() else "NAME"
    reading.names.unread.add(name)
    if any(isinstance(atom, Bad) for atom in statement.head):
        return
    instead = f'{kind} {name} "{title.text}"' if title else f"{kind} {name}"
    reading.report("CP206", kind, statement.keyword.span, component=KINDS[kind].component, instead=instead)


def _report_kind(statement: Declaration, above: Declaration | None, reading: Reading) -> None:
    word = statement.keyword.text
    if word in table("system").known and not any(reading.plate.declarations("system")):
        return  # What is missing is the `system` above it, which has its finding.
    about: dict[str, Any] = {}
    if word in DEVICE_KINDS:
        name = next((a.text for a in statement.head if isinstance(a, Word)), "")
        about["inside"] = f"{name}: {word}" if name else word
    elif above is not None and word in table(above.keyword.text).known:
        about["above"] = above.keyword.text
    else:
        about["likely"] = nearest(word, KINDS)
        reading.names.lost_case |= about["likely"] == "case"
    reading.report("CP203", word, statement.keyword.span, **about)
