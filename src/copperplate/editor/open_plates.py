"""What the server knows of the plates that are open: text, tree, the last design, findings."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from copperplate.editor.names import Occurrence, occurrences
from copperplate.findings import Finding
from copperplate.making import Made, Texts, make
from copperplate.model.results import Design
from copperplate.syntax import parse
from copperplate.syntax.tree import Declaration, Plate, Word
from copperplate.text import Source

Inside = Callable[[Path, str], bytes | None]
"""Gives the bytes of a file below a folder, None where there is none or where it lies outside."""


@dataclass(frozen=True)
class Known:
    """One plate as it is in the editor. `design` is the last that could be made; `used` the plates that it uses."""

    path: Path
    source: Source
    tree: Plate
    made: Made
    design: Design | None
    used: tuple[Plate, ...]

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All findings, those that were accepted too."""
        return self.made.findings

    def at(self, offset: int) -> Occurrence | None:
        """The name at a character of the text."""
        return next((o for o in occurrences(self.tree) if o.span.start <= offset <= o.span.end), None)

    def given(self) -> dict[str, Occurrence]:
        """Where each name is given, here or in a plate that this one uses."""
        places: dict[str, Occurrence] = {}
        for tree in (self.tree, *self.used):
            for occurrence in occurrences(tree):
                if occurrence.gives:
                    places.setdefault(occurrence.name, occurrence)
        return places

    def kinds(self) -> dict[str, str]:
        """Every name that is given, with the word of its kind; of a name in a run "device"."""
        kinds: dict[str, str] = {}
        for tree in (self.tree, *self.used):
            for statement in tree.statements:
                if isinstance(statement, Declaration) and statement.head and isinstance(statement.head[0], Word):
                    kinds[statement.head[0].text] = statement.keyword.text
        return {name: kinds.get(name, "device") for name in self.given()}


def know(path: Path, texts: Texts, before: Known | None) -> Known:
    """Read and compile the plate at `path`. `before` is what was known of it: its design stays until there is a new
    one."""
    made = make(texts, path.name)
    source, *others = made.sources.values()
    tree, *used = (parse(each or Source(path.name, ""))[0] for each in (source, *others))
    design = before.design if made.design is None and before is not None else made.design
    return Known(path, tree.source, tree, made, design, tuple(used))
