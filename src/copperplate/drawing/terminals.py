"""The terminal sheets: what lands on every terminal, where the hand is, and what stands there to take it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from copperplate.drawing import captions
from copperplate.drawing.captions import Task
from copperplate.drawing.listing import ListColumn, ListRow, ListSection, numbered, pages
from copperplate.drawing.page import Page
from copperplate.drawing.schedule import fitting
from copperplate.drawing.wire_groups import Lot, WireGroup
from copperplate.model.parts import Roles
from copperplate.model.results import Fit
from copperplate.model.wirelist import WireList

COLUMNS = (
    ListColumn("Terminal", 24.5, bold=True),
    ListColumn("Accepts", 20.5),
    ListColumn("Marker", 25.0),
    ListColumn("Size", 14.5),
    ListColumn("Fitting", 22.0),
    ListColumn("Fit", 7.0, share=False),
    ListColumn("Torque", 10.5, share=False),
)
JOINED = ("Devices", "AC devices")
"""Groups that begin no table of their own."""
SHARED: dict[str, Callable[[Roles], bool]] = {
    "batteries": lambda roles: roles.stores,
    "panels": lambda roles: roles.bar and roles.protects,
    "bars": lambda roles: roles.is_busbar,
    "splices": lambda roles: roles.is_splice,
    "earths": lambda roles: roles.grounds,
}
"""Parts whose terminals take conductors of several circuits, by the words that a sheet of them is named by."""
NAMED = 3
"""So many of these words name it."""
AT_ONCE = 4
"""Rows of a terminal of several circuits are rounded up to so many, two of them free: room for what is added."""
REMARK = (
    "Left empty: the plate does not say what stands there. Torque: the terminal maker's figure, written in when made."
)


@dataclass(frozen=True)
class _End:
    """One end of one conductor: `owner` a part or a device, `name` the terminal as lists write it."""

    owner: str
    name: str
    conductor: str
    marker: str
    size: str
    fit: Fit | None
    parallel: int
    is_ac: bool


def terminals(task: Task, groups: Sequence[WireGroup]) -> list[Page]:
    """Every end of every conductor under the terminal that it lands on. What is shared, what is not, and AC have sheets
    of their own, so that what is added to one moves nothing on the others. Bars come last of what is shared, devices
    after the parts between them, and loads begin a table, for these gain ends most often."""
    system = task.design.system
    ends = list(_ends(task))
    dc, ac = [end for end in ends if not end.is_ac], [end for end in ends if end.is_ac]
    lots = {group.panel: group.lots for group in groups if group.panel}
    several = [part for part in system.parts.values() if any(holds(part.roles) for holds in SHARED.values())]
    shared = [part.id for part in sorted(several, key=lambda part: part.roles.is_busbar)]
    loads = [part.id for part in system.parts.values() if part.roles.is_load]
    others = [part for part in system.parts if part not in {*shared, *loads}]
    sets = (
        ("bars", "", [_part("Batteries, panels and bars", shared, dc, lots, True)]),
        (
            "devices-loads",
            "",
            [
                _part("Sources and converters", others, dc, lots, False),
                _part("Devices", system.devices, dc, lots, False),
                _part("Loads", loads, dc, lots, False),
            ],
        ),
        (
            "ac",
            "AC",
            [
                _part("AC parts", system.parts, ac, lots, True),
                _part("AC devices", system.devices, ac, lots, False),
            ],
        ),
    )
    made: list[Page] = []
    for slug, named, listed in sets:
        held = [part for part in listed if part.rows]
        names = [word for word, holds in SHARED.items() if any(holds(part.roles) for part in several)][:NAMED]
        words = names if slug == "bars" else [part.title.split(" ")[0].lower() for part in held]
        title = f"Terminals: {named or ', '.join(words)}"
        made += numbered(pages(task.paper, title, COLUMNS, held, REMARK), f"terminals-{slug}")
    return made


def _part(
    title: str, owners: Iterable[str], ends: Iterable[_End], lots: Mapping[str, Sequence[Lot]], is_shared: bool
) -> ListSection:
    """The terminals of some parts or devices, in their order."""
    mine: dict[str, list[_End]] = {owner: [] for owner in owners}
    for end in ends:
        if end.owner in mine:
            mine[end.owner].append(end)
    rows = (row for owner, held in mine.items() if held for row in _rows(owner, held, lots.get(owner, ()), is_shared))
    return ListSection(title, tuple(rows), apart=title not in JOINED)


def _ends(task: Task) -> Iterator[_End]:
    design = task.design
    wires = WireList(design)
    fits = {(fit.conductor, fit.node): fit for fit in design.fits}
    for conductor in design.system.conductors.values():
        run = design.system.runs[conductor.run]
        parallel = captions.parallel(task, run)
        for node, first in ((conductor.from_node, True), (conductor.to_node, False)):
            name = wires.end(node, first)
            terminal = design.system.nodes.get(node)
            owner = terminal.part if terminal is not None and terminal.part else name
            yield _End(
                owner, name, conductor.id, conductor.marker, captions.size(task, run),
                fits.get((conductor.id, node)), parallel, run.current == "ac",
            )  # fmt: skip
    for link in design.links:
        run = design.system.runs[link.run]
        for end in (link.from_end, link.to_end):
            yield _End(
                link.bank,
                end,
                link.id,
                link.marker,
                captions.size(task, run),
                fits.get((link.id, end)),
                captions.parallel(task, run),
                False,
            )


def _rows(owner: str, ends: Sequence[_End], lots: Sequence[Lot], is_shared: bool) -> list[ListRow]:
    """The rows of the terminals of one part or device: the spare ways of a panel in their places, and free rows where
    circuits meet."""
    at: dict[str, list[_End]] = {}
    for end in ends:
        at.setdefault(end.name, []).append(end)
    ways = {f"{owner}.{lot.way}" for lot in lots}
    names = [*(name for name in at if name not in ways), *(f"{owner}.{lot.way}" for lot in lots if lot.way)]
    rows: list[ListRow] = []
    for name in names:
        mine = at.get(name, [])
        for place, end in enumerate(mine):
            terminal = _terminal(end)
            fits = "" if end.fit is None else {True: "yes", False: "NO", None: ""}[end.fit.fits]
            shown = fitting(end.fit, end.parallel, bare=True)
            cells = (terminal.removeprefix("clamp "), end.marker, end.size, shown, fits, "")
            repeated = ("", "", *cells[1:]) if place and terminal == _terminal(mine[0]) else ("", *cells)
            rows.append(
                ListRow("end", name, repeated if place else (name, *cells), (name, *cells), (("of", end.conductor),))
            )
        if not mine:
            rows.append(ListRow("free", name, (name, "", "spare", "", "", "", "")))
        elif is_shared and len(mine) >= AT_ONCE:
            rows += [ListRow("free", name, ("",) * len(COLUMNS))] * (2 + -(len(mine) + 2) % AT_ONCE)
    return rows


def _terminal(end: _End) -> str:
    """What stands there, "" where the plate does not say."""
    return end.fit.terminal if end.fit is not None and end.fit.fits is not None else ""
