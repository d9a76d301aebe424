"""The overview: sources above each DC bar, loads below, circuits as lists in their panel's box; key figures,
points to check and the list of sheets beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from copperplate.drawing import captions, lettering, symbols
from copperplate.drawing.captions import Line, Task
from copperplate.drawing.oneline import Bar, Item
from copperplate.drawing.page import Page
from copperplate.drawing.paper import Paper
from copperplate.drawing.pen import Box, Group, Stroke, Words, measure, words
from copperplate.drawing.stack import LABEL_ROOM, Rect, arrow, box_lines, centred, put
from copperplate.drawing.symbols import HALF

SIDE = 64.0
"""Width of the column with figures and sheets."""
GAP = 3.5
TICK = 9.0
STUB = 5.0
BAR = 3.2
CELL = 60.0
"""Widest column of a list of circuits."""
UPPER = 0.6
"""Largest share of the sheet that the sources take."""
BRIDGE = 8.4
"""From a device's symbol down to where a way between two bars turns, or is named: clear of the device's label."""
NAMED = 26.0
"""Room for the name of a bar at the end of a way to it."""
HEADING = 52.0
"""A list is at least so wide, for its heading."""
ROWS = 18
"""Most rows of a list on this sheet."""


@dataclass
class Piece:
    """One item of a chain with its height, the lines beside or inside it, and what it covers."""

    item: Item
    lines: list[Line]
    height: float
    left: float
    right: float
    cells: list[tuple[str, str, str]] = field(default_factory=list)
    rest: str = ""
    y0: float = 0.0
    y1: float = 0.0


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

    def rects(self) -> list[Rect]:
        found: list[Rect] = []
        if self.leads_on:
            foot = self.pieces[-1].y1 if self.pieces else self.bar
            found.append((-1.2, foot, NAMED + 3, foot + BRIDGE + 1))
        if self.landing is not None:
            foot = self.pieces[-1].y1 if self.pieces else self.bar
            found += [(-0.8, self.bar, 0.8, max(self.landing, foot + BRIDGE) + 1), (-1.2, foot, NAMED + 3, foot + BRIDGE + 1)]
        for piece in self.pieces:
            found.append((piece.left, piece.y0, piece.right, piece.y1))
        if self.pieces:
            upper = self.pieces[0].y0 if self.rising or not self.hangs else self.bar
            lower = self.bar if self.rising else self.pieces[-1].y1
            found.append((-0.8, upper, 0.8, lower))
        return found

    @property
    def height(self) -> float:
        return sum(piece.height for piece in self.pieces) + STUB * len(self.pieces)


@dataclass
class _Bridge:
    """The upper end of a way from one bar to the next: where it was left on its page."""

    page: Page
    x: float
    y: float
    start: str
    end: str


def pages(task: Task, bars: Sequence[Bar]) -> list[Page]:
    """The overview's pages, without the column at the right, which needs the whole set (see `margin`)."""
    return _Overview(task).pages(bars)


