"""The overview: sources above each DC bar, loads below, circuits as lists in their panel's box; key figures,
points to check and the list of sheets beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from copperplate.drawing import captions, lettering
from copperplate.drawing.captions import Line, Task
from copperplate.drawing.chains import BRIDGE, NAMED, Chain, Chains
from copperplate.drawing.margin import SIDE
from copperplate.drawing.oneline import Bar
from copperplate.drawing.packing import Rect, clear, shift
from copperplate.drawing.page import Page
from copperplate.drawing.paper import Paper
from copperplate.drawing.pen import Box, Group, Polyline, Words, measure, words
from copperplate.drawing.stack import arrow

GAP = 3.5
BAR = 3.2
NAME_ROOM = 52.0
"""Widest title of a bar."""
UPPER = 0.6
"""Largest share of the sheet that the sources take."""


@dataclass
class _Bridge:
    """The upper end of a way from one bar to the next: where it was left on its page."""

    page: Page
    x: float
    y: float
    start: str
    end: str


def pages(task: Task, bars: Sequence[Bar]) -> list[Page]:
    """The overview's pages, without the margin at the right, which needs the whole set (see `margin`)."""
    return _Overview(task).pages(bars)


class _Overview:
    def __init__(self, task: Task) -> None:
        self.task = task
        self.system = task.design.system
        self.paper: Paper = task.paper
        self.right = task.paper.right - SIDE
        self.chains = Chains(task)
        self.made: list[Page] = []
        self.rects: list[Rect] = []
        self.bar_y = 0.0

    # --- pages -------------------------------------------------------------------------------------------

    def pages(self, bars: Sequence[Bar]) -> list[Page]:
        uppers = [max((self.chains.chain(c, True).height for c in bar.above), default=0.0) for bar in bars]
        self._turn_page(max(uppers, default=0.0))
        bridge: _Bridge | None = None
        for number, bar in enumerate(bars):
            waiting = [(self.chains.chain(c, True), True) for c in bar.above]
            waiting += [(self.chains.chain(c, False, bar.name != ""), False) for c in bar.below]
            rising = next((b.bridge[2] for b in bars if b.bridge is not None and b.bridge[1] == bar.name), None)
            landing = self.chains.chain(rising, False) if rising is not None else None
            if landing is not None:
                landing.landing = bridge.y + BRIDGE if bridge is not None else 0.0
                waiting.insert(0, (landing, False))
            leaving = self.chains.chain(bar.bridge[0], False) if bar.bridge is not None else None
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
                        bridge = _Bridge(self.made[-1], x, chain.foot, bar.name, bar.bridge[1])
        if len(self.made) > 1:
            for place, page in enumerate(self.made, 1):
                page.slug, page.title = f"overview-{place}", f"Overview, part {place}"
        return self.made

    def _turn_page(self, upper: float) -> None:
        """A new page whose bars leave room for chains `upper` mm tall above them. The first keeps its margin."""
        self.right = self.paper.right - (0.0 if self.made else SIDE)
        remark = "One line stands for a whole circuit; both poles are on the sheets that follow."
        self.made.append(Page("overview", "Overview", remark=remark))
        self.rects = []
        high = self.paper.bottom - self.paper.top
        self.bar_y = self.paper.top + min(max(upper + 6.0, 8.0), UPPER * high)

    def _bar(
        self, bar: Bar, waiting: list[tuple[Chain, bool]]
    ) -> tuple[list[tuple[Chain, float]], list[tuple[Chain, bool]]]:
        """Sets as many chains of a bar as the page holds; what waits for the next comes back."""
        placed, late, own, start = self._try(bar, waiting)
        self._draw_bar(self.made[-1], bar, placed, start)
        for chain, x in placed:
            self.made[-1].groups += self.chains.draw(chain, x)
        self.rects += own
        return placed, late

    def _try(
        self, bar: Bar, waiting: list[tuple[Chain, bool]]
    ) -> tuple[list[tuple[Chain, float]], list[tuple[Chain, bool]], list[Rect], float]:
        """Where the chains of a bar would stand on the page; which must wait; what they cover; where it starts."""
        apart = not bar.name
        start = self.paper.left if apart else max((r[2] for r in self.rects), default=self.paper.left - 8) + 8
        placed: list[tuple[Chain, float]] = []
        cursor = {True: start + 4, False: start + 4}
        late: list[tuple[Chain, bool]] = []
        own: list[Rect] = []
        for chain, rising in waiting:
            room = self.bar_y - self.paper.top - 4.0 if rising else self.paper.bottom - self.bar_y - BAR
            room = self.paper.bottom - self.paper.top if apart else room
            self.chains.shrink(chain, room)
            self.chains.level(chain, self.paper.top if rising or not chain.hangs else self.bar_y + BAR)
            chain.bar = self.bar_y if rising else self.bar_y + BAR
            shape = chain.rects()
            x = max(cursor[rising], start - min((r[0] for r in shape), default=0.0))
            x = clear(shape, self.rects, x, 8.0) if apart else x
            x = clear(shape, own, x, GAP)
            reach = max((r[2] for r in shape), default=0.0)
            if bar.name and chain.hangs:
                reach = max(reach, 6.0 + _wide(self._bar_name(bar, 0.0)))
            full = reach + x > self.right - 4 and (placed or self.rects)
            if full:
                late.append((chain, rising))
                continue
            placed.append((chain, x))
            cursor[rising] = x + 6
            own += shift(shape, x)
        if bar.name:
            right = max((x for chain, x in placed if chain.hangs), default=start + 4) + 6
            lines = self._bar_name(bar, min(NAME_ROOM, self.right - right))
            own.append((start, self.bar_y - 2.2, right + _wide(lines), self.bar_y + BAR + 2.2))
        return placed, late, own, start

    def _draw_bridge(self, came: _Bridge, landing: Chain, x: float) -> None:
        """The way between two bars: across where both stand on this page, else named at both ends."""
        page = self.made[-1]
        foot = landing.foot
        line = Group("run", "", "conductor")
        if came.page is page:
            level = max(came.y, foot) + BRIDGE
            points = ((came.x, came.y), (came.x, level), (x, level), (x, foot))
            self.rects.append((came.x, level - 1, x, level + 1))
            page.groups.append(line.add(Polyline(points, "c-dc", 0.7)))
            return
        for where, at, y, text in (
            (came.page, came.x, came.y, f"to {came.end}"),
            (page, x, foot, f"from {came.start}"),
        ):
            word, node = text.split(" ", 1)
            name = lettering.shorten(f"{word} {captions.end(self.task, node)}", NAMED, bold=True)
            tip = y + BRIDGE
            mark = Group("goes-on", name, "mark").add(Polyline(((at, y), (at, tip - 1.0)), "o", 0.5))
            mark.add(arrow(at, tip, "down") if where is came.page else arrow(at, tip - 2.0, "up"))
            where.groups.append(mark.add(words(at + 2.4, tip + 0.2, name, bold=True)))

    # --- drawing -----------------------------------------------------------------------------------------

    def _draw_bar(self, page: Page, bar: Bar, placed: list[tuple[Chain, float]], start: float) -> None:
        if not bar.name:
            return
        xs = [x for chain, x in placed if chain.hangs]
        left, right = min(xs, default=start + 4) - 4, max(xs, default=start + 4) + 4
        lines = self._bar_name(bar, min(NAME_ROOM, self.right - right - 2))
        part = self.task.wiring.part_at(bar.name)
        group = Group("part", part.id if part is not None else bar.name, "bar")
        group.add(Box(left, self.bar_y, right - left, BAR, "k"))
        first = self.bar_y + (2.7 if len(lines) == 1 else 0.9)
        for place, line in enumerate(lines):
            size = lettering.NAME if place == 0 else lettering.SMALL
            group.add(Words(right + 2, first + 4.0 * place, line, size))
        page.groups.append(group)
        page.show(f"one-line:{bar.name}")

    def _bar_name(self, bar: Bar, room: float) -> list[Line]:
        """The name of a bar over its title, which is cut to `room`: the power sheets give it in full."""
        name, *title = captions.rail(self.task, bar.name)
        if not title or room < 12.0:
            return [(name,)]
        return [(name,), ((lettering.shorten(title[0][0], room), False),)]


def _wide(lines: Sequence[Line]) -> float:
    """Width of the name of a bar."""
    return max(measure(line, lettering.NAME if place == 0 else lettering.SMALL) for place, line in enumerate(lines))
