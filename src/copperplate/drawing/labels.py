"""The label sheets, to be printed at true scale and cut out: sleeves for both ends of every conductor, labels of
devices in the line, and a legend card for the inside of each panel's lid.

A sleeve carries its text twice, so that it reads from both sides of the conductor that it is wrapped round. All are
of one height; what is longer gets a longer sleeve.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from copperplate.drawing import captions, lettering
from copperplate.drawing.captions import Task
from copperplate.drawing.listing import numbered
from copperplate.drawing.page import Page
from copperplate.drawing.paper import Paper
from copperplate.drawing.pen import Box, Group, Polyline, words
from copperplate.drawing.wire_groups import AC, WireGroup
from copperplate.model import Device
from copperplate.model.parts import Panel

SLEEVE = 10.0
"""Height of a sleeve of one line, which is written twice."""
GAP = 1.0
SLOT = 41.0
"""Room of two sleeves of 20 mm; longer ones take two or three slots."""
MOST_SLOTS = 3
HEADING = 6.0
DEVICE = 50.0
CARD = 78.0
"""Widths of a device's label and of a legend card."""
WAY = 8.0
"""Room of the number of a way."""
RATED = 17.0
"""Room of the rating of a way."""
EDGE = 2.0
"""From the edge of a label to its text."""
RULE = 50.0
"""Length of the line that proves the scale of a print."""
REMARK = "Print at 100 %: the line at the top is 50 mm long. Cover sleeves with clear film."


@dataclass(frozen=True)
class _Label:
    """One label: its size, and how it is drawn with its corner at a place."""

    width: float
    height: float
    draw: Callable[[float, float], Group]


def labels(task: Task, groups: Sequence[WireGroup]) -> list[Page]:
    """The sheets of labels: sleeves group by group, then devices, then cards."""
    shelf = _Shelf(task.paper)
    for group in groups:
        shelf.fill(f"Sleeves, two for each conductor: {group.title}", list(_sleeves(task, group)))
    devices = [device for device in task.design.system.devices.values() if not device.panel]
    shelf.fill("Devices", [_device(task, device) for device in devices])
    panels = task.design.system.of(Panel)
    shelf.fill("Legend cards of panels", [card for panel in panels for card in _cards(task, panel)])
    return numbered(shelf.pages, "labels")


class _Shelf:
    """Labels set from left to right in rows, on as many sheets as it takes."""

    def __init__(self, paper: Paper) -> None:
        self.paper = paper
        self.pages: list[Page] = []
        self.y = paper.bottom

    def fill(self, title: str, labels: Sequence[_Label]) -> None:
        """A group of labels under its heading, which every further sheet repeats."""
        rows: list[list[_Label]] = []
        room = 0.0
        for label in labels:
            if not rows or label.width > room:
                rows.append([])
                room = self.paper.right - self.paper.left
            rows[-1].append(label)
            room -= label.width + GAP
        for place, row in enumerate(rows):
            tall = max(label.height for label in row)
            if self.y + (0.0 if place else HEADING) + tall > self.paper.bottom:
                self._page()
                self._heading(title + (", continued" if place else ""))
            elif not place:
                self._heading(title)
            x = self.paper.left
            for label in row:
                self.pages[-1].groups.append(label.draw(x, self.y))
                x += label.width + GAP
            self.y += tall + GAP

    def _heading(self, title: str) -> None:
        text = lettering.shorten(lettering.clean(title), self.paper.right - self.paper.left, bold=True)
        head = Group("heads", title, "symbol").add(words(self.paper.left, self.y + 4.0, text, bold=True))
        self.pages[-1].groups.append(head)
        self.y += HEADING

    def _page(self) -> None:
        page = Page("", "Labels", remark=REMARK)
        left, top, right = self.paper.left, self.paper.top, self.paper.right
        head = Group("heads", "Labels at true scale", "symbol")
        head.add(words(left, top + 3.4, "Labels at true scale", bold=True, size=lettering.NAME))
        start = right - RULE
        ends = ((start, top + 1.2), (start, top + 3.2)), ((right, top + 1.2), (right, top + 3.2))
        head.add(Polyline(((start, top + 2.2), (right, top + 2.2)), "o", 0.25, then=ends))
        head.add(words(start - 2.0, top + 3.2, "50 mm", anchor="end"))
        page.groups.append(head)
        self.pages.append(page)
        self.y = top + 6.0


def _sleeves(task: Task, wires: WireGroup) -> Iterator[_Label]:
    """The sleeves of a group, conductor by conductor in slots of one width; empty slots for a spare way, so that what
    is added to it moves no other."""
    runs = task.design.system.runs
    for lot in wires.lots:
        for name in lot.names:
            conductor = task.design.system.conductors[name]
            yield from _pairs(name, conductor.marker, captions.parallel(task, runs[conductor.run]))
        for _ in range(0 if lot.names else 3 if wires.kind == AC else 2):
            yield _Label(SLOT, SLEEVE, lambda x, y: Group("label", "free", "symbol"))
    for link in wires.links:
        yield from _pairs(link.id, link.marker, captions.parallel(task, runs[link.run]))


