"""The conductor schedule that an installer wires from: every conductor, one a row, with what goes on each end.

A row on one line was chosen over a row on two (one for each end), for the columns fit at full size: a Letter sheet
holds 37 conductors, and would hold 19 on two lines by reckoning (that was not laid out).
"""

from __future__ import annotations

from collections.abc import Sequence

from copperplate.drawing import captions
from copperplate.drawing.captions import Task
from copperplate.drawing.listing import TICK, ListColumn, ListRow, ListSection, numbered, pages
from copperplate.drawing.page import Page
from copperplate.drawing.wire_groups import AC, KINDS, WireGroup
from copperplate.model import Lead
from copperplate.model.links import Link
from copperplate.model.results import Fit
from copperplate.model.wirelist import WireList

COLUMNS = (
    ListColumn("Marker", 34.0, bold=True),
    ListColumn("From", 32.0),
    ListColumn("Lug or ferrule", 30.0),
    ListColumn("To", 32.0),
    ListColumn("Lug or ferrule", 30.0),
    ListColumn("Size", 21.5),
    ListColumn("Colour", 11.5),
    ListColumn("Length", 12.0),
    ListColumn("Protected by", 32.0),
    ListColumn("Laid", 8.0, share=False),
    ListColumn("Ended", 9.5, share=False),
)


def schedules(task: Task, groups: Sequence[WireGroup]) -> list[Page]:
    """The sheets of the schedule, kind by kind; room is kept for the conductors of a few spare ways."""
    wires = WireList(task.design)
    fits = {(fit.conductor, fit.node): fit for fit in task.design.fits}
    sheets: list[Page] = []
    for kind in KINDS:
        parts = []
        for group in groups:
            if group.kind == kind:
                rows = [_link(task, fits, link) for link in group.links]
                for lot in group.lots:
                    rows += [_row(task, wires, fits, name) for name in lot.names]
                    rows += () if lot.names else _spare(f"{group.panel}.{lot.way}", 3 if kind == AC else 2)
                rows += [_lead(task, lead) for lead in group.leads]
                parts.append(ListSection(group.title, tuple(rows), "run" if group.bank else "heads", group.bank))
        remark = "Lengths are one way. Lug or ferrule left empty: the plate does not say what stands there."
        slug = f"schedule-{kind.lower().replace(' ', '-')}"
        made = pages(task.paper, f"Conductor schedule, {kind}", COLUMNS, parts, remark)
        for page in made:
            page.title = f"Schedule, {kind}"
        sheets += numbered(made, slug)
    return sheets


def _spare(way: str, count: int) -> list[ListRow]:
    """Rows for the conductors of a spare way, so that a circuit added to it moves nothing below."""
    empty = ("",) * len(COLUMNS)
    return [ListRow("free", way, ("", way, "spare", *empty[3:])), *[ListRow("free", way, empty)] * (count - 1)]


def fitting(fit: Fit | None, parallel: int, bare: bool = False) -> str:
    """`lug, stud M8`, `2 lugs, stud M10`, `ferrule 6 mm², clamp`, `splice`, without the terminal where `bare`.

    "" where the plate does not say what stands there: room for the hand that finds out."""
    if fit is None:
        return ""
    wrong = "" if fit.fits is not False else ", does not fit"
    many = f"{parallel} " if parallel > 1 else ""
    if fit.terminal.startswith("stud "):
        return f"{many}{'lugs' if many else 'lug'}" + ("" if bare else f", {fit.terminal}{wrong}")
    if fit.terminal.startswith("clamp"):
        ferrule = f"{many}{fit.fitting.split(',')[0]}" if fit.fitting else "bare"
        return ferrule if bare else f"{ferrule}, clamp{wrong}"
    return f"{many}splice" if fit.fitting.startswith("splice") else ""


def _row(task: Task, wires: WireList, fits: dict[tuple[str, str], Fit], name: str) -> ListRow:
    system = task.design.system
    conductor = system.conductors[name]
    run = system.runs[conductor.run]
    parallel = captions.parallel(task, run)
    guard = wires.protected_by(conductor)
    cells = (
        conductor.marker,
        wires.end(conductor.from_node, True),
        fitting(fits.get((name, conductor.from_node)), parallel),
        wires.end(conductor.to_node, False),
        fitting(fits.get((name, conductor.to_node)), parallel),
        ", ".join(filter(None, (captions.cable(task, run), run.lead))),
        captions.colour(task, name),
        captions.length_of(task, run.id, conductor.length_m),
        "none" if guard == "-" else guard,
        TICK,
        TICK,
    )
    return ListRow("scheduled", name, cells)


def _lead(task: Task, lead: Lead) -> ListRow:
    kind = lead.lead or "made-up lead"
    length = captions.length(task, lead.length_m)
    return ListRow(
        "lead", lead.id, (lead.marker, lead.from_end, "", lead.to_end, "", kind, "", length, "none", TICK, TICK)
    )


def _link(task: Task, fits: dict[tuple[str, str], Fit], link: Link) -> ListRow:
    run = task.design.system.runs[link.run]
    parallel = captions.parallel(task, run)
    cells = (
        link.marker,
        link.from_end,
        fitting(fits.get((link.id, link.from_end)), parallel),
        link.to_end,
        fitting(fits.get((link.id, link.to_end)), parallel),
        captions.size(task, run),
        link.colour,
        captions.length(task, link.length_m),
        "none, in the bank",
        TICK,
        TICK,
    )
    return ListRow("link", link.id, cells)
