"""Parts as blocks: a box with its ports, a bank of batteries, and what hangs from the other side of a converter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from copperplate.drawing import captions, lettering, symbols
from copperplate.drawing.diagram.blocks import GAP, LEAD, Block, Column, Landing, Region, Tail, mount
from copperplate.drawing.diagram.canvas import Canvas
from copperplate.drawing.diagram.leads import Lead
from copperplate.drawing.pen import Box, Point, Polyline, weight_of, words
from copperplate.model.parts import Battery

TEXT = 31.0
"""Widest text in a box before it is wrapped."""
MARKS = 4.2
"""Room for the marks of ports at an edge of a box."""
HEAD = 11.2
"""Port marks, address and symbol at the top of a box."""
PAIR = 5.0
"""Between the two leads of a pair."""
LIFT = 15.0
"""From the rail above a converter down to a rail that it feeds."""


def text_of(canvas: Canvas, name: str, remarks: Sequence[str] = ()) -> list[str]:
    """Title, figures and remarks of a part, wrapped."""
    part = canvas.task.design.system.parts[name]
    lines: list[str] = []
    figures = [] if part.roles.is_load and name in canvas.task.design.loads else captions.figures(canvas.task, part)
    for text in (lettering.clean(part.title), *figures, *remarks):
        if text:
            lines += [line.replace(captions.FIRM, " ") for line in lettering.wrap_to(text, TEXT, 4)]
    return lines


@dataclass
class Hung:
    """What hangs below a box: `pair` where its lead goes out and back, then `body` stands at its foot. Else `block`
    goes down to the rails by itself."""

    side: str
    block: Block
    pair: Lead | None = None
    x: float = 0.0

    @property
    def height(self) -> float:
        return (self.pair.height if self.pair is not None else 0.0) + self.block.height

    @property
    def width(self) -> float:
        return max(LEAD + self.pair.width if self.pair is not None else 0.0, self.block.width)


class PartBlock(Block):
    """A part in a box. `entry`: the mark of the port that its lead comes to; `tails`: by side, what leaves it below."""

    def __init__(
        self, canvas: Canvas, name: str, entry: str, tails: list[tuple[str, Tail]], hung: list[Hung],
        remarks: Sequence[str] = (), paired: bool = False,
    ) -> None:  # fmt: skip
        self.canvas, self.name, self.entry, self.tails, self.hung = canvas, name, entry, tails, hung
        self.paired = paired
        part = canvas.task.design.system.parts[name]
        self.symbol = symbols.part_symbol(part)
        self.text = text_of(canvas, name, remarks)
        self.head = lettering.wrap(part.id, TEXT - 4, bold=True)
        across = self.symbol.right - self.symbol.left
        self.box_width = max(
            max((lettering.width(line) for line in self.text), default=0.0) + 5.0,
            max(lettering.width(line, bold=True) for line in self.head) + across + 7.0,
            26.0,
        )
        self.top_height = HEAD if len(self.head) == 1 else HEAD + (len(self.head) - 1) * lettering.LINE
        self.has_marks = bool(tails or hung)
        self.least = self.top_height + len(self.text) * lettering.LINE + 1.6 + (MARKS if self.has_marks else 0.6)
        self.tall = self.least
        self.ac: list[tuple[str, float]] = []
        """(AC port, level) of what leads to its right side."""
        self.tied = [port for port in part.reaches if port in ("ac-in", "ac-out")]
        if self.tied:
            self.box_width += 10.0
        self.right = 0.0
        """Its right edge, once drawn."""
        self.settle()

    def settle(self) -> None:
        """Sets what hangs from it and what leaves it side by side. What hangs on a pair may stand over the label at
        the foot of the first tail; what goes down itself may not."""
        for block in (*(hung.block for hung in self.hung), *(t.block for _, t in self.tails if t.block is not None)):
            block.settle()
        at = 0.0
        self.tail_x: list[float] = []
        over = len(self.tails) > 0 and self.tails[0][1].kind == "foot"
        for place, (_, tail) in enumerate(self.tails):
            is_short = over and place > 0 and tail.kind == "earth"
            self.tail_x.append(9.0 if is_short and place == 1 else at)
            at = max(at, self.tail_x[-1] + tail.width + GAP)
        pairs = [hung for hung in self.hung if hung.pair is not None]
        others = [hung for hung in self.hung if hung.pair is None]
        place_x = 0.0
        if self.tails:
            marks = lettering.width(f"{self.tails[0][0]} −".strip()) if self.tails[0][0] else 1.0
            first = lettering.width(f"{self.hung[0].side} +".strip()) if self.hung else 0.0
            place_x = max(9.0, marks + first + 1.0) if len(self.tails) == 1 and over else at
        for hung in pairs:
            hung.x = place_x
            place_x += hung.width + GAP
        place_x = max(place_x, at) if others else place_x
        for hung in others:
            hung.x = place_x
            place_x += hung.width + GAP
        ends = [hung.x + LEAD + PAIR + 2.5 for hung in self.hung] + [x + LEAD + 6.0 for x in self.tail_x]
        self.box_width = max([self.box_width, *ends])
        inner = max((hung.height for hung in self.hung), default=0.0)
        self.foot = sum(sorted((tail.height for _, tail in self.tails), reverse=True)[:2])
        self.height = self.least + (inner + self.foot if pairs else max(inner, self.foot))
        self.width = max([self.box_width, at - GAP, place_x - GAP])
        self.order = rank(self.canvas, self.name, self.entry.removesuffix("+").strip())

    def feet(self) -> list[Tail]:
        return [
            *(foot for _, tail in self.tails for foot in tail.feet()),
            *(foot for hung in self.hung for foot in hung.block.feet()),
        ]

    def draw(self, x: float, top: float, bottom: float, ceiling: float) -> list[Landing]:
        canvas = self.canvas
        lower = top + self.tall
        group = canvas.add("part", self.name, "symbol", at=(x + 2.0, top + 4.0))
        group.add(Box(x, top, self.box_width, self.tall))
        across = self.symbol.right - self.symbol.left
        group.add(*self.symbol.at(x + self.box_width - 1.6 - across / 2 - (self.symbol.right + self.symbol.left) / 2,
                                  top + 1.6 + (4.5 if across > 8 else 4.0)))  # fmt: skip
        y = top + MARKS + 3.2
        for line in self.head:
            group.add(words(x + 2.0, y, line, bold=True))
            y += lettering.LINE
        y = top + self.top_height + 3.2
        for line in self.text:
            group.add(words(x + 2.0, y, line))
            y += lettering.LINE
        if self.entry:
            group.add(words(x + LEAD, top + 3.4, self.entry, anchor="middle" if len(self.entry) < 3 else "start"))
            if self.paired:
                group.add(words(x + LEAD + PAIR, top + 3.4, "−", anchor="middle"))
        self.right = x + self.box_width
        for port, level in self.ac:
            group.add(words(self.right - 1.2, level + 1.0, port.replace("ac-", "AC "), anchor="end"))
        landings: list[Landing] = []
        for (side, tail), at in zip(self.tails, self.tail_x, strict=True):
            text = f"{side} −".strip() if tail.pole == "neg" else "PE"
            group.add(words(x + at + LEAD, lower - 1.4, text, anchor="middle" if len(text) < 3 else "start"))
            landings += tail.draw(x + at, lower, bottom)
        for hung in self.hung:
            at = x + hung.x + LEAD
            name = f"{hung.side} +".strip() if self.tails or hung.pair is not None or not self.entry else hung.side
            if hung.pair is None:
                group.add(words(at, lower - 1.4, name, anchor="middle"))
                landings += hung.block.draw(x + hung.x, lower, bottom, lower)
                continue
            group.add(words(at + 0.9, lower - 1.4, name, anchor="end"))
            group.add(words(at + PAIR, lower - 1.4, "−", anchor="middle"))
            hung.pair.draw(at, lower, lower + hung.pair.height)
            landings += hung.block.draw(x + hung.x, lower + hung.pair.height, bottom, lower)
        return landings


class BankBlock(Block):
    """A battery, or a bank of equal ones in strings, in its dashed frame."""

    def __init__(self, canvas: Canvas, name: str, tail: Tail, reverse: bool = False) -> None:
        self.canvas, self.name, self.tail = canvas, name, tail
        part = canvas.task.design.system.parts[name]
        assert isinstance(part, Battery)
        self.series, self.parallel = min(part.series, 8), min(part.parallel, 6)
        self.text = [*text_of(canvas, name)]
        links = [link for link in canvas.task.design.links if link.bank == name]
        self.links = links
        if links:
            self.text.append(f"links {captions.size(canvas.task, canvas.task.design.system.runs[links[0].run])}")
        self.pitch = 10.0
        self.body = max(8.8 * self.series + 3.0, 5.4 + lettering.LINE * len(self.text) + 1.6)
        self.left = LEAD + (self.parallel - 1) * self.pitch + 5.2
        texts = [lettering.width(part.id, bold=True), *(lettering.width(line) for line in self.text)]
        self.frame = self.left + max(texts) + 2.4
        self.order = rank(canvas, name)
        self.settle()

    def settle(self) -> None:
        if self.tail.block is not None:
            self.tail.block.settle()
        self.height = 2.8 + self.body + self.tail.height
        self.width = max(self.frame, self.tail.width)

    def feet(self) -> list[Tail]:
        return self.tail.feet()

    def draw(self, x: float, top: float, bottom: float, ceiling: float) -> list[Landing]:
        canvas, at = self.canvas, x + LEAD
        group = canvas.add("part", self.name, "symbol", at=(x + self.left, top + 5.0))
        canvas.add("bank", self.name, "tint", Box(x + 0.6, top + 1.2, self.frame - 0.6, self.body + 1.6, "u", 1.4))
        upper, lower = top + 2.6, top + 2.6 + 8.8 * self.series
        axes = [at + self.pitch * place for place in range(self.parallel)]
        weight = 0.8
        if self.links:
            weight = weight_of(captions.area(canvas.task, canvas.task.design.system.runs[self.links[0].run]))
        for axis in axes:
            for place in range(self.series):
                group.add(*symbols.BATTERY.at(axis, upper + 4.4 + 8.8 * place))
        link = canvas.add("link", self.name, "conductor", notes=(("links", " ".join(each.id for each in self.links)),))
        if self.parallel > 1:
            link.add(Polyline(((axes[0], upper), (axes[-1], upper)), "c-pos", weight))
            link.add(Polyline(((axes[0], lower), (axes[-1], lower)), "c-neg", weight))
        if not link.items:
            canvas.groups.remove(link)
        mount(canvas, f"{self.name}.pos", ((at, top), (at, upper)), "pos")
        y = top + 5.4
        group.add(words(x + self.left, y, canvas.task.design.system.parts[self.name].id, bold=True))
        for line in self.text:
            y += lettering.LINE
            group.add(words(x + self.left, y, line))
        return self.tail.draw(x, top + self.body + 2.8, bottom, before=[[(at, lower)]])


class ConverterBlock(Block):
    """A part whose other side feeds a rail of its own, which stands at its right. `outlet` leads from that rail down to
    the part's port, `back` from its lower port down."""

    def __init__(self, box: PartBlock, side: str, outlet: Lead | None, region: Region, back: Tail | None) -> None:
        self.box, self.side, self.outlet, self.region = box, side, outlet, region
        box.box_width += lettering.width(f"{side} +") + 1.0
        self.canvas = box.canvas
        self.order, self.name = box.order, box.name
        port = PortBlock(self, back)
        region.children.insert(0, Column(outlet, port))
        self.port = port
        rise = LIFT + (BAR_AND_NAME if region.is_bus else 2.0)
        self.rise = rise
        self.below = outlet.height if outlet is not None else 4.0
        self.settle()

    def settle(self) -> None:
        self.box.settle()
        self.region.settle()
        self.width = self.box.width + GAP + self.region.width
        reach = self.rise + self.below + 14.0
        self.height = max(self.box.height, self.rise - 4.0 + self.region.height, reach)

    def feet(self) -> list[Tail]:
        return [*self.box.feet(), *self.region.feet()]

    def draw(self, x: float, top: float, bottom: float, ceiling: float) -> list[Landing]:
        right = x + self.box.width + GAP
        rail = ceiling + self.rise - (BAR_AND_NAME - 5.6 if self.region.is_bus else 0.0)
        level = max(rail + (2.6 if self.region.is_bus else 0.6) + self.below, top + 8.0)
        self.port.level = level
        self.box.tall = max(self.box.least, level + 10.0 - top)
        self.port.edge = x + self.box.box_width
        self.port.turn = [[(self.port.edge, level)]]
        landings = self.box.draw(x, top, bottom, ceiling)
        for text, y in ((f"{self.side} +".strip(), level), (f"{self.side} −".strip(), level + PAIR)):
            if text.endswith("+") or self.port.back is not None:
                self.canvas.add("port", self.name, "symbol", words(self.port.edge - 1.2, y + 1.0, text, anchor="end"))
        return landings + self.region.hang(right, rail, bottom, [])


