"""A ladder laid out: its rows with their rungs, their heights, and which of them hang from which.

Nothing is drawn here; `circuits` sets the rows on pages and draws them.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from copperplate.drawing import captions, lettering, rungs, symbols
from copperplate.drawing.branches import LadderRow, LadderSection
from copperplate.drawing.captions import Line, Task
from copperplate.drawing.rungs import LEAP, PITCH, HalfRung

HEAD = 6.2
"""Room above the first row for the heads of the columns."""
FLAG = 9.0
"""From where a flagged way back ends to the rail on the right."""
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
class Laid:
    """A row with its rungs, the lines it takes, and its place on a page."""

    row: LadderRow | None
    way: int | None
    out: HalfRung | None = None
    back: HalfRung | None = None
    lines: int = 1
    name: list[Line] = field(default_factory=list)
    above: float = 0.0
    """Room above its first line beyond half a pitch, for a name of several lines."""
    y: float = 0.0
    flag_start: bool = False
    flag_back: bool = False


class LadderLayout:
    """Lays out the sections of one design. `cut` collects the names that had to be cut."""

    def __init__(self, task: Task) -> None:
        self.task = task
        self.zones = Zones.of(task)
        self.room = task.paper.bottom - task.paper.top
        self.cut: list[str] = []
        self.aligned: list[Laid] = []
        """The rows of the section at hand, each at its place in the section."""
        self.hanging: dict[int, list[int]] = {}
        """By place of a row: the places of the rows that hang from it."""

    # --- laying out --------------------------------------------------------------------------------------

    def laid(self, section: LadderSection) -> list[Laid]:
        """The rows of a section with their rungs, spares included."""
        rows = [Laid(row, row.way) for row in section.rows]
        self.hanging = {}
        for place, row in enumerate(section.rows):
            if row.above is not None:
                self.hanging.setdefault(row.above, []).append(place)
        for place, laid in enumerate(rows):
            self._lay(section, rows, place, laid)
        self.aligned = list(rows)
        used = {laid.way for laid in rows}
        for way in range(1, section.ways + 1):
            if way not in used:
                rows.append(Laid(None, way))
        return sorted(rows, key=lambda laid: laid.way or 0)

    def _lay(self, section: LadderSection, rows: list[Laid], place: int, laid: Laid, severed: bool = False) -> None:
        """Lays out one row. `severed`: what it hangs from stands on an earlier sheet."""
        task, zones, row = self.task, self.zones, laid.row
        assert row is not None
        start, first, restart = zones.bar, zones.chain, zones.chain
        restart = max([restart, *(x + 4.0 for x in self._pending(rows, place))])
        if row.above is not None:
            tap = self._tap(rows, row)
            owner = rows[row.above]
            laid.above = 0.0
            if tap is None or owner.out is None or severed:
                laid.flag_start = True
                first = start = restart + 3.0 + lettering.width(self.start_of(row)) + 4.0
            elif self.is_terminal(row.start):
                if place != row.above + 1:
                    laid.flag_start = True
                    first = start = restart + 3.0 + lettering.width(self.start_of(row)) + 4.0
                else:
                    start, first = restart, restart + 3.0
                    laid.above = LEAP - PITCH
            else:
                start, first = tap[0], max(tap[0] + 3.0, restart)
        end = zones.symbol + (self.symbol(row).left if row.part else 0.0)
        hanging = [section.rows[other].positive for other in self.hanging.get(place, ())]
        below = max((bit.wide for steps in hanging for bit in rungs.bits(task, steps)), default=0.0)
        way = row.above is None
        laid.out = rungs.lay(task, row.positive, start, first, end, restart, way, below=below)
        laid.flag_back = row.flag_back or (laid.flag_start and row.above_back is not None)
        self._lay_back(rows, place, laid)
        laid.lines = laid.out.lines + (laid.back.lines - 1 if laid.back is not None else 0)
        laid.name, above = self._name(row)
        laid.above += above

    def _lay_back(self, rows: list[Laid], place: int, laid: Laid) -> None:
        row, zones = laid.row, self.zones
        assert row is not None
        if not row.negative and not row.back_to:
            return
        end = zones.rail
        if laid.flag_back:
            end = zones.back + 5.0 if row.mounted else zones.rail - FLAG
        elif row.above_back is not None:
            tap = self._back_tap(rows, row)
            between = rows[row.above_back + 1 : place]
            crossed = any(other.back is not None and other.back.end > (tap or 0.0) + 0.01 for other in between)
            if tap is None or crossed or self._taken(row, between):
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

    def is_terminal(self, node: str) -> bool:
        """True where a tap is the terminal of a load, False at a splice."""
        return self.task.wiring.roles_at(node).is_load

    def _tap(self, rows: list[Laid], row: LadderRow) -> tuple[float, int] | None:
        owner = rows[row.above] if row.above is not None else None
        return owner.out.taps.get(row.start) if owner is not None and owner.out is not None else None

    def _back_tap(self, rows: list[Laid], row: LadderRow) -> float | None:
        owner = rows[row.above_back] if row.above_back is not None else None
        tap = owner.back.taps.get(row.back_to) if owner is not None and owner.back is not None else None
        return tap[0] if tap is not None else None

    def _taken(self, row: LadderRow, between: list[Laid]) -> bool:
        """True where a row drops to the same terminal already: only a splice takes more than one."""
        if self.task.wiring.roles_at(row.back_to).is_splice:
            return False
        return any(
            other.row is not None and other.row.back_to == row.back_to and not other.flag_back for other in between
        )

    def _pending(self, rows: list[Laid], place: int) -> list[float]:
        """Where uprights pass row `place`: of splices above it that rows further down hang from. Rows stand in the
        order of a walk down their tree, so that only the rows which `place` itself hangs from can have such."""
        passing: list[float] = []
        here = rows[place].row
        owner = here.above if here is not None else None
        while owner is not None:
            out = rows[owner].out
            for child in self.hanging.get(owner, ()):
                row = rows[child].row
                if child <= place or row is None or out is None or self.is_terminal(row.start):
                    continue
                if row.start in out.taps:
                    passing.append(out.taps[row.start][0])
            above = rows[owner].row
            owner = above.above if above is not None else None
        return passing

    def symbol(self, row: LadderRow) -> symbols.Symbol:
        """The symbol of what a row ends at."""
        part = self.task.design.system.parts[row.part]
        return symbols.PLAIN if part.roles.stores else symbols.part_symbol(part)

    def start_of(self, row: LadderRow) -> str:
        """`from lamp.pos`: where a row comes from whose owner stands elsewhere."""
        return f"from {captions.end(self.task, row.start)}"

    def end_of(self, row: LadderRow) -> str:
        """`to minus`: where a way back goes that is not the rail on the right."""
        node = row.back_to
        return f"to {captions.end(self.task, node)}"

    def _name(self, row: LadderRow) -> tuple[list[Line], float]:
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

    def height(self, laid: Laid) -> float:
        """How much of a sheet a row takes."""
        return PITCH + (laid.lines - 1) * LEAP + laid.above

    def groups(self, rows: list[Laid]) -> list[list[Laid]]:
        """Rows that must stay together: a row and what is tapped from it, as far as one sheet holds them."""
        groups: list[list[Laid]] = []
        tall = 0.0
        for laid in rows:
            hangs = laid.row is not None and laid.row.above is not None and bool(groups)
            if hangs and tall + self.height(laid) <= self.room - HEAD:
                groups[-1].append(laid)
                tall += self.height(laid)
            else:
                groups.append([laid])
                tall = self.height(laid)
        return groups

    def sever(self, section: LadderSection, rows: list[Laid]) -> None:
        """Lays rows out again whose owners stand on another sheet than they do."""
        aligned = self.aligned
        here = {id(laid.row) for laid in rows if laid.row is not None}
        place = {id(laid.row): n for n, laid in enumerate(aligned) if laid.row is not None}
        for laid in rows:
            row = laid.row
            if row is not None and row.above is not None and id(section.rows[row.above]) not in here:
                self._lay(section, aligned, place[id(row)], laid, severed=True)
