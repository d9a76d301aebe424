"""What stands in a column of the power sheet, one below the other: conductors, devices, parts, splices, ends.

Every element knows its least height and, once placed between `y0` and `y1` on the axis `x` (mm from the column's
own axis), the rectangles it covers and how it is drawn. Conductors are the only elements that stretch.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from copperplate.drawing import captions, lettering, symbols
from copperplate.drawing.captions import Line, Task
from copperplate.drawing.columns import Bank
from copperplate.drawing.pen import Box, Disc, Group, Item, Point, Stroke, Words, measure, weight_of, words
from copperplate.drawing.wiring import Edge

Rect = tuple[float, float, float, float]
"""left, top, right, bottom."""

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
LINES_OF_TEXT = 6
TEXT_ROOM = 31.0
"""Widest line of text in a box before it is wrapped."""


def label_rect(x: float, baseline: float, lines: Sequence[Line]) -> Rect:
    """What `lines` cover, the first on `baseline`."""
    size = lettering.SMALL
    wide = max(measure(line) for line in lines)
    last = baseline + lettering.LINE * (len(lines) - 1)
    return x, baseline - size * lettering.ASCENT, x + wide, last + size * lettering.DESCENT


def put(x: float, baseline: float, lines: Sequence[Line]) -> list[Item]:
    return [Words(x, baseline + lettering.LINE * place, line) for place, line in enumerate(lines)]


def centred(y: float, count: int) -> float:
    """Baseline of the first of `count` lines whose block is centred on `y`."""
    return y - lettering.LINE * (count - 1) / 2 + lettering.SMALL * (lettering.ASCENT - lettering.DESCENT) / 2


@dataclass
class Element:
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


def join(elements: Sequence[Element]) -> None:
    """Leads the strokes among `elements` up to the symbols that they meet."""
    for place, element in enumerate(elements):
        if isinstance(element, Wire | Stub):
            element.start = elements[place - 1].ends[1] if place else element.y0
            element.stop = elements[place + 1].ends[0] if place + 1 < len(elements) else element.y1


@dataclass
class Wire(Element):
    """One conductor with its label on the right (`left`: on the left). `before`, `after`: corners that its path
    takes above and below the column, from the far end towards it. `twin`: a second conductor of the same run
    drawn `twin_dx` to the side and labelled with it, with corners of its own."""

    task: Task | None = None
    name: str = ""
    low: bool = False
    left: bool = False
    before: tuple[Point, ...] = ()
    after: tuple[Point, ...] = ()
    twin: str = ""
    twin_dx: float = 0.0
    twin_before: tuple[Point, ...] = ()
    start: float = 0.0
    stop: float = 0.0

    def __post_init__(self) -> None:
        assert self.task is not None
        self.stretch = True
        self.lines = (
            captions.conductors(self.task, [self.name, self.twin], LABEL_ROOM)
            if self.twin
            else captions.conductor(self.task, self.name, LABEL_ROOM)
        )
        self.height = SLOT + lettering.LINE * (len(self.lines) - 2)

    def _label(self) -> tuple[float, float]:
        wished = self.height + WISHED - SLOT
        long = self.y1 - self.y0 > wished + 0.1
        middle = self.y1 - wished / 2 if self.low and long else (self.y0 + self.y1) / 2
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
        found = [label_rect(x, baseline, self.lines), *stroke_rects(self._points())]
        return found + (stroke_rects(self._twin_points()) if self.twin else [])

    def draw(self, x: float) -> list[Group]:
        assert self.task is not None
        groups = [conductor_group(self.task, self.name, shifted(self._points(), x))]
        at, baseline = self._label()
        groups[0].add(*put(at + x, baseline, self.lines))
        if self.twin:
            groups.append(conductor_group(self.task, self.twin, shifted(self._twin_points(), x)))
        return groups


@dataclass
class Stub(Element):
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
        return [Group("mount", "", "conductor").add(Stroke(points, style, 0.5))]


@dataclass
class InLine(Element):
    """A device. `twin_dx`: its second pole beside it, the blades joined by a dashed line."""

    task: Task | None = None
    name: str = ""
    leg: str = ""
    twin_dx: float = 0.0

    def __post_init__(self) -> None:
        assert self.task is not None
        self.lines = captions.device(self.task, self.name, LABEL_ROOM)
        self.symbol = symbols.DEVICES[self.task.design.system.devices[self.name].kind]
        self.height = max(2 * symbols.HALF, len(self.lines) * lettering.LINE + 1.2)

    @property
    def middle(self) -> float:
        return (self.y0 + self.y1) / 2

    @property
    def ends(self) -> tuple[float, float]:
        return self.middle - symbols.HALF, self.middle + symbols.HALF

    def rects(self) -> list[Rect]:
        left = self.symbol.left + min(0.0, self.twin_dx)
        shape = (self.x + left - 0.4, self.middle - symbols.HALF, self.x + self.symbol.right + 0.4, self.middle + symbols.HALF)
        return [shape, label_rect(self.x + 3.0, centred(self.middle, len(self.lines)), self.lines)]

    def draw(self, x: float) -> list[Group]:
        x += self.x
        group = Group("device", self.name, "symbol", notes=(("leg", self.leg),) if self.leg else ())
        for axis in (x, x + self.twin_dx) if self.twin_dx else (x,):
            group.add(*self.symbol.at(axis, self.middle))
        if self.twin_dx:
            start, end = sorted((x - 1.2, x + self.twin_dx - 1.2))
            group.add(*(Stroke(((a, self.middle), (min(a + 0.8, end), self.middle)), "o") for a in steps(start, end, 1.5)))
        return [group.add(*put(x + 3.0, centred(self.middle, len(self.lines)), self.lines))]


@dataclass
class PartBox(Element):
    """A part in a box: address, title, figures, symbol, and the marks of its terminals.

    `tops`, `bottoms`: (mm from the axis, mark). `rights`: marks of the second side, upper terminal first."""

    task: Task | None = None
    name: str = ""
    tops: list[tuple[float, str]] = field(default_factory=list)
    bottoms: list[tuple[float, str]] = field(default_factory=list)
    rights: list[str] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    sides: list[str] = field(default_factory=list)
    """Names of the part's sides whose conductors stand here."""
    lean: float = 0.5
    """Share of the box that lies left of the axis."""

    def __post_init__(self) -> None:
        assert self.task is not None
        part = self.task.design.system.parts[self.name]
        self.lines = box_lines(self.task, self.name, self.remarks)
        self.symbol = symbols.load_symbol(part) if part.kind == "load" else symbols.part_symbol(part)
        text = max(measure(line) for line in self.lines)
        across = self.symbol.right - self.symbol.left
        marks = max((lettering.width(mark) for mark in self.rights), default=-1.0) + 1.5 if self.rights else 0.0
        self.wide = round(2 + text + 3 + across + 2.2 + marks, 1)
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
        marks = max((lettering.width(mark) for mark in self.rights), default=-1.0) + 1.5 if self.rights else 0.0
        group.add(*self.symbol.at(right - 2.2 - marks - self.symbol.right, inner))
        for offset, mark in self.tops:
            group.add(words(self.x + x + offset, self.y0 + 3.4, mark, anchor="middle", bold=True))
        for offset, mark in self.bottoms:
            group.add(words(self.x + x + offset, self.y1 - 1.3, mark, anchor="middle", bold=True))
        for place, mark in enumerate(self.rights):
            group.add(words(right - 1.2, self.right_terminal(place)[1] + 1.0, mark, anchor="end", bold=True))
        return [group]


