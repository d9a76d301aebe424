"""Chains of the overview: devices, boxes and lists of circuits on one line, measured and drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from copperplate.drawing import captions, lettering, symbols
from copperplate.drawing.captions import Line, Task
from copperplate.drawing.oneline import ChainItem
from copperplate.drawing.packing import Rect
from copperplate.drawing.pen import Box, Group, Polyline, Words, measure, words
from copperplate.drawing.stack import LABEL_ROOM, arrow, centred, put
from copperplate.drawing.symbols import HALF
from copperplate.drawing.wiring import is_between_dc_and_ac
from copperplate.model.parts import Panel

TICK, STUB = 9.0, 5.0
"""Lengths of line: with the mark of a size on it, and before a piece."""
CELL = 60.0
"""Widest column of a list of circuits."""
BRIDGE = 8.4
"""From a device's symbol down to where a way between two bars turns, or is named: clear of the device's label."""
NAMED = 26.0
"""Room for the name of a bar at the end of a way to it."""
HEADING = 52.0
"""A list gives so much room to its heading, where that is longer."""
LEAN = 20.0
"""How far a list reaches left of its line."""
ROWS = 18
"""Most rows of a list on this sheet."""


@dataclass
class Piece:
    """One item of a chain with its height, the lines beside or inside it, and what it covers."""

    item: ChainItem
    lines: list[Line]
    height: float
    left: float
    right: float
    cells: list[tuple[str, str, str]] = field(default_factory=list)
    rest: str = ""
    y0: float = 0.0
    y1: float = 0.0

    @property
    def ends(self) -> tuple[float, float]:
        """Where the lines that reach it from above and below end."""
        middle = (self.y0 + self.y1) / 2
        if self.item.kind == "device":
            return middle - HALF, middle + HALF
        return (middle, middle) if self.item.kind == "tick" else (self.y0, self.y1)


@dataclass
class Chain:
    """Pieces from the top down on one axis. `rising`: it stands above its bar."""

    pieces: list[Piece]
    rising: bool
    hangs: bool = True
    """False where nothing leads to it from above."""
    bar: float = 0.0
    """The level of the bar's edge on this side."""
    landing: float | None = None
    """Of what another bar leads to from below: the level where that way arrives (0: it comes from another page)."""
    leads_on: bool = False
    """True where it leads to another bar: room is kept for that bar's name."""

    @property
    def foot(self) -> float:
        """Where its last stroke ends; the bar where it has no piece."""
        return self.pieces[-1].ends[1] if self.pieces else self.bar

    def rects(self) -> list[Rect]:
        """What it covers, from its axis."""
        covered: list[Rect] = []
        if self.leads_on:
            foot = self.pieces[-1].y1 if self.pieces else self.bar
            covered.append((-1.2, foot, NAMED + 3, foot + BRIDGE + 1))
        if self.landing is not None:
            foot = self.pieces[-1].y1 if self.pieces else self.bar
            covered += [
                (-0.8, self.bar, 0.8, max(self.landing, foot + BRIDGE) + 1),
                (-1.2, foot, NAMED + 3, foot + BRIDGE + 1),
            ]
        for piece in self.pieces:
            covered.append((piece.left, piece.y0, piece.right, piece.y1))
        if self.pieces:
            upper = self.pieces[0].y0 if self.rising or not self.hangs else self.bar
            lower = self.bar if self.rising else self.pieces[-1].y1
            covered.append((-0.8, upper, 0.8, lower))
        return covered

    @property
    def height(self) -> float:
        return sum(piece.height for piece in self.pieces) + STUB * len(self.pieces)


