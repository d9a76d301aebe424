"""Branch circuits: which rows stand on which ladder, derived from the wiring.

A *section* is one ladder: the ways of a panel.
A *row* is one rung: a chain of conductors and devices from the rail (or from a tap in a row above) to a part, and
the chain back. What cannot stand on a rung without crossing another ends in a flag that names where it goes.
"""

from __future__ import annotations

from collections import Counter, deque
from dataclasses import dataclass, field

from copperplate.drawing.wiring import DcWiring, Side, WiringEdge
from copperplate.model.parts import Panel

Step = WiringEdge | str
"""An edge, or the id of a node that other rows tap (a splice, or a load's own terminal)."""


@dataclass
class LadderRow:
    """One rung. `start` is the node that it begins at: a terminal of the rail, or a tap in row `above` (by its
    place in the section). `part` is what it ends at ("" where it ends at a node: `flag` then names it).
    `back_to` is the node that the way back ends at; `flag_back` True where that is not the rail on the right."""

    start: str
    positive: list[Step] = field(default_factory=list)
    part: str = ""
    side: str = ""
    flag: str = ""
    negative: list[Step] = field(default_factory=list)
    back_to: str = ""
    flag_back: bool = False
    mounted: bool = False
    """True where its part stands on `back_to` itself, with no conductor."""
    way: int | None = None
    above: int | None = None
    above_back: int | None = None


@dataclass
class LadderSection:
    """One ladder: `rail` the node on its left, `back` the node on its right ("" where nothing goes back).

    `panel` is the panel whose ways it shows, `ways` counts them. Rows in the order drawn."""

    rail: str
    back: str
    panel: str
    ways: int
    rows: list[LadderRow]


def branches(wiring: DcWiring) -> list[LadderSection]:
    """The ladders of the panels in declaration order."""
    return _Branches(wiring).sections()


