"""What stands at a point of a bay: a splice, an earth, an end that goes on elsewhere."""

from __future__ import annotations

from dataclasses import dataclass

from copperplate.drawing import captions, lettering, symbols
from copperplate.drawing.captions import Line, Task
from copperplate.drawing.packing import Rect
from copperplate.drawing.pen import Disc, Group, Polyline
from copperplate.drawing.stack import StackElement, arrow, centred, label_rect, put


@dataclass
class Splice(StackElement):
    """A splice in the line: a dot with its address; or, with `flag`, a place that circuits of other sheets leave
    from."""

    name: str = ""
    flag: str = ""

    def __post_init__(self) -> None:
        self.height = 5.6
        text = f"{self.name}  {self.flag}".strip() if self.flag else self.name
        self.line: Line = ((text, False),) if self.flag else ((text, True),)

    @property
    def middle(self) -> float:
        return (self.y0 + self.y1) / 2

    @property
    def ends(self) -> tuple[float, float]:
        return self.middle, self.middle

    def rects(self) -> list[Rect]:
        start = self.x + (7.2 if self.flag else 2.0)
        return [(self.x - 1, self.y0, self.x + 7, self.y1), label_rect(start, centred(self.middle, 1), [self.line])]

    def draw(self, x: float) -> list[Group]:
        x += self.x
        line = Group("mount", "", "conductor")
        dot = Group("part" if self.name else "mount", self.name, "mark").add(Disc(x, self.middle, 0.9, "k"))
        if self.flag:
            line.add(Polyline(((x, self.middle), (x + 4.6, self.middle)), "o", 0.5))
            dot.add(arrow(x + 6.4, self.middle, "right"))
        dot.add(*put(x + (7.2 if self.flag else 2.0), centred(self.middle, 1), [self.line]))
        return [line, dot]


@dataclass(kw_only=True)
class EarthMark(StackElement):
    """An earth at the end of a bay."""

    task: Task
    name: str

    def __post_init__(self) -> None:
        self.lines = captions.box_lines(self.task, self.name, (), 30.0)
        self.height = max(4.6, len(self.lines) * lettering.LINE)

    def rects(self) -> list[Rect]:
        return [
            (self.x - 3.2, self.y0, self.x + 3.2, self.y0 + 4.2),
            label_rect(self.x + 4.4, self.y0 + 3.0, self.lines),
        ]

    def draw(self, x: float) -> list[Group]:
        x += self.x
        group = Group("part", self.name, "symbol").add(*symbols.EARTH.at(x, self.y0))
        return [group.add(*put(x + 4.4, self.y0 + 3.0, self.lines))]


@dataclass
class Loose(StackElement):
    """Where a bay ends or goes on elsewhere: an arrow with words, or an open ring where nothing follows."""

    text: str = ""
    up: bool = False
    ring: bool = False

    def __post_init__(self) -> None:
        self.height = 4.6
        self.line: Line = ((self.text, False),)

    def rects(self) -> list[Rect]:
        return [
            (self.x - 1.2, self.y0, self.x + 1.2, self.y1),
            label_rect(self.x + 2.4, centred((self.y0 + self.y1) / 2, 1), [self.line]),
        ]

    def draw(self, x: float) -> list[Group]:
        x += self.x
        group = Group("goes-on", self.text, "mark")
        if self.ring:
            group.add(Disc(x, self.y0 + 0.8 if not self.up else self.y1 - 0.8, 0.8, "w"))
        else:
            group.add(arrow(x, self.y1 if not self.up else self.y1 - 2.2, "down"))
            tail = (self.y0, self.y1 - 2.0) if not self.up else (self.y1 - 2.2, self.y1)
            group.add(Polyline(((x, tail[0]), (x, tail[1])), "o", 0.5))
        return [group.add(*put(x + 2.4, centred((self.y0 + self.y1) / 2, 1), [self.line]))]
