"""The DC power sheets: both poles, positive bars on top, negative bars at the bottom, one bay a device."""

from __future__ import annotations

from dataclasses import dataclass, field

from copperplate.drawing import captions, lettering
from copperplate.drawing.bay import Bay, Power
from copperplate.drawing.captions import Line, Task
from copperplate.drawing.elements import Elements
from copperplate.drawing.figure import BayFigure
from copperplate.drawing.figures import Drafter
from copperplate.drawing.listing import numbered
from copperplate.drawing.packing import Rect, clear, shift
from copperplate.drawing.page import Page
from copperplate.drawing.pen import Box, Disc, Group, Polyline, Words, measure, words
from copperplate.drawing.reserve import given
from copperplate.drawing.stack import arrow, conductor_group, put
from copperplate.drawing.symbols import EARTH
from copperplate.drawing.wiring import WiringEdge

GAP = 2.2
"""Between figures side by side."""
BAR = 3.2
TERMINAL = 1.4
"""Height of a bar, and of a terminal drawn as one."""
MARK, ARROW = 8.2, 3.3
"""Left of the first stud: the end of the bar with its mark, and the arrow of a bar that comes from another page."""
EDGE = 4.0
"""How far past the usual margin bays may reach before another page is begun."""
LOOSE = 6.0
"""Between the bars beyond the tallest bay, where no conductor stands between them that could take more."""
BONDS = 14.0
"""Room kept below the lower bars for their names and for earthing."""


@dataclass
class _Segment:
    """A piece of a bar on one page: its studs, and how far right its name reaches."""

    row: str
    rail: str
    studs: list[float]
    name: Line
    bonds: list[tuple[float, str, str]] = field(default_factory=list)
    """(stud, conductor, earth)."""

    @property
    def left(self) -> float:
        return self.studs[0] - 4

    @property
    def right(self) -> float:
        ends = [self.studs[-1] + 4, *(stud + 4 for stud, _, _ in self.bonds)]
        return max(ends)

    @property
    def reach(self) -> float:
        """How far right bar, name and bonds go."""
        return max(
            self.right, self.left + measure(self.name, lettering.NAME), *(end for end in self.bond_ends), self.right
        )

    bond_ends: list[float] = field(default_factory=list)


@dataclass
class _Draft:
    """A page while it is filled."""

    figures: list[tuple[BayFigure, float]] = field(default_factory=list)
    rects: list[Rect] = field(default_factory=list)
    segments: list[_Segment] = field(default_factory=list)

    def open(self, row: str) -> _Segment | None:
        return next((s for s in reversed(self.segments) if s.row == row), None)


def pages(task: Task, power: Power, leaves: dict[str, str]) -> list[Page]:
    """The pages of the power wiring. `leaves`: by node, the words of the flag where circuits of other sheets
    leave."""
    if not power.bays:
        return []
    return _PowerSheets(task, power, leaves).pages()


def _edges(bay: Bay) -> list[WiringEdge]:
    """The edges of a bay and of what hangs from it."""
    return [*bay.path, *bay.tail, *(edge for hung in bay.hung for edge in _edges(hung))]


