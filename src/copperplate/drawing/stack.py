"""What stands in a bay of the power sheet, one below the other: conductors, devices, parts, splices, ends.

Every element knows its least height and, once placed between `y0` and `y1` on the axis `x` (mm from the bay's
own axis), the rectangles it covers and how it is drawn. Conductors are the only elements that stretch.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

from copperplate.drawing import captions, lettering, symbols
from copperplate.drawing.captions import Line, Task
from copperplate.drawing.packing import Rect
from copperplate.drawing.pen import Group, Point, Polyline, Primitive, Words, measure, weight_of
from copperplate.drawing.reserve import given

SLOT = 11.0
WISHED = 15.5
"""Least length of a conductor (its two lines of label and room around them), and the length it gets where the
sheet has room."""
LABEL = 1.8
"""From a conductor's axis to its label."""
LONG_STUB = 8.0
"""A longer link is drawn in ink: it must not be taken for a conductor."""
LABEL_ROOM = 44.0
"""Widest line of a label before its name is broken."""


def label_rect(x: float, baseline: float, lines: Sequence[Line]) -> Rect:
    """What `lines` cover, the first on `baseline`."""
    size = lettering.SMALL
    wide = given(lines)
    last = baseline + lettering.LINE * (len(lines) - 1)
    return x, baseline - size * lettering.ASCENT, x + wide, last + size * lettering.DESCENT


def put(x: float, baseline: float, lines: Sequence[Line]) -> list[Primitive]:
    return [Words(x, baseline + lettering.LINE * place, line) for place, line in enumerate(lines)]


def centred(y: float, count: int) -> float:
    """Baseline of the first of `count` lines whose block is centred on `y`."""
    return y - lettering.LINE * (count - 1) / 2 + lettering.SMALL * (lettering.ASCENT - lettering.DESCENT) / 2


@dataclass
class StackElement:
    """The common part. `stretch`: it takes what room is left. `low`: a stretched label keeps to its lower end."""

    height: float = 0.0
    x: float = 0.0
    y0: float = 0.0
    y1: float = 0.0
    stretch: bool = False

    @property
    def shift(self) -> float:
        """By how much the axis has moved below this element."""
        return 0.0

    @property
    def ends(self) -> tuple[float, float]:
        """Where the strokes that reach it from above and below end."""
        return self.y0, self.y1

    def rects(self) -> list[Rect]:
        return []

    def draw(self, x: float) -> list[Group]:
        return []


def join(elements: Sequence[StackElement]) -> None:
    """Leads the strokes among `elements` up to the symbols that they meet."""
    for place, element in enumerate(elements):
        if isinstance(element, LabelledConductor | Stub):
            element.start = elements[place - 1].ends[1] if place else element.y0
            element.stop = elements[place + 1].ends[0] if place + 1 < len(elements) else element.y1


@dataclass(kw_only=True)
class LabelledConductor(StackElement):
    """One conductor with its label on the right (`left`: on the left). `before`, `after`: corners that its path
    takes above and below the bay, from the far end towards it. `drop`: so much longer above its label. `twin`: a
    second conductor of the same run drawn `twin_dx` to the side and labelled with it, with corners of its own."""

    task: Task
    name: str
    low: bool = False
    left: bool = False
    before: tuple[Point, ...] = ()
    after: tuple[Point, ...] = ()
    twin: str = ""
    twin_dx: float = 0.0
    twin_before: tuple[Point, ...] = ()
    drop: float = 0.0
    start: float = 0.0
    stop: float = 0.0

    def __post_init__(self) -> None:
        self.stretch = True
        names = [self.name, self.twin] if self.twin else [self.name]
        self.lines = captions.conductors(self.task, names, LABEL_ROOM)
        self.height = SLOT + lettering.LINE * (len(self.lines) - 2) + self.drop

    def _label(self) -> tuple[float, float]:
        upper = self.y0 + self.drop
        wished = self.height - self.drop + WISHED - SLOT
        long = self.y1 - upper > wished + 0.1
        middle = self.y1 - wished / 2 if self.low and long else (upper + self.y1) / 2
        wide = max(measure(line) for line in self.lines)
        x = self.x - LABEL - wide if self.left else self.x + LABEL
        return x, centred(middle, len(self.lines))

    def _points(self) -> tuple[Point, ...]:
        return (*self.before, (self.x, self.start), (self.x, self.stop), *self.after)

    def _twin_points(self) -> tuple[Point, ...]:
        start = self.twin_before[-1][1] if self.twin_before else self.start
        return (*self.twin_before, (self.x + self.twin_dx, start), (self.x + self.twin_dx, self.stop))

    def rects(self) -> list[Rect]:
        x, baseline = self._label()
        x = min(x, self.x - LABEL - given(self.lines)) if self.left else x
        covered = [label_rect(x, baseline, self.lines), *stroke_rects(self._points())]
        return covered + (stroke_rects(self._twin_points()) if self.twin else [])

    def draw(self, x: float) -> list[Group]:
        groups = [conductor_group(self.task, self.name, shifted(self._points(), x))]
        at, baseline = self._label()
        groups[0].add(*put(at + x, baseline, self.lines))
        if self.twin:
            groups.append(conductor_group(self.task, self.twin, shifted(self._twin_points(), x)))
        return groups


