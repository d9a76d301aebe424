"""The design report: its sections, block by block."""

from __future__ import annotations

from collections.abc import Sequence

from copperplate.model.results import Design
from copperplate.report.blocks import Block, Break, Heading, Picture, numbered
from copperplate.report.changes import Changes, changes
from copperplate.report.closing import assumptions, checks, signatures, sources
from copperplate.report.energy import energy
from copperplate.report.facts import Facts
from copperplate.report.front import front, summary
from copperplate.report.loading import loading
from copperplate.report.materials import materials
from copperplate.report.protection import protection
from copperplate.report.reasons import reasons
from copperplate.report.schedules import circuits, terminals, wiring
from copperplate.report.sheets import Sheet, shown_on
from copperplate.report.volts import volts
from copperplate.report.words import counted, text


def document(
    design: Design, sheets: Sequence[Sheet] = (), detail: bool = False, since: Changes | None = None
) -> list[Block]:
    """The report of a design. `sheets` are named in section 2; `detail` gives every circuit its reasons; `since`
    adds what changed since another revision. Of a design with errors there is a draft: what is wrong, the sheets and
    what was reckoned so far."""
    facts = Facts(design, shown_on(design, sheets))
    if design.errors:
        told = [*circuits(facts), *protection(facts), *volts(facts), *assumptions(facts)]
        return numbered([*front(facts), *summary(facts), *_sheets(design, sheets), *told])
    return numbered(
        [
            *front(facts),
            *summary(facts),
            *(changes(since) if since is not None else ()),
            *_sheets(design, sheets),
            *circuits(facts),
            *wiring(facts),
            *terminals(facts),
            *protection(facts),
            *volts(facts),
            *loading(facts),
            Break(),
            *reasons(facts, detail),
            Break(),
            *energy(facts),
            *materials(facts),
            *assumptions(facts),
            *sources(facts),
            Break(),
            *checks(facts),
            *signatures(facts),
        ]
    )


def _sheets(design: Design, sheets: Sequence[Sheet]) -> list[Block]:
    if not sheets:
        return [Heading(2, "2", "Sheets"), "No sheet was drawn."]
    paper = design.system.settings.paper.upper() if design.system.settings.paper != "letter" else "Letter"
    intro = (
        f"{counted(len(sheets), 'sheet')}, {paper} landscape, at true scale. Tags in the tables are the tags on the"
        " sheets and on the markers."
    )
    pictures = (Picture(s.filename, f"Sheet {n}, {text(s.title)}") for n, s in enumerate(sheets, 1))
    return [Heading(2, "2", "Sheets"), intro, *pictures]
