"""Parts in a bay of the power sheet: boxes with their terminals, and banks of linked batteries."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from copperplate.drawing import captions, lettering, symbols
from copperplate.drawing.banks import LinkedBank
from copperplate.drawing.captions import Line, Task, box_lines
from copperplate.drawing.cells import Cells
from copperplate.drawing.packing import Rect
from copperplate.drawing.pen import Box, Disc, Group, Point, words
from copperplate.drawing.reserve import given
from copperplate.drawing.stack import LabelledConductor, StackElement, centred, conductor_group, join, put
from copperplate.drawing.wiring import WiringEdge


@dataclass(kw_only=True)
class PartBox(StackElement):
    """A part in a box: address, title, figures, symbol, and the marks of its terminals.

    `tops`, `bottoms`: (mm from the axis, mark). `rights`: marks of the second side, upper terminal first."""

    task: Task
    name: str
    tops: list[tuple[float, str]] = field(default_factory=list)
    bottoms: list[tuple[float, str]] = field(default_factory=list)
    rights: list[str] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    sides: list[str] = field(default_factory=list)
    """Names of the part's sides whose conductors stand here."""
    lean: float = 0.5
    """Share of the box that lies left of the axis."""

    def __post_init__(self) -> None:
        part = self.task.design.system.parts[self.name]
        self.lines = box_lines(self.task, self.name, self.remarks)
        self.symbol = symbols.part_symbol(part)
        text = given(self.lines)
        across = self.symbol.right - self.symbol.left
        self.marks = max(lettering.width(mark) for mark in self.rights) + 1.5 if self.rights else 0.0
        self.wide = round(2 + text + 3 + across + 2.2 + self.marks, 1)
        spread = max((abs(x) for x, _ in (*self.tops, *self.bottoms)), default=0.0)
        self.wide = max(self.wide, (spread + 4) / min(self.lean, 1 - self.lean))
        self.above = 4.2 if self.tops else 1.6
        self.below = 4.0 if self.bottoms else 1.4
        body = max(len(self.lines) * lettering.LINE, self.symbol.bottom - self.symbol.top + 1, 6.4 * bool(self.rights))
        self.height = round(self.above + body + self.below, 1)

    @property
    def edges(self) -> tuple[float, float]:
        left = self.x - round(self.wide * self.lean, 1)
        return left, left + self.wide

    def right_terminal(self, place: int) -> Point:
        """Where the second side's upper (0) or lower (1) terminal is."""
        middle = self.y0 + self.above + (self.height - self.above - self.below) / 2
        return self.edges[1], middle + (-2.6 if place == 0 else 2.6)

    def rects(self) -> list[Rect]:
        left, right = self.edges
        return [(left - 0.3, self.y0, right + 0.3, self.y1)]

    def draw(self, x: float) -> list[Group]:
        left, right = (edge + x for edge in self.edges)
        group = Group("part", self.name, "symbol").add(Box(left, self.y0, self.wide, self.height))
        inner = self.y0 + self.above + (self.height - self.above - self.below) / 2
        group.add(*put(left + 2, centred(inner, len(self.lines)), self.lines))
        group.add(*self.symbol.at(right - 2.2 - self.marks - self.symbol.right, inner))
        for offset, mark in self.tops:
            group.add(words(self.x + x + offset, self.y0 + 3.4, mark, anchor="middle", bold=True))
        for offset, mark in self.bottoms:
            group.add(words(self.x + x + offset, self.y1 - 1.3, mark, anchor="middle", bold=True))
        for place, mark in enumerate(self.rights):
            group.add(words(right - 1.2, self.right_terminal(place)[1] + 1.0, mark, anchor="end", bold=True))
        return [group]


@dataclass(kw_only=True)
class BankBlock(StackElement):
    """Batteries that are parts of their own, linked side by side. The bay enters at one string and leaves at
    another."""

    task: Task
    bank: LinkedBank

    def __post_init__(self) -> None:
        task, bank = self.task, self.bank
        self.stacks = [list(self._string(task, string)) for string in bank.strings]
        links = [*bank.above, *bank.below]
        widest = given(line for edge in links for line in self._link_label(edge.id))
        self.pitch = max(
            widest + 5.0,
            *(rect[2] - rect[0] + 3 for stack in self.stacks for element in stack for rect in _spread(element)),
        )
        self.pitch = round(self.pitch, 1)
        self.body = max(sum(element.height for element in stack) for stack in self.stacks)
        self.height = self.body + 2 * 3.0
        self.enter = self._place(bank.pos, 0)
        self.leave = self._place(bank.neg, -1)

    def _string(self, task: Task, string: list[WiringEdge]) -> Sequence[StackElement]:
        made: list[StackElement] = []
        for edge in string:
            if edge.kind == "part":
                made.append(Cells(task=task, name=edge.id, upright=True, terse=True))
            else:
                made.append(LabelledConductor(task=task, name=edge.id))
        return made

    def _place(self, node: str, end: int) -> int:
        for place, string in enumerate(self.bank.strings):
            if node in (string[end].a, string[end].b):
                return place
        return 0

    def _link_label(self, name: str) -> list[Line]:
        head, below = captions.conductors(self.task, [name])
        return [(*head, *below)]

    @property
    def shift(self) -> float:
        return (self.leave - self.enter) * self.pitch

    @property
    def ends(self) -> tuple[float, float]:
        return self.y0 + 3.0, self.y1 - 3.0

    def _axis(self, place: int) -> float:
        return self.x + (place - self.enter) * self.pitch

    def _arrange(self) -> None:
        for place, stack in enumerate(self.stacks):
            y = self.y0 + 3.0
            slack = self.body - sum(element.height for element in stack)
            for element in stack:
                element.x, element.y0 = self._axis(place), y
                y += element.height
                if element is stack[-1]:
                    y += slack
                element.y1 = y
            join(stack)

    def rects(self) -> list[Rect]:
        self._arrange()
        covered = [rect for stack in self.stacks for element in stack for rect in element.rects()]
        left, right = self._axis(0), self._axis(len(self.stacks) - 1)
        return [*covered, (left - 4, self.y0 - 1.0, right + 4, self.y1 + 1.0)]

    def draw(self, x: float) -> list[Group]:
        self._arrange()
        groups = [group for stack in self.stacks for element in stack for group in element.draw(x)]
        for links, level, baseline in (
            (self.bank.above, self.y0 + 3.0, self.y0 + 3.0 - 1.3),
            (self.bank.below, self.y1 - 3.0, self.y1 - 3.0 + 3.3),
        ):
            for place, edge in enumerate(links):
                start, end = x + self._axis(place), x + self._axis(place + 1)
                group = conductor_group(self.task, edge.id, ((start, level), (end, level)))
                groups.append(group.add(*put(start + 2.2, baseline, self._link_label(edge.id))))
        marks = Group("mount", "", "mark")
        for place in range(len(self.stacks)):
            axis = x + self._axis(place)
            marks.add(Disc(axis, self.y0 + 3.0, 0.9, "k"), Disc(axis, self.y1 - 3.0, 0.9, "k"))
        return [*groups, marks]


def _spread(element: StackElement) -> list[Rect]:
    """The rectangles of an element not yet placed, for its width."""
    element.y1 = element.y0 + element.height
    rects = element.rects()
    return [(min(r[0] for r in rects), 0.0, max(r[2] for r in rects), 0.0)]
