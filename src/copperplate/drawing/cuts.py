"""Names that no sheet has room for: each is a finding, for the sheet shows less than the plate says."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from copperplate.drawing import lettering
from copperplate.drawing.sheetset import Sheet
from copperplate.findings import Finding, make
from copperplate.model import Device, Part, System
from copperplate.model.results import Design
from copperplate.text import Span

BEGINNING = 40
"""Characters of a long text that a message repeats."""
STRIP = ("title", "client", "site", "designer", "revision", "date", "document", "status")
"""Settings that stand in the strip of every sheet."""


def cut_names(design: Design, drawn: Iterable[Sheet]) -> tuple[Finding, ...]:
    """A finding for each text that the sheets `drawn` of a design end in an ellipsis, in order of the sheets."""
    on: dict[str, list[int]] = {}
    for sheet in drawn:
        for text in sheet.cut:
            on.setdefault(text, []).append(sheet.number)
    made: dict[str, Finding] = {}
    for text, numbers in on.items():
        _, subject, owner, span = max(
            (named for named in _named(design.system) if named[0].strip() and lettering.clean(named[0]) in text),
            key=lambda named: len(named[0]),
            default=("", "system", {}, None),
        )
        beginning = text if len(text) <= BEGINNING else text[: BEGINNING - 1].rstrip() + "…"
        last = numbers[-1] if len(numbers) > 1 else None
        finding = make(
            "CP510", subject, span, length=len(text), beginning=beginning, first=numbers[0], last=last, **owner
        )
        made.setdefault(finding.message, finding)
    return tuple(made.values())


def _named(system: System) -> Iterator[tuple[str, str, dict[str, Any], Span | None]]:
    """The texts of a plate: each with the subject of a finding on it, the figure that says whose it is, its place."""
    for key in STRIP:
        yield getattr(system.settings, key), "system", {"setting": key}, system.settings.span
    things: tuple[Part | Device, ...] = (*system.parts.values(), *system.devices.values())
    for thing in things:
        yield thing.title, thing.id, {"titled": thing.id}, thing.span
        yield thing.id, thing.id, {"named": thing.id}, thing.span
