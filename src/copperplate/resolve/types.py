"""`part` statements: facts about a type, written once, in the plate or in a file that it uses."""

from __future__ import annotations

import posixpath
from collections.abc import Callable
from dataclasses import dataclass, field

from copperplate import syntax
from copperplate.findings import Finding, Related, finding
from copperplate.model.kinds import DEVICE_KINDS, KINDS
from copperplate.resolve.atoms import Place
from copperplate.resolve.facts import Facts, read_facts
from copperplate.resolve.names import meant, read_head
from copperplate.resolve.words import an, table
from copperplate.syntax.tree import BadStatement, Declaration, Plate, RunStatement, Text, Word
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
            what = "a run" if isinstance(statement, RunStatement) else an(statement.keyword.text)
            message = f"`{chain[-1]}` is used for its parts, and {what} stands in it"
            help_ = f"move it to `{chain[0]}`"
            span = statement.span if isinstance(statement, RunStatement) else statement.keyword.span
            findings.append(finding("CP214", chain[-1], message, span, help=help_))


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
        message = "`use` wants the path of a file, in quotes"
        findings.append(finding("CP124", "use", message, statement.keyword.span, help='`use "parts.plate"`'))
        return
    path = _path(folder, text.text)
    source = read(path) if path is not None and path not in chain else None
    library.complete = library.complete and source is not None
    if path is None:
        message = f'`use "{text.text}"` leads outside the folder of the plate'
        help_ = "put the file into that folder or below it, and write its path from there with `/`"
        findings.append(finding("CP212", "use", message, text.span, help=help_))
        return
    if path in chain:
        circle = " -> ".join((*chain[chain.index(path) :], path))
        message = f"these files use each other in a circle: {circle}"
        findings.append(finding("CP213", "use", message, text.span, help="take one of these `use` lines out"))
        return
    if source is None:
        message = f"there is no file `{path}` beside `{chain[0]}`"
        findings.append(
            finding("CP211", "use", message, text.span, help="a path counted from the file that says `use`")
        )
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
        message = "a `part` says its name and its kind"
        findings.append(finding("CP206", "part", message, statement.keyword.span, help="`part roof-fan load, 4 A`"))
        return
    name = head.name.text
    possible = (*(k.word for k in KINDS.values() if k.component), *DEVICE_KINDS)
    if kind.text not in possible:
        library.unread.add(name)
        likely = nearest(kind.text, possible)
        message = f"a part cannot be {an(kind.text)}"
        help_ = f"`part {name} {likely}`" if likely else "a part is a component or a device: `part roof-fan load`"
        findings.append(finding("CP203", name, message, kind.span, help=help_))
        return
    first = library.types.get(name)
    if first is not None:
        message = f"two parts are called `{name}`"
        related = (Related(first.span, "the first"),)
        help_ = f"call one of them `{name}-2`, or better"
        findings.append(finding("CP201", name, message, head.name.span, label="again", related=related, help=help_))
        return
    place = Place(kind.text, name, length_unit, findings, known_ports(kind.text))
    facts = read_facts(statement.items, rest[1:], head.title, table(kind.text), place)
    other = facts.values.pop("part", None)
    if isinstance(other, Word):
        facts.strange += 1
        library.used.add(other.text)
        place.report(
            "CP204", f"`{name}` is a part, and takes nothing from another", other.span, help="say its facts here"
        )
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
            message = f"no part is called `{reference.text}`"
            help_ = f"`part {likely}`" if likely else f"declare it: `part {reference.text} {kind}, ...`"
            findings.append(finding("CP202", subject, message, reference.span, help=help_))
        facts.strange += 1
        return
    library.used.add(found.name)
    if found.kind != kind:
        message = f"`{subject}` is {an(kind)}, and the part `{found.name}` is {an(found.kind)}"
        related = (Related(found.span, f"{an(found.kind)}"),)
        findings.append(
            finding("CP215", subject, message, reference.span, related=related, help=f"declare a part of kind `{kind}`")
        )
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
