"""What sheet 1 is drawn on: the groups of the pen, and where each thing of the plate stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from copperplate.drawing import lettering
from copperplate.drawing.captions import Task
from copperplate.drawing.pen import GREY, Box, Group, Layer, Point, Primitive, Words, measure, words

ROUTE_TINTS = ("#EAF1E4", "#E6EDF8", "#F8F0DF", "#F1E7F3", "#E4F2F0", "#F6E5E2", "#EEEEE4", "#E9E9F4")
"""Fill of the chips of routes in turn."""


@dataclass
class Canvas:
    """One sheet while it is drawn. `places`: by address, where its first word or symbol stands. `zones`: the zone of
    each address as the round before found it; flags name where they lead to by it. `symbols`: kinds of device drawn."""

    task: Task
    zones: Mapping[str, str]
    groups: list[Group] = field(default_factory=list)
    places: dict[str, Point] = field(default_factory=dict)
    symbols: dict[str, None] = field(default_factory=dict)
    cut: list[str] = field(default_factory=list)

    def add(
        self, kind: str, address: str, layer: Layer, *items: Primitive, at: Point | None = None,
        title: str = "", notes: tuple[tuple[str, str], ...] = (),
    ) -> Group:  # fmt: skip
        group = Group(kind, address, layer, title=title, notes=notes).add(*items)
        self.groups.append(group)
        if at is not None and address:
            self.places.setdefault(address, at)
        return group

    def fit(self, text: str, room: float, size: float = lettering.SMALL, bold: bool = False) -> str:
        """`text` as far as it fits; what was cut is told."""
        short = lettering.shorten(text, room, size, bold)
        if short != text:
            self.cut.append(text)
        return short

    def route_number(self, route: str) -> int:
        return list(self.task.design.system.routes).index(route) + 1


@dataclass(frozen=True)
class LabelLine:
    """One line of a label, with the routes whose chips stand at its end."""

    runs: tuple[tuple[str, bool], ...]
    routes: tuple[str, ...] = ()

    def width(self, canvas: Canvas) -> float:
        return measure(self.runs) + sum(chip_width(canvas.route_number(route)) + 1.2 for route in self.routes)


def plain(text: str, bold: bool = False) -> LabelLine:
    return LabelLine(((text, bold),))


def chip_width(number: int) -> float:
    return lettering.width(f"R{number}") + 1.8


def chip(x: float, baseline: float, number: int) -> list[Primitive]:
    """The dotted, tinted mark of a route."""
    tint = ROUTE_TINTS[(number - 1) % len(ROUTE_TINTS)]
    return [
        Box(x, baseline - 2.6, chip_width(number), 3.5, "r", 0.4, fill=tint),
        words(x + 0.9, baseline, f"R{number}", fill=GREY),
    ]


def put(canvas: Canvas, x: float, baseline: float, lines: list[LabelLine]) -> list[Primitive]:
    """Lines of a label from the first baseline down."""
    items: list[Primitive] = []
    for place, line in enumerate(lines):
        y = baseline + lettering.LINE * place
        items.append(Words(x, y, line.runs))
        at = x + measure(line.runs) + 1.4
        for route in line.routes:
            number = canvas.route_number(route)
            items += chip(at, y, number)
            at += chip_width(number) + 1.2
    return items


def widest(canvas: Canvas, lines: list[LabelLine]) -> float:
    return max((line.width(canvas) for line in lines), default=0.0)
