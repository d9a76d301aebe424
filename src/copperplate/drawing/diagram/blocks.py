"""What stands between the two bars of sheet 1. Every block knows its width and its least height before it is drawn.

A block is entered from above at `LEAD` mm from its left edge and sends *tails* down; a tail that lands on a negative
rail is a *foot*. Blocks stand side by side and never overlap, so that nothing has to be routed round anything.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from copperplate import units
from copperplate.drawing import captions, lettering, symbols
from copperplate.drawing.diagram.canvas import Canvas
from copperplate.drawing.diagram.leads import Lead
from copperplate.drawing.pen import Box, Disc, Group, Point, Polyline, weight_of, words
from copperplate.drawing.stack import arrow

LEAD = 5.2
"""From a block's left edge to its lead."""
BAR = 2.6
"""Height of a bar."""
LINE = 1.2
"""Width of a terminal drawn as a rail."""
NAME = 5.6
"""Room for the name of a bar above or below it."""
FLAG = 6.4
"""Height of a flag."""
ZONE = lettering.width(" 00/A00")


@dataclass
class Landing:
    """Where a foot meets a rail."""

    x: float
    node: str


class Block:
    """The common part. `hangs` False: nothing leads to it from the bar. `order`: the class that it stands in."""

    canvas: Canvas
    width: float = 0.0
    height: float = 0.0
    hangs: bool = True
    order: tuple[int, ...] = (2,)
    name: str = ""
    level: float = 0.0
    """Where its top must stand; 0.0 where its lead decides."""
    turn: Sequence[Sequence[Point]] = ()
    """By track, the corners that the lead to it ends with."""

    def feet(self) -> list[Tail]:
        """The tails that land on a rail outside this block."""
        return []

    def settle(self) -> None:
        """Measures it, what it holds first."""

    def tops(self, x: float) -> list[float]:
        """Where leads come down to it from the rail above."""
        return [x + LEAD] if self.hangs else []

    def draw(self, x: float, top: float, bottom: float, ceiling: float) -> list[Landing]:
        """From its left edge, between the levels of the rails; `ceiling` is the lower edge of the rail above."""
        raise NotImplementedError


class Tail:
    """What leaves a block downwards: to a rail ("foot"), to an earth ("earth"), on into another block ("block"), to a
    place elsewhere ("flag"), or nowhere ("loose"). `count`: so many negatives drawn as one."""

    def __init__(
        self, canvas: Canvas, kind: str, node: str, lead: Lead | None, block: Block | None = None, count: int = 0,
        pole: str = "neg",
    ) -> None:  # fmt: skip
        self.canvas, self.kind, self.node, self.lead, self.block = canvas, kind, node, lead, block
        self.count, self.pole = count, pole

    def feet(self) -> list[Tail]:
        if self.kind == "foot":
            return [self]
        return self.block.feet() if self.block is not None else []

    @property
    def _words(self) -> str:
        if self.kind == "earth":
            part = self.canvas.task.wiring.part_at(self.node)
            return part.id if part is not None else self.node
        end = captions.end(self.canvas.task, self.node)
        if self.kind == "loose":
            return f"{end}, ends here"
        many = f"{units.counted(self.count, 'negative')} " if self.count else ""
        return f"{many}to {end}{self.canvas.zones.get(end.split(' ')[0].split('.')[0], '')}"

    @property
    def _leads(self) -> float:
        return self.lead.height if self.lead is not None else 5.4 if self.count else 0.0

    @property
    def height(self) -> float:
        own = {"foot": 1.0, "earth": 5.4, "flag": FLAG, "loose": FLAG, "block": 0.0}[self.kind]
        return self._leads + own + (self.block.height if self.block is not None else 0.0)

    @property
    def width(self) -> float:
        wide = LEAD + self.lead.width if self.lead is not None else 0.0
        if self.kind != "foot" and self.kind != "block":
            wide = max(wide, LEAD + 4.4 + lettering.width(self._words, bold=True) + ZONE * (self.kind == "flag"))
        if self.count:
            wide = max(wide, LEAD + 3.0 + lettering.width(units.counted(self.count, "negative")))
        return max(wide, self.block.width if self.block is not None else 0.0, LEAD + 2)

    def draw(self, x: float, top: float, bottom: float, before: Sequence[Sequence[Point]] = ()) -> list[Landing]:
        """`x`: the left edge of its column."""
        at, canvas = x + LEAD, self.canvas
        if self.kind == "block" and self.block is not None:
            level = top + self._leads
            self._stroke(at, top, level, False, before)
            return self.block.draw(x, level, bottom, top)
        if self.kind == "foot":
            self._stroke(at, top, bottom, True, before)
            return [Landing(at, self.node)]
        end = top + self._leads + 0.8
        self._stroke(at, top, end, False, before)
        if self.kind == "earth":
            earth_mark(canvas, self._words, at, end)
        elif self.kind == "flag":
            canvas.add("goes-on", self.node, "mark", Polyline(((at, end), (at, end + 2.2)), "o", 0.5))
            mark = canvas.groups[-1].add(arrow(at, end + 3.8, "down"))
            mark.add(words(at + 2.2, end + 3.6, self._words, bold=True))
        else:
            mark = canvas.add("goes-on", self.node, "mark", Disc(at, end + 0.8, 0.8, "w"))
            mark.add(words(at + 2.2, end + 1.9, self._words))
        return []

    def _stroke(self, at: float, top: float, bottom: float, low: bool, before: Sequence[Sequence[Point]]) -> None:
        if self.lead is not None:
            self.lead.draw(at, top, bottom, low, before)
            return
        points = (*(before[0] if before else ()), (at, top), (at, bottom))
        if self.count and self.kind == "foot":
            canvas, middle = self.canvas, (top + bottom) / 2 if bottom - top > 12 else bottom - 4
            group = canvas.add("returns", self.node, "conductor", Polyline(points, "c-neg", 0.8))
            group.add(Polyline(((at - 1.4, middle + 1.4), (at + 1.4, middle - 1.4)), "o"))
            canvas.add(
                "label", self.node, "symbol",
                words(at + 3.0, middle + 1.0, units.counted(self.count, "negative")),
            )  # fmt: skip
        elif bottom - top > 0.05:
            mount(self.canvas, self.node, points, self.pole)