class Chains:
    """Makes and draws the chains of one design."""

    def __init__(self, task: Task) -> None:
        self.task = task
        self.system = task.design.system

    # --- pieces ------------------------------------------------------------------------------------------

    def _piece(self, item: ChainItem) -> Piece:
        """One item with its lines and its extent."""
        task = self.task
        if item.kind == "device":
            lines = captions.device(task, item.id, LABEL_ROOM)
            if item.run in self.system.runs:
                lines.append(((captions.cable(task, self.system.runs[item.run]), False),))
            wide = max(measure(line) for line in lines)
            return Piece(item, lines, max(2 * HALF, len(lines) * lettering.LINE), -3.4, 3.2 + wide)
        if item.kind in ("to", "from"):
            text = f"{item.kind} {captions.end(task, item.id) if item.id in self.system.nodes else item.id}"
            text = lettering.shorten(text, LABEL_ROOM, bold=True)
            return Piece(item, [((text, True),)], 4.6, -1.2, 2.6 + lettering.width(text, bold=True))
        if item.kind in ("list", "ac-list"):
            return self._list(item)
        remarks = self._remarks(item.id)
        lines = captions.box_lines(task, item.id, remarks, 34.0)
        if item.more:
            names = lettering.wrap(", ".join((item.id, *item.more)), 34.0, bold=True)
            lines = [
                *(((line, True),) for line in names),
                ((f"{1 + len(item.more)} batteries, each", False),),
                *lines[2:],
            ]
        symbol = symbols.part_symbol(self.system.parts[item.id])
        wide = 2 + max(measure(line) for line in lines) + 3 + (symbol.right - symbol.left) + 2
        tall = max(len(lines) * lettering.LINE, symbol.bottom - symbol.top) + 3.2
        return Piece(item, lines, tall, -wide / 2, wide / 2)

    def _remarks(self, part: str) -> list[str]:
        if is_between_dc_and_ac(self.system.parts[part]):
            feeds = [r for r in self.system.runs.values() if r.current == "ac" and r.to_end.split(".")[0] == part]
            return [f"AC from {feeds[0].from_end}"] if feeds and not feeds[0].earth else []
        return []

    def _list(self, item: ChainItem) -> Piece:
        """A panel with its circuits, or the circuits of a bar, in as many columns as they need."""
        task = self.task
        cells: list[tuple[str, str, str]] = []
        part = self.system.parts.get(item.id) or task.wiring.part_at(item.id)
        name = part.id if part is not None else item.id
        if item.section is not None:
            for row in item.section.rows:
                if row.above is None and (row.part or row.flag):
                    called = captions.name_of(self.system.parts[row.part]) if row.part else captions.end(task, row.flag)
                    device = next((s for s in row.positive if not isinstance(s, str) and s.kind == "device"), None)
                    rated = captions.rating(task, self.system.devices[device.id]) if device is not None else ""
                    cells.append((str(row.way) if row.way else "", called, rated))
            sheet = task.sheet(f"circuits:{item.section.panel or item.section.rail}")
        else:
            for run in self.system.runs.values():
                if run.current == "ac" and run.from_end.split(".")[0] == item.id and not run.earth:
                    end = self.system.parts[run.to_end.split(".")[0]]
                    way = next((d for d in self.system.devices.values() if d.run == run.id and d.panel), None)
                    number = str(way.way) if way is not None else ""
                    cells.append((number, captions.name_of(end), captions.rating(task, way) if way is not None else ""))
            sheet = task.sheet(f"ac:{item.id}")
        title = lettering.clean(part.title) if isinstance(part, Panel) else "circuits without a panel"
        rest = ""
        if len(cells) > ROWS * 3:
            rest = f"and {len(cells) - ROWS * 3 + 1} more: {sheet}"
            cells = cells[: ROWS * 3 - 1]
        across = _across(len(cells))
        down = -(-(len(cells) + bool(rest)) // across)
        full = f"{title}, {sheet}" if title else sheet
        inner = max(across * self._cell(cells), min(HEADING, measure(((name, True), (full, False)))))
        left = inner - lettering.width(f"{name}, {sheet}", bold=True) - 2.4
        title = f"{lettering.shorten(title, left)}, {sheet}" if title and left > 8.0 else sheet
        title = full if measure(((name, True), (full, False))) <= inner else title
        head: Line = ((name, True), (title, False))
        wide = max(measure(head), inner) + 4
        return Piece(item, [head], 6.0 + down * lettering.LINE + 1.6, -LEAN, wide - LEAN, cells, rest)

    def _cell(self, cells: Sequence[tuple[str, str, str]]) -> float:
        """Width of one column of a list."""
        widest = max((lettering.width(name) for _, name, _ in cells), default=10.0)
        return min(CELL, 6.5 + widest + 3 + max((lettering.width(rated) for _, _, rated in cells), default=0.0) + 4)

    # --- chains ------------------------------------------------------------------------------------------

    def chain(self, items: Sequence[ChainItem], rising: bool, hangs: bool = True) -> Chain:
        """The chain of these items, which are given from the bar outwards. `hangs`: it begins at a bar."""
        pieces: list[Piece] = []
        for place, item in enumerate(items):
            piece = self._piece(item)
            before = items[place - 1] if place else None
            lone = item.kind != "device" and item.run and (before is None or before.kind != "device")
            if lone and item.kind not in ("to", "from") and not (not hangs and place == 0):
                size = captions.cable(self.task, self.system.runs[item.run]) if item.run in self.system.runs else ""
                if size:
                    mark = Piece(
                        ChainItem("tick", "", item.run, item.ac),
                        [((size, False),)],
                        TICK - STUB,
                        -1.6,
                        2.6 + lettering.width(size),
                    )
                    pieces.append(mark)
            pieces.append(piece)
        if rising:
            pieces.reverse()
        return Chain(pieces, rising, hangs)

    def level(self, chain: Chain, y: float) -> None:
        """Sets the pieces of a chain from `y` down."""
        for place, piece in enumerate(chain.pieces):
            if place or (not chain.rising and chain.hangs):
                y += STUB
            piece.y0 = y
            y += piece.height
            piece.y1 = y

    def shrink(self, chain: Chain, limit: float) -> None:
        """Leaves out what makes a chain taller than `limit`, farthest from the bar first, and says where it is."""
        far = 0 if chain.rising else -1
        left_out = 0
        while chain.pieces and chain.height + (TICK if left_out else 0.0) > limit:
            chain.pieces.pop(far)
            left_out += 1
        if left_out:
            text = f"{left_out} more, {self.task.sheet('power')}"
            more = Piece(ChainItem("more", ""), [((text, False),)], 4.6, -1.2, 2.6 + lettering.width(text))
            chain.pieces.insert(0 if chain.rising else len(chain.pieces), more)

    # --- drawing -----------------------------------------------------------------------------------------

    def draw(self, chain: Chain, x: float) -> list[Group]:
        """Lines between the pieces and to the bar, and the pieces."""
        groups: list[Group] = []
        edges = [piece.ends for piece in chain.pieces]
        for place, piece in enumerate(chain.pieces):
            item = piece.item
            if chain.rising:
                stop = edges[place + 1][0] if place + 1 < len(edges) else chain.bar
                groups += self._line(item, x, edges[place][1], stop)
            elif place or chain.hangs:
                begin = edges[place - 1][1] if place else chain.bar
                groups += self._line(item, x, begin, edges[place][0])
            groups += self._draw_piece(piece, x)
        return groups

    def _line(self, item: ChainItem, x: float, start: float, stop: float) -> list[Group]:
        if abs(stop - start) < 0.05:
            return []
        style = "c-ac" if item.ac else "c-dc"
        return [Group("run", item.run, "conductor").add(Polyline(((x, start), (x, stop)), style, 0.7))]

    def _draw_piece(self, piece: Piece, x: float) -> list[Group]:
        item, middle = piece.item, (piece.y0 + piece.y1) / 2
        if item.kind == "tick":
            group = Group("run", item.run, "mark").add(
                Polyline(((x - 1.2, middle + 1.0), (x + 1.2, middle - 1.0)), "o", 0.4)
            )
            return [group.add(*put(x + 2.6, centred(middle, 1), piece.lines))]
        if item.kind == "device":
            symbol = symbols.device_symbol(self.system.devices[item.id])
            group = Group("device", item.id, "symbol").add(*symbol.at(x, middle))
            return [group.add(*put(x + 3.2, centred(middle, len(piece.lines)), piece.lines))]
        if item.kind in ("to", "from", "more"):
            mark = Group("goes-on", item.id, "mark")
            if item.kind != "from":
                mark.add(Polyline(((x, piece.y0), (x, piece.y0 + 0.4)), "o", 0.5), arrow(x, piece.y0 + 2.2, "down"))
            else:
                mark.add(Polyline(((x, piece.y0), (x, piece.y0 + 3.4)), "o", 0.5), arrow(x, piece.y0 - 0.2, "up"))
            return [mark.add(*put(x + 2.4, centred(middle, 1), piece.lines))]
        left, wide = x + piece.left, piece.right - piece.left
        if item.kind in ("list", "ac-list"):
            return [self._draw_list(piece, left, wide)]
        group = Group("part", item.id, "symbol").add(Box(left, piece.y0, wide, piece.y1 - piece.y0))
        symbol = symbols.part_symbol(self.system.parts[item.id])
        group.add(*put(left + 2, centred(middle, len(piece.lines)), piece.lines))
        return [group.add(*symbol.at(left + wide - 2 - symbol.right, middle))]

    def _draw_list(self, piece: Piece, left: float, wide: float) -> Group:
        part = self.task.wiring.part_at(piece.item.id)
        name = piece.item.id if piece.item.id in self.system.parts else (part.id if part else piece.item.id)
        is_panel = isinstance(self.system.parts.get(name), Panel)
        group = Group("part" if is_panel else "circuits", name, "symbol")
        group.add(Box(left, piece.y0, wide, piece.y1 - piece.y0))
        group.add(Words(left + 2, piece.y0 + 4.2, piece.lines[0]))
        cell = self._cell(piece.cells)
        total = len(piece.cells) + bool(piece.rest)
        across = _across(len(piece.cells))
        down = -(-total // across)
        for place, (number, called, rated) in enumerate(piece.cells):
            x, y = left + 2 + cell * (place // down), piece.y0 + 8.6 + lettering.LINE * (place % down)
            if number:
                group.add(words(x + 4.4, y, number, bold=True, anchor="end"))
            room = cell - 6.0 - 4 - lettering.width(rated) - 1.5
            group.add(words(x + 6.0, y, lettering.shorten(called, room)))
            if rated:
                group.add(words(x + cell - 4, y, rated, anchor="end"))
        if piece.rest:
            place = len(piece.cells)
            x, y = left + 2 + cell * (place // down), piece.y0 + 8.6 + lettering.LINE * (place % down)
            group.add(words(x + 6.0, y, lettering.shorten(piece.rest, cell - 8)))
        return group


def _across(count: int) -> int:
    """Columns of a list of so many circuits."""
    return 1 if count <= 6 else 2 if count <= 20 else 3