BAR_AND_NAME = 8.2


class PortBlock(Block):
    """Where the lead of an outlet turns left into the converter, and the lead back leaves it."""

    def __init__(self, owner: ConverterBlock, back: Tail | None) -> None:
        self.owner, self.canvas, self.back = owner, owner.canvas, back
        self.level, self.edge = 0.0, 0.0
        self.settle()
        self.order, self.name = (0,), owner.name

    def settle(self) -> None:
        back = self.back
        if back is not None and back.block is not None:
            back.block.settle()
        self.height = 8.0 + (back.height if back is not None else 0.0)
        self.width = max(LEAD + 3.0, back.width if back is not None else 0.0)

    def feet(self) -> list[Tail]:
        return self.back.feet() if self.back is not None else []

    def draw(self, x: float, top: float, bottom: float, ceiling: float) -> list[Landing]:
        if self.back is None:
            return []
        level = top + PAIR
        corner: Point = (self.edge, level)
        return self.back.draw(x, level, bottom, before=[[corner]])


def rank(canvas: Canvas, name: str, side: str = "") -> tuple[int, ...]:
    """The class that a part stands in: banks, then what charges, then panels and loads, then what is tied to AC."""
    part = canvas.task.design.system.parts[name]
    roles = part.roles
    if roles.stores:
        return (1, 0)
    if any(port.startswith("ac-") for port in part.reaches) and roles.converts:
        return (3, 0)
    if roles.is_source or (roles.converts and roles.gives_at == side):
        return (1, 1) if roles.is_source and part.output_key == "voltage_v" else (1, 2)
    if roles.protects:
        return (2, 0)
    return (2, 1)