def mount(canvas: Canvas, node: str, points: Sequence[Point], pole: str) -> None:
    """A short link that is no conductor of the plate, as heavy as the heaviest conductor at its node."""
    weight = weight_at(canvas, node)
    canvas.groups.append(Group("mount", "", "conductor").add(Polyline(tuple(points), f"c-{pole}", weight)))


def weight_at(canvas: Canvas, node: str) -> float:
    """The width of stroke of the heaviest conductor at a node."""
    task = canvas.task
    names = [edge.id for edge in task.wiring.at.get(node, ()) if edge.kind == "conductor"]
    conductors = task.design.system.conductors
    runs = [task.design.system.runs[conductors[name].run] for name in names]
    return max((weight_of(captions.area(task, run)) for run in runs), default=0.5)


def earth_mark(canvas: Canvas, name: str, x: float, y: float) -> None:
    """The symbol of an earth with its name, its conductor ending at (x, y)."""
    group = canvas.add("part", name, "symbol", *symbols.EARTH.at(x, y), at=(x, y))
    group.add(words(x + 4.4, y + 3.6, name, bold=True))
    canvas.symbols.setdefault("earth")


class Column(Block):
    """A lead from the rail above, and what it ends at."""

    def __init__(self, lead: Lead | None, body: Block) -> None:
        self.canvas, self.lead, self.body = body.canvas, lead, body
        self.settle()

    def settle(self) -> None:
        lead, body = self.lead, self.body
        body.settle()
        self.height = (lead.height if lead is not None else 0.0) + body.height
        self.width = max(LEAD + lead.width if lead is not None else 0.0, body.width)
        self.order, self.name = body.order, body.name

    def feet(self) -> list[Tail]:
        return self.body.feet()

    def draw(
        self, x: float, top: float, bottom: float, ceiling: float, before: Sequence[Sequence[Point]] = ()
    ) -> list[Landing]:
        level = max(top + (self.lead.height if self.lead is not None else 0.0), self.body.level)
        turn = self.body.turn
        if self.lead is not None:
            self.lead.draw(x + LEAD, top, level, before=before, after=turn)
        elif level - top > 0.05 or before or turn:
            points = (*(before[0] if before else ()), (x + LEAD, top), (x + LEAD, level), *(turn[0] if turn else ()))
            self.body.canvas.groups.append(Group("mount", "", "conductor").add(Polyline(points, "c-pos", 0.5)))
        return self.body.draw(x, level, bottom, ceiling)


class End(Block):
    """Where a lead from above ends without a part of its own: an earth, a place elsewhere, nothing."""

    def __init__(self, canvas: Canvas, kind: str, node: str) -> None:
        self.canvas = canvas
        self.tail = Tail(canvas, kind, node, None, pole="pos")
        self.width, self.height = self.tail.width, self.tail.height + 0.8

    def draw(self, x: float, top: float, bottom: float, ceiling: float) -> list[Landing]:
        return self.tail.draw(x, top, bottom)