class _Overview:
    def __init__(self, task: Task) -> None:
        self.task = task
        self.system = task.design.system
        self.paper: Paper = task.paper
        self.right = task.paper.right - SIDE

    # --- pieces ------------------------------------------------------------------------------------------

    def _piece(self, item: Item) -> Piece:
        task = self.task
        if item.kind == "device":
            lines = captions.device(task, item.id, LABEL_ROOM)
            if item.run in self.system.runs:
                lines.append(((self._size(item.run), False),))
            wide = max(measure(line) for line in lines)
            return Piece(item, lines, max(2 * HALF, len(lines) * lettering.LINE), -3.4, 3.2 + wide)
        if item.kind in ("to", "from"):
            text = f"{item.kind} {captions.end(task, item.id) if item.id in self.system.nodes else item.id}"
            text = lettering.shorten(text, LABEL_ROOM, bold=True)
            return Piece(item, [((text, True),)], 4.6, -1.2, 2.6 + lettering.width(text, bold=True))
        if item.kind in ("list", "ac-list"):
            return self._list(item)
        remarks = self._remarks(item.id)
        lines = box_lines(task, item.id, remarks, 34.0)
        if item.more:
            names = lettering.wrap(", ".join((item.id, *item.more)), 34.0, bold=True)
            lines = [*(((line, True),) for line in names), ((f"{1 + len(item.more)} batteries, each", False),), *lines[2:]]
        symbol = self._symbol(item.id)
        wide = 2 + max(measure(line) for line in lines) + 3 + (symbol.right - symbol.left) + 2
        tall = max(len(lines) * lettering.LINE, symbol.bottom - symbol.top) + 3.2
        return Piece(item, lines, tall, -wide / 2, wide / 2)

    def _remarks(self, part: str) -> list[str]:
        kind = self.system.parts[part].kind
        if kind in ("charger", "inverter"):
            feeds = [r for r in self.system.runs.values() if r.current == "ac" and r.to_end.split(".")[0] == part]
            return [f"AC from {feeds[0].from_end}"] if feeds and not feeds[0].earth else []
        return []

    def _symbol(self, part: str) -> symbols.Symbol:
        found = self.system.parts[part]
        if found.kind == "battery":
            return symbols.BATTERY
        if found.kind == "junction":
            return symbols.Symbol((), 0, 0, 0, 0)
        return symbols.load_symbol(found) if found.kind == "load" else symbols.part_symbol(found)

    def _size(self, run: str) -> str:
        found = self.system.runs[run]
        return captions.cable(self.task, found) if found.current == "ac" else captions.size(self.task, found)

    def _list(self, item: Item) -> Piece:
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
        title = lettering.clean(part.title) if part is not None and part.kind == "panel" else "circuits without a panel"
        rest = ""
        if len(cells) > ROWS * 3:
            rest = f"and {len(cells) - ROWS * 3 + 1} more: {sheet}"
            cells = cells[: ROWS * 3 - 1]
        across = _across(len(cells))
        down = -(-(len(cells) + bool(rest)) // across)
        inner = max(across * self._cell(cells), HEADING)
        left = inner - lettering.width(f"{name}, {sheet}", bold=True) - 2.4
        title = f"{lettering.shorten(title, left)}, {sheet}" if title and left > 8.0 else sheet
        head: Line = ((name, True), (title, False))
        wide = max(measure(head), inner) + 4
        return Piece(item, [head], 6.0 + down * lettering.LINE + 1.6, -12.0, wide - 12.0, cells, rest)

    def _cell(self, cells: Sequence[tuple[str, str, str]]) -> float:
        """Width of one column of a list."""
        widest = max((lettering.width(name) for _, name, _ in cells), default=10.0)
        return min(CELL, 6.5 + widest + 3 + max((lettering.width(rated) for _, _, rated in cells), default=0.0) + 4)

    # --- chains ------------------------------------------------------------------------------------------

    def _chain(self, items: Sequence[Item], rising: bool, hangs: bool = True) -> Chain:
        pieces: list[Piece] = []
        for place, item in enumerate(items):
            piece = self._piece(item)
            before = items[place - 1] if place else None
            lone = item.kind != "device" and item.run and (before is None or before.kind != "device")
            if lone and item.kind not in ("to", "from") and not (not hangs and place == 0):
                size = self._size(item.run) if item.run in self.system.runs else ""
                if size:
                    mark = Piece(Item("tick", "", item.run, item.ac), [((size, False),)], TICK - STUB, -1.6, 2.6 + lettering.width(size))
                    pieces.append(mark)
            pieces.append(piece)
        if rising:
            pieces.reverse()
        return Chain(pieces, rising, hangs)

    def _level(self, chain: Chain, y: float) -> None:
        """Sets the pieces of a chain from `y` down."""
        for place, piece in enumerate(chain.pieces):
            if place or (not chain.rising and chain.hangs):
                y += STUB
            piece.y0 = y
            y += piece.height
            piece.y1 = y

    # --- pages -------------------------------------------------------------------------------------------

    def pages(self, bars: Sequence[Bar]) -> list[Page]:
        self.made: list[Page] = []
        self.rects: list[Rect] = []
        uppers = [max((self._chain(c, True).height for c in bar.above), default=0.0) for bar in bars]
        self._turn_page(max(uppers, default=0.0))
        bridge: _Bridge | None = None
        for number, bar in enumerate(bars):
            waiting = [(self._chain(c, True), True) for c in bar.above]
            waiting += [(self._chain(c, False, bar.name != ""), False) for c in bar.below]
            rising = next((b.bridge[2] for b in bars if b.bridge is not None and b.bridge[1] == bar.name), None)
            landing = self._chain(rising, False) if rising is not None else None
            if landing is not None:
                landing.landing = bridge.y + BRIDGE if bridge is not None else 0.0
                waiting.insert(0, (landing, False))
            leaving = self._chain(bar.bridge[0], False) if bar.bridge is not None else None
            if leaving is not None:
                leaving.leads_on = True
                waiting.append((leaving, False))
            came, bridge, started = bridge, None, False
            while waiting or not started:
                if started or (self.rects and self._try(bar, waiting)[1]):
                    here = max((chain.height for chain, up in waiting if up), default=0.0)
                    self._turn_page(max([here, *uppers[number + 1 :]]))
                    if landing is not None:
                        landing.landing = 0.0
                placed, waiting = self._bar(bar, waiting)
                started = True
                for chain, x in placed:
                    if chain is landing and came is not None:
                        self._draw_bridge(came, chain, x)
                    if chain is leaving and bar.bridge is not None:
                        end = self._ends(chain.pieces[-1])[1] if chain.pieces else self.bar_y + BAR
                        bridge = _Bridge(self.made[-1], x, end, bar.name, bar.bridge[1])
        if len(self.made) > 1:
            for place, one in enumerate(self.made, 1):
                one.slug, one.title = f"overview-{place}", f"Overview, part {place}"
        return self.made

    def _turn_page(self, upper: float) -> None:
        """A new page whose bars leave room for chains `upper` mm tall above them. The first keeps its margin."""
        self.right = self.paper.right - (0.0 if self.made else SIDE)
        remark = "One line stands for a whole circuit; both poles are on the sheets that follow."
        self.made.append(Page("overview", "Overview", remark=remark))
        self.rects = []
        high = self.paper.bottom - self.paper.top
        self.bar_y = self.paper.top + min(max(upper + 6.0, 8.0), UPPER * high)

    def _bar(self, bar: Bar, waiting: list[tuple[Chain, bool]]) -> tuple[list[tuple[Chain, float]], list[tuple[Chain, bool]]]:
        """Sets as many chains of a bar as the page holds; what waits for the next comes back."""
        placed, late, own, start = self._try(bar, waiting)
        self._draw_bar(self.made[-1], bar, placed, start)
        for chain, x in placed:
            self._draw(self.made[-1], chain, x)
        self.rects += own
        return placed, late

    def _try(
        self, bar: Bar, waiting: list[tuple[Chain, bool]]
    ) -> tuple[list[tuple[Chain, float]], list[tuple[Chain, bool]], list[Rect], float]:
        """Where the chains of a bar would stand on the page; which must wait; what they cover; where it starts."""
        start = max((r[2] for r in self.rects), default=self.paper.left - 8) + 8
        placed: list[tuple[Chain, float]] = []
        cursor = {True: start + 4, False: start + 4}
        late: list[tuple[Chain, bool]] = []
        own: list[Rect] = []
        for chain, rising in waiting:
            self._shrink(chain)
            self._level(chain, self.paper.top if rising or not chain.hangs else self.bar_y + BAR)
            chain.bar = self.bar_y if rising else self.bar_y + BAR
            shape = chain.rects()
            x = max(cursor[rising], start - min((r[0] for r in shape), default=0.0))
            for a, b, c, d in shape:
                for left, top, right, bottom in own:
                    if top - 1 < d and b - 1 < bottom:
                        x = max(x, right + GAP - a)
            x = round(x * 2 + 0.499) / 2
            reach = max((r[2] for r in shape), default=0.0)
            if bar.name and chain.hangs:
                reach = max(reach, 6.0 + measure(self._bar_name(bar, 0.0), lettering.NAME))
            full = reach + x > self.right - 4 and (placed or self.rects)
            if full:
                late.append((chain, rising))
                continue
            placed.append((chain, x))
            cursor[rising] = x + 6
            own += [(a + x, b, c + x, d) for a, b, c, d in shape]
        if bar.name:
            wide = measure(self._bar_name(bar, 45.0), lettering.NAME)
            right = max((x for chain, x in placed if chain.hangs), default=start + 4) + 6
            own.append((start, self.bar_y, right + wide, self.bar_y + BAR))
        return placed, late, own, start

    def _draw_bridge(self, came: _Bridge, landing: Chain, x: float) -> None:
        """The way between two bars: across where both stand on this page, else named at both ends."""
        page = self.made[-1]
        foot = self._ends(landing.pieces[-1])[1] if landing.pieces else self.bar_y + BAR
        line = Group("run", "", "conductor")
        if came.page is page:
            level = max(came.y, foot) + BRIDGE
            points = ((came.x, came.y), (came.x, level), (x, level), (x, foot))
            self.rects.append((came.x, level - 1, x, level + 1))
            page.groups.append(line.add(Stroke(points, "c-dc", 0.7)))
            return
        for where, at, y, text in ((came.page, came.x, came.y, f"to {came.end}"), (page, x, foot, f"from {came.start}")):
            word, node = text.split(" ", 1)
            name = lettering.shorten(f"{word} {captions.end(self.task, node)}", NAMED, bold=True)
            tip = y + BRIDGE
            mark = Group("goes-on", name, "mark").add(Stroke(((at, y), (at, tip - 1.0)), "o", 0.5))
            mark.add(arrow(at, tip, "down") if where is came.page else arrow(at, tip - 2.0, "up"))
            where.groups.append(mark.add(words(at + 2.4, tip + 0.2, name, bold=True)))

    def _shrink(self, chain: Chain) -> None:
        """Leaves out what does not fit between the sheet's edge and the bar, farthest first, and says where it is."""
        far, limit = (0, self.bar_y - self.paper.top - 4.0) if chain.rising else (-1, self.paper.bottom - self.bar_y - BAR)
        left_out = 0
        while chain.pieces and chain.height + (TICK if left_out else 0.0) > limit:
            chain.pieces.pop(far)
            left_out += 1
        if left_out:
            text = f"{left_out} more, {self.task.sheet('power')}"
            more = Piece(Item("more", ""), [((text, False),)], 4.6, -1.2, 2.6 + lettering.width(text))
            chain.pieces.insert(0 if chain.rising else len(chain.pieces), more)

    # --- drawing -----------------------------------------------------------------------------------------

    def _draw_bar(self, page: Page, bar: Bar, placed: list[tuple[Chain, float]], start: float) -> None:
        if not bar.name:
            return
        xs = [x for chain, x in placed if chain.hangs]
        left, right = min(xs, default=start + 4) - 4, max(xs, default=start + 4) + 4
        line = self._bar_name(bar, min(45.0, self.right - right - 4))
        part = self.task.wiring.part_at(bar.name)
        group = Group("part", part.id if part is not None else bar.name, "bar")
        group.add(Box(left, self.bar_y, right - left, BAR, "k"))
        group.add(Words(right + 2, self.bar_y + 2.7, line, lettering.NAME))
        page.groups.append(group)
        page.show(f"one-line:{bar.name}")

    def _bar_name(self, bar: Bar, room: float) -> Line:
        """The name of a bar, its title cut to `room`: the power sheets give it in full."""
        name, *title = captions.rail(self.task, bar.name)
        left = room - lettering.width(name[0], lettering.NAME, True) - 1.2
        if not title or left < 12.0:
            return (name,)
        return (name, (lettering.shorten(title[0][0], left, lettering.NAME), False))

    def _draw(self, page: Page, chain: Chain, x: float) -> None:
        """Lines between the pieces and to the bar, then the pieces."""
        edges = [self._ends(piece) for piece in chain.pieces]
        for place, piece in enumerate(chain.pieces):
            item = piece.item
            if chain.rising:
                stop = edges[place + 1][0] if place + 1 < len(edges) else self.bar_y
                self._line(page, item, x, edges[place][1], stop)
            elif place or chain.hangs:
                begin = edges[place - 1][1] if place else self.bar_y + BAR
                self._line(page, item, x, begin, edges[place][0])
            page.groups += self._draw_piece(piece, x)

    def _ends(self, piece: Piece) -> tuple[float, float]:
        middle = (piece.y0 + piece.y1) / 2
        if piece.item.kind == "device":
            return middle - HALF, middle + HALF
        if piece.item.kind == "tick":
            return middle, middle
        return piece.y0, piece.y1

    def _line(self, page: Page, item: Item, x: float, start: float, stop: float) -> None:
        if abs(stop - start) > 0.05:
            style = "c-ac" if item.ac else "c-dc"
            group = Group("run", item.run, "conductor").add(Stroke(((x, start), (x, stop)), style, 0.7))
            page.groups.append(group)

    def _draw_piece(self, piece: Piece, x: float) -> list[Group]:
        item, middle = piece.item, (piece.y0 + piece.y1) / 2
        if item.kind == "tick":
            group = Group("run", item.run, "mark").add(Stroke(((x - 1.2, middle + 1.0), (x + 1.2, middle - 1.0)), "o", 0.4))
            return [group.add(*put(x + 2.6, centred(middle, 1), piece.lines))]
        if item.kind == "device":
            kind = self.system.devices[item.id].kind
            group = Group("device", item.id, "symbol").add(*symbols.DEVICES[kind].at(x, middle))
            return [group.add(*put(x + 3.2, centred(middle, len(piece.lines)), piece.lines))]
        if item.kind in ("to", "from", "more"):
            mark = Group("goes-on", item.id, "mark")
            if item.kind != "from":
                mark.add(Stroke(((x, piece.y0), (x, piece.y0 + 0.4)), "o", 0.5), arrow(x, piece.y0 + 2.2, "down"))
            else:
                mark.add(Stroke(((x, piece.y0), (x, piece.y0 + 3.4)), "o", 0.5), arrow(x, piece.y0 - 0.2, "up"))
            return [mark.add(*put(x + 2.4, centred(middle, 1), piece.lines))]
        left, wide = x + piece.left, piece.right - piece.left
        if item.kind in ("list", "ac-list"):
            return [self._draw_list(piece, left, wide)]
        group = Group("part", item.id, "symbol").add(Box(left, piece.y0, wide, piece.y1 - piece.y0))
        symbol = self._symbol(item.id)
        group.add(*put(left + 2, centred(middle, len(piece.lines)), piece.lines))
        return [group.add(*symbol.at(left + wide - 2 - symbol.right, middle))]

    def _draw_list(self, piece: Piece, left: float, wide: float) -> Group:
        part = self.task.wiring.part_at(piece.item.id)
        name = piece.item.id if piece.item.id in self.system.parts else (part.id if part else piece.item.id)
        is_panel = name in self.system.parts and self.system.parts[name].kind == "panel"
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


def margin(task: Task, page: Page, titles: Sequence[str], unwired: Sequence[str]) -> None:
    """The column at the right of the first page: the sheets, key figures, points to check, notes, and the parts
    that no conductor reaches."""
    x, y = task.paper.right - SIDE + 2, task.paper.top + 3.4
    room = SIDE - 2
    blocks = (
        ("Sheets", _listed(titles)),
        ("Key figures", _figures(task)),
        ("Points to check", _points(task)),
        ("Notes", [lettering.clean(note.text) for note in task.design.system.notes]),
    )
    for heading, texts in blocks:
        if not texts or y > task.paper.bottom - 12:
            continue
        group = Group("margin", heading, "symbol").add(words(x, y, heading, bold=True, size=lettering.TITLE))
        y += 4.6
        for text in texts:
            lines = lettering.wrap_to(text, room, 6)
            if y + lettering.LINE * len(lines) > task.paper.bottom - lettering.LINE:
                group.add(words(x, y, "More in the report."))
                y += 4.6
                break
            for line in lines:
                group.add(words(x, y, line))
                y += lettering.LINE
            y += 0.7
        page.groups.append(group)
        y += 4.0
    _unwired(task, page, unwired)


def _unwired(task: Task, page: Page, names: Sequence[str]) -> None:
    """The parts that no conductor reaches, on a line at the foot of the page."""
    x, y = task.paper.left, task.paper.bottom - 1.0
    if not names:
        return
    head = Group("margin", "not wired", "symbol").add(words(x, y, "Not wired:"))
    page.groups.append(head)
    x += lettering.width("Not wired:") + 1.5
    for place, name in enumerate(names):
        text = name if place == len(names) - 1 else f"{name},"
        if x + lettering.width(text) > task.paper.right - SIDE - 20:
            page.groups.append(Group("margin", "not wired", "symbol").add(words(x, y, "and more")))
            return
        page.groups.append(Group("part", name, "symbol").add(words(x, y, text)))
        x += lettering.width(text) + 1.2


def _listed(titles: Sequence[str]) -> list[str]:
    """"4 to 9 DC circuits, cabin": sheets of one kind on one line."""
    found: list[tuple[int, int, str]] = []
    for number, title in enumerate(titles, 1):
        stem = title.rsplit(", part ", 1)[0]
        if found and found[-1][2] == stem:
            found[-1] = (found[-1][0], number, stem)
        else:
            found.append((number, number, stem))
    return [f"{first} {stem}" if first == last else f"{first} to {last} {stem}" for first, last, stem in found]


def _figures(task: Task) -> list[str]:
    """What a reader wants to know first."""
    design = task.design
    lines: list[str] = []
    for part in design.system.of_kind("battery"):
        figures = captions.figures(task, part)
        if figures:
            lines.append(f"{captions.name_of(part)} {figures[-1].removeprefix('together ')}".replace(captions.FIRM, " "))
    loads = [result for name, result in design.loads.items() if design.system.parts[name].kind == "load"]
    direct = [result for result in loads if not design.system.parts[result.load].get("ac")]
    if direct:
        total = sum(result.current_a for result in direct)
        lines.append(f"{captions.counted(len(direct), 'DC load')}, {captions.amperes(total)} with everything on")
    if len(loads) > len(direct):
        lines.append(captions.counted(len(loads) - len(direct), "AC load"))
    if direct:
        worst = max(direct, key=lambda result: result.drop_percent)
        name = captions.name_of(design.system.parts[worst.load])
        lines.append(f"Largest drop: {name} {worst.drop_percent:.1f} % of {worst.budget_percent:.1f} %")
    for energy in design.energy:
        if energy.autonomy_days is not None:
            lines.append(f"{energy.bank}: {energy.autonomy_days:.1f} days without charging")
    return lines


def _points(task: Task) -> list[str]:
    """Open findings, the most severe first, in their own words."""
    design = task.design
    opened = [finding for finding in design.findings if finding.accepted is None]
    lines = [f"{finding.code} {lettering.clean(finding.message).replace('`', '')}" for finding in opened if finding.severity != "advice"]
    advice = sum(finding.severity == "advice" for finding in opened)
    if advice:
        lines.append(f"{advice} pieces of advice in the report" if advice > 1 else "One piece of advice in the report")
    lines += [lettering.clean(text).replace("`", "") for text in design.not_covered]
    return lines or ["No open findings."]