class _Branches:
    def __init__(self, wiring: DcWiring) -> None:
        self.wiring = wiring
        self.used: set[WiringEdge] = set()
        self.sides: set[tuple[str, str]] = set()
        self.reached: set[str] = set()
        self.attached: dict[str, int] = {}

    def sections(self) -> list[LadderSection]:
        sections = [self._panel(part) for part in self.wiring.system.of(Panel) if self.wiring.sides[part.id]]
        for section in sections:
            self._bring_back(section)
        return sections

    # --- positive side -----------------------------------------------------------------------------------

    def _panel(self, panel: Panel) -> LadderSection:
        """The ladder of a panel: every way with its rows."""
        devices = [d for d in self.wiring.system.devices.values() if d.panel == panel.id and d.way is not None]
        rows: list[LadderRow] = []
        for device in sorted(devices, key=lambda d: d.way or 0):
            node = device.legs[0][1]
            leg = next((e for e in self.wiring.at.get(node, ()) if e.kind == "device" and e.id == device.id), None)
            if leg is None or leg in self.used:
                continue
            grown = self._grow(leg.other(node), leg, len(rows))
            for row in grown:
                row.way = device.way
            rows += grown
        ways = max([panel.ways or 0, *(row.way or 0 for row in rows)])
        feed = self.wiring.sides[panel.id][0].pos or panel.id
        return LadderSection(feed, "", panel.id, ways, rows)

    def _grow(self, start: str, first: WiringEdge, base: int) -> list[LadderRow]:
        """The rows of the tree that begins with edge `first` at node `start`; `base` is the place of its first
        row. A row goes straight on at a splice; what else leaves there, or from a load's own terminal, gets a row
        of its own below."""
        rows: list[LadderRow] = []
        waiting: list[tuple[str, WiringEdge, int | None]] = [(start, first, None)]
        while waiting:
            start, edge, above = waiting.pop()
            if edge in self.used:
                continue
            place = base + len(rows)
            row = LadderRow(start, above=above)
            rows.append(row)
            node = start
            while True:
                row.positive.append(edge)
                self.used.add(edge)
                node = edge.other(node)
                others = self._arrive(row, node)
                if not others:
                    break
                if row.part:
                    row.positive.append(node)
                else:
                    if len(others) > 1 or self.wiring.roles_at(node).is_splice:
                        row.positive.append(node)
                    edge, *others = others
                waiting += [(node, other, place) for other in reversed(others)]
                if row.part:
                    break
        return rows

    def _arrive(self, row: LadderRow, node: str) -> list[WiringEdge]:
        """Ends `row` at `node` where it is a terminal, a node reached before, or a loose end; else, and at the
        terminal of a load, the edges that go on from there."""
        if node in self.reached or (self.wiring.is_anchor(node) and not self._is_end(node)):
            row.flag = node
            return []
        self.reached.add(node)
        onward = [e for e in self.wiring.at[node] if e not in self.used]
        side = self.wiring.side_of.get(node)
        if side is not None and node not in self.wiring.way_of:
            if node != side.pos:
                row.flag = node
                return []
            row.part, row.side = side.part, side.name
            self.sides.add((side.part, side.name))
            return onward if self.wiring.roles_at(node).is_load else []
        if not onward:
            row.flag = node
        return onward

    def _is_end(self, node: str) -> bool:
        """True where a row may end at a part's own positive terminal."""
        side = self.wiring.side_of.get(node)
        return side is not None and side.pos == node and (side.part, side.name) not in self.sides

    # --- negative side -----------------------------------------------------------------------------------

    def _bring_back(self, section: LadderSection) -> None:
        """Finds the way back of every row, the rail on the right, and the flags."""
        self.attached = {}
        for place, row in enumerate(section.rows):
            side = self._side(row)
            if side is None or side.neg is None:
                continue
            if side.neg in self.attached:
                row.back_to, row.above_back = side.neg, self.attached[side.neg]
                continue
            if self.wiring.is_rail(side.neg):
                row.back_to, row.mounted = side.neg, True
                continue
            path = self._way_back(side.neg)
            if path is None:
                continue
            node = side.neg
            for index, edge in enumerate(path):
                self.used.add(edge)
                roles = self.wiring.roles_at(node)
                if index and (roles.is_splice or roles.is_load):
                    row.negative.append(node)
                self.attached.setdefault(node, place)
                row.negative.append(edge)
                node = edge.other(node)
            row.back_to = node
            if node in self.attached:
                row.above_back = self.attached[node]
        ends = Counter(
            row.back_to for row in section.rows if row.back_to and row.above_back is None and not row.mounted
        )
        section.back = max(ends, key=lambda node: ends[node]) if ends else ""
        for place, row in enumerate(section.rows):
            if row.above_back is not None:
                owner = section.rows[row.above_back]
                row.flag_back = row.above is None or row.above_back != row.above or not self._tap(owner, row.back_to)
                if row.above_back >= place:
                    row.flag_back = True
            else:
                row.flag_back = row.mounted or row.back_to != section.back
        self._settle_taps(section)

    def _settle_taps(self, section: LadderSection) -> None:
        """A way back may drop to the row of its tap only past rows that do the same: a rung of another way in
        between would be crossed."""
        for place, row in enumerate(section.rows):
            if row.above_back is not None and not row.flag_back:
                between = section.rows[row.above_back + 1 : place]
                if any(other.above_back is None or other.flag_back or not other.part for other in between):
                    row.flag_back = True
            if row.above_back is not None and not row.flag_back:
                owner = section.rows[row.above_back]
                if row.back_to not in owner.negative:
                    owner.negative.insert(0, row.back_to)

    def _tap(self, owner: LadderRow, node: str) -> bool:
        """True where `node` is on the way back of `owner`: its own terminal, or a splice on it."""
        side = self._side(owner)
        return node in owner.negative or (side is not None and side.neg == node)

    def _side(self, row: LadderRow) -> Side | None:
        return next((s for s in self.wiring.sides.get(row.part, ()) if s.name == row.side), None)

    def _way_back(self, start: str) -> list[WiringEdge] | None:
        """The shortest chain of free edges from a negative terminal to a bar, another part or a way back already
        drawn. None where there is none, [] where the terminal is itself such a place."""
        before: dict[str, tuple[str, WiringEdge] | None] = {start: None}
        front = deque([start])
        while front:
            node = front.popleft()
            if node != start and (self.wiring.is_anchor(node) or node in self.attached):
                path: list[WiringEdge] = []
                step = before[node]
                while step is not None:
                    path.append(step[1])
                    step = before[step[0]]
                return path[::-1]
            for edge in self.wiring.at[node]:
                if edge not in self.used and edge.other(node) not in before:
                    before[edge.other(node)] = (node, edge)
                    front.append(edge.other(node))
        return None
