"""The report of a design: its four documents, one after the other, each with what its reader acts on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from copperplate.model.results import Design
from copperplate.report.blocks import Block, Column, Heading, Picture, Table, numbered
from copperplate.report.changes import Changes
from copperplate.report.client import client, verdict
from copperplate.report.commissioning import commissioning
from copperplate.report.engineer import assumptions, engineer
from copperplate.report.facts import Facts
from copperplate.report.installer import installer
from copperplate.report.protection import protection
from copperplate.report.sheets import Sheet, shown_on
from copperplate.report.volts import volts
from copperplate.report.words import counted, plain, text, trimmed


def document(
    design: Design, sheets: Sequence[Sheet] = (), detail: bool = False, since: Changes | None = None
) -> list[Block]:
    """The report of a design. `sheets` are named in it, the first by the client and all others by the installer;
    `detail` gives every circuit its reasons; `since` adds what changed since another revision, whose points keep their
    letters. Of a design with errors there is a draft: what is wrong, the sheets and what was reckoned so far."""
    facts = Facts(design, shown_on(design, sheets), since.questions if since is not None else ())
    if design.errors:
        return numbered(
            [
                *_front(design),
                Heading(2, "Client"),
                *verdict(facts),
                Heading(2, "Installer"),
                *_pictures("Sheets", sheets, slice(None)),
                Heading(2, "Inspector"),
                *protection(facts),
                Heading(2, "Engineer"),
                *volts(facts),
                *assumptions(facts),
            ]
        )
    return numbered(
        [
            *_front(design),
            Heading(2, "Client"),
            *client(facts),
            *_pictures("Wiring diagram", sheets, slice(0, 1)),
            Heading(2, "Installer"),
            *facts.cautions(),
            *_sheets(design, sheets),
            *installer(facts),
            Heading(2, "Inspector"),
            *protection(facts),
            *commissioning(facts),
            Heading(2, "Engineer"),
            *engineer(facts, detail, since),
        ]
    )


def _front(design: Design) -> Iterator[Block]:
    """Title and title block, which every document begins with."""
    settings = design.system.settings
    yield Heading(1, f"{'Draft: ' if design.errors else ''}{text(settings.title) or 'Untitled system'}")
    volts = f"{trimmed(settings.nominal_v, 1)} V electrical system"
    yield f"{volts} with {settings.ac} V AC" if settings.ac else volts
    status = f"**{text(settings.status)}**" if plain(settings.status) else ""
    said = (
        ("Prepared for", settings.client), ("Where", settings.site), ("Document", settings.document),
        ("Revision", settings.revision), ("Date", settings.date), ("Rules", design.profile_title),
        ("Prepared by", settings.designer),
    )  # fmt: skip
    rows = [(name, text(value)) for name, value in said if plain(value)] + ([("Status", status)] if status else [])
    yield Table("", (Column("Entry", 12), Column("Value", 56)), tuple(rows), marks=("titleblock",))


def _pictures(title: str, sheets: Sequence[Sheet], which: slice) -> Iterator[Block]:
    if sheets[which]:
        yield Heading(3, title)
    for number, sheet in list(enumerate(sheets, 1))[which]:
        yield Picture(sheet.filename, f"Sheet {number}, {text(sheet.title)}")


def _sheets(design: Design, sheets: Sequence[Sheet]) -> Iterator[Block]:
    paper = design.system.settings.paper.upper() if design.system.settings.paper != "letter" else "Letter"
    yield Heading(3, "Sheets", wide=True)
    if not sheets:
        yield "No sheet was drawn."
        return
    yield (
        f"{counted(len(sheets), 'sheet').capitalize()}, {paper} landscape, at true scale. Sheet 1, the wiring diagram,"
        " stands in the client's document too. Markers in the tables are the markers on the sheets and on the wires."
    )
    for number, sheet in list(enumerate(sheets, 1))[1:]:
        yield Picture(sheet.filename, f"Sheet {number}, {text(sheet.title)}")
