"""A figure of the power sheet: the elements of a bay with their places, its outline, and where it meets the bars."""

from __future__ import annotations

from dataclasses import dataclass, field

from copperplate.drawing.boxes import BankBlock, PartBox
from copperplate.drawing.cells import Cells
from copperplate.drawing.marks import EarthMark, Loose
from copperplate.drawing.packing import Rect
from copperplate.drawing.pen import Group, Point
from copperplate.drawing.stack import SLOT, WISHED, LabelledConductor, StackElement, Stub, join


@dataclass
class BayFigure:
    """Elements from the top down on their axes. `studs`: (row, rail, mm from the figure's axis)."""

    elements: list[StackElement]
    studs: list[tuple[str, str, float]] = field(default_factory=list)
    hangs: bool = False
    """True where it hangs from the figure before it and must stay beside it."""
    leads: list[tuple[StackElement, str, Point]] = field(default_factory=list)
    """(element, its attribute, terminal in mm from the owner's axis): corners to set once the figure is placed."""
    clear: list[Rect] = field(default_factory=list)
    """Room to keep free beside what is drawn."""
    turning: LabelledConductor | Stub | None = None
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


@dataclass(frozen=True)
class BarLevels:
    """The two bars of a sheet (mm from its top) that elements stand between."""

    upper: float
    lower: float

    def fold(self, elements: list[StackElement]) -> list[list[StackElement]]:
        """Elements in as many stacks as their height asks for; each but the last goes on in the next. Banks take
        their less tall form before that."""
        room = self.lower - self.upper
        for element in elements:
            if isinstance(element, Cells) and sum(e.height for e in elements) > room:
                element.condense()
        stacks: list[list[StackElement]] = [[]]
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

    def stretch(self, elements: list[StackElement], upper: float, lower: float | None) -> None:
        """Places elements between the levels: packed at the top down to the first part, packed at the bottom
        below it; the conductor between takes the slack. Without a lower level all are packed at the top."""
        wires = [element for element in elements if isinstance(element, LabelledConductor)]
        least = sum(element.height for element in elements)
        room = (self.lower if lower is None else lower) - upper - least
        more = min(WISHED - SLOT, max(0.0, room) / len(wires)) if wires else 0.0
        heights = [element.height + (more if isinstance(element, LabelledConductor) else 0.0) for element in elements]
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


def _keys(element: StackElement) -> list[str]:
    if isinstance(element, PartBox):
        return [f"part:{element.name}", *(f"side:{element.name}.{side}" for side in element.sides)]
    if isinstance(element, Cells | EarthMark):
        return [f"part:{element.name}"]
    if isinstance(element, BankBlock) and element.bank is not None:
        return [f"part:{edge.id}" for string in element.bank.strings for edge in string if edge.kind == "part"]
    return []