def box_lines(task: Task, name: str, remarks: Sequence[str], room: float = TEXT_ROOM) -> list[Line]:
    """Address, title, figures and remarks of a part, each wrapped to `room`."""
    part = task.design.system.parts[name]
    lines: list[Line] = [((line, True),) for line in lettering.wrap(part.id, room, bold=True)]
    for text in (lettering.clean(part.title), *captions.figures(task, part), *remarks):
        if text:
            wrapped = lettering.wrap_to(text, room, LINES_OF_TEXT)
            lines += [((line.replace(captions.FIRM, " "), False),) for line in wrapped]
    return lines


@dataclass
class Cells(Element):
    """A battery, or a bank stated as one part: its symbol (one for each battery of a bank of up to four by four,
    joined by their links) with the words on the right."""

    task: Task | None = None
    name: str = ""
    remarks: list[str] = field(default_factory=list)

    PITCH_X = 9.5
    PITCH_Y = 10.4

    def __post_init__(self) -> None:
        assert self.task is not None
        part = self.task.design.system.parts[self.name]
        self.lines = box_lines(self.task, self.name, self.remarks)
        series, strings = part.get("series", 1), part.get("parallel", 1)
        self.rows, self.strings = (series, strings) if series <= 4 and strings <= 4 else (1, 1)
        self.extra = 1.2 if self.strings > 1 else 0.0
        self.tall = self.rows * self.PITCH_Y - 1.6 + 2 * self.extra
        self.height = max(self.tall, len(self.lines) * lettering.LINE + 1.2)
        self.reach = (self.strings - 1) * self.PITCH_X

    @property
    def ends(self) -> tuple[float, float]:
        middle = (self.y0 + self.y1) / 2
        return middle - self.tall / 2 + self.extra, middle + self.tall / 2 - self.extra

    def _words_at(self) -> tuple[float, float]:
        return self.x + self.reach + 5.2, centred((self.y0 + self.y1) / 2, len(self.lines))

    def rects(self) -> list[Rect]:
        at, baseline = self._words_at()
        return [
            (self.x - 6.6, self.y0, self.x + self.reach + 3.6, self.y1),
            label_rect(at, baseline, self.lines),
        ]

    def draw(self, x: float) -> list[Group]:
        x += self.x
        group = Group("part", self.name, "symbol")
        first = self.ends[0] + 4.4
        last = first + (self.rows - 1) * self.PITCH_Y
        for column in range(self.strings):
            axis = x + column * self.PITCH_X
            for row in range(self.rows):
                group.add(*symbols.BATTERY.at(axis, first + row * self.PITCH_Y))
                if row:
                    group.add(Stroke(((axis, first + row * self.PITCH_Y - 6.0), (axis, first + row * self.PITCH_Y - 4.4)), "o", 0.5))
        if self.strings > 1:
            end = x + self.reach
            for level in (first - 4.4, last + 4.4):
                group.add(Stroke(((x, level), (end, level)), "o", 0.5))
            group.add(Disc(x, first - 4.4, 0.6, "k"), Disc(x, last + 4.4, 0.6, "k"))
        group.add(words(x - 5.2, first - 3.0, "+", anchor="middle", bold=True))
        group.add(words(x - 5.2, last + 4.2, "−", anchor="middle", bold=True))
        at, baseline = self._words_at()
        return [group.add(*put(at + x - self.x, baseline, self.lines))]


