"""The DC circuit sheets: a ladder for each panel, and for the loads fed straight from a bar or a source.

One row a way, at a fixed pitch, spares included: a row's place is its way number, so that a circuit added moves
nothing else.
"""

from __future__ import annotations

from copperplate.drawing import captions, control, lettering, rungs, symbols
from copperplate.drawing.branches import LadderRow, LadderSection
from copperplate.drawing.captions import Line, Task
from copperplate.drawing.ladder import HEAD, LadderLayout, Laid
from copperplate.drawing.page import Page
from copperplate.drawing.pen import Box, Disc, Group, Point, Polyline, Words, measure, words
from copperplate.drawing.rungs import LEAP, MIDDLE, OVER, PITCH, UNDER
from copperplate.drawing.stack import arrow
from copperplate.model.parts import Panel

BETWEEN = 2.4
"""From one ladder to the next below it."""
BAR = 3.2
REMARK = "Lengths are one way; volts at the load in its worst case."


def pages(task: Task, sections: list[LadderSection]) -> list[Page]:
    """The ladder sheets: one for each panel, split when full; then ladders of bars and sources, together."""
    return _Ladders(task).pages(sections)


class _Ladders:
    def __init__(self, task: Task) -> None:
        self.task = task
        self.ladder = LadderLayout(task)
        self.zones = self.ladder.zones
        self.room = self.ladder.room

    def pages(self, sections: list[LadderSection]) -> list[Page]:
        """The largest panels first, each on the first sheet that has room for it; only one that alone exceeds a sheet
        is split."""
        sheets: list[list[tuple[LadderSection, list[Laid], int, bool]]] = []
        left: list[float] = []
        for section in sorted(sections, key=lambda section: -self._tall(section)):
            for place, (rows, more) in enumerate(self._parts(section)):
                self.ladder.sever(section, rows)
                tall = HEAD + sum(self.ladder.height(laid) for laid in rows) + BETWEEN
                at = next((n for n, room in enumerate(left) if tall <= room), len(sheets))
                if at == len(sheets):
                    sheets.append([])
                    left.append(self.room + BETWEEN)
                sheets[at].append((section, rows, place, more))
                left[at] -= tall
        return [self._page(parts) for parts in sheets]

    def _tall(self, section: LadderSection) -> float:
        return sum(self.ladder.height(laid) for laid in self.ladder.laid(section))

    def _parts(self, section: LadderSection) -> list[tuple[list[Laid], bool]]:
        """The rows of a panel, as many at a time as a sheet holds; and whether more follow."""
        parts: list[list[Laid]] = [[]]
        left = self.room - HEAD
        for group in self.ladder.groups(self.ladder.laid(section)):
            needed = sum(self.ladder.height(laid) for laid in group)
            if needed > left and parts[-1]:
                parts.append([])
                left = self.room - HEAD
            parts[-1] += group
            left -= needed
        return [(rows, place < len(parts) - 1) for place, rows in enumerate(parts)]

    def _page(self, parts: list[tuple[LadderSection, list[Laid], int, bool]]) -> Page:
        names = [
            section.panel + (f", part {place + 1}" if place or more else "") for section, _, place, more in parts
        ]  # fmt: skip
        slug = "-".join(name.replace(", part ", "-part-")[:40] for name in names)
        page = Page(f"dc-circuits-{slug[:60].rstrip('-')}", f"DC circuits, {', '.join(names)}", remark=REMARK)
        y = self.task.paper.top
        for section, rows, place, more in parts:
            self._section(page, section, rows, y, place > 0, more)
            y += HEAD + sum(self.ladder.height(laid) for laid in rows) + BETWEEN
        return page

    # --- drawing -----------------------------------------------------------------------------------------

    def _section(
        self,
        page: Page,
        section: LadderSection,
        rows: list[Laid],
        top: float,
        from_before: bool,
        goes_on: bool,
    ) -> None:
        """Draws one ladder, or the part of it that stands on this page."""
        zones = self.zones
        page.show(f"circuits:{section.panel}")
        y = top + HEAD
        for laid in rows:
            laid.y = y + laid.above + PITCH / 2
            y += self.ladder.height(laid)
        self._heads(page, section, top, from_before)
        page.groups += self._bars(section, rows, top + HEAD, min(y, top + self.room), from_before, goes_on)
        where = {id(laid.row): laid for laid in rows if laid.row is not None}
        for place, laid in enumerate(rows):
            following = rows[place + 1] if place + 1 < len(rows) else None
            if following is not None and following.row is None:
                level = laid.y + (laid.lines - 1) * LEAP + PITCH / 2
                rule = Polyline(((zones.bar + 4, level), (zones.rail - 4, level)), "h")
                page.groups.append(Group("rule", "", "rule").add(rule))
            self._row(page, section, laid, where)
        page.cut += self.ladder.cut
        self.ladder.cut = []

    def _heads(self, page: Page, section: LadderSection, top: float, from_before: bool) -> None:
        task, zones = self.task, self.zones
        baseline = top + 3.4
        group = Group("heads", section.panel, "symbol")
        room = zones.symbol - zones.bar - 2.0
        title: Line = ((f"{section.panel} +", True),)
        texts = [] if from_before else [self._family(section.panel)]
        texts.append(f"Positive conductor, fed at {task.place(section.panel)}")
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
        """`Blade fuse`: what the ways of a panel hold."""
        part = self.task.design.system.parts[panel]
        family = part.family if isinstance(part, Panel) and part.family else "blade"
        word = captions.FAMILY_WORDS.get(family, "fuse")
        return word[:1].upper() + word[1:]

    def _bars(
        self, section: LadderSection, rows: list[Laid], top: float, bottom: float, from_before: bool, goes_on: bool
    ) -> list[Group]:
        """The two bars with their studs, and the arrows of a ladder that goes on."""
        zones = self.zones
        left = Group("part", section.panel, "bar", notes=(("rail", section.rail),))
        left.add(Box(zones.bar - BAR / 2, top, BAR, bottom - top, "bp"))
        right = Group("part", self.task.wiring.owner(section.back), "bar", notes=(("rail", section.back),))
        right.add(Box(zones.rail - BAR / 2, top, BAR, bottom - top))
        right.add(Polyline(((zones.rail, top + 0.3), (zones.rail, bottom - 0.3)), "o", 1.2))
        for laid in rows:
            row = laid.row
            if row is None or row.above is None:
                left.add(Disc(zones.bar, laid.y, 0.9))
            if row is not None and laid.back is not None and not laid.flag_back and row.above_back is None:
                right.add(Disc(zones.rail, laid.y + (laid.lines - 1) * LEAP, 0.9))
        bars = [left, right] if section.back else [left]
        for bar, x in zip(bars, (zones.bar, zones.rail), strict=False):
            if goes_on:
                bar.add(arrow(x, bottom + 2.4, "down"))
            if from_before:
                bar.add(arrow(x, top + 2.6, "down"))
        return bars

    def _row(self, page: Page, section: LadderSection, laid: Laid, where: dict[int, Laid]) -> None:
        task, zones, row = self.task, self.zones, laid.row
        if row is None or row.above is None:
            link = Group("mount", "", "conductor")
            link.add(Polyline(((zones.bar, laid.y), (zones.bar + 4.6, laid.y)), "c-pos", 0.35))
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
            keys = (f"rail:{row.flag}", f"part:{self.task.wiring.owner(row.flag)}")
            text = f"to {captions.end(task, row.flag)}"
            if row.flag in self.task.wiring.way_of and len(self.task.wiring.at[row.flag]) == 1:
                keys, text = (control.SHEET, ""), "signals"
            sheet = next((key for key in keys if key in task.numbers), None)
            text += f", {task.sheet(sheet)}" if sheet else ""
            flag = Group("goes-on", row.flag, "mark").add(arrow(zones.symbol + 2.0, end_y, "right"))
            page.groups.append(flag.add(words(zones.text, end_y + 1.0, text)))
        if laid.back is not None:
            page.groups += self._back(laid, end_y, where)

    def _out(self, section: LadderSection, laid: Laid, where: dict[int, Laid]) -> list[Group]:
        """The positive half of a rung."""
        task, row, rung = self.task, laid.row, laid.out
        assert row is not None and rung is not None
        head: tuple[Point, ...] = ()
        extra: list[Group] = []
        if laid.flag_start:
            text = self.ladder.start_of(row)
            flag = Group("goes-on", row.start, "mark").add(arrow(rung.start, laid.y, "right"))
            extra.append(flag.add(words(rung.start - 3.0, laid.y + 1.0, text, anchor="end")))
        elif row.above is not None:
            owner = where.get(id(section.rows[row.above]))
            tap = owner.out.taps.get(row.start) if owner is not None and owner.out is not None else None
            if owner is not None and tap is not None:
                level = owner.y + tap[1] * LEAP
                if self.ladder.is_terminal(row.start):
                    middle = laid.y - laid.above - PITCH + MIDDLE
                    head = ((tap[0], level), (tap[0], middle), (rung.restarts[0], middle))
                else:
                    upright = Polyline(((tap[0], level), (tap[0], laid.y)), "o", 0.5)
                    extra.append(Group("mount", "", "conductor").add(upright))
                    extra.append(Group("mount", "", "mark").add(Disc(tap[0], laid.y, 0.8, "k")))
        else:
            rung.start = self.zones.chain - 1.4
        return [*extra, *rungs.draw(task, rung, laid.y, head)]

    def _end(self, page: Page, laid: Laid, row: LadderRow, y: float) -> Group:
        """The symbol, name and figures of what a row ends at."""
        task, zones = self.task, self.zones
        part = task.design.system.parts[row.part]
        page.show(f"part:{part.id}")
        page.show(f"side:{part.id}.{row.side}")
        group = Group("part", part.id, "symbol", notes=(("way", f"{laid.way}"),) if laid.way else ())
        symbol = self.ladder.symbol(row)
        group.add(*symbol.at(zones.symbol, y))
        size = lettering.NAME if len(laid.name) == 1 and self._fits(laid.name[0]) else lettering.SMALL
        for place, line in enumerate(laid.name[::-1]):
            group.add(Words(zones.text, y + OVER - lettering.LINE * place, line, size))
        info = rungs.shorten(((self._info(row), False),), zones.back - zones.text - 1.0)
        group.add(Words(zones.text, y + UNDER, info))
        return group

    def _fits(self, line: Line) -> bool:
        return measure(line, lettering.NAME) <= self.zones.back - self.zones.text - 2.0

    def _info(self, row: LadderRow) -> str:
        """Current, volts and drop of a load; figures and the sheet that goes on for another part."""
        task = self.task
        part = task.design.system.parts[row.part]
        result = task.design.loads.get(part.id)
        if part.roles.is_load:
            if result is not None:
                return captions.at_load(result)
            return ", ".join(captions.figures(task, part)).replace(captions.FIRM, " ")
        texts = list(captions.figures(task, part))
        if isinstance(part, Panel):
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

    def _back(self, laid: Laid, y: float, where: dict[int, Laid]) -> list[Group]:
        """The negative half of a rung, from the load to the rail, a tap or a flag."""
        task, zones, row, rung = self.task, self.zones, laid.row, laid.back
        assert row is not None and rung is not None
        groups: list[Group] = []
        start = zones.symbol + self.ladder.symbol(row).right
        if rung.start == zones.back:
            groups.append(Group("mount", "", "conductor").add(Polyline(((start, y), (zones.back, y)), "c-neg", 0.35)))
            groups.append(Group("mount", "", "mark").add(Disc(zones.back, y, 0.8, "k")))
        else:
            rung.start = start
        last_y = y + (rung.lines - 1) * LEAP
        tail: tuple[Point, ...] = ()
        if not laid.flag_back and row.above_back is not None:
            owner = next(
                (w for w in where.values() if w.row is not None and w.back is not None and row.back_to in w.back.taps),
                None,
            )
            if owner is not None and owner.back is not None:
                level = owner.y + (owner.out.lines - 1 if owner.out else 0) * LEAP
                level += owner.back.taps[row.back_to][1] * LEAP
                x = rung.end
                if task.wiring.roles_at(row.back_to).is_splice:
                    upright = Polyline(((x, level), (x, last_y)), "o", 0.5)
                    groups.append(Group("mount", "", "conductor").add(upright))
                    groups.append(Group("mount", "", "mark").add(Disc(x, last_y, 0.8, "k")))
                    tail = ((x, last_y),)
                else:
                    tail = ((x, last_y), (x, level))
        groups += rungs.draw(task, rung, y, (), tail)
        if laid.flag_back:
            groups.append(self._flag(laid, row, rung.end, last_y))
        return groups

    def _flag(self, laid: Laid, row: LadderRow, x: float, y: float) -> Group:
        """Where a way back goes that is not the rail on the right: below its conductor, beside what is there."""
        task, rung = self.task, laid.back
        earth = task.wiring.roles_at(row.back_to).grounds
        group = (
            Group("part", captions.end(task, row.back_to), "symbol") if earth else Group("goes-on", row.back_to, "mark")
        )
        if earth:
            group.add(*symbols.EARTH.at(x, y))
            text, at = captions.end(task, row.back_to), x - 4.0
            if row.mounted:
                return group.add(words(x + 4.6, y + 1.4, text, bold=True))
        else:
            group.add(arrow(x + 2.0, y, "right"))
            text, at = self.ladder.end_of(row), x + 2.0
        last = [bit for bit in rung.bits if bit.line == rung.lines - 1] if rung is not None else []
        left = max((bit.x + measure(bit.under) + 2.0 for bit in last), default=self.zones.back)
        fitted = lettering.shorten(text, at - left, bold=earth)
        if fitted != text:
            self.ladder.cut.append(text)
        return group.add(words(at, y + UNDER, fitted, bold=earth, anchor="end"))
