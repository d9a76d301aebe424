"""The one way in: the texts of a plate give its design, its findings, the closing line and the files of its pack.
Floor 8.

Every entrance calls it, and it is the public interface of the compiler:

    made = make({"launch.plate": text}, "launch.plate")
    made.design, made.findings, made.closing, made.files()

Pure: it reads no disk and no clock and starts no process; what it needs of other files it asks its `texts` for.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from hashlib import sha256
from typing import TYPE_CHECKING, Protocol

from copperplate.design import compile_plate, looked_at
from copperplate.findings import Finding
from copperplate.findings.terminal import closing
from copperplate.syntax import read
from copperplate.text import Source
from copperplate.units import counted

if TYPE_CHECKING:
    from copperplate.drawing import Sheet
    from copperplate.model.results import Design
    from copperplate.report import Changes


class Texts(Protocol):
    """The bytes of files by name, None where there is none. Names count from the folder of the plate; a dictionary
    will do."""

    def get(self, name: str, /) -> bytes | None: ...


@dataclass(frozen=True)
class Made:
    """What came of one plate. `sources` are the files that were read, by name, the plate first; None for one that is
    no text. `folder` and `called` are for readers, see `make`. `design` is None where the plate makes no system; with
    errors it may be partial."""

    name: str
    folder: str
    called: str
    sources: Mapping[str, Source | None]
    design: Design | None
    findings: tuple[Finding, ...]
    closing: str
    """The line that ends a check: how many findings of each weight stand, or of how much there is nothing to say."""
    digests: Mapping[str, str] = field(default_factory=dict)
    """SHA-256 of every file that was read, by name."""
    sheets: tuple[Sheet, ...] = ()
    """Empty until they are drawn."""

    @property
    def sound(self) -> Design | None:
        """The design of a plate without errors: a pack is made of no other."""
        return None if any(f.severity == "error" for f in self.findings) else self.design

    @property
    def draft(self) -> Design | None:
        """What a draft is drawn of: the design of a plate with errors, its title block told so. None where there is no
        error, and where nothing could be resolved."""
        design = self.design
        if design is None or self.sound is not None or not design.system.parts:
            return None
        status = f"Draft, {counted(len(design.errors), 'error')}"
        system = replace(design.system, settings=replace(design.system.settings, status=status))
        return replace(design, system=system)

    @property
    def open_findings(self) -> tuple[Finding, ...]:
        """The findings that nobody accepted."""
        return tuple(f for f in self.findings if f.accepted is None)

    def drawn(self, before: Made | None = None) -> Made:
        """The same with its sheets, and with what only they can tell among its findings; where errors stand, with the
        sheets of a draft. The issue of the revision `before` stands on the sheets above this one's."""
        from copperplate import drawing

        design = self.sound
        if design is None:
            return self if self.draft is None else replace(self, sheets=drawing.sheets(self.draft))
        since = before.design.system.settings if before is not None and before.design is not None else None
        sheets = drawing.sheets(design, since)
        if cut := drawing.cut_names(design, sheets):
            design = looked_at(design, cut)
            sheets = drawing.sheets(design, since)
        line = _closing(self.called, design, design.findings)
        return replace(self, design=design, findings=design.findings, closing=line, sheets=sheets)

    def files(self, stem: str = "", detail: bool = False, changes: Changes | None = None) -> dict[str, bytes]:
        """The files of the pack by name: sheets, report, lists and design. Where errors stand those of a draft, sheets
        and report, `NAME.draft.sheet-1-…`; none where nothing could be resolved. Their names begin with `stem`, by
        default the plate's name without its ending. `detail` gives every circuit its page of reasons; `changes` since
        an earlier revision are drawn and told."""
        from copperplate import report

        made = self if self.sheets else self.drawn()
        stem = stem or self.name.removesuffix(".plate")
        if made.sound is not None:
            pack = report.pack(made.sound, made.sheets, stem, detail, changes)
        elif made.draft is not None:
            pack = report.draft(made.draft, made.sheets, f"{stem}.draft")
        else:
            return {}
        return {name: text.encode() for name, text in pack.items()}


def make(texts: Texts, name: str, folder: str = "", called: str = "") -> Made:
    """Compile the plate `name` of `texts`, and the files that it uses. `folder` is what stands before the names of
    files where a reader sees them, `called` the plate's name in the closing line where that is not both together.

    Raises KeyError where `texts` has no file of that name."""
    sources: dict[str, Source | None] = {}
    no_texts: dict[str, tuple[Finding, ...]] = {}
    digests: dict[str, str] = {}

    def source_of(other: str) -> Source | None:
        data = texts.get(other)
        if data is None:
            return None
        digests[other] = sha256(data).hexdigest()
        sources[other], problems = read(data, other)
        if problems:
            no_texts[other] = problems
        return sources[other]

    called = called or folder + name
    source = source_of(name)
    if name not in sources:
        raise KeyError(name)
    if source is None:
        findings = no_texts[name]
        return Made(name, folder, called, sources, None, findings, _closing(called, None, findings), digests)
    design, findings = compile_plate(source, source_of)
    # A file that is there and is no text is not missing: what is wrong with it stands instead.
    missing = (f for f in findings if not (f.code == "CP211" and any(f"`{other}`" in f.message for other in no_texts)))
    findings = (*(f for problems in no_texts.values() for f in problems), *missing)
    return Made(name, folder, called, sources, design, findings, _closing(called, design, findings), digests)


def _closing(called: str, design: Design | None, findings: tuple[Finding, ...]) -> str:
    if design is None:
        return closing(findings, called, None, None)
    runs = sum(run.role == "run" for run in design.system.runs.values())
    return closing(findings, called, runs, len(design.system.devices))