@dataclass
class BankBlock(Element):
    """Batteries that are parts of their own, linked side by side. The column enters at one string and leaves at
    another."""

    task: Task | None = None
    bank: Bank | None = None

    def __post_init__(self) -> None:
        assert self.task is not None and self.bank is not None
        task, bank = self.task, self.bank
        self.columns = [list(self._string(task, string)) for string in bank.strings]
        links = [*bank.above, *bank.below]
        widest = max(measure(line) for edge in links for line in self._link_label(edge.id))
        self.pitch = max(
            widest + 5.0,
            *(rect[2] - rect[0] + 3 for column in self.columns for element in column for rect in _spread(element)),
        )
        self.pitch = round(self.pitch, 1)
        self.body = max(sum(element.height for element in column) for column in self.columns)
        self.height = self.body + 2 * 3.0
        self.enter = self._place(bank.pos, 0)
        self.leave = self._place(bank.neg, -1)

    def _string(self, task: Task, string: list[Edge]) -> Sequence[Element]:
        return [
            Cells(task=task, name=edge.id) if edge.kind == "part" else Wire(task=task, name=edge.id) for edge in string
        ]

    def _place(self, node: str, end: int) -> int:
        assert self.bank is not None
        for place, string in enumerate(self.bank.strings):
            if node in (string[end].a, string[end].b):
                return place
        return 0

    def _link_label(self, name: str) -> list[Line]:
        assert self.task is not None
        head, below = captions.conductor(self.task, name)
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
        for place, column in enumerate(self.columns):
            y = self.y0 + 3.0
            slack = self.body - sum(element.height for element in column)
            for element in column:
                element.x, element.y0 = self._axis(place), y
                y += element.height
                if element is column[-1]:
                    y += slack
                element.y1 = y
            join(column)

    def rects(self) -> list[Rect]:
        self._arrange()
        found = [rect for column in self.columns for element in column for rect in element.rects()]
        left, right = self._axis(0), self._axis(len(self.columns) - 1)
        return [*found, (left - 4, self.y0 - 1.0, right + 4, self.y1 + 1.0)]

    def draw(self, x: float) -> list[Group]:
        assert self.task is not None and self.bank is not None
        self._arrange()
        groups = [group for column in self.columns for element in column for group in element.draw(x)]
        for links, level, baseline in (
            (self.bank.above, self.y0 + 3.0, self.y0 + 3.0 - 1.3),
            (self.bank.below, self.y1 - 3.0, self.y1 - 3.0 + 3.3),
        ):
            for place, edge in enumerate(links):
                start, end = x + self._axis(place), x + self._axis(place + 1)
                group = conductor_group(self.task, edge.id, ((start, level), (end, level)))
                groups.append(group.add(*put(start + 2.2, baseline, self._link_label(edge.id))))
        marks = Group("mount", "", "mark")
        for place in range(len(self.columns)):
            axis = x + self._axis(place)
            marks.add(Disc(axis, self.y0 + 3.0, 0.9, "k"), Disc(axis, self.y1 - 3.0, 0.9, "k"))
        return [*groups, marks]


