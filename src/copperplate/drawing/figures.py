"""A column of the power sheet as a figure: its elements placed, its outline, and where it meets the bars."""

from __future__ import annotations

from dataclasses import dataclass, field

from copperplate.drawing.boxes import BankBlock, PartBox
from copperplate.drawing.captions import Task
from copperplate.drawing.cells import Cells
from copperplate.drawing.column import Column, Power
from copperplate.drawing.elements import Elements
from copperplate.drawing.packing import Rect
from copperplate.drawing.pen import Group, Point
from copperplate.drawing.reserve import given
from copperplate.drawing.stack import SLOT, WISHED, Earth, Element, InLine, Loose, Stub, Wire, join

PAST = 3.0
"""How far below a box the first label of what hangs from it stands: its right neighbour may then be near."""
BELOW = 4.0
"""How far below the lower bars a figure may reach."""


@dataclass
class Figure:
    """Elements from the top down on their axes. `studs`: (row, rail, mm from the figure's axis)."""

    elements: list[Element]
    studs: list[tuple[str, str, float]] = field(default_factory=list)
    hangs: bool = False
    """True where it hangs from the figure before it and must stay beside it."""
    leads: list[tuple[Element, str, Point]] = field(default_factory=list)
    """(element, its attribute, terminal in mm from the owner's axis): corners to set once the figure is placed."""
    clear: list[Rect] = field(default_factory=list)
    """Room to keep free beside what is drawn."""
    turning: Wire | Stub | None = None
    """Of a link between two rails: what crosses from one to the other."""

    def spread(self, right: float) -> None:
        """Sets the second rail of a link at `right` mm from the axis."""
        assert self.turning is not None
        bent = "before" if self.turning.before else "after"
        points = getattr(self.turning, bent)
        setattr(self.turning, bent, tuple((right, y) for _, y in points))
        row, rail, _ = self.studs[1]
        self.studs[1] = (row, rail, right)

    def rects(self) -> list[Rect]:
        return [*self.clear, *(rect for element in self.elements for rect in element.rects())]

    def shown(self) -> list[str]:
        """What stands in the figure, as other sheets refer to it."""
        return [key for element in self.elements for key in _keys(element)]

    def reach(self, distance: float) -> None:
        """Leads the figure's first conductors to their terminals, `distance` mm to the left of its axis being the
        axis of the figure that it hangs from."""
        for element, attribute, (x, y) in self.leads:
            setattr(element, attribute, ((x - distance, y),))

    def draw(self, x: float) -> list[Group]:
        return [group for element in self.elements for group in element.draw(x)]


