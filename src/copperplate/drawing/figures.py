"""The columns of the power sheet as figures: between the bars, or from one bar to the next of its row."""

from __future__ import annotations

from copperplate.drawing.captions import Task
from copperplate.drawing.cells import Cells
from copperplate.drawing.column import Column, Power
from copperplate.drawing.elements import Elements
from copperplate.drawing.figure import Figure, Levels
from copperplate.drawing.hanging import Hanging
from copperplate.drawing.reserve import given
from copperplate.drawing.stack import Element, InLine, Stub, Wire


class Drafter:
    """Makes the figures of a power wiring between two levels (mm from the top of the sheet)."""

    def __init__(self, task: Task, power: Power, upper: float, lower: float, leaves: dict[str, str]) -> None:
        self.task = task
        self.make = Elements(task, power, leaves)
        self.levels = Levels(upper, lower)
        self.hanging = Hanging(task, self.make, self.levels)

    def figures(self, column: Column) -> list[Figure]:
        """The figures of a column and of what hangs from it: more than one where it is too tall for the sheet."""
        if column.link:
            return [self._link(column)]
        second = column.hung[0] if column.hung else None
        made: list[Figure] = []
        stacks = self.levels.fold(self.make.of(column, second))
        for place, stack in enumerate(stacks):
            ends_below = bool(column.bottom) and place == len(stacks) - 1
            starts_above = bool(column.top) or place > 0
            least = sum(element.height for element in stack)
            upper = self.levels.lower - least if ends_below and not starts_above else self.levels.upper
            _turn_labels(stack)
            self.levels.stretch(stack, upper, self.levels.lower if ends_below else None)
            made.append(Figure(stack))
        if column.top:
            made[0].studs.append(("top", column.top, made[0].elements[0].x))
        if column.bottom:
            made[-1].studs.append(("bottom", column.bottom, made[-1].elements[-1].x))
        for hung in column.hung:
            made += self.hanging.figures(made, hung)
        return made

    def _link(self, column: Column) -> Figure:
        """Two rails of one row joined: down (or up) on the left with everything in the way, across, and back."""
        elements = self.make.of(column)
        up = column.link == "bottom"
        figure = Figure(elements)
        if elements and isinstance(elements[-1], Stub) and not up:
            elements.pop()
        total = sum(e.height for e in elements)
        if up:
            elements = elements[::-1]
            figure.elements = elements
            start = self.levels.lower - total - 6.0
        else:
            start = self.levels.upper
        self.levels.stretch(elements, start, None)
        right = max(rect[2] for rect in figure.rects()) + 4
        turning = elements[0] if up else elements[-1]
        if not isinstance(turning, Wire | Stub):
            turning = Stub(height=0.01, style="c-neg" if up else "c-pos")
            turning.start = start - 2.0 if up else elements[-1].ends[1]
            turning.stop = elements[0].ends[0] if up else elements[-1].ends[1] + 2.0
            elements.insert(0, turning) if up else elements.append(turning)
        level = turning.start if up else turning.stop
        if up:
            turning.before = ((right, self.levels.lower), (right, level))
        else:
            turning.after = ((right, level), (right, self.levels.upper))
        first, second = (column.top, column.bottom)
        figure.turning = turning
        figure.studs = [(column.link, first, 0.0), (column.link, second, right)]
        return figure


def _turn_labels(stack: list[Element]) -> None:
    """Sets the labels below a bank that the column leaves further right under the bank, where they fit there."""
    bank = next((n for n, element in enumerate(stack) if isinstance(element, Cells) and element.shift > 0), None)
    if bank is None:
        return
    below = [element for element in stack[bank + 1 :] if isinstance(element, Wire | InLine)]
    widest = given(line for element in below for line in element.lines)
    if widest <= stack[bank].shift and all(isinstance(e, Wire | InLine | Stub) for e in stack[bank + 1 :]):
        for element in below:
            element.left = True