def _spread(element: Element) -> list[Rect]:
    """The rectangles of an element not yet placed, for its width."""
    element.y1 = element.y0 + element.height
    rects = element.rects()
    return [(min(r[0] for r in rects), 0.0, max(r[2] for r in rects), 0.0)]


@dataclass
class Splice(Element):
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
            line.add(Stroke(((x, self.middle), (x + 4.6, self.middle)), "o", 0.5))
            dot.add(arrow(x + 6.4, self.middle, "right"))
        dot.add(*put(x + (7.2 if self.flag else 2.0), centred(self.middle, 1), [self.line]))
        return [line, dot]


@dataclass
class Earth(Element):
    """An earth at the end of a column."""

    task: Task | None = None
    name: str = ""

    def __post_init__(self) -> None:
        assert self.task is not None
        self.lines = box_lines(self.task, self.name, (), 30.0)
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
class Loose(Element):
    """Where a column ends or goes on elsewhere: an arrow with words, or an open ring where nothing follows."""

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
            group.add(Stroke(((x, tail[0]), (x, tail[1])), "o", 0.5))
        return [group.add(*put(x + 2.4, centred((self.y0 + self.y1) / 2, 1), [self.line]))]


def arrow(x: float, y: float, towards: str) -> Stroke:
    """A filled arrowhead with its point at (x, y)."""
    if towards in ("right", "left"):
        back = x - 2.0 if towards == "right" else x + 2.0
        return Stroke(((x, y), (back, y - 0.9), (back, y + 0.9)), "k", closed=True)
    back = y - 2.0 if towards == "down" else y + 2.0
    return Stroke(((x, y), (x - 0.9, back), (x + 0.9, back)), "k", closed=True)


def conductor_group(task: Task, name: str, points: tuple[Point, ...], then: tuple[tuple[Point, ...], ...] = ()) -> Group:
    """The stroke of one conductor: one path, by its pole and size."""
    found = task.design.system.conductors[name]
    run = task.design.system.runs[found.run]
    style = "pe" if run.earth else found.pole
    group = Group("conductor", name, "conductor", title=found.marker, notes=(("run", found.run),))
    return group.add(Stroke(straight(points), f"c-{style}", weight_of(captions.area(task, run)), then=then))


def straight(points: tuple[Point, ...]) -> tuple[Point, ...]:
    """`points` without repeats and without corners that turn nowhere."""
    kept: list[Point] = []
    for point in points:
        if kept and abs(point[0] - kept[-1][0]) < 0.005 and abs(point[1] - kept[-1][1]) < 0.005:
            continue
        if len(kept) > 1 and (
            abs(kept[-2][0] - kept[-1][0]) < 0.005 and abs(kept[-1][0] - point[0]) < 0.005
            or abs(kept[-2][1] - kept[-1][1]) < 0.005 and abs(kept[-1][1] - point[1]) < 0.005
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
        for (a, b), (c, d) in zip(points, points[1:], strict=False)
    ]


def steps(start: float, end: float, pitch: float) -> list[float]:
    """Where dashes of a linking line begin."""
    return [start + pitch * place for place in range(int((end - start) / pitch) + 1)]