class Drafter:
    """Makes the figures of a power wiring between two levels (mm from the top of the sheet)."""

    def __init__(self, task: Task, power: Power, upper: float, lower: float, leaves: dict[str, str]) -> None:
        self.task = task
        self.make = Elements(task, power, leaves)
        self.upper = upper
        self.lower = lower

    # --- figures -----------------------------------------------------------------------------------------

    def figures(self, column: Column) -> list[Figure]:
        """The figures of a column and of what hangs from it: more than one where it is too tall for the sheet."""
        if column.link:
            return [self._link(column)]
        second = column.hung[0] if column.hung else None
        made: list[Figure] = []
        stacks = self._fold(self.make.of(column, second))
        for place, stack in enumerate(stacks):
            ends_below = bool(column.bottom) and place == len(stacks) - 1
            starts_above = bool(column.top) or place > 0
            least = sum(element.height for element in stack)
            upper = self.lower - least if ends_below and not starts_above else self.upper
            _turn_labels(stack)
            self._stretch(stack, upper, self.lower if ends_below else None)
            made.append(Figure(stack))
        if column.top:
            made[0].studs.append(("top", column.top, made[0].elements[0].x))
        if column.bottom:
            made[-1].studs.append(("bottom", column.bottom, made[-1].elements[-1].x))
        for hung in column.hung:
            made += self._hang(made, hung)
        return made

    def _fold(self, elements: list[Element]) -> list[list[Element]]:
        """Elements in as many stacks as their height asks for; each but the last goes on in the next. Banks take
        their less tall form before that."""
        room = self.lower - self.upper
        for element in elements:
            if isinstance(element, Cells) and sum(e.height for e in elements) > room:
                element.condense()
        stacks: list[list[Element]] = [[]]
        height = 0.0
        letter = 0
        for place, element in enumerate(elements):
            rest = sum(e.height for e in elements[place:])
            if height + element.height + 4.6 > room and height + rest > room and stacks[-1]:
                name = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[letter % 26]
                letter += 1
                stacks[-1].append(Loose(text=f"goes on at {name}, right"))
                stacks.append([Loose(text=f"{name}, from the left", up=True)])
                height = 4.6
            stacks[-1].append(element)
            height += element.height
        return stacks

    def _stretch(self, elements: list[Element], upper: float, lower: float | None) -> None:
        """Places elements between the levels: packed at the top down to the first part, packed at the bottom
        below it; the conductor between takes the slack. Without a lower level all are packed at the top."""
        wires = [element for element in elements if isinstance(element, Wire)]
        least = sum(element.height for element in elements)
        room = (self.lower if lower is None else lower) - upper - least
        more = min(WISHED - SLOT, max(0.0, room) / len(wires)) if wires else 0.0
        heights = [element.height + (more if isinstance(element, Wire) else 0.0) for element in elements]
        slack = 0.0 if lower is None else max(0.0, lower - upper - sum(heights))
        parts = [n for n, e in enumerate(elements) if isinstance(e, PartBox | Cells | BankBlock)]
        first = parts[0] if parts else -1
        taker = next((n for n in range(first + 1, len(elements)) if elements[n].stretch), None)
        if taker is None:
            taker = next((n for n in range(len(elements) - 1, -1, -1) if elements[n].stretch), len(elements) - 1)
        x, y = elements[0].x, upper
        for place, (element, height) in enumerate(zip(elements, heights, strict=True)):
            element.x, element.y0 = x, y
            y += height + (slack if place == taker else 0.0)
            element.y1 = y
            x += element.shift
        join(elements)

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
            start = self.lower - total - 6.0
        else:
            start = self.upper
        self._stretch(elements, start, None)
        right = max(rect[2] for rect in figure.rects()) + 4
        turning = elements[0] if up else elements[-1]
        if not isinstance(turning, Wire | Stub):
            turning = Stub(height=0.01, style="c-neg" if up else "c-pos")
            turning.start = start - 2.0 if up else elements[-1].ends[1]
            turning.stop = elements[0].ends[0] if up else elements[-1].ends[1] + 2.0
            elements.insert(0, turning) if up else elements.append(turning)
        level = turning.start if up else turning.stop
        if up:
            turning.before = ((right, self.lower), (right, level))
        else:
            turning.after = ((right, level), (right, self.upper))
        first, second = (column.top, column.bottom)
        figure.turning = turning
        figure.studs = [(column.link, first, 0.0), (column.link, second, right)]
        return figure

    def _hang(self, made: list[Figure], hung: Column) -> list[Figure]:
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
            if max(rect[3] for rect in figure.rects()) <= self.lower + BELOW:
                return [figure]
        return self._apart(box, hung)

    def _apart(self, box: PartBox, hung: Column) -> list[Figure]:
        """What would hang too low for the sheet, as columns of its own between arrows that name the terminals."""
        elements = [Loose(text=f"from {box.name} {hung.side} +", up=True), *self.make.of(hung)]
        if hung.loop:
            elements.append(Loose(text=f"to {box.name} {hung.side} −"))
        stacks = self._fold(elements)
        made: list[Figure] = []
        for stack in stacks:
            ends_below = bool(hung.bottom) and stack is stacks[-1]
            self._stretch(stack, self.upper, self.lower if ends_below else None)
            made.append(Figure(stack))
        if hung.bottom:
            made[-1].studs.append(("bottom", hung.bottom, made[-1].elements[-1].x))
        return made

    def _hung(self, box: PartBox, hung: Column, drop: float) -> Figure:
        """The figure of what hangs from `box`: a pair, a loop, or a column down to a bar. `drop`: how far down the
        first label stands."""
        if hung.loop and self._is_twin(hung):
            return self._twin(box, hung, drop)
        if hung.loop:
            return self._wrap(box, hung)
        level = box.right_terminal(0)[1]
        elements = self.make.of(hung)
        if not isinstance(elements[0], Wire | Stub):
            elements.insert(0, Stub())
        _lower(elements[0], drop)
        figure = Figure(elements, hangs=True)
        self._stretch(elements, level, self.lower if hung.bottom else None)
        if hung.bottom:
            figure.studs.append(("bottom", hung.bottom, elements[-1].x))
        figure.leads = [(elements[0], "before", box.right_terminal(0))]
        figure.clear = [(-2.5, level - 1, 0.0, level + 1)]
        return figure

    def _tail(self, owner: Figure, box: PartBox, hung: Column) -> None:
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
            if both and isinstance(element, Wire):
                element.left = True
        axis = box.bottoms[1][0] if both else 0.0
        tail = Column(hung.tail, [box.name, *(["" for _ in hung.tail])], hung.side, hung.tail_rail)
        elements: list[Element] = []
        last = "part"
        for edge in tail.path:
            if edge.kind != "conductor" and last != "conductor":
                elements.append(Stub(style="c-neg"))
            elements.append(
                Wire(task=self.task, name=edge.id, low=True)
                if edge.kind == "conductor"
                else InLine(task=self.task, name=edge.id)
            )
            last = edge.kind
        if last != "conductor":
            elements.append(Stub(style="c-neg"))
        elements[0].x = axis
        self._stretch(elements, box.y1, self.lower)
        owner.elements += elements
        owner.studs.append(("bottom", hung.tail_rail, axis))

    def _is_twin(self, hung: Column) -> bool:
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

    def _twin(self, box: PartBox, hung: Column, drop: float) -> Figure:
        """A pair hung from a box to one part: positive outside, negative beside it."""
        place = next(n for n, edge in enumerate(hung.path) if edge.kind == "part")
        out, back, part = hung.path[:place], hung.path[place + 1 :][::-1], hung.path[place]
        gap = -4.8 if not any(edge.kind == "device" for edge in out) else -6.4
        elements: list[Element] = []
        last = "part"
        for edge, other in zip(out, back, strict=True):
            if edge.kind == "conductor":
                elements.append(Wire(task=self.task, name=edge.id, twin=other.id, twin_dx=gap))
            else:
                if last != "conductor":
                    elements.append(_TwinStub(dx=gap))
                elements.append(InLine(task=self.task, name=edge.id, twin_dx=gap))
            last = edge.kind
        if last != "conductor":
            elements.append(_TwinStub(dx=gap))
        if not isinstance(elements[0], Wire):
            elements.insert(0, _TwinStub(dx=gap))
        elements.append(
            PartBox(
                task=self.task,
                name=part.id,
                tops=[(0.0, "+"), (gap, "−")],
                remarks=self.make.remarks(part),
                sides=[part.side],
                lean=0.7,
            )
        )
        _lower(elements[0], drop)
        self._stretch(elements, box.right_terminal(0)[1], None)
        upper, lower = box.right_terminal(0), box.right_terminal(1)
        return Figure(
            elements,
            hangs=True,
            leads=[(elements[0], "before", upper), (elements[0], "twin_before", lower)],
            clear=[(gap - 2.5, upper[1] - 1, 0.0, lower[1] + 1)],
        )

    def _wrap(self, box: PartBox, hung: Column) -> Figure:
        """A loop hung from a box whose ways differ: out on the right through its parts, back on the left."""
        last_part = max(n for n, edge in enumerate(hung.path) if edge.kind == "part")
        out = Column(hung.path[: last_part + 1], hung.nodes[: last_part + 2], hangs_from=box.name)
        elements = self.make.of(out)
        if not isinstance(elements[0], Wire | Stub):
            elements.insert(0, Stub())
        start = box.right_terminal(0)[1]
        self._stretch(elements, start, None)
        figure = Figure(elements, hangs=True)
        floor = elements[-1].y1 + 4.0
        left = min(rect[0] for element in elements[1:] or elements for rect in element.rects()) - 3.0
        back = hung.path[last_part + 1 :][::-1]
        level = box.right_terminal(1)[1]
        rising: list[Element] = []
        last = "part"
        for edge in back:
            if edge.kind != "conductor" and last != "conductor":
                rising.append(Stub(style="c-neg"))
            rising.append(
                Wire(task=self.task, name=edge.id, left=True)
                if edge.kind == "conductor"
                else InLine(task=self.task, name=edge.id)
            )
            last = edge.kind
        if not rising or not isinstance(rising[-1], Wire):
            rising.append(Stub(style="c-neg"))
        if not isinstance(rising[0], Wire | Stub):
            rising.insert(0, Stub(style="c-neg"))
        rising[0].x = left
        needed = sum(element.height for element in rising)
        if level + needed > floor:
            floor = level + needed
        self._stretch(rising, level, floor)
        first, final = rising[0], rising[-1]
        assert isinstance(first, Wire | Stub) and isinstance(final, Wire | Stub)
        figure.leads = [(elements[0], "before", box.right_terminal(0)), (first, "before", box.right_terminal(1))]
        figure.clear = [(left - 4.0, start - 1, 0.0, level + 1)]
        final.stop = floor
        final.after = ((left, floor), (0.0, floor), (0.0, elements[-1].y1))
        figure.elements = [*elements, *rising]
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


def _lower(element: Element, drop: float) -> None:
    """Makes the first element of a column longer above its label."""
    if isinstance(element, Wire):
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


def _keys(element: Element) -> list[str]:
    if isinstance(element, PartBox):
        return [f"part:{element.name}", *(f"side:{element.name}.{side}" for side in element.sides)]
    if isinstance(element, Cells | Earth):
        return [f"part:{element.name}"]
    if isinstance(element, BankBlock) and element.bank is not None:
        return [f"part:{edge.id}" for string in element.bank.strings for edge in string if edge.kind == "part"]
    return []
