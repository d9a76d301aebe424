"""A battery in a bay of the power sheet, or a bank stated as one part: its batteries and the links between them."""

from __future__ import annotations

from dataclasses import dataclass, field

from copperplate.drawing import captions, lettering, symbols
from copperplate.drawing.captions import TEXT_ROOM, Line, Task, box_lines
from copperplate.drawing.packing import Rect
from copperplate.drawing.pen import Disc, Group, Point, Polyline, weight_of, words
from copperplate.drawing.reserve import given
from copperplate.drawing.stack import LABEL, LABEL_ROOM, StackElement, centred, label_rect, put, straight

HALF = 4.4
"""From the middle of a battery's symbol to its terminals."""
BESIDE = 4.4
"""From a string's axis to a label beside its plates."""
MOST = 4
"""Longest string, and most strings, that are drawn battery by battery."""
NARROW = 22.0
"""Widest words beside a bank whose links have labels: it is tall, and what stands right of it gains their width."""
SHORT = 1.6
"""Length of a link in series without a label."""
STYLES = {"pos": "c-pos", "mid": "c-pos", "neg": "c-neg"}
"""Strokes of links by their pole: a link in series is no negative, it is live above it."""
TERMINAL = 1.2
"""From the level of the links between strings to the batteries."""


@dataclass(kw_only=True)
class Cells(StackElement):
    """A battery with the words on its right. Of a bank every battery and every link is drawn, each link with its
    label; the bay enters at the first string and leaves at the last, so that the current is shared. `terse`: the
    links have one label together, among the words; so has a bank of more than `MOST` batteries in a string or
    strings, of which the first and the last are drawn. `upright`: the bay leaves at the string that it enters."""

    task: Task
    name: str
    remarks: list[str] = field(default_factory=list)
    upright: bool = False
    terse: bool = False

    def __post_init__(self) -> None:
        self._measure()

    def condense(self) -> None:
        """Takes the less tall form."""
        self.terse = True
        self._measure()

    def _measure(self) -> None:
        task = self.task
        part = task.design.system.parts[self.name]
        series, strings = part.series, part.parallel
        self.links = [link for link in task.design.links if link.bank == self.name]
        self.whole = series <= MOST and strings <= MOST
        self.single = self.whole and not self.terse and bool(self.links)
        self.rows, self.strings = (count if count <= MOST else 2 for count in (series, strings))
        self.left_out = (series > MOST, strings > MOST)
        labels = [captions.link(task, link, LABEL_ROOM) for link in self.links] if self.single else []
        wide = given(line for label in labels for line in label)
        deep = lettering.LINE * max((len(label) for label in labels), default=0)
        self.pitch = round(BESIDE + wide + 0.8 + 3.6, 1) if self.single else 9.5
        between = deep + 1.2 if self.single else 6.0 if self.left_out[0] else SHORT
        self.step = 2 * HALF + between
        plates = self.rows * self.step - between
        lead = max(TERMINAL, TERMINAL + deep + 0.4 - 2 * HALF) if self.strings > 1 else 0.0
        self.tall = round(max(plates + 2 * lead, (2 * deep + 5.0) if self.strings > 1 else 0.0), 1)
        self.beside = self.single and not (self.strings > 1 and not self.upright)
        self.lines = box_lines(task, self.name, self.remarks, NARROW if self.beside else TEXT_ROOM)
        if self.links and not self.single:
            self.lines += captions.links(task, self.links)
        self.reach = (self.strings - 1) * self.pitch
        self.beneath = self.single and self.strings > 1 and not self.upright
        text = len(self.lines) * lettering.LINE
        self.height = round(self.tall + text + 1.2 if self.beneath else max(self.tall, text + 1.2), 1)

    # --- places ------------------------------------------------------------------------------------------

    @property
    def top(self) -> float:
        """The upper end of what is drawn."""
        return self.y0 if self.beneath else (self.y0 + self.y1 - self.tall) / 2

    @property
    def shift(self) -> float:
        return 0.0 if self.upright else self.reach

    def _first(self) -> float:
        """The middle of the uppermost battery."""
        return self.top + self.tall / 2 - (self.rows - 1) * self.step / 2

    def _last(self) -> float:
        return self._first() + (self.rows - 1) * self.step

    @property
    def ends(self) -> tuple[float, float]:
        return self._first() - HALF, self._last() + HALF

    def _levels(self) -> tuple[float, float]:
        """Of the links between strings."""
        return self.ends[0] - self._lead(), self.ends[1] + self._lead()

    def _lead(self) -> float:
        used = (self.rows - 1) * self.step + 2 * HALF
        return (self.tall - used) / 2 if self.strings > 1 else 0.0

    def _words_at(self) -> Point:
        if self.beneath:
            return self.x - 5.2, centred(self.top + self.tall + (self.height - self.tall) / 2 + 0.6, len(self.lines))
        beside = BESIDE + given(self._label("mid")) if self.rows > 1 else 3.4
        return self.x + self.reach + beside + 1.8, centred((self.y0 + self.y1) / 2, len(self.lines))

    def _label(self, pole: str) -> list[Line]:
        """The label of the first link of a pole, nothing where links have none of their own."""
        link = next((link for link in self.links if link.pole == pole), None)
        return captions.link(self.task, link, LABEL_ROOM) if link is not None and self.single else []

    def rects(self) -> list[Rect]:
        at, baseline = self._words_at()
        beside = given(self._label("mid"))
        right = self.x + self.reach + max(3.6, BESIDE + beside if beside else 0.0)
        return [
            (self.x - 6.6, self.top, right, self.top + self.tall),
            label_rect(at, baseline, self.lines),
        ]

    # --- drawing -----------------------------------------------------------------------------------------

    def draw(self, x: float) -> list[Group]:
        first, last = self._first(), self._last()
        group = Group("part", self.name, "symbol")
        for string in range(self.strings):
            for row in range(self.rows):
                group.add(*symbols.BATTERY.at(self.x + x + string * self.pitch, first + row * self.step))
        group.add(words(self.x + x - 5.2, first - 3.0, "+", anchor="middle", bold=True))
        group.add(words(self.x + x - 5.2, last + 4.2, "−", anchor="middle", bold=True))
        at, baseline = self._words_at()
        group.add(*put(at + x, baseline, self.lines))
        marks = Group("mount", "", "mark")
        levels = self._levels()
        if self.strings > 1:
            steps = range(self.strings - 1)
            upper = [self.x + x + string * self.pitch for string in steps]
            lower = [axis + self.pitch for axis in upper] if not self.upright else upper
            marks.add(*(Disc(axis, levels[0], 0.8, "k") for axis in upper))
            marks.add(*(Disc(axis, levels[1], 0.8, "k") for axis in lower))
        marks.add(*self._dots(x))
        groups = self._single(x) if self.single else self._together(x)
        return [*groups, group, marks] if marks.items else [*groups, group]

    def _dots(self, x: float) -> list[Disc]:
        """Three dots for what is left out between the first and the last."""
        middle = (self._first() + self._last()) / 2
        dots: list[Disc] = []
        if self.left_out[1]:
            dots += [Disc(self.x + x + self.pitch / 2 + step, middle, 0.3, "k") for step in (-1.0, 0.0, 1.0)]
        if self.left_out[0]:
            axes = [self.x + x + string * self.pitch for string in range(self.strings)]
            dots += [Disc(axis, middle + step, 0.3, "k") for axis in axes for step in (-1.5, 0.0, 1.5)]
        return dots

    def _path(self, pole: str, place: int, x: float) -> tuple[Point, ...]:
        """The way of the link number `place` of a pole, counted as the bank's links are."""
        upper, lower = self._levels()
        top, bottom = self.ends
        if pole == "mid":
            string, row = divmod(place, self.rows - 1)
            axis = self.x + x + string * self.pitch
            y = self._first() + row * self.step
            return (axis, y + HALF), (axis, y + self.step - HALF)
        here = self.x + x + place * self.pitch
        beyond = here + self.pitch
        if pole == "pos":
            return (here, upper), (beyond, upper), (beyond, top)
        if self.upright:
            return (beyond, bottom), (beyond, lower), (here, lower)
        return (here, bottom), (here, lower), (beyond, lower)

    def _single(self, x: float) -> list[Group]:
        """Every link with its label."""
        task = self.task
        weight = weight_of(captions.area(task, task.design.system.runs[self.links[0].run]))
        groups: list[Group] = []
        count = {"pos": 0, "neg": 0, "mid": 0}
        for link in self.links:
            points = straight(self._path(link.pole, count[link.pole], x))
            count[link.pole] += 1
            lines = captions.link(task, link, LABEL_ROOM)
            deep = lettering.LINE * len(lines)
            axis = min(point[0] for point in points)
            if link.pole == "mid":
                at, middle = axis + LABEL, (points[0][1] + points[-1][1]) / 2
            else:
                at = axis + BESIDE
                middle = (
                    self._levels()[0] + 1.2 + deep / 2 if link.pole == "pos" else self._levels()[1] - 1.2 - deep / 2
                )
            group = Group("conductor", link.id, "conductor", title=link.marker, notes=(("run", link.run),))
            group.add(Polyline(points, STYLES[link.pole], weight))
            groups.append(group.add(*put(at, centred(middle, len(lines)), lines)))
        return groups

    def _together(self, x: float) -> list[Group]:
        """The strokes between the batteries, for all links of the bank together."""
        if self.rows * self.strings < 2:
            return []
        task = self.task
        run = self.links[0].run if self.links else ""
        weight = weight_of(captions.area(task, task.design.system.runs[run])) if run else 0.5
        group = Group("run" if run else "mount", run, "conductor")
        for place in range(0 if self.left_out[0] else (self.rows - 1) * self.strings):
            group.add(Polyline(self._path("mid", place, x), STYLES["mid"], weight))
        for place in range(self.strings - 1):
            group.add(Polyline(straight(self._path("pos", place, x)), STYLES["pos"], weight))
            group.add(Polyline(straight(self._path("neg", place, x)), STYLES["neg"], weight))
        return [group]