@dataclass
class Stub(StackElement):
    """A short link between two things mounted on each other; no conductor of the plate."""

    before: tuple[Point, ...] = ()
    after: tuple[Point, ...] = ()
    start: float = 0.0
    stop: float = 0.0
    style: str = "c-pos"

    def __post_init__(self) -> None:
        self.height = self.height or 3.0

    def _points(self) -> tuple[Point, ...]:
        return (*self.before, (self.x, self.start), (self.x, self.stop), *self.after)

    def rects(self) -> list[Rect]:
        return stroke_rects(self._points())

    def draw(self, x: float) -> list[Group]:
        if self.stop - self.start < 0.05 and not self.before and not self.after:
            return []
        points = straight(shifted(self._points(), x))
        style = self.style if self.stop - self.start < LONG_STUB else "o"
        return [Group("mount", "", "conductor").add(Polyline(points, style, 0.5))]


@dataclass(kw_only=True)
class DeviceInLine(StackElement):
    """A device with its label on the right (`left`: on the left). `twin_dx`: its second pole beside it, the blades
    joined by a dashed line."""

    task: Task
    name: str
    leg: str = ""
    twin_dx: float = 0.0
    left: bool = False

    def __post_init__(self) -> None:
        self.lines = captions.device(self.task, self.name, LABEL_ROOM)
        self.symbol = symbols.device_symbol(self.task.design.system.devices[self.name])
        self.height = max(2 * symbols.HALF, len(self.lines) * lettering.LINE + 1.2)

    @property
    def middle(self) -> float:
        return (self.y0 + self.y1) / 2

    @property
    def ends(self) -> tuple[float, float]:
        return self.middle - symbols.HALF, self.middle + symbols.HALF

    def rects(self) -> list[Rect]:
        left = self.symbol.left + min(0.0, self.twin_dx)
        shape = (
            self.x + left - 0.4,
            self.middle - symbols.HALF,
            self.x + self.symbol.right + 0.4,
            self.middle + symbols.HALF,
        )
        x = self.x + self.symbol.left - 1.2 - given(self.lines) if self.left else self._label_x()
        return [shape, label_rect(x, centred(self.middle, len(self.lines)), self.lines)]

    def _label_x(self) -> float:
        if self.left:
            return self.x + self.symbol.left - 1.2 - max(measure(line) for line in self.lines)
        return self.x + 3.0

    def draw(self, x: float) -> list[Group]:
        x += self.x
        group = Group("device", self.name, "symbol", notes=(("leg", self.leg),) if self.leg else ())
        for axis in (x, x + self.twin_dx) if self.twin_dx else (x,):
            group.add(*self.symbol.at(axis, self.middle))
        if self.twin_dx:
            start, end = sorted((x - 1.2, x + self.twin_dx - 1.2))
            group.add(
                *(Polyline(((a, self.middle), (min(a + 0.8, end), self.middle)), "o") for a in steps(start, end, 1.5))
            )
        at = self._label_x() + x - self.x
        return [group.add(*put(at, centred(self.middle, len(self.lines)), self.lines))]


def arrow(x: float, y: float, towards: str) -> Polyline:
    """A filled arrowhead with its point at (x, y)."""
    if towards in ("right", "left"):
        back = x - 2.0 if towards == "right" else x + 2.0
        return Polyline(((x, y), (back, y - 0.9), (back, y + 0.9)), "k", closed=True)
    back = y - 2.0 if towards == "down" else y + 2.0
    return Polyline(((x, y), (x - 0.9, back), (x + 0.9, back)), "k", closed=True)


def conductor_group(task: Task, name: str, points: tuple[Point, ...]) -> Group:
    """The stroke of one conductor: one path, by its pole and size."""
    conductor = task.design.system.conductors[name]
    run = task.design.system.runs[conductor.run]
    style = "pe" if run.earth else conductor.pole
    group = Group("conductor", name, "conductor", title=conductor.marker, notes=(("run", conductor.run),))
    return group.add(Polyline(straight(points), f"c-{style}", weight_of(captions.area(task, run))))


def straight(points: tuple[Point, ...]) -> tuple[Point, ...]:
    """`points` without repeats and without corners that turn nowhere."""
    kept: list[Point] = []
    for point in points:
        if kept and abs(point[0] - kept[-1][0]) < 0.005 and abs(point[1] - kept[-1][1]) < 0.005:
            continue
        if len(kept) > 1 and (
            (abs(kept[-2][0] - kept[-1][0]) < 0.005 and abs(kept[-1][0] - point[0]) < 0.005)
            or (abs(kept[-2][1] - kept[-1][1]) < 0.005 and abs(kept[-1][1] - point[1]) < 0.005)
        ):  # fmt: skip
            kept.pop()
        kept.append(point)
    return tuple(kept)


def shifted(points: tuple[Point, ...], x: float) -> tuple[Point, ...]:
    return tuple((a + x, b) for a, b in points)


def stroke_rects(points: tuple[Point, ...]) -> list[Rect]:
    """What a polyline covers, piece by piece."""
    return [
        (min(a, c) - 0.7, min(b, d) - 0.7, max(a, c) + 0.7, max(b, d) + 0.7)
        for (a, b), (c, d) in itertools.pairwise(points)
    ]


def steps(start: float, end: float, pitch: float) -> list[float]:
    """Where dashes of a linking line begin."""
    return [start + pitch * place for place in range(int((end - start) / pitch) + 1)]
