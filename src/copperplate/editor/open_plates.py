"""What the server knows of the plates that are open: text, tree, the last design, findings."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from copperplate.editor.names import Occurrence, occurrences
from copperplate.findings import Finding
from copperplate.syntax import parse, read
from copperplate.syntax.tree import Plate, Text
from copperplate.text import Source

if TYPE_CHECKING:
    from copperplate.model.results import Design


class Answer(Protocol):
    """What compiling gives."""

    @property
    def design(self) -> Design | None: ...
    @property
    def findings(self) -> tuple[Finding, ...]: ...


Fetch = Callable[[str], bytes | None]
"""Gives the bytes of a file that a plate names by `use`."""
Compile = Callable[[str, bytes, Fetch], Answer]
Inside = Callable[[Path, str], bytes | None]
"""Gives the bytes of a file below a folder, None where there is none or where it lies outside."""


@dataclass(frozen=True)
class Known:
    """One plate as it is in the editor. `design` is the last that could be made; `used` the plates that it uses."""

    path: Path
    source: Source
    tree: Plate
    findings: tuple[Finding, ...]
    design: Design | None
    used: tuple[Plate, ...]

    def occurrences(self) -> list[Occurrence]:
        """Every place of a name in this plate."""
        return occurrences(self.tree)

    def at(self, offset: int) -> Occurrence | None:
        """The name at a character of the text."""
        return next((o for o in self.occurrences() if o.span.start <= offset <= o.span.end), None)

    def given(self) -> dict[str, Occurrence]:
        """Where each name is given, here or in a plate that this one uses."""
        everywhere = (o for tree in (self.tree, *self.used) for o in occurrences(tree) if o.gives)
        found: dict[str, Occurrence] = {}
        for occurrence in everywhere:
            found.setdefault(occurrence.name, occurrence)
        return found


def know(path: Path, text: str, compile_path: Compile, fetch: Fetch, before: Known | None) -> Known:
    """Read and compile one plate. `before` is what was known of it: its design stays until there is a new one."""
    data = text.encode("utf-8", "surrogatepass")
    source, reading = read(data, path.name)
    if source is None:
        source, findings, design = Source(path.name, ""), reading, None
    else:
        answer = compile_path(str(path), data, fetch)
        findings, design = answer.findings, answer.design
    tree, _ = parse(source)
    if design is None and before is not None:
        design = before.design
    return Known(path, source, tree, findings, design, tuple(_used(tree, fetch, {path.name})))


def _used(tree: Plate, fetch: Fetch, seen: set[str]) -> list[Plate]:
    """The trees of the files that a plate uses, and those use."""
    found: list[Plate] = []
    for statement in tree.declarations("use"):
        for atom in statement.head:
            data = fetch(atom.text) if isinstance(atom, Text) and atom.text not in seen else None
            if data is None or not isinstance(atom, Text):
                continue
            seen.add(atom.text)
            source, _ = read(data, atom.text)
            if source is not None:
                other, _ = parse(source)
                found += [other, *_used(other, fetch, seen)]
    return found