class Stack(Block):
    """Things that no lead reaches, one below the other."""

    hangs = False
    order = (2, 9)

    def __init__(self, canvas: Canvas, blocks: list[Block]) -> None:
        self.canvas, self.blocks = canvas, blocks
        self.settle()

    def settle(self) -> None:
        self.width = max(block.width for block in self.blocks)
        self.height = sum(block.height + 3.0 for block in self.blocks) + 3.0

    def draw(self, x: float, top: float, bottom: float, ceiling: float) -> list[Landing]:
        y = top + 3.0
        for block in self.blocks:
            block.draw(x, y, y + block.height, y)
            y += block.height + 3.0
        return []


class Stray(Block):
    """A chain that no bar leads to: it begins at a flag."""

    hangs = False
    order = (9,)

    def __init__(self, canvas: Canvas, node: str, lead: Lead, tail: Tail) -> None:
        self.canvas, self.node, self.lead, self.tail = canvas, node, lead, tail
        self.words = f"from {captions.end(canvas.task, node)}"
        self.settle()

    def settle(self) -> None:
        lead, tail = self.lead, self.tail
        if tail.block is not None:
            tail.block.settle()
        self.height = FLAG + lead.height + tail.height
        self.width = max(LEAD + lead.width, tail.width, LEAD + 3 + lettering.width(self.words, bold=True) + ZONE)

    def feet(self) -> list[Tail]:
        return self.tail.feet()

    def draw(self, x: float, top: float, bottom: float, ceiling: float) -> list[Landing]:
        at, canvas = x + LEAD, self.canvas
        zone = canvas.zones.get(captions.end(canvas.task, self.node).split(" ")[0].split(".")[0], "")
        mark = canvas.add("goes-on", self.node, "mark", Disc(at, top + FLAG - 0.8, 0.8, "w"))
        mark.add(words(at + 2.2, top + FLAG - 1.4, self.words + zone, bold=True))
        level = top + FLAG + self.lead.height
        self.lead.draw(at, top + FLAG, level)
        return self.tail.draw(x, level, bottom)


GAP = 4.0


class Region(Block):
    """A positive rail, and what hangs from it side by side. As the body of a column it is entered from above. `lift`:
    from the ceiling to the rail where a converter stands at its left and feeds it by `outlet`."""

    def __init__(self, canvas: Canvas, node: str, children: list[Block]) -> None:
        self.canvas, self.node, self.children = canvas, node, children
        part = canvas.task.wiring.part_at(node)
        self.is_bus = part is not None and part.roles.is_busbar
        self.is_named = part is not None and (part.roles.is_busbar or part.roles.is_splice)
        self.name = part.id if part is not None else node
        self.settle()

    def settle(self) -> None:
        for child in self.children:
            child.settle()
        self.order = min((child.order for child in self.children), default=(2,))
        self.head = NAME * self.is_named + (BAR if self.is_bus else LINE)
        self.width = sum(child.width for child in self.children) + GAP * max(0, len(self.children) - 1)
        if self.is_bus:
            self.width = max(self.width, LEAD + 2 + rail_width(self.canvas, self.node))
        self.height = self.head + max((child.height for child in self.children), default=0.0)

    def feet(self) -> list[Tail]:
        return [foot for child in self.children for foot in child.feet()]

    def draw(self, x: float, top: float, bottom: float, ceiling: float) -> list[Landing]:
        at = top + NAME * self.is_named
        if self.is_named:
            mount(self.canvas, self.node, ((x + LEAD, top), (x + LEAD, at)), "pos")
        return self.hang(x, at, bottom, [x + LEAD])

    def hang(self, x: float, at: float, bottom: float, entries: list[float]) -> list[Landing]:
        """Rail and children, the upper edge of the rail at `at`; other leads meet it at `entries`."""
        landings: list[Landing] = []
        studs = list(entries)
        edge = at + (BAR if self.is_bus else LINE / 2)
        for child in self.children:
            studs += child.tops(x)
            landings += child.draw(x, edge, bottom, edge)
            x += child.width + GAP
        rail(self.canvas, self.node, at, studs, "above", inner=bool(entries))
        return landings


