"""The bays of the power sheet as figures: between the bars, or from one bar to the next of its row."""

from __future__ import annotations

from copperplate.drawing.bay import Bay, Power
from copperplate.drawing.captions import Task
from copperplate.drawing.cells import Cells
from copperplate.drawing.elements import Elements
from copperplate.drawing.figure import BarLevels, BayFigure
from copperplate.drawing.hanging import Hanging
from copperplate.drawing.reserve import given
from copperplate.drawing.stack import DeviceInLine, LabelledConductor, StackElement, Stub


class Drafter:
    """Makes the figures of a power wiring between two levels (mm from the top of the sheet)."""

    def __init__(self, task: Task, power: Power, upper: float, lower: float, leaves: dict[str, str]) -> None:
        self.task = task
        self.make = Elements(task, power, leaves)
        self.levels = BarLevels(upper, lower)
        self.hanging = Hanging(task, self.make, self.levels)

    def figures(self, bay: Bay) -> list[BayFigure]:
        """The figures of a bay and of what hangs from it: more than one where it is too tall for the sheet."""
        if bay.link:
            return [self._link(bay)]
        second = bay.hung[0] if bay.hung else None
        made: list[BayFigure] = []
        stacks = self.levels.fold(self.make.of(bay, second))
        for place, stack in enumerate(stacks):
            ends_below = bool(bay.bottom) and place == len(stacks) - 1
            starts_above = bool(bay.top) or place > 0
            least = sum(element.height for element in stack)
            upper = self.levels.lower - least if ends_below and not starts_above else self.levels.upper
            _turn_labels(stack)
            self.levels.stretch(stack, upper, self.levels.lower if ends_below else None)
            made.append(BayFigure(stack))
        if bay.top:
            made[0].studs.append(("top", bay.top, made[0].elements[0].x))
        if bay.bottom:
            made[-1].studs.append(("bottom", bay.bottom, made[-1].elements[-1].x))
        for hung in bay.hung:
            made += self.hanging.figures(made, hung)
        return made

    def _link(self, bay: Bay) -> BayFigure:
        """Two rails of one row joined: down (or up) on the left with everything in the way, across, and back."""
        elements = self.make.of(bay)
        up = bay.link == "bottom"
        figure = BayFigure(elements)
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
        if not isinstance(turning, LabelledConductor | Stub):
            turning = Stub(height=0.01, style="c-neg" if up else "c-pos")
            turning.start = start - 2.0 if up else elements[-1].ends[1]
            turning.stop = elements[0].ends[0] if up else elements[-1].ends[1] + 2.0
            elements.insert(0, turning) if up else elements.append(turning)
        level = turning.start if up else turning.stop
        if up:
            turning.before = ((right, self.levels.lower), (right, level))
        else:
            turning.after = ((right, level), (right, self.levels.upper))
        first, second = (bay.top, bay.bottom)
        figure.turning = turning
        figure.studs = [(bay.link, first, 0.0), (bay.link, second, right)]
        return figure


def _turn_labels(stack: list[StackElement]) -> None:
    """Sets the labels below a bank that the bay leaves further right under the bank, where they fit there."""
    bank = next((n for n, element in enumerate(stack) if isinstance(element, Cells) and element.shift > 0), None)
    if bank is None:
        return
    below = [element for element in stack[bank + 1 :] if isinstance(element, LabelledConductor | DeviceInLine)]
    widest = given(line for element in below for line in element.lines)
    if widest <= stack[bank].shift and all(
        isinstance(e, LabelledConductor | DeviceInLine | Stub) for e in stack[bank + 1 :]
    ):
        for element in below:
            element.left = True
