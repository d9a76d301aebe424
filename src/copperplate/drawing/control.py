"""The control sheet: one row a signal, its contacts drawn open, from what gives it to what it acts on; made-up leads
below, which are bought by the piece."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from copperplate.drawing import captions, lettering, symbols
from copperplate.drawing.captions import Line, Task
from copperplate.drawing.page import Page, numbered
from copperplate.drawing.pen import Disc, Group, Polyline, Words, weight_of, words
from copperplate.model import Lead, Run

SHEET = "control"
"""The key under which other sheets refer to it."""
ENDS = 46.0
"""Room for the words of each end, mm."""
SLOT = 27.0
"""What a device takes of a row, mm."""
ABOVE, BELOW = 4.0, 6.4
HEAD = 9.0


@dataclass(frozen=True)
class _Row:
    """One signal's conductors and devices in order, or one lead."""

    begins: str
    ends: str
    steps: tuple[tuple[str, str], ...]
    lead: Lead | None = None


def pages(task: Task) -> list[Page]:
    """The control sheets; none where there is neither a signal nor a made-up lead."""
    system = task.design.system
    rows = [row for run in system.runs.values() if run.signal_a is not None for row in _signal(task, run)]
    rows += [_Row(lead.from_end, lead.to_end, (), lead) for lead in system.leads.values()]
    made: list[Page] = []
    y = 0.0
    for row in rows:
        tall = _tall(task, row)
        if not made or y + tall > task.paper.bottom:
            made.append(_begun(task))
            y = task.paper.top + HEAD
        _draw(task, made[-1], row, y, tall)
        y += tall
    return numbered(made, SHEET)


def _begun(task: Task) -> Page:
    remark = "Contacts are drawn open. Lengths are one way. A made-up lead is bought by the piece."
    page = Page("", "Control", remark=remark)
    page.show(SHEET)
    paper = task.paper
    head = Group("heads", "Control", "symbol")
    head.add(words(paper.left, paper.top + 3.4, "Given by", bold=True))
    head.add(words(paper.left + ENDS + 4.0, paper.top + 3.4, "Contacts and conductors", bold=True))
    head.add(words(paper.right - ENDS, paper.top + 3.4, "Acts on", bold=True))
    page.groups.append(head)
    return page


def _signal(task: Task, run: Run) -> Iterator[_Row]:
    """The conductors and devices of a signal in order, pole by pole, the device of its way first."""
    system = task.design.system
    onward: dict[str, tuple[str, str, str]] = {}
    for name in run.conductor_ids:
        wire = system.conductors[name]
        onward[wire.from_node] = ("conductor", name, wire.to_node)
    ways = (d.id for d in system.devices.values() if d.panel and any(b in onward for _, b in d.legs))
    for name in (*run.device_ids, *ways):
        for before, behind in system.devices[name].legs:
            onward[before] = ("device", name, behind)
    for node in onward.keys() - {behind for _, _, behind in onward.values()}:
        steps: list[tuple[str, str]] = []
        while node in onward:
            kind, name, node = onward.pop(node)
            steps.append((kind, name))
        yield _Row(run.from_end, run.to_end, tuple(steps))


def _rooms(task: Task, row: _Row) -> list[float]:
    """The width of each step: devices their slot, conductors the rest in equal parts."""
    wide = task.paper.right - task.paper.left - 2 * ENDS - 8.0
    devices = sum(kind == "device" for kind, _ in row.steps)
    slot = min(SLOT, wide / max(len(row.steps), 1))
    left = (wide - slot * devices) / max(len(row.steps) - devices, 1)
    return [slot if kind == "device" else left for kind, _ in row.steps]


def _labels(task: Task, row: _Row) -> list[list[Line]]:
    """The lines of each step: all but the last above the stroke."""
    found = []
    for (kind, name), room in zip(row.steps, _rooms(task, row), strict=True):
        within = room - 2
        label = captions.device(task, name, within) if kind == "device" else captions.conductors(task, [name], within)
        found.append(label)
    return found


def _tall(task: Task, row: _Row) -> float:
    lines = max((len(label) for label in _labels(task, row)), default=2) - 1
    return ABOVE + lettering.LINE * max(lines, 1) + BELOW


def _end(task: Task, address: str, x: float, y: float) -> list[Words]:
    """The address of an end over its title."""
    part = task.design.system.parts.get(address.partition(".")[0])
    title = lettering.clean(part.title) if part is not None else ""
    name = lettering.shorten(address, ENDS, bold=True)
    below = [words(x, y + 4.1, lettering.shorten(title, ENDS))] if title else []
    return [words(x, y + 0.4, name, bold=True), *below]


def _draw(task: Task, page: Page, row: _Row, top: float, tall: float) -> None:
    paper, system = task.paper, task.design.system
    y = top + tall - BELOW
    left, right = paper.left + ENDS + 4.0, paper.right - ENDS - 4.0
    for address, x in ((row.begins, paper.left), (row.ends, paper.right - ENDS)):
        part = address.partition(".")[0]
        if part in system.parts:
            page.groups.append(Group("part", part, "symbol").add(*_end(task, address, x, y)))
        else:
            page.groups.append(Group("heads", address, "symbol").add(*_end(task, address, x, y)))
    if row.lead is not None:
        page.groups.append(_lead(task, row.lead, left, right, y))
    x = left
    for (kind, name), room, lines in zip(row.steps, _rooms(task, row), _labels(task, row), strict=True):
        group = Group(kind, name, "conductor" if kind == "conductor" else "symbol")
        if kind == "conductor":
            wire = system.conductors[name]
            weight = weight_of(captions.area(task, system.runs[wire.run]))
            group.add(Polyline(((x, y), (x + room, y)), f"c-{wire.pole}", weight))
        else:
            middle = x + room / 2
            group.add(Polyline(((x, y), (middle - symbols.HALF, y)), "o"))
            group.add(*symbols.device_symbol(system.devices[name]).turned().at(middle, y))
            group.add(Polyline(((middle + symbols.HALF, y), (x + room, y)), "o"))
        group.add(*_lettered(lines, x + 1.0, y, 1.4 if kind == "conductor" else 2.4))
        page.groups.append(group)
        x += room
    below = Polyline(((paper.left, top + tall - 0.6), (paper.right, top + tall - 0.6)), "h")
    page.groups.append(Group("rule", "", "rule").add(below))


def _lettered(lines: Sequence[Line], x: float, y: float, clear: float) -> Iterator[Words]:
    """All lines but the last above the stroke, `clear` of it, that below it."""
    *above, last = lines
    for number, line in enumerate(reversed(above)):
        yield Words(x, y - clear - lettering.LINE * number, line)
    yield Words(x, y + 4.1, last)


def _lead(task: Task, lead: Lead, left: float, right: float, y: float) -> Group:
    group = Group("lead", lead.id, "conductor")
    group.add(Polyline(((left, y), (right, y)), "e"), Disc(left, y, 0.7), Disc(right, y, 0.7))
    room = right - left - 2
    what = lettering.shorten(lettering.clean(lead.lead) or "made-up lead", room)
    group.add(Words(left + 1.5, y - 1.4, ((lead.marker, True), (captions.length(task, lead.length_m), False))))
    return group.add(words(left + 1.5, y + 4.1, what))
