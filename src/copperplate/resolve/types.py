"""`part` statements: facts about a type, written once, in the plate or in a file that it uses."""

from __future__ import annotations

import posixpath
from collections.abc import Callable
from dataclasses import dataclass, field

from copperplate import syntax
from copperplate.findings import Finding, make
from copperplate.model.kinds import DEVICE_KINDS, KINDS
from copperplate.resolve.atoms import Place
from copperplate.resolve.facts import Facts, read_facts
from copperplate.resolve.names import meant, read_head
from copperplate.resolve.words import table
from copperplate.syntax.tree import BadStatement, Declaration, Plate, Text, Word
from copperplate.text import Source, Span, nearest

Reader = Callable[[str], Source | None]
"""Gives the source of a used file by its path from the folder of the plate, with `/` between folders; None where
there is no such file."""

@dataclass(frozen=True)
class Type:
    """One `part` statement."""

    name: str
    kind: str
    facts: Facts
    span: Span
    own: bool
    """True where the plate itself declares it, not a used file."""


@dataclass
class Library:
    """All types that the plate can name, and the files read on the way."""

    types: dict[str, Type] = field(default_factory=dict)
    unread: set[str] = field(default_factory=set)
    files: list[str] = field(default_factory=list)
    used: set[str] = field(default_factory=set)
    complete: bool = True
    """False where a used file could not be read: what is missing may well stand in it."""


def gather_types(plate: Plate, read: Reader, length_unit: str, findings: list[Finding]) -> Library:
    """The types of the plate and of every file that it uses, directly or through another."""
    library = Library(files=[plate.source.name])
    _gather(
        plate, "", (posixpath.basename(plate.source.name.replace("\\", "/")),), library, read, length_unit, findings
    )
    return library


def _gather(
    plate: Plate,
    folder: str,
    chain: tuple[str, ...],
    library: Library,
    read: Reader,
    length_unit: str,
    findings: list[Finding],
) -> None:
    """`folder` is that of `plate`, from the folder of the main plate; `chain` the files that led here."""
    main = len(chain) == 1
    for statement in plate.statements:
        if isinstance(statement, Declaration) and statement.keyword.text == "part":
            _read_type(statement, main, library, length_unit, findings)
        elif isinstance(statement, Declaration) and statement.keyword.text == "use":
            _use(statement, folder, chain, library, read, length_unit, findings)
        elif isinstance(statement, BadStatement):
            if statement.name:
                library.unread.add(statement.name)
        elif not main and not (isinstance(statement, Declaration) and statement.keyword.text == "note"):
            kind, span = "run", statement.span
            if isinstance(statement, Declaration):
                kind, span = statement.keyword.text, statement.keyword.span
            findings.append(make("CP214", chain[-1], span, kind=kind, main=chain[0]))


def _use(
    statement: Declaration,
    folder: str,
    chain: tuple[str, ...],
    library: Library,
    read: Reader,
    length_unit: str,
    findings: list[Finding],
) -> None:
    text = next((atom for atom in statement.head if isinstance(atom, Text)), None)
    if text is None:
        findings.append(make("CP124", "use", statement.keyword.span, use=True))
        return
    path = _path(folder, text.text)
    source = read(path) if path is not None and path not in chain else None
    library.complete = library.complete and source is not None
    if path is None:
        findings.append(make("CP212", "use", text.span, path=text.text))
        return
    if path in chain:
        circle = " -> ".join((*chain[chain.index(path) :], path))
        findings.append(make("CP213", "use", text.span, circle=circle))
        return
    if source is None:
        findings.append(make("CP211", "use", text.span, path=path, main=chain[0]))
        return
    if source.name in library.files:
        return
    library.files.append(source.name)
    used, reading = syntax.parse(source)
    findings += reading
    _gather(used, posixpath.dirname(path), (*chain, path), library, read, length_unit, findings)


def _path(folder: str, written: str) -> str | None:
    """The path from the folder of the main plate, or None where it leads out of it."""
    if not written or written.startswith("/") or "\\" in written or ":" in written or "\0" in written:
        return None
    path = posixpath.normpath(posixpath.join(folder, written))
    return None if path == ".." or path.startswith("../") or path == "." else path


def _read_type(statement: Declaration, own: bool, library: Library, length_unit: str, findings: list[Finding]) -> None:
    head = read_head(statement)
    rest = head.rest
    kind = rest[0] if rest and isinstance(rest[0], Word) else None
    if head.name is None or kind is None:
        if head.name is not None:
            library.unread.add(head.name.text)
        findings.append(make("CP206", "part", statement.keyword.span, part=True))
        return
    name = head.name.text
    possible = (*(k.word for k in KINDS.values() if k.component), *DEVICE_KINDS)
    if kind.text not in possible:
        library.unread.add(name)
        likely = nearest(kind.text, possible)
        findings.append(make("CP203", name, kind.span, kind=kind.text, likely=likely))
        return
    first = library.types.get(name)
    if first is not None:
        at = {"first": first.span}
        findings.append(make("CP201", name, head.name.span, kinds="parts", other=f"{name}-2", at=at))
        return
    place = Place(kind.text, name, length_unit, findings, known_ports(kind.text))
    facts = read_facts(statement.items, rest[1:], head.title, table(kind.text), place)
    other = facts.values.pop("part", None)
    if isinstance(other, Word):
        facts.strange += 1
        library.used.add(other.text)
        place.report("CP204", other.span, part=True)
    library.types[name] = Type(name, kind.text, facts, head.name.span, own)


def known_ports(kind: str) -> tuple[str, ...]:
    """The words that may name a terminal of this kind, for `terminal` and `advised-wire`."""
    ports = [port for port in KINDS[kind].ports if port] if kind in KINDS else []
    groups = [port.split(".")[0] for port in ports if "." in port]
    ways = ["way"] if kind in KINDS and "ways" in table(kind).attributes else []
    return tuple(dict.fromkeys([*ports, *groups, *ways]))


def apply_type(
    facts: Facts, kind: str, reference: Word | None, library: Library, subject: str, findings: list[Finding]
) -> None:
    """What the statement does not say itself, from its `part` type."""
    if reference is None:
        return
    found = library.types.get(reference.text)
    if found is None:
        if reference.text not in library.unread and library.complete:
            likely = meant(reference.text, library.types, findings)
            library.used.update([likely] if likely else [])
            name = reference.text
            findings.append(make("CP202", subject, reference.span, part=name, keyword="part", likely=likely, kind=kind))
        facts.strange += 1
        return
    library.used.add(found.name)
    if found.kind != kind:
        at = {"part": found.span}
        findings.append(make("CP215", subject, reference.span, part=found.name, kind=kind, other=found.kind, at=at))
        facts.strange += 1
        return
    said = set(facts.values) | facts.broken
    type = KINDS[kind].type if kind in KINDS else None
    skipped = type.exclusive if type is not None and said & set(type.exclusive) else ()
    for key, value in found.facts.values.items():
        if key not in said and key not in skipped:
            facts.values[key] = value
            facts.spans.setdefault(key, found.facts.spans[key])
    facts.broken |= found.facts.broken - set(facts.values)
    facts.strange += found.facts.strange
    facts.terminals = {**found.facts.terminals, **facts.terminals}
    facts.advised = {**found.facts.advised, **facts.advised}
    facts.comparable = facts.comparable or found.facts.comparable
    facts.title = facts.title or found.facts.title
