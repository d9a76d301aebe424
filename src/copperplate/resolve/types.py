"""`part` statements: facts about a type, written once, in the plate or in a file that it uses."""

from __future__ import annotations

import posixpath
from collections.abc import Callable
from dataclasses import dataclass

from copperplate import syntax
from copperplate.model.kinds import DEVICE_KINDS, KINDS
from copperplate.resolve.facts import read_facts
from copperplate.resolve.names import read_head
from copperplate.resolve.reading import Facts, Place, Reading, Type
from copperplate.resolve.words import table
from copperplate.syntax.tree import BadStatement, Declaration, Plate, Text, Word
from copperplate.text import Source, nearest

Reader = Callable[[str], Source | None]
"""Gives the source of a used file by its path from the folder of the plate, with `/` between folders; None where
there is no such file."""


def gather_types(reading: Reading, read: Reader) -> None:
    """The types of the plate and of every file that it uses, directly or through another."""
    name = reading.plate.source.name
    reading.library.files.append(name)
    _Gathering(reading, read).gather(reading.plate, "", (posixpath.basename(name.replace("\\", "/")),))


@dataclass(frozen=True)
class _Gathering:
    """Gathers the types of one plate."""

    reading: Reading
    read: Reader

    def gather(self, plate: Plate, folder: str, chain: tuple[str, ...]) -> None:
        """The types of `plate`, whose folder is counted from that of the main plate; `chain` are the files that led
        here."""
        main = len(chain) == 1
        for statement in plate.statements:
            keyword = statement.keyword if isinstance(statement, Declaration) else None
            if isinstance(statement, BadStatement):
                self.reading.library.unread.update([statement.name] if statement.name else [])
            elif isinstance(statement, Declaration) and statement.keyword.text == "part":
                self._type(statement, main)
            elif isinstance(statement, Declaration) and statement.keyword.text == "use":
                self._use(statement, folder, chain)
            elif not main and (keyword is None or keyword.text != "note"):
                kind, span = (keyword.text, keyword.span) if keyword else ("run", statement.span)
                self.reading.report("CP214", chain[-1], span, kind=kind, main=chain[0])

    def _use(self, statement: Declaration, folder: str, chain: tuple[str, ...]) -> None:
        report, library = self.reading.report, self.reading.library
        text = next((atom for atom in statement.head if isinstance(atom, Text)), None)
        if text is None:
            report("CP124", "use", statement.keyword.span, use=True)
            return
        path = _path(folder, text.text)
        source = self.read(path) if path is not None and path not in chain else None
        library.complete = library.complete and source is not None
        if path is None:
            report("CP212", "use", text.span, path=text.text)
        elif path in chain:
            report("CP213", "use", text.span, circle=" -> ".join((*chain[chain.index(path) :], path)))
        elif source is None:
            report("CP211", "use", text.span, path=path, main=chain[0])
        elif source.name not in library.files:
            library.files.append(source.name)
            used, problems = syntax.parse(source)
            self.reading.findings += problems
            self.gather(used, posixpath.dirname(path), (*chain, path))

    def _type(self, statement: Declaration, own: bool) -> None:
        report, library = self.reading.report, self.reading.library
        head = read_head(statement)
        kind = head.rest[0] if head.rest and isinstance(head.rest[0], Word) else None
        if head.name is None or kind is None:
            library.unread.update([head.name.text] if head.name is not None else [])
            report("CP206", "part", statement.keyword.span, part=True)
            return
        name, span = head.name.text, head.name.span
        possible = (*(entry.word for entry in KINDS.values() if entry.component), *DEVICE_KINDS)
        if kind.text not in possible:
            library.unread.add(name)
            report("CP203", name, kind.span, kind=kind.text, likely=nearest(kind.text, possible))
        elif name in library.types:
            at = {"first": library.types[name].span}
            report("CP201", name, span, kinds="parts", other=f"{name}-2", at=at)
        else:
            place = Place(kind.text, name, self.reading)
            facts = read_facts(statement.items, head.rest[1:], head.title, place)
            other = facts.values.pop("part", None)
            if isinstance(other, Word):
                facts.strange += 1
                library.used.add(other.text)
                place.report("CP204", other.span, part=True)
            library.types[name] = Type(name, kind.text, facts, span, own)


def _path(folder: str, written: str) -> str | None:
    """The path from the folder of the main plate, or None where it leads out of it."""
    if not written or written.startswith("/") or "\\" in written or ":" in written or "\0" in written:
        return None
    path = posixpath.normpath(posixpath.join(folder, written))
    return None if path == ".." or path.startswith("../") or path == "." else path


def apply_type(facts: Facts, kind: str, reference: Word | None, subject: str, reading: Reading) -> None:
    """What the statement does not say itself, from its `part` type."""
    if reference is None:
        return
    name, library = reference.text, reading.library
    type = library.types.get(name)
    if type is None:
        if name not in library.unread | reading.names.unread and library.complete:
            likely = reading.meant(name, library.types)
            library.used.update([likely] if likely else [])
            reading.report("CP202", subject, reference.span, part=name, keyword="part", likely=likely, kind=kind)
            library.unread.add(name)  # Once, for all that is of it.
        facts.strange += 1
        return
    library.used.add(name)
    if type.kind != kind:
        at = {"part": type.span}
        reading.report("CP215", subject, reference.span, part=name, kind=kind, other=type.kind, at=at)
        facts.strange += 1
        return
    stated, component = set(facts.values) | facts.broken, table(kind).type
    skipped = component.exclusive if component is not None and stated & set(component.exclusive) else ()
    for key, value in type.facts.values.items():
        if key not in stated and key not in skipped:
            facts.values[key] = value
            facts.spans.setdefault(key, type.facts.spans[key])
    facts.broken |= type.facts.broken - set(facts.values)
    facts.strange += type.facts.strange
    facts.terminals = {**type.facts.terminals, **facts.terminals}
    facts.advised = {**type.facts.advised, **facts.advised}
    facts.comparable = facts.comparable or type.facts.comparable
    facts.title = facts.title or type.facts.title
