"""The one namespace of a plate: components, routes, cases, named runs and named devices."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from copperplate.findings import Finding, make
from copperplate.model.kinds import DEVICE_KINDS, KINDS
from copperplate.resolve.words import plural, table
from copperplate.syntax.tree import (
    Atom,
    Bad,
    BadStatement,
    Bracket,
    Declaration,
    Plate,
    RunStatement,
    Statement,
    Text,
    Word,
)
from copperplate.text import Span, nearest

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


@dataclass
class Names:
    """Who carries which name. `unread` are names of statements that could not be read: they may be referred to
    and say nothing. `touched` are components that a broken statement may well connect, so that nobody reports
    them as unconnected."""

    kinds: dict[str, str] = field(default_factory=dict)
    spans: dict[str, Span] = field(default_factory=dict)
    unread: set[str] = field(default_factory=set)
    touched: set[str] = field(default_factory=set)
    twice: set[int] = field(default_factory=set)
    """`id()` of the words that repeat a name or are none: their statements are left out."""
    lost_case: bool = False
    """True where a case could not be read, so that nobody knows what it turns on."""

    def of_kind(self, kind: str) -> list[str]:
        """The declared names of one kind."""
        return [name for name, other in self.kinds.items() if other == kind]


def meant(word: str, names: Iterable[str], findings: list[Finding]) -> str | None:
    """The name that `word` probably means. None behind so many findings that nobody would read this one: looking
    through the names of a large plate takes time."""
    return nearest(word, names) if len(findings) < 100 else None


def gather_names(plate: Plate, findings: list[Finding]) -> Names:
    """Every name that the plate declares, and findings for names twice and names missing."""
    names = Names()
    above: Declaration | None = None
    for statement in plate.statements:
        if isinstance(statement, BadStatement):
            names.lost_case = names.lost_case or statement.keyword == "case"
            if statement.name:
                names.unread.add(statement.name)
            names.touched.update(word.text.split(".")[0] for word in statement.words)
            above = None
            continue
        for word, kind in _declared(statement, above, names, findings):
            _declare(word, kind, names, findings)
        if isinstance(statement, Declaration) and statement.keyword.text in KINDS:
            above = statement
    for name in names.unread & names.kinds.keys():
        names.unread.discard(name)
    return names


def _declared(
    statement: Statement, above: Declaration | None, names: Names, findings: list[Finding]
) -> Iterable[tuple[Word, str]]:
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
            names.touched.update(re.findall("[a-z][a-z0-9-]*", statement.span.text))
        elif entry is None:
            head = read_head(statement)
            if head.name is not None:
                yield head.name, "unknown"
            _report_kind(statement, above, names, findings)
        elif entry.named and kind != "part":
            head = read_head(statement)
            if head.name is None:
                _report_nameless(statement, names, findings)
            else:
                yield head.name, kind


def _is_lost_run(statement: Declaration) -> bool:
    """True for a run whose first stroke could not be read; its finding is made."""
    return "--" in statement.span.text or "-/" in statement.span.text


def _declare(word: Word, kind: str, names: Names, findings: list[Finding]) -> None:
    name = word.text
    if "." in name:
        findings.append(make("CP206", name, word.span, spelled=name.replace(".", "-")))
    if kind == "unknown":
        names.unread.add(name)
        return
    if kind == "case" and name in IMPLIED_CASES:
        findings.append(make("CP201", name, word.span, implied=True))
        names.twice.add(id(word))
        return
    first = names.spans.get(name)
    if first is not None:
        was: str | None = names.kinds[name]
        other = f"{name}-2" if f"{name}-2" not in names.spans else f"{name}-3"
        was, at = was if was != kind else None, {"first": first}
        findings.append(make("CP201", name, word.span, kind=kind, was=was, kinds=plural(kind), other=other, at=at))
        names.twice.add(id(word))
        return
    if "." in name:
        names.unread.add(name.partition(".")[0])
        names.twice.add(id(word))
        return
    names.kinds[name] = kind
    names.spans[name] = word.span


def _report_nameless(statement: Declaration, names: Names, findings: list[Finding]) -> None:
    kind = statement.keyword.text
    title = next((atom for atom in statement.head if isinstance(atom, Text)), None)
    words = "".join(c if c.isalnum() and c.isascii() else " " for c in title.text.lower()).split() if title else []
    name = "-".join(words) if words and words[0][0].isalpha() else "NAME"
    names.unread.add(name)
    if any(isinstance(atom, Bad) for atom in statement.head):
        return
    instead = f'{kind} {name} "{title.text}"' if title else f"{kind} {name}"
    findings.append(make("CP206", kind, statement.keyword.span, component=KINDS[kind].component, instead=instead))


def _report_kind(statement: Declaration, above: Declaration | None, names: Names, findings: list[Finding]) -> None:
    word = statement.keyword.text
    about: dict[str, Any] = {}
    if word in DEVICE_KINDS:
        name = next((a.text for a in statement.head if isinstance(a, Word)), "")
        about["inside"] = f"{name}: {word}" if name else word
    elif above is not None and word in table(above.keyword.text).known:
        about["above"] = above.keyword.text
    else:
        about["likely"] = nearest(word, KINDS)
        names.lost_case = names.lost_case or about["likely"] == "case"
    findings.append(make("CP203", word, statement.keyword.span, **about))
