"""Names that no sheet has room for: each is a finding, for the sheet shows less than the plate says."""

from __future__ import annotations

from collections.abc import Iterable

from copperplate.drawing import lettering
from copperplate.drawing.sheetset import Sheet
from copperplate.findings import Finding, finding
from copperplate.model import System
from copperplate.model.results import Design
from copperplate.text import Span

SAID = 40
"""Characters of a long text that a message repeats."""
STRIP = ("title", "client", "site", "designer", "revision", "date", "document", "status")
"""Settings that stand in the strip of every sheet."""


def cut_names(design: Design, drawn: Iterable[Sheet]) -> tuple[Finding, ...]:
    """A finding for each text that the sheets `drawn` of a design end in an ellipsis, in order of the sheets."""
    on: dict[str, list[int]] = {}
    for sheet in drawn:
        for text in sheet.cut:
            on.setdefault(text, []).append(sheet.number)
    found: dict[str, Finding] = {}
    for text, numbers in on.items():
        subject, what, span = _owner(design.system, text)
        sheets = f"sheet {numbers[0]}" if len(numbers) == 1 else f"sheets {numbers[0]} to {numbers[-1]}"
        said = text if len(text) <= SAID else text[: SAID - 1].rstrip() + "…"
        message = f"{what}, {len(text)} characters, is cut on {sheets}: there is no room for all of it"
        notes = (f"it begins: {said}", "the report has it in full")
        found.setdefault(message, finding("CP510", subject, message, span, notes=notes, help="say it shorter"))
    return tuple(found.values())


def _owner(system: System, text: str) -> tuple[str, str, Span | None]:
    """Subject, name and place of the text of a plate that stands in `text`: the longest of those that do."""
    named: list[tuple[str, str, str, Span | None]] = [
        (getattr(system.settings, key), "system", f"the `{key}` of the system", system.settings.span) for key in STRIP
    ]
    things = [(p.title, p.id, p.span) for p in system.parts.values()]
    things += [(d.title, d.id, d.span) for d in system.devices.values()]
    for title, name, span in things:
        named.append((title, name, f"the title of `{name}`", span))
        named.append((name, name, f"the name `{name}`", span))
    fitting = [one for one in named if one[0].strip() and lettering.clean(one[0]) in text]
    _, subject, what, place = max(fitting, key=lambda one: len(one[0]), default=("", "system", "a text", None))
    return subject, what, place