def _pairs(name: str, marker: str, count: int) -> Iterator[_Label]:
    """The two sleeves of a conductor, side by side, or those of each of several."""
    slots = 1
    while slots < MOST_SLOTS and lettering.width(marker, bold=True) + 2 * EDGE > _wide(slots):
        slots += 1
    width = _wide(slots)
    lines = lettering.wrap(marker, width - 2 * EDGE, bold=True)
    height = SLEEVE + 2 * lettering.LINE * (len(lines) - 1)

    def draw(x: float, y: float) -> Group:
        group = Group("label", "sleeves", "symbol", notes=(("of", name),))
        for left in (x, x + width + GAP):
            group.add(Box(left, y, width, height, "h"))
            for place, line in enumerate((*lines, *lines)):
                baseline = y + 4.2 + lettering.LINE * place
                group.add(words(left + width / 2, baseline, line, bold=True, anchor="middle"))
        return group

    for _ in range(count):
        yield _Label(2 * width + GAP, height, draw)


def _wide(slots: int) -> float:
    """Width of each of two sleeves that take so many slots together."""
    return (slots * (SLOT + GAP) - 2 * GAP) / 2


def _device(task: Task, device: Device) -> _Label:
    """Name, what it is and its rating: what a replacement must be."""
    name = lettering.wrap(device.id, DEVICE - 2 * EDGE, lettering.NAME, True)
    kind = captions.family(task, device)
    rated = " ".join(text for text in (captions.rating(task, device), kind) if text)
    rated += f", {device.poles} poles" if device.poles > 1 else ""
    texts = [rated, lettering.clean(device.title)]
    if device.roles.melts:
        texts.append("Replace with the same only.")
    small = [line for text in texts if text for line in lettering.wrap(text, DEVICE - 2 * EDGE)]
    height = max(14.6, 3.0 + 4.2 * len(name) + lettering.LINE * len(small))

    def draw(x: float, y: float) -> Group:
        group = Group("label", "device", "symbol", notes=(("of", device.id),)).add(Box(x, y, DEVICE, height, "h"))
        for place, line in enumerate(name):
            group.add(words(x + EDGE, y + 4.4 + 4.2 * place, line, bold=True, size=lettering.NAME))
        for place, line in enumerate(small):
            group.add(words(x + EDGE, y + 4.2 * (len(name) + 1) + lettering.LINE * place, line))
        return group

    return _Label(DEVICE, height, draw)


def _cards(task: Task, panel: Panel) -> Iterator[_Label]:
    """The legend of a panel: what each way feeds and by what it is protected; cards of a height that a sheet holds."""
    room = task.paper.bottom - task.paper.top - HEADING - 8.0
    title = lettering.wrap(
        ", ".join(dict.fromkeys((panel.id, captions.name_of(panel)))), CARD - 2 * EDGE, lettering.NAME, True
    )
    head = 3.0 + 4.2 * len(title)
    rows = [
        (way, lettering.wrap(text, CARD - 2 * EDGE - WAY - RATED), rated) for way, text, rated in _ways(task, panel)
    ]
    while rows:
        taken: list[tuple[str, tuple[str, ...], str]] = []
        height = head + 2.0
        while rows and height + _tall(rows[0][1]) <= room:
            height += _tall(rows[0][1])
            taken.append(rows.pop(0))
        if not taken:
            return
        yield _Label(CARD, height, _card(panel, title, head, taken, height))


def _tall(lines: Sequence[str]) -> float:
    return 4.6 + lettering.LINE * (len(lines) - 1)


def _card(
    panel: Panel, title: Sequence[str], head: float, rows: Sequence[tuple[str, tuple[str, ...], str]], height: float
) -> Callable[[float, float], Group]:
    def draw(x: float, y: float) -> Group:
        group = Group("label", "card", "symbol", notes=(("of", panel.id),)).add(Box(x, y, CARD, height, "h"))
        for place, line in enumerate(title):
            group.add(words(x + EDGE, y + 4.6 + 4.2 * place, line, bold=True, size=lettering.NAME))
        at = y + head
        for way, lines, rated in rows:
            group.add(Polyline(((x + EDGE, at), (x + CARD - EDGE, at)), "h"))
            group.add(words(x + EDGE + WAY - 2.5, at + 3.4, way, bold=True, anchor="end"))
            for place, line in enumerate(lines):
                group.add(words(x + EDGE + WAY, at + 3.4 + lettering.LINE * place, line))
            if rated:
                group.add(words(x + CARD - EDGE, at + 3.4, rated, anchor="end"))
            at += _tall(lines)
        return group

    return draw


def _ways(task: Task, panel: Panel) -> Iterator[tuple[str, str, str]]:
    """Number, load and rating of each way, spare ones too."""
    system = task.design.system
    devices = {device.way: device for device in system.devices.values() if device.panel == panel.id and device.way}
    for way in range(1, max([panel.ways or 0, *devices]) + 1):
        device = devices.get(way)
        if device is None:
            yield str(way), "spare", ""
            continue
        part = system.parts.get(system.runs[device.run].to_end.split(".")[0])
        name = captions.name_of(part) if part is not None else device.run
        yield str(way), name, captions.rating(task, device)