class _PowerSheets:
    def __init__(self, task: Task, power: Power, leaves: dict[str, str]) -> None:
        self.task = task
        self.power = power
        self.leaves = leaves
        self.upper = task.paper.top + 6.6
        self.lower = task.paper.bottom - BONDS - BAR / 2
        if not any(edge.kind == "conductor" for bay in power.bays for edge in _edges(bay)):
            made = Elements(task, power, leaves)
            tallest = max(sum(element.height for element in made.of(bay)) for bay in power.bays)
            self.lower = min(self.lower, self.upper + tallest + LOOSE)
        self.drafter = Drafter(task, power, self.upper, self.lower, leaves)
        self.drafts: list[_Draft] = [_Draft()]

    def pages(self) -> list[Page]:
        bonds = [bay for bay in self.power.bays if self._is_bond(bay)]
        for bay in self.power.bays:
            if bay not in bonds:
                self._place(self.drafter.figures(bay))
        for bond in bonds:
            self._bond(bond)
        return numbered([self._page(draft) for draft in self.drafts], "dc-power")

    def _is_bond(self, bay: Bay) -> bool:
        """True for one conductor from a lower bar to an earth: it hangs below the bar."""
        ends = (bay.nodes[0], bay.nodes[-1])
        return (
            len(bay.path) == 1
            and bay.path[0].kind == "conductor"
            and any(self.task.wiring.roles_at(node).grounds for node in ends)
            and (bay.top or bay.bottom) != ""
            and self.task.wiring.is_low(bay.top or bay.bottom)
            and not (bay.top and bay.bottom)
        )

    # --- placing -----------------------------------------------------------------------------------------

    def _place(self, figures: list[BayFigure]) -> None:
        """Sets a bay and what hangs from it on the page, or all of it on the next."""
        draft = self.drafts[-1]
        placed = self._try(draft, figures)
        if placed is None and draft.figures:
            draft = _Draft()
            self.drafts.append(draft)
            placed = self._try(draft, figures)
        if placed is None:
            placed = self._try(draft, figures, force=True)
        assert placed is not None
        for figure, x in placed:
            draft.figures.append((figure, x))
            draft.rects += shift(figure.rects(), x)
            for row, rail, offset in figure.studs:
                self._stud(draft, row, rail, x + offset)

    def _try(
        self, draft: _Draft, figures: list[BayFigure], force: bool = False
    ) -> list[tuple[BayFigure, float]] | None:
        placed: list[tuple[BayFigure, float]] = []
        rects = list(draft.rects)
        opened = {row: draft.open(row) for row in ("top", "bottom")}
        reach = {row: (s.rail, s.reach, s.studs[-1]) if s else ("", 0.0, 0.0) for row, s in opened.items()}
        owner = 0.0
        started = {(s.row, s.rail) for draft in self.drafts for s in draft.segments}
        for figure in figures:
            if figure.turning is not None:
                (row, rail, _), (_, other, offset) = figure.studs
                opened_here = reach[row][0] != rail
                wide = measure(self._name(rail, (row, rail) in started), lettering.NAME) if opened_here else 0.0
                if rail != other and wide + 9 > offset:
                    figure.spread(round(wide + 9, 1))
            own = figure.rects()
            margin = MARK if draft is self.drafts[0] else MARK + ARROW
            x = self.task.paper.left + max(-min(0.0, *(rect[0] for rect in own)), margin)
            if placed:
                x = max(x, placed[-1][1] + 4)
            x = clear(own, rects, x, GAP)
            for row, rail, offset in figure.studs:
                name, end, last = reach[row]
                if name:
                    x = max(x, (last + 6 if name == rail else end + 9 + 4) - offset)
            x = round(x * 2 + 0.499) / 2
            if figure.hangs:
                figure.reach(x - owner)
            else:
                owner = x
            own = figure.rects()
            extent = max(rect[2] for rect in own) + x
            for row, rail, offset in figure.studs:
                name, end, _ = reach[row]
                label = measure(self._name(rail, (row, rail) in started), lettering.NAME)
                wide = max(end, x + offset + 4) if name == rail else x + offset - 4 + label
                reach[row] = (rail, max(wide, x + offset + 4), x + offset)
                extent = max(extent, reach[row][1])
            if extent > self.task.paper.right + EDGE and not force:
                return None
            placed.append((figure, x))
            rects += shift(own, x)
        return placed

    def _stud(self, draft: _Draft, row: str, rail: str, x: float) -> None:
        opened = draft.open(row)
        if opened is None or opened.rail != rail:
            again = any((s.row, s.rail) == (row, rail) for draft in self.drafts for s in draft.segments)
            draft.segments.append(_Segment(row, rail, [x], self._name(rail, again)))
        else:
            opened.studs.append(x)

    def _name(self, rail: str, again: bool = False) -> Line:
        """The bar's name, with the sheets of the circuits that leave it; `again`: of a further piece of it."""
        line = captions.rail(self.task, rail)
        sheets = self.task.numbers.get(f"rail:{rail}", ())
        if again:
            return (line[0], (f"(see {self.task.sheet_of(sheets[:1])})", False))
        notes = [self.leaves[rail]] if rail in self.leaves else []
        if len(sheets) > 1:
            notes.append(f"bar on {self.task.sheet_of(sheets)}")
        return (*line, (f"({'; '.join(notes)})", False)) if notes else line

    def _bond(self, bay: Bay) -> None:
        """Hangs the earthing conductor of a lower bar below the first piece of the bar that has room."""
        rail = bay.top or bay.bottom
        earth = bay.nodes[0] if bay.nodes[-1] == rail else bay.nodes[-1]
        lines = self._bond_lines(bay.path[0].id, earth)
        wide = given(lines) + 8
        for draft in self.drafts:
            row = [s for s in draft.segments if s.row == "bottom"]
            for place, segment in enumerate(row):
                if segment.rail != rail:
                    continue
                named = segment.left + measure(segment.name, lettering.NAME) + 8
                stud = self._free(segment, max(named, *(end + 5 for end in segment.bond_ends), 0.0))
                limit = row[place + 1].left - 6 if place + 1 < len(row) else self.task.paper.right
                if stud + wide <= limit:
                    segment.bonds.append((stud, bay.path[0].id, earth))
                    segment.bond_ends.append(stud + wide)
                    return
        draft = _Draft()
        name = self._name(rail, True)
        stud = self.task.paper.left + 12 + measure(name, lettering.NAME)
        segment = _Segment("bottom", rail, [self.task.paper.left + 9], name)
        segment.bonds.append((stud, bay.path[0].id, earth))
        segment.bond_ends.append(stud + wide)
        draft.segments.append(segment)
        self.drafts.append(draft)

    def _free(self, segment: _Segment, x: float) -> float:
        """The first place from `x` on, on the half-millimetre grid, that no stud of the bar is near."""
        x = round(x * 2) / 2
        while any(abs(stud - x) < 4.0 for stud in segment.studs):
            x += 0.5
        return x

    def _bond_lines(self, conductor: str, earth: str) -> list[Line]:
        part = self.task.wiring.part_at(earth)
        return (
            [*captions.conductors(self.task, [conductor]), captions.box_lines(self.task, part.id, (), 999.0)[0]]
            if part
            else []
        )

    # --- drawing -----------------------------------------------------------------------------------------

    def _page(self, draft: _Draft) -> Page:
        page = Page("", "DC power")
        page.show("power")
        for figure, x in draft.figures:
            page.groups += figure.draw(x)
            for key in figure.shown():
                page.show(key)
        for segment in draft.segments:
            page.groups += self._bar(segment, page)
            page.groups += self._goes_on(segment)
        page.remark = "Lengths are one way."
        return page

    def _bar(self, segment: _Segment, page: Page) -> list[Group]:
        task, rail = self.task, segment.rail
        is_bar = task.wiring.is_rail(rail)
        thick = BAR if is_bar else TERMINAL
        top = segment.row == "top"
        middle = self.upper if top else self.lower
        page.show(f"rail:{rail}")
        address = task.wiring.owner(rail) or rail
        bar = Group("part" if is_bar else "rail", address, "bar", notes=(("rail", rail),) if is_bar else ())
        box = Box(segment.left, middle - thick / 2, segment.right - segment.left, thick)
        if top:
            bar.add(Box(box.x, box.y, box.width, box.height, "bp"))
        else:
            bar.add(box, Polyline(((box.x + 0.3, middle), (box.x + box.width - 0.3, middle)), "o", thick / 2.6))
        if task.wiring.roles_at(rail).grounds:
            bar.add(*EARTH.at(segment.left + 1.8, middle + thick / 2))
        for stud in dict.fromkeys((*segment.studs, *(stud for stud, _, _ in segment.bonds))):
            bar.add(Disc(stud, middle, 0.9 if is_bar else 0.55))
        baseline = middle - thick / 2 - 1.5 if top else middle + thick / 2 + 4.0
        indent = 6.0 if task.wiring.roles_at(rail).grounds else 0.0
        bar.add(Words(segment.left + indent, baseline, segment.name, lettering.NAME))
        bar.add(
            words(segment.left - 3, middle + 1.1, "+" if top else "−", bold=True, size=lettering.NAME, anchor="middle")
        )
        groups = [bar]
        for stud, conductor, earth in segment.bonds:
            groups += self._draw_bond(stud, conductor, earth, middle)
            page.show(f"part:{earth}")
        return groups

    def _goes_on(self, segment: _Segment) -> list[Group]:
        """Arrows at the ends of a piece of bar whose other pieces stand before or after it."""
        pieces = [s for draft in self.drafts for s in draft.segments if (s.row, s.rail) == (segment.row, segment.rail)]
        place = next(n for n, piece in enumerate(pieces) if piece is segment)
        middle = self.upper if segment.row == "top" else self.lower
        group = Group("goes-on", segment.rail, "mark")
        if place + 1 < len(pieces):
            group.add(arrow(segment.right + 2.6, middle, "right"))
        if place:
            group.add(arrow(segment.left - 7.2, middle, "left"))
        return [group] if group.items else []

    def _draw_bond(self, stud: float, conductor: str, earth: str, middle: float) -> list[Group]:
        foot = middle + 9.4
        wire = conductor_group(self.task, conductor, ((stud, middle), (stud, foot)))
        lines = self._bond_lines(conductor, earth)
        wire.add(*put(stud + 4.4, middle + BAR / 2 + 3.9, lines[:2]))
        part = self.task.wiring.part_at(earth)
        symbol = Group("part", part.id if part else earth, "symbol").add(*EARTH.at(stud, foot))
        symbol.add(*put(stud + 4.4, middle + BAR / 2 + 11.3, lines[2:]))
        return [wire, symbol]