class SharedRail(Block):
    """Blocks that share a negative rail of their own, with that rail below them and its legs to what lies outside."""

    def __init__(self, canvas: Canvas, node: str, children: list[Block], legs: list[Tail]) -> None:
        self.canvas, self.node, self.children, self.legs = canvas, node, children, legs
        part = canvas.task.wiring.part_at(node)
        self.is_bus = part is not None and part.roles.is_busbar
        self.order, self.name = max(child.order for child in children), children[0].name
        if self.order[0] != 3:
            self.order = children[0].order
        self.settle()

    def tops(self, x: float) -> list[float]:
        found: list[float] = []
        for child in self.children:
            found += child.tops(x)
            x += child.width + GAP
        return found

    def settle(self) -> None:
        children, legs, canvas, node = self.children, self.legs, self.canvas, self.node
        for child in children:
            child.settle()
        wide = sum(child.width for child in children) + GAP * (len(children) - 1)
        self.foot = max((leg.height for leg in legs), default=0.0) + (NAME if self.is_bus else 0.0)
        self.inner = max(child.height for child in children)
        self.height = self.inner + (BAR if self.is_bus else LINE) + max(self.foot, 2.0)
        named = LEAD + 2.0 + rail_width(canvas, node) if self.is_bus else 0.0
        self.leg_x = [0.0] * len(legs)
        at = 0.0
        for place, leg in enumerate(legs):
            self.leg_x[place] = at
            at = max(at + leg.width + GAP, named)
        self.width = max(wide, named, at - GAP)

    def feet(self) -> list[Tail]:
        return [foot for leg in self.legs for foot in leg.feet()]

    def draw(self, x: float, top: float, bottom: float, ceiling: float) -> list[Landing]:
        level = top + self.inner
        if self.is_bus:
            level = bottom - BAR - max(self.foot, 8.4)
        if not self.is_bus and not self.legs:
            level = bottom - 3.0
        left, landings = x, []
        for child in self.children:
            landings += child.draw(left, top, level, ceiling)
            left += child.width + GAP
        lower = level + (BAR if self.is_bus else LINE / 2)
        passed: list[Landing] = []
        studs = [landing.x for landing in landings]
        for leg, at in zip(self.legs, self.leg_x, strict=True):
            passed += leg.draw(x + at, lower, bottom)
            studs.append(x + at + LEAD)
        rail(self.canvas, self.node, level, studs, "below")
        return passed


def rail(
    canvas: Canvas, node: str, at: float, studs: list[float], side: str, ends: tuple[float, float] | None = None,
    inner: bool = False,
) -> None:  # fmt: skip
    """A bar with its studs and its name, or a terminal as a line with joint dots. `at`: its upper edge. `inner`: a lead
    comes down to it at its left end."""
    task = canvas.task
    part = task.wiring.part_at(node)
    low = task.wiring.is_low(node)
    left, right = ends or (min(studs), max(studs))
    if part is None or not part.roles.is_busbar:
        name = part.id if part is not None and part.roles.is_splice else ""
        group = canvas.add("part" if name else "rail", name or node, "bar", at=(left, at))
        if right - left > 0.05:
            group.add(Polyline(((left, at), (right, at)), "c-neg" if low else "c-pos", weight_at(canvas, node)))
        for stud in dict.fromkeys(round(stud, 3) for stud in studs):
            group.add(Disc(stud, at, 0.9, "k"))
        if name:
            group.add(words(left + 2.4, at + (4.0 if side == "below" else -1.8), name, bold=True))
        return
    left, right = left - 2.4, right + 2.4
    group = canvas.add("part", part.id, "bar", at=(left, at))
    if low:
        group.add(Box(left, at, right - left, BAR, "bn"))
        group.add(Polyline(((left + 0.8, at + BAR / 2), (right - 0.8, at + BAR / 2)), "o", 0.7))
    else:
        group.add(Box(left, at, right - left, BAR, "bp"))
    for stud in dict.fromkeys(round(stud, 3) for stud in studs):
        group.add(Disc(stud, at + BAR / 2, 0.9))
    shift = LEAD + 2.0 if side == "below" else 4.6 if inner else 0.0
    name_rail(canvas, node, left + shift, at, side)


def rail_name(canvas: Canvas, node: str) -> tuple[str, str]:
    """`+ plus`, `Positive bus 400 A`."""
    task = canvas.task
    part = task.wiring.part_at(node)
    mark = "−" if task.wiring.is_low(node) else "+"
    if part is None:
        return f"{mark} {node}", ""
    rated = f" {captions.amperes(part.current_a)}" if getattr(part, "current_a", None) else ""
    return f"{mark} {part.id}", f"{lettering.clean(part.title)}{rated}".strip()


def rail_width(canvas: Canvas, node: str) -> float:
    """Of the name of a bar as it is drawn."""
    name, title = rail_name(canvas, node)
    return lettering.width(name, lettering.NAME, True) + 2.4 + min(50.0, lettering.width(title))


def name_rail(canvas: Canvas, node: str, x: float, at: float, side: str, more: str = "") -> None:
    name, title = rail_name(canvas, node)
    baseline = at - 1.8 if side == "above" else at + BAR + 3.9
    group = canvas.add("label", node, "symbol", words(x, baseline, name, bold=True, size=lettering.NAME))
    title = ", ".join(filter(None, (canvas.fit(title, 50.0), more)))
    if title:
        group.add(words(x + lettering.width(name, lettering.NAME, True) + 2.0, baseline, title))
