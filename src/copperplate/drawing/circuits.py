"""The DC circuit sheets: a ladder for each panel, and for the loads fed straight from a bar or a source.

One row a way, at a fixed pitch, spares included: a row's place is its way number, so that a circuit added moves
nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from copperplate.drawing import captions, lettering, rungs, symbols
from copperplate.drawing.branches import Row, Section
from copperplate.drawing.captions import Line, Task
from copperplate.drawing.page import Page
from copperplate.drawing.pen import Box, Disc, Group, Item, Point, Stroke, Words, measure, words
from copperplate.drawing.rungs import LEAP, MIDDLE, OVER, PITCH, UNDER, Rung
from copperplate.drawing.stack import arrow

HEAD = 6.2
FLAG = 9.0
"""From where a flagged way back ends to the rail on the right."""
SLOTS = 3
"""Ladders that share a sheet keep room in threes of rows, so that the next ladder seldom moves."""
BAR = 3.2
LINES_OF_NAME = 8


@dataclass(frozen=True, slots=True)
class Zones:
    """Where things stand across the sheet, in mm."""

    bar: float
    number: float
    chain: float
    symbol: float
    text: float
    back: float
    rail: float

    @staticmethod
    def of(task: Task) -> Zones:
        left, right = task.paper.left, task.paper.right
        wide = right - left
        symbol = round(left + 0.385 * wide)
        return Zones(
            left + 3.6, left + 14.0, left + 17.0, symbol, symbol + 6.0, round(left + 0.645 * wide), right - 3.6
        )


@dataclass
class _Laid:
    """A row with its rungs, the lines it takes, and its place on a page."""

    row: Row | None
    way: int | None
    out: Rung | None = None
    back: Rung | None = None
    lines: int = 1
    name: list[Line] = field(default_factory=list)
    above: float = 0.0
    """Room above its first line beyond half a pitch, for a name of several lines."""
    y: float = 0.0
    flag_start: bool = False
    flag_back: bool = False


def pages(task: Task, sections: list[Section]) -> list[Page]:
    """The ladder sheets: one for each panel, split when full; then ladders of bars and sources, together."""
    return _Ladders(task).pages(sections)


class _Ladders:
    def __init__(self, task: Task) -> None:
        self.task = task
        self.zones = Zones.of(task)
        self.room = task.paper.bottom - task.paper.top
        self.cut: list[str] = []
        self.aligned: list[_Laid] = []
        """The rows of the section at hand, each at its place in the section."""
        self.hanging: dict[int, list[int]] = {}
        """By place of a row: the places of the rows that hang from it."""

    def pages(self, sections: list[Section]) -> list[Page]:
        made: list[Page] = []
        for section in sections:
            if section.panel:
                made += self._panel(section)
        made += self._shared([section for section in sections if not section.panel])
        return made

    # --- laying out --------------------------------------------------------------------------------------

    def _laid(self, section: Section) -> list[_Laid]:
        """The rows of a section with their rungs, spares included."""
        found = [_Laid(row, row.way) for row in section.rows]
        self.hanging = {}
        for place, row in enumerate(section.rows):
            if row.above is not None:
                self.hanging.setdefault(row.above, []).append(place)
        for place, laid in enumerate(found):
            self._lay(section, found, place, laid)
        self.aligned = list(found)
        used = {laid.way for laid in found}
        for way in range(1, section.ways + 1):
            if way not in used:
                found.append(_Laid(None, way))
        return sorted(found, key=lambda laid: laid.way or 0) if section.panel else found

    def _lay(
        self, section: Section, found: list[_Laid], place: int, laid: _Laid, severed: bool = False
    ) -> None:
        """Lays out one row. `severed`: what it hangs from stands on an earlier sheet."""
        task, zones, row = self.task, self.zones, laid.row
        assert row is not None
        start, first, restart = zones.bar, zones.chain, zones.chain
        if not section.panel:
            first, restart = zones.bar + 4.0, zones.bar + 5.0
        restart = max([restart, *(x + 4.0 for x in self._pending(found, place))])
        if row.above is not None:
            tap = self._tap(found, row)
            owner = found[row.above]
            laid.above = 0.0
            if tap is None or owner.out is None or severed:
                laid.flag_start = True
                first = start = restart + 3.0 + lettering.width(self._from(row)) + 4.0
            elif self._is_terminal(owner, row.start):
                if place != row.above + 1:
                    laid.flag_start = True
                    first = start = restart + 3.0 + lettering.width(self._from(row)) + 4.0
                else:
                    start, first = restart, restart + 3.0
                    laid.above = LEAP - PITCH
            else:
                start, first = tap[0], max(tap[0] + 3.0, restart)
        end = zones.symbol + (self._symbol(row).left if row.part else 0.0)
        hanging = [section.rows[other].positive for other in self.hanging.get(place, ())]
        below = max((bit.wide for steps in hanging for bit in rungs.bits(task, steps)), default=0.0)
        way = bool(section.panel and row.above is None)
        laid.out = rungs.lay(task, row.positive, start, first, end, restart, way, below=below)
        laid.flag_back = row.flag_back or (laid.flag_start and row.above_back is not None)
        self._lay_back(found, place, laid)
        laid.lines = laid.out.lines + (laid.back.lines - 1 if laid.back is not None else 0)
        laid.name, above = self._name(row)
        laid.above += above

    def _lay_back(self, found: list[_Laid], place: int, laid: _Laid) -> None:
        row, zones = laid.row, self.zones
        assert row is not None
        if not row.negative and not row.back_to:
            return
        end = zones.rail
        if laid.flag_back:
            end = zones.back + 5.0 if row.mounted else zones.rail - FLAG
        elif row.above_back is not None:
            tap = self._back_tap(found, row)
            between = found[row.above_back + 1 : place]
            if tap is None or any(other.back is not None and other.back.end > tap + 0.01 for other in between):
                laid.flag_back = True
                end = zones.rail - FLAG
            else:
                end = tap
        restart = zones.back
        steps = list(row.negative)
        own = steps and isinstance(steps[0], str)
        rung = rungs.lay(
            self.task,
            steps[1:] if own else steps,
            zones.back if own else zones.symbol,
            zones.back + 2.0,
            max(end, zones.back + 4),
            restart,
            False,
            zones.rail - zones.back - 8.0 if row.above_back is not None and not laid.flag_back else None,
        )
        rung.end = end
        rung.style = "c-neg"
        if own:
            rung.taps[str(steps[0])] = (zones.back, 0)
        laid.back = rung

    def _is_terminal(self, owner: _Laid, node: str) -> bool:
        return owner.row is not None and self.task.wiring.kind_at(node) == "load"

    def _tap(self, found: list[_Laid], row: Row) -> tuple[float, int] | None:
        owner = found[row.above] if row.above is not None else None
        return owner.out.taps.get(row.start) if owner is not None and owner.out is not None else None

    def _back_tap(self, found: list[_Laid], row: Row) -> float | None:
        owner = found[row.above_back] if row.above_back is not None else None
        tap = owner.back.taps.get(row.back_to) if owner is not None and owner.back is not None else None
        return tap[0] if tap is not None else None

    def _pending(self, found: list[_Laid], place: int) -> list[float]:
        """Where uprights pass row `place`: of splices above it that rows further down hang from. Rows stand in the
        order of a walk down their tree, so that only the rows which `place` itself hangs from can have such."""
        passing: list[float] = []
        owner = found[place].row.above if found[place].row is not None else None
        while owner is not None:
            out = found[owner].out
            for child in self.hanging.get(owner, ()):
                row = found[child].row
                if child > place and row is not None and out is not None and row.start in out.taps:
                    if self.task.wiring.kind_at(row.start) == "junction":
                        passing.append(out.taps[row.start][0])
            above = found[owner].row
            owner = above.above if above is not None else None
        return passing

    def _symbol(self, row: Row) -> symbols.Symbol:
        part = self.task.design.system.parts[row.part]
        if part.kind == "load":
            return symbols.load_symbol(part)
        if part.kind == "battery":
            return symbols.PLAIN
        return symbols.part_symbol(part)

    def _from(self, row: Row) -> str:
        return f"from {captions.end(self.task, row.start)}"

    def _to(self, row: Row) -> str:
        node = row.back_to
        return f"to {captions.end(self.task, node)}"

    def _name(self, row: Row) -> tuple[list[Line], float]:
        """The name of what a row ends at: at its own size, else small, else wrapped, else cut."""
        if not row.part:
            return [], 0.0
        room = self.zones.back - self.zones.text - 2.0
        text = captions.name_of(self.task.design.system.parts[row.part])
        if lettering.width(text, lettering.NAME, True) <= room:
            return [((text, True),)], 0.0
        lines = lettering.wrap_to(text, room, LINES_OF_NAME, lettering.SMALL, True)
        if "".join(lines).replace(" ", "") != text.replace(" ", ""):
            self.cut.append(text)
        above = lettering.LINE * (len(lines) - 1)
        return [((line, True),) for line in lines], -(-above // PITCH) * PITCH

    # --- pages -------------------------------------------------------------------------------------------

    def _height(self, laid: _Laid) -> float:
        return PITCH + (laid.lines - 1) * LEAP + laid.above

    def _groups(self, laid: list[_Laid]) -> list[list[_Laid]]:
        """Rows that must stay together: a row and what is tapped from it, as far as one sheet holds them."""
        groups: list[list[_Laid]] = []
        tall = 0.0
        for one in laid:
            hangs = one.row is not None and one.row.above is not None and bool(groups)
            if hangs and tall + self._height(one) <= self.room - HEAD:
                groups[-1].append(one)
                tall += self._height(one)
            else:
                groups.append([one])
                tall = self._height(one)
        return groups

    def _sever(self, section: Section, rows: list[_Laid]) -> None:
        """Lays rows out again whose owners stand on another sheet than they do."""
        found = self.aligned
        here = {id(laid.row) for laid in rows if laid.row is not None}
        place = {id(laid.row): n for n, laid in enumerate(found) if laid.row is not None}
        for laid in rows:
            row = laid.row
            if row is not None and row.above is not None and id(section.rows[row.above]) not in here:
                self._lay(section, found, place[id(row)], laid, severed=True)

    def _panel(self, section: Section) -> list[Page]:
        part = self.task.design.system.parts[section.panel]
        sheets: list[list[_Laid]] = [[]]
        left = self.room - HEAD
        for group in self._groups(self._laid(section)):
            needed = sum(self._height(laid) for laid in group)
            if needed > left and sheets[-1]:
                sheets.append([])
                left = self.room - HEAD
            sheets[-1] += group
            left -= needed
        made: list[Page] = []
        for place, rows in enumerate(sheets, 1):
            many = len(sheets) > 1
            self._sever(section, rows)
            page = Page(
                f"dc-circuits-{part.id[:40]}" + (f"-part-{place}" if many else ""),
                f"DC circuits, {part.id}" + (f", part {place}" if many else ""),
                remark="Lengths are one way; volts at the load in its worst case.",
            )
            self._section(page, section, rows, self.task.paper.top, place > 1, place < len(sheets), 0)
            made.append(page)
        return made

    def _shared(self, sections: list[Section]) -> list[Page]:
        made: list[Page] = []
        y = self.room
        for section in sections:
            groups = self._groups(self._laid(section))
            going_on = False
            while groups:
                least = HEAD + sum(self._height(laid) for laid in groups[0])
                slots = -(-sum(laid.lines for group in groups for laid in group) // SLOTS) * SLOTS
                whole = HEAD + max(slots * PITCH, sum(self._height(laid) for group in groups for laid in group))
                if y + whole > self.room and (y + least > self.room or whole <= self.room):
                    made.append(Page(f"dc-circuits-{len(made) + 1}", "DC circuits without a panel", remark="Lengths are one way; volts at the load in its worst case."))
                    y = 0.0
                taken: list[_Laid] = []
                height = HEAD
                while groups and (height + sum(self._height(laid) for laid in groups[0]) <= self.room - y or not taken):
                    group = groups.pop(0)
                    taken += group
                    height += sum(self._height(laid) for laid in group)
                self._sever(section, taken)
                self._section(made[-1], section, taken, self.task.paper.top + y, going_on, bool(groups), slots)
                y += max(height, min(whole, self.room - y)) + 3.0
                going_on = True
        if len(made) == 1:
            made[0].slug = "dc-circuits"
        return made

    # --- drawing -----------------------------------------------------------------------------------------

    def _section(
        self, page: Page, section: Section, rows: list[_Laid], top: float, from_before: bool, goes_on: bool, slots: int
    ) -> None:
        """Draws one ladder, or the part of it that stands on this page."""
        task, zones = self.task, self.zones
        page.show(f"circuits:{section.panel or section.rail}")
        y = top + HEAD
        for laid in rows:
            laid.y = y + laid.above + PITCH / 2
            y += self._height(laid)
        floor = max(y, top + HEAD + (slots * PITCH if not goes_on else 0.0))
        self._heads(page, section, top, from_before)
        page.groups += self._bars(section, rows, top + HEAD, min(floor, top + self.room), from_before, goes_on)
        where = {id(laid.row): laid for laid in rows if laid.row is not None}
        for place, laid in enumerate(rows):
            following = rows[place + 1] if place + 1 < len(rows) else None
            if following is not None and (following.row is None or following.row.above is None):
                level = laid.y + (laid.lines - 1) * LEAP + PITCH / 2
                rule = Stroke(((zones.bar + 4, level), (zones.rail - 4, level)), "h")
                page.groups.append(Group("rule", "", "rule").add(rule))
            self._row(page, section, laid, where)
        page.cut += self.cut
        self.cut = []

    def _heads(self, page: Page, section: Section, top: float, from_before: bool) -> None:
        task, zones = self.task, self.zones
        baseline = top + 3.4
        group = Group("heads", section.panel or section.rail, "symbol")
        room = zones.symbol - zones.bar - 2.0
        if section.panel:
            title: Line = ((f"{section.panel} +", True),)
            texts = [] if from_before else [self._family(section.panel)]
            fed = task.sheet(f"part:{section.panel}")
            texts.append(f"Positive conductor, fed on {fed}")
        else:
            title, *_ = (captions.rail(task, section.rail),)
            texts = [f"on {task.sheet(f'rail:{section.rail}')}"] if f"rail:{section.rail}" in task.numbers else []
        if from_before:
            texts.insert(0, "continued")
        title = rungs.shorten(title, room, lettering.NAME)
        group.add(Words(zones.bar - 1.6, baseline, title, lettering.NAME))
        x = zones.bar - 1.6 + measure(title, lettering.NAME) + 3
        for text in texts:
            at = max(x, zones.chain + rungs.COLUMN) if text.startswith("Positive") else x
            if at + lettering.width(text) <= zones.symbol - 4:
                group.add(words(at, baseline, text))
                x = at + lettering.width(text) + 3
        group.add(words(zones.text, baseline, "Load"))
        if section.back:
            back = captions.rail(task, section.back)[0][0]
            back_name = back if back.endswith(("+", "−")) else f"{back} −"
            wide = lettering.width(back_name, lettering.NAME, True)
            group.add(words(zones.rail + 1.6, baseline, back_name, bold=True, size=lettering.NAME, anchor="end"))
            if zones.back + 2 + lettering.width("Negative conductor") < zones.rail - wide - 2:
                group.add(words(zones.back + 2, baseline, "Negative conductor"))
        page.groups.append(group)

    def _family(self, panel: str) -> str:
        """"Blade fuse": what the ways of a panel hold."""
        word = captions.FAMILY_WORDS.get(self.task.design.system.parts[panel].get("family", "blade"), "fuse")
        return word[:1].upper() + word[1:]

    def _owner(self, node: str) -> str:
        part = self.task.wiring.part_at(node)
        return part.id if part is not None else ""

    def _bars(
        self, section: Section, rows: list[_Laid], top: float, bottom: float, from_before: bool, goes_on: bool
    ) -> list[Group]:
        """The two bars with their studs, and the arrows of a ladder that goes on."""
        zones, wiring = self.zones, self.task.wiring
        owner = section.panel or self._owner(section.rail)
        left = Group("part" if owner else "rail", owner or section.rail, "bar", notes=(("rail", section.rail),))
        slim = 0.0 if section.panel or wiring.is_rail(section.rail) else 0.9
        left.add(Box(zones.bar - BAR / 2 + slim, top, BAR - 2 * slim, bottom - top, "bp"))
        right = Group("part", self._owner(section.back), "bar", notes=(("rail", section.back),))
        slim = 0.0 if wiring.is_rail(section.back) or section.panel else 0.9
        right.add(Box(zones.rail - BAR / 2 + slim, top, BAR - 2 * slim, bottom - top))
        right.add(Stroke(((zones.rail, top + 0.3), (zones.rail, bottom - 0.3)), "o", 1.2 - slim))
        for laid in rows:
            row = laid.row
            if row is None or row.above is None:
                left.add(Disc(zones.bar, laid.y, 0.9 if slim == 0 else 0.6))
            if row is not None and laid.back is not None and not laid.flag_back and row.above_back is None:
                right.add(Disc(zones.rail, laid.y + (laid.lines - 1) * LEAP, 0.9 if slim == 0 else 0.6))
        bars = [left, right] if section.back else [left]
        for bar, x in zip(bars, (zones.bar, zones.rail), strict=False):
            if goes_on:
                bar.add(arrow(x, bottom + 2.4, "down"))
            if from_before:
                bar.add(arrow(x, top + 2.6, "down"))
        return bars

    def _row(self, page: Page, section: Section, laid: _Laid, where: dict[int, _Laid]) -> None:
        task, zones, row = self.task, self.zones, laid.row
        if section.panel and (row is None or row.above is None):
            link = Group("mount", "", "conductor")
            link.add(Stroke(((zones.bar, laid.y), (zones.bar + 4.6, laid.y)), "c-pos", 0.35))
            page.groups.append(link)
            tag = Group("way", f"{section.panel}.{laid.way}", "symbol")
            tag.add(words(zones.number, laid.y + 1.15, str(laid.way), bold=True, size=lettering.NAME, anchor="end"))
            if row is None:
                tag.add(words(zones.chain + 0.5, laid.y + 1.0, "spare"))
            page.groups.append(tag)
        if row is None or laid.out is None:
            return
        page.groups += self._out(section, laid, where)
        end_y = laid.y + (laid.out.lines - 1) * LEAP
        if row.part:
            page.groups.append(self._end(page, laid, row, end_y))
        elif row.flag:
            text = f"to {captions.end(task, row.flag)}"
            sheet = next((key for key in (f"rail:{row.flag}", f"part:{self._owner(row.flag)}") if key in task.numbers), None)
            text += f", {task.sheet(sheet)}" if sheet else ""
            flag = Group("goes-on", row.flag, "mark").add(arrow(zones.symbol + 2.0, end_y, "right"))
            page.groups.append(flag.add(words(zones.text, end_y + 1.0, text)))
        if laid.back is not None:
            page.groups += self._back(laid, end_y, where)

    def _out(self, section: Section, laid: _Laid, where: dict[int, _Laid]) -> list[Group]:
        """The positive half of a rung."""
        task, row, rung = self.task, laid.row, laid.out
        assert row is not None and rung is not None
        head: tuple[Point, ...] = ()
        extra: list[Group] = []
        if laid.flag_start:
            text = self._from(row)
            flag = Group("goes-on", row.start, "mark").add(arrow(rung.start, laid.y, "right"))
            extra.append(flag.add(words(rung.start - 3.0, laid.y + 1.0, text, anchor="end")))
        elif row.above is not None:
            owner = where.get(id(section.rows[row.above]))
            tap = owner.out.taps.get(row.start) if owner is not None and owner.out is not None else None
            if owner is not None and tap is not None:
                level = owner.y + tap[1] * LEAP
                if self._is_terminal(owner, row.start):
                    middle = laid.y - laid.above - PITCH + MIDDLE
                    head = ((tap[0], level), (tap[0], middle), (rung.restarts[0], middle))
                else:
                    upright = Stroke(((tap[0], level), (tap[0], laid.y)), "o", 0.5)
                    extra.append(Group("mount", "", "conductor").add(upright))
                    extra.append(Group("mount", "", "mark").add(Disc(tap[0], laid.y, 0.8, "k")))
        elif section.panel:
            rung.start = self.zones.chain - 1.4
        return [*extra, *rungs.draw(task, rung, laid.y, head)]

    def _end(self, page: Page, laid: _Laid, row: Row, y: float) -> Group:
        """The symbol, name and figures of what a row ends at."""
        task, zones = self.task, self.zones
        part = task.design.system.parts[row.part]
        page.show(f"part:{part.id}")
        page.show(f"side:{part.id}.{row.side}")
        group = Group("part", part.id, "symbol", notes=(("way", f"{laid.way}"),) if laid.way else ())
        symbol = self._symbol(row)
        group.add(*symbol.at(zones.symbol, y))
        size = lettering.NAME if len(laid.name) == 1 and self._fits(laid.name[0]) else lettering.SMALL
        for place, line in enumerate(laid.name[::-1]):
            group.add(Words(zones.text, y + OVER - lettering.LINE * place, line, size))
        info = rungs.shorten(((self._info(row), False),), zones.back - zones.text - 1.0)
        group.add(Words(zones.text, y + UNDER, info))
        return group

    def _fits(self, line: Line) -> bool:
        return measure(line, lettering.NAME) <= self.zones.back - self.zones.text - 2.0

    def _info(self, row: Row) -> str:
        """Current, volts and drop of a load; figures and the sheet that goes on for another part."""
        task = self.task
        part = task.design.system.parts[row.part]
        result = task.design.loads.get(part.id)
        if part.kind == "load":
            if result is not None:
                return captions.at_load(task, result)
            return ", ".join(captions.figures(task, part)).replace(captions.FIRM, " ")
        texts = list(captions.figures(task, part))
        if part.kind == "panel":
            texts.append(f"circuits: {task.sheet(f'circuits:{part.id}')}")
        elif result is not None:
            texts.append(f"{captions.volts(result.voltage_v)} at load")
        for side in task.wiring.sides[part.id]:
            for key in (f"side:{part.id}.{side.name}", f"circuits:{side.pos}"):
                if side.name != row.side and key in task.numbers:
                    texts.append(f"{side.name}: {task.sheet(key)}")
                    break
        if f"ac:{part.id}" in task.numbers:
            texts.append(f"AC: {task.sheet(f'ac:{part.id}')}")
        return ", ".join(texts).replace(captions.FIRM, " ")

    def _back(self, laid: _Laid, y: float, where: dict[int, _Laid]) -> list[Group]:
        """The negative half of a rung, from the load to the rail, a tap or a flag."""
        task, zones, row, rung = self.task, self.zones, laid.row, laid.back
        assert row is not None and rung is not None
        groups: list[Group] = []
        start = zones.symbol + self._symbol(row).right
        if rung.start == zones.back:
            groups.append(Group("mount", "", "conductor").add(Stroke(((start, y), (zones.back, y)), "c-neg", 0.35)))
            groups.append(Group("mount", "", "mark").add(Disc(zones.back, y, 0.8, "k")))
        else:
            rung.start = start
        last_y = y + (rung.lines - 1) * LEAP
        tail: tuple[Point, ...] = ()
        if not laid.flag_back and row.above_back is not None:
            owner = next((w for w in where.values() if w.row is not None and w.back is not None and row.back_to in w.back.taps), None)
            if owner is not None and owner.back is not None:
                level = owner.y + (owner.out.lines - 1 if owner.out else 0) * LEAP
                level += owner.back.taps[row.back_to][1] * LEAP
                x = rung.end
                if task.wiring.kind_at(row.back_to) == "junction":
                    upright = Stroke(((x, level), (x, last_y)), "o", 0.5)
                    groups.append(Group("mount", "", "conductor").add(upright))
                    groups.append(Group("mount", "", "mark").add(Disc(x, last_y, 0.8, "k")))
                    tail = ((x, last_y),)
                else:
                    tail = ((x, last_y), (x, level))
        groups += rungs.draw(task, rung, y, (), tail)
        if laid.flag_back:
            groups.append(self._flag(laid, row, rung.end, last_y))
        return groups

    def _flag(self, laid: _Laid, row: Row, x: float, y: float) -> Group:
        """Where a way back goes that is not the rail on the right: below its conductor, beside what is there."""
        task, rung = self.task, laid.back
        earth = task.wiring.kind_at(row.back_to) == "earth"
        group = Group("part", captions.end(task, row.back_to), "symbol") if earth else Group("goes-on", row.back_to, "mark")
        if earth:
            group.add(*symbols.EARTH.at(x, y))
            text, at = captions.end(task, row.back_to), x - 4.0
            if row.mounted:
                return group.add(words(x + 4.6, y + 1.4, text, bold=True))
        else:
            group.add(arrow(x + 2.0, y, "right"))
            text, at = self._to(row), x + 2.0
        last = [bit for bit in rung.bits if bit.line == rung.lines - 1] if rung is not None else []
        left = max((bit.x + measure(bit.under) + 2.0 for bit in last), default=self.zones.back)
        fitted = lettering.shorten(text, at - left, bold=earth)
        if fitted != text:
            self.cut.append(text)
        return group.add(words(at, y + UNDER, fitted, bold=earth, anchor="end"))
