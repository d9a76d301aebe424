"""A panel as its face: a row for each way with rating, loads and amperes, spare ways too."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from copperplate import units
from copperplate.drawing import captions, lettering, symbols
from copperplate.drawing.diagram.blocks import GAP, LEAD, Block, Column, Landing, Tail
from copperplate.drawing.diagram.canvas import Canvas
from copperplate.drawing.diagram.parts import PAIR, rank
from copperplate.drawing.pen import GREY, Box, Disc, Group, Point, Polyline, words

ROW = 4.9
HEAD = 9.4
MOST = 40
"""Rows below each other; a panel of more ways, of which nothing goes on, has them in columns."""
NAME_ROOM = 58.0
"""Widest names of the loads of a way."""


@dataclass
class FaceRow:
    """One way. `loads`: ids of parts in the order that they are met, `joins` those of splices before them."""

    way: int
    rating: str
    loads: list[str] = field(default_factory=list)
    joins: list[str] = field(default_factory=list)
    runs: list[str] = field(default_factory=list)
    words: str = ""
    """What stands there in place of loads: `spare`, `to plus2`."""
    amperes: str = ""
    device: str = ""


class Face:
    """The face itself: measured when made, drawn with its corner at a place."""

    def __init__(
        self, canvas: Canvas, panel: str, rows: list[FaceRow], more: Sequence[str] = (), ends: bool = False
    ) -> None:
        """`ends`: nothing goes on at the right of its rows."""
        self.canvas, self.panel, self.rows = canvas, panel, rows
        part = canvas.task.design.system.parts[panel]
        self.symbol = symbols.part_symbol(part)
        ways = units.counted(max(getattr(part, "ways", None) or 0, *(row.way for row in rows), 0), "way")
        rated = captions.amperes(getattr(part, "current_a", None))
        self.second = ", ".join(filter(None, (ways, rated, getattr(part, "family", None) or "")))
        self.more = list(more)
        names = [min(self._names(row), NAME_ROOM) for row in rows]
        self.rating_x = 3.0 + max((lettering.width(str(row.way), bold=True) for row in rows), default=3.0) + 1.6
        self.rating_x = max(self.rating_x, 8.4)
        self.name_x = self.rating_x + max((lettering.width(row.rating) for row in rows), default=6.0) + 2.4
        amps = max((lettering.width(row.amperes) for row in rows), default=0.0)
        title = lettering.clean(part.title)
        self.head = lettering.width(panel, bold=True) + 2.0 + lettering.width(title) + 16.0
        self.width = max(
            self.name_x + max(names, default=0.0) + 3.0 + amps + 1.8,
            min(self.head, 62.0),
            lettering.width(panel, bold=True) + 17.0, lettering.width(self.second) + 16.0,
            *(lettering.width(text) + 16.0 for text in self.more), 40.0,
        )  # fmt: skip
        self.top = HEAD + lettering.LINE * len(self.more) + 1.8
        columns = -(-len(rows) // MOST) if ends and rows else 1
        self.rows_each = -(-len(rows) // columns)
        self.across = self.width
        """Of one column of its rows."""
        self.width *= columns
        self.height = self.top + ROW * self.rows_each + 0.6

    def _names(self, row: FaceRow) -> float:
        return lettering.width(self._words(row)) + 2.4 * len(row.joins)

    def _words(self, row: FaceRow) -> str:
        parts = self.canvas.task.design.system.parts
        return ", then ".join(captions.name_of(parts[load]) for load in row.loads) or row.words

    def level(self, way: int) -> float:
        """From its top to the middle of the row of a way."""
        place = next(n for n, row in enumerate(self.rows) if row.way == way)
        return self.top + ROW * place + ROW / 2

    def draw(self, x: float, y: float) -> None:
        canvas = self.canvas
        group = canvas.add("part", self.panel, "symbol", at=(x + 2, y + 4))
        group.add(Box(x, y, self.width, self.height))
        part = canvas.task.design.system.parts[self.panel]
        group.add(words(x + 2.0, y + 4.2, self.panel, bold=True))
        at = x + 2.0 + lettering.width(self.panel, bold=True) + 2.0
        title = canvas.fit(lettering.clean(part.title), x + self.width - 13.0 - at) if part.title else ""
        if title and title != "…":
            group.add(words(at, y + 4.2, title))
        for place, text in enumerate((self.second, *self.more)):
            group.add(words(x + 2.0, y + 4.2 + lettering.LINE * (place + 1), text))
        group.add(*self.symbol.at(x + self.width - 6.6, y + 5.0))
        for place, row in enumerate(self.rows):
            column, line = divmod(place, self.rows_each)
            self._row(x + self.across * column, y + self.top + ROW * line, row)

    def _row(self, x: float, y: float, row: FaceRow) -> None:
        canvas, base = self.canvas, y + 3.5
        self.rule(x, y)
        grey = GREY if row.words == "spare" else ""
        notes = (("way", f"{self.panel}.{row.way}"), ("run", " ".join(row.runs)))
        head = canvas.add("row", f"{self.panel}.{row.way}", "symbol", at=(x + 3.0, base), notes=notes)
        head.add(words(x + self.rating_x - 1.6, base, str(row.way), bold=not grey, anchor="end", fill=grey))
        if row.rating:
            head.add(words(x + self.rating_x, base, row.rating))
        if row.device:
            canvas.places.setdefault(row.device, (x + 3.0, base))
        if row.amperes:
            head.add(words(x + self.across - 1.8, base, row.amperes, anchor="end"))
        at = x + self.name_x
        room = self.across - self.name_x - 3.0 - lettering.width(row.amperes)
        for join in row.joins:
            canvas.add("part", join, "symbol", Disc(at + 0.9, base - 1.0, 0.8, "k"), at=(at, base))
            at += 2.4
            room -= 2.4
        if not row.loads:
            head.add(words(at, base, canvas.fit(row.words, room), fill=grey))
        for place, load in enumerate(row.loads):
            name = captions.name_of(canvas.task.design.system.parts[load])
            text = (", then " if place else "") + name
            rest = row.loads[place + 1 :]
            keep = min(room, 4.0) if not rest else 0.0
            fitted = canvas.fit(text, max(room - 3.4 * len(rest), keep, 2.9))
            if fitted.startswith(", then ") and fitted != text and len(fitted) < 9:
                fitted = "…"
            canvas.add("part", load, "symbol", words(at, base, fitted), at=(at, base))
            at += lettering.width(fitted)
            room -= lettering.width(fitted)

    def rule(self, x: float, y: float) -> None:
        self.canvas.groups.append(
            Group("rule", "", "mark").add(Polyline(((x + 0.4, y), (x + self.across - 0.4, y)), "h"))
        )


@dataclass
class Sub:
    """What a way feeds that is no load: its column stands at the right of the face."""

    way: int
    column: Column


class FaceBlock(Block):
    """A panel between the rails, with what its ways feed beside it."""

    def __init__(self, canvas: Canvas, face: Face, tails: list[Tail], subs: list[Sub], paired: bool = False) -> None:
        self.canvas, self.face, self.tails, self.name = canvas, face, tails, face.panel
        self.subs = sorted(subs, key=lambda sub: sub.way)
        self.order, self.paired = rank(canvas, face.panel), paired
        self.settle()

    def settle(self) -> None:
        subs, tails, face = self.subs, self.tails, self.face
        for sub in subs:
            sub.column.settle()
        at = 0.0
        self.tail_x: list[float] = []
        for tail in tails:
            self.tail_x.append(at)
            at += tail.width + GAP
        own = max(face.width, at - GAP, LEAD + PAIR * self.paired + 2)
        self.channel = 2.0 + 2.4 * len(subs)
        self.right = own + (self.channel if subs else 0.0)
        self.width = self.right + sum(sub.column.width for sub in subs) + GAP * max(0, len(subs) - 1)
        self.height = face.height + max((tail.height for tail in tails), default=0.0)
        beside = max((sub.column.height + 2.4 * len(subs) + 2.0 for sub in subs), default=0.0)
        self.height = max(self.height, beside)

    def feet(self) -> list[Tail]:
        return [
            *(foot for tail in self.tails for foot in tail.feet()),
            *(foot for sub in self.subs for foot in sub.column.feet()),
        ]

    def draw(self, x: float, top: float, bottom: float, ceiling: float) -> list[Landing]:
        self.face.draw(x, top)
        landings: list[Landing] = []
        for tail, at in zip(self.tails, self.tail_x, strict=True):
            landings += tail.draw(x + at, top + self.face.height, bottom)
        edge, at = x + self.face.width, x + self.right
        for place, sub in enumerate(reversed(self.subs)):
            number = len(self.subs) - place
            track = edge + 2.0 + 2.4 * (number - 1)
            above = ceiling + 2.4 * number
            level = top + self.face.level(sub.way)
            corners: list[Point] = [(edge, level), (track, level), (track, above), (at + LEAD, above)]
            landings += sub.column.draw(at, above, bottom, above, before=[corners])
            at += sub.column.width + GAP
        return landings
