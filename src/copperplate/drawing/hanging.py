"""What hangs from the second side of a converter or controller: a pair, a loop, or a bay down to a bar."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from copperplate.drawing.bay import Bay
from copperplate.drawing.boxes import PartBox
from copperplate.drawing.captions import Task
from copperplate.drawing.elements import Elements
from copperplate.drawing.figure import BarLevels, BayFigure
from copperplate.drawing.marks import Loose
from copperplate.drawing.packing import Rect
from copperplate.drawing.pen import Group
from copperplate.drawing.stack import DeviceInLine, LabelledConductor, StackElement, Stub
from copperplate.drawing.wiring import WiringEdge

PAST = 3.0
"""How far below a box the first label of what hangs from it stands: its right neighbour may then be near."""
LEAN = 0.7
"""Largest share of a hung box that lies left of its axis."""
NEAR = 2.0
"""A box may lean so far that its pair leaves the owner close by, yet clear of the bay below the owner."""
BELOW = 4.0
"""How far below the lower bars a figure may reach."""


class Hanging:
    """Makes the figures of what hangs from the boxes of a power wiring."""

    def __init__(self, task: Task, make: Elements, levels: BarLevels) -> None:
        self.task = task
        self.make = make
        self.levels = levels

    def figures(self, made: list[BayFigure], hung: Bay) -> list[BayFigure]:
        """The figures of what hangs from the second side of a part in `made`."""
        box = next(
            element
            for figure in made
            for element in figure.elements
            if isinstance(element, PartBox) and element.name == hung.hangs_from
        )
        owner = next(figure for figure in made if box in figure.elements)
        self._tail(owner, box, hung)
        past = box.y1 - box.right_terminal(0)[1] + PAST
        for drop in (past, 0.0):
            figure = self._hung(box, hung, drop)
            if max(rect[3] for rect in figure.rects()) <= self.levels.lower + BELOW:
                return [figure]
        return self._apart(box, hung)

    def _apart(self, box: PartBox, hung: Bay) -> list[BayFigure]:
        """What would hang too low for the sheet, as bays of its own between arrows that name the terminals."""
        elements = [Loose(text=f"from {box.name} {hung.side} +", up=True), *self.make.of(hung)]
        if hung.loop:
            elements.append(Loose(text=f"to {box.name} {hung.side} −"))
        stacks = self.levels.fold(elements)
        made: list[BayFigure] = []
        for stack in stacks:
            ends_below = bool(hung.bottom) and stack is stacks[-1]
            self.levels.stretch(stack, self.levels.upper, self.levels.lower if ends_below else None)
            made.append(BayFigure(stack))
        if hung.bottom:
            made[-1].studs.append(("bottom", hung.bottom, made[-1].elements[-1].x))
        return made

    def _hung(self, box: PartBox, hung: Bay, drop: float) -> BayFigure:
        """The figure of what hangs from `box`: a pair, a loop, or a bay down to a bar. `drop`: how far down the
        first label stands."""
        if hung.loop and self._is_twin(hung):
            return self._twin(box, hung, drop)
        if hung.loop:
            return self._wrap(box, hung)
        level = box.right_terminal(0)[1]
        elements = self.make.of(hung)
        if not isinstance(elements[0], LabelledConductor | Stub):
            elements.insert(0, Stub())
        _lower(elements[0], drop)
        figure = BayFigure(elements, hangs=True)
        self.levels.stretch(elements, level, self.levels.lower if hung.bottom else None)
        if hung.bottom:
            figure.studs.append(("bottom", hung.bottom, elements[-1].x))
        figure.leads = [(elements[0], "before", box.right_terminal(0))]
        figure.clear = [(-2.5, level - 1, 0.0, level + 1)]
        return figure

    def _tail(self, owner: BayFigure, box: PartBox, hung: Bay) -> None:
        """The chain from the lower terminal of the second side down to its bar, beside the first side's own."""
        if not hung.tail_rail:
            return
        main = [e for e in owner.elements if e.y0 >= box.y1 - 0.01 and e is not box]
        both = len(box.bottoms) == 2
        for element in main:
            element.x += box.bottoms[0][0] if both else 0.0
        owner.studs = [
            (row, rail, offset + (box.bottoms[0][0] if both and row == "bottom" else 0.0))
            for row, rail, offset in owner.studs
        ]
        for element in main:
            if both and isinstance(element, LabelledConductor):
                element.left = True
        axis = box.bottoms[1][0] if both else 0.0
        elements = self._returning(hung.tail, low=True)
        elements[0].x = axis
        self.levels.stretch(elements, box.y1, self.levels.lower)
        owner.elements += elements
        owner.studs.append(("bottom", hung.tail_rail, axis))

    def _returning(self, path: Sequence[WiringEdge], *, low: bool = False, left: bool = False) -> list[StackElement]:
        """Conductors and devices of a way back, with a short link where no conductor joins a device to the next or to
        what stands at either end."""
        elements: list[StackElement] = []
        for edge in path:
            if edge.kind == "conductor":
                elements.append(LabelledConductor(task=self.task, name=edge.id, low=low, left=left))
                continue
            if not elements or not isinstance(elements[-1], LabelledConductor):
                elements.append(Stub(style="c-neg"))
            elements.append(DeviceInLine(task=self.task, name=edge.id))
        if not elements or not isinstance(elements[-1], LabelledConductor):
            elements.append(Stub(style="c-neg"))
        return elements

    def _is_twin(self, hung: Bay) -> bool:
        """True where the ways out and back of a loop have the same things in the same order."""
        parts = [n for n, edge in enumerate(hung.path) if edge.kind == "part"]
        if len(parts) != 1:
            return False
        out, back = hung.path[: parts[0]], hung.path[parts[0] + 1 :][::-1]
        if len(out) != len(back) or not out:
            return False
        conductors = self.task.design.system.conductors
        return all(
            a.kind == b.kind and (a.id == b.id if a.kind == "device" else conductors[a.id].run == conductors[b.id].run)
            for a, b in zip(out, back, strict=True)
        )

    def _twin(self, box: PartBox, hung: Bay, drop: float) -> BayFigure:
        """A pair hung from a box to one part: positive outside, negative beside it."""
        place = next(n for n, edge in enumerate(hung.path) if edge.kind == "part")
        out, back, part = hung.path[:place], hung.path[place + 1 :][::-1], hung.path[place]
        gap = -4.8 if not any(edge.kind == "device" for edge in out) else -6.4
        elements: list[StackElement] = []
        last = "part"
        for edge, other in zip(out, back, strict=True):
            if edge.kind == "conductor":
                elements.append(LabelledConductor(task=self.task, name=edge.id, twin=other.id, twin_dx=gap))
            else:
                if last != "conductor":
                    elements.append(_TwinStub(dx=gap))
                elements.append(DeviceInLine(task=self.task, name=edge.id, twin_dx=gap))
            last = edge.kind
        if last != "conductor":
            elements.append(_TwinStub(dx=gap))
        if not isinstance(elements[0], LabelledConductor):
            elements.insert(0, _TwinStub(dx=gap))
        hung_box = PartBox(
            task=self.task,
            name=part.id,
            tops=[(0.0, "+"), (gap, "−")],
            remarks=self.make.remarks(part),
            sides=[part.side],
            lean=LEAN,
        )
        near = box.edges[1] - box.x + NEAR - gap
        hung_box.lean = min(LEAN, max(near / hung_box.wide, (4.0 - gap) / hung_box.wide, 1 - LEAN))
        elements.append(hung_box)
        _lower(elements[0], drop)
        self.levels.stretch(elements, box.right_terminal(0)[1], None)
        upper, lower = box.right_terminal(0), box.right_terminal(1)
        return BayFigure(
            elements,
            hangs=True,
            leads=[(elements[0], "before", upper), (elements[0], "twin_before", lower)],
            clear=[(gap - 2.5, upper[1] - 1, 0.0, lower[1] + 1)],
        )

    def _wrap(self, box: PartBox, hung: Bay) -> BayFigure:
        """A loop hung from a box whose ways differ: out on the right through its parts, back on the left."""
        last_part = max(n for n, edge in enumerate(hung.path) if edge.kind == "part")
        out = Bay(hung.path[: last_part + 1], hung.nodes[: last_part + 2], hangs_from=box.name)
        elements = self.make.of(out)
        if not isinstance(elements[0], LabelledConductor | Stub):
            elements.insert(0, Stub())
        start = box.right_terminal(0)[1]
        self.levels.stretch(elements, start, None)
        figure = BayFigure(elements, hangs=True)
        floor = elements[-1].y1 + 4.0
        left = min(rect[0] for element in elements[1:] or elements for rect in element.rects()) - 3.0
        back = hung.path[last_part + 1 :][::-1]
        level = box.right_terminal(1)[1]
        rising = self._returning(back, left=True)
        rising[0].x = left
        needed = sum(element.height for element in rising)
        if level + needed > floor:
            floor = level + needed
        self.levels.stretch(rising, level, floor)
        first, final = rising[0], rising[-1]
        assert isinstance(first, LabelledConductor | Stub) and isinstance(final, LabelledConductor | Stub)
        figure.leads = [(elements[0], "before", box.right_terminal(0)), (first, "before", box.right_terminal(1))]
        figure.clear = [(left - 4.0, start - 1, 0.0, level + 1)]
        final.stop = floor
        final.after = ((left, floor), (0.0, floor), (0.0, elements[-1].y1))
        figure.elements = [*elements, *rising]
        return figure


def _lower(element: StackElement, drop: float) -> None:
    """Makes the first element of a bay longer above its label."""
    if isinstance(element, LabelledConductor):
        element.drop = drop
    element.height += drop


@dataclass
class _TwinStub(Stub):
    """Two short links side by side."""

    dx: float = 0.0
    twin_before: tuple[tuple[float, float], ...] = ()

    def _other(self) -> Stub:
        start = self.twin_before[-1][1] if self.twin_before else self.start
        return Stub(self.height, self.x + self.dx, before=self.twin_before, start=start, stop=self.stop, style="c-neg")

    def draw(self, x: float) -> list[Group]:
        return [*super().draw(x), *self._other().draw(x)]

    def rects(self) -> list[Rect]:
        return [*super().rects(), *self._other().rects()]
