"""Sheet 1 as a page: the bands with their bars, the alternating-current part, and the cards."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

from copperplate.drawing import symbols
from copperplate.drawing.branches import LadderSection
from copperplate.drawing.cables import SupplyForest
from copperplate.drawing.captions import Task
from copperplate.drawing.diagram.blocks import (
    BAR,
    LEAD,
    NAME,
    Block,
    Column,
    Landing,
    SharedRail,
    Stack,
    name_rail,
    rail,
    rail_width,
)
from copperplate.drawing.diagram.building import Builder
from copperplate.drawing.diagram.canvas import Canvas, chip, chip_width
from copperplate.drawing.diagram.cards import best_pack, cards, column_pack, materials, wires
from copperplate.drawing.diagram.fitting import APART, FOLD, Plan, plan
from copperplate.drawing.diagram.mains import Mains
from copperplate.drawing.diagram.parts import PartBlock
from copperplate.drawing.page import Page
from copperplate.drawing.paper import METRIC, US, Key
from copperplate.drawing.pen import Disc, Point, Polyline, Primitive
from copperplate.drawing.wiring import WiringEdge
from copperplate.model.system import DEVICE_ROLES

TITLE = "Wiring diagram"
STACK = 96.0
"""Height of a stack of parts that no power conductor reaches, mm."""


def page(task: Task, sections: Sequence[LadderSection], forest: SupplyForest) -> Page:
    """Sheet 1. It is drawn three times at most: what a flag says of another place is known when that has its own."""
    zones: dict[str, str] = {}
    for _ in range(3):
        drawn = _Sheet(task, sections, forest, zones)
        made = drawn.page()
        if drawn.zones() == zones:
            break
        zones = drawn.zones()
    return made


class _Sheet:
    def __init__(
        self, task: Task, sections: Sequence[LadderSection], forest: SupplyForest, zones: Mapping[str, str]
    ) -> None:
        self.task = task
        self.canvas = canvas = Canvas(task, zones)
        held = {
            step for section in sections for row in section.rows for step in (*row.positive, *row.negative)
            if isinstance(step, WiringEdge)
        }  # fmt: skip
        builder = Builder(canvas, sections, held)
        self.root, self.ground, self.blocks, self.below = builder.build()
        self.tied = list(_tied(self.blocks))
        direct = {column.body.name: box for column, box, _ in self.tied}
        others = set(builder.boxes) - set(direct)
        self.mains = Mains(canvas, forest, direct, others)
        roots = {canvas.task.wiring.owner(node) for node in (self.root, self.ground) if node}
        trees = {node.part for tree in self.mains.trees for node in tree.all()}
        shown = builder.shown | roots | trees | set(self.mains.nodes)
        self.blocks += _stacked(canvas, [builder.lonely(n) for n in task.design.system.parts if n not in shown])
        for block in self.blocks:
            block.settle()

    # --- places ------------------------------------------------------------------------------------------

    def page(self) -> Page:
        task, canvas = self.task, self.canvas
        papers = US if task.design.system.settings.paper == "letter" else METRIC
        top = papers[0].top
        has_mains = bool(self.mains.trees)
        least = self._place_mains(top) if has_mains else 0.0
        size = (self.mains.width, self.mains.bottom - top) if has_mains else (0.0, 0.0)
        below = max((tail.height for tail in self.below), default=0.0)
        widest = max((card.width for card in cards(task, canvas.zones)), default=0.0)
        found = plan(papers, self.blocks, below, size, least, widest)
        self.plan = found
        made = Page("wiring-diagram", TITLE)
        made.paper = found.paper
        self._draw(found, size)
        made.groups = canvas.groups
        made.cut = list(dict.fromkeys(canvas.cut))
        made.keys = self._keys()
        made.zones = {name: zone.strip() for name, zone in self.zones().items()}
        return made

    def _place_mains(self, top: float) -> float:
        """Levels of the trees and of the boxes that they are tied to; returns the height between the bars that those
        boxes need."""
        rail_edge = top + NAME + BAR
        tops = {
            box.name: rail_edge + (column.lead.height if column.lead is not None else 0.0) + 14.0
            for column, box, _ in self.tied
        }  # fmt: skip
        self.mains.place(top, tops)
        order = self.mains.order

        def rank(block: Block) -> int:
            return -order.index(block.name) if block.name in order else -99

        tied = {id(column) for column, _, _ in self.tied}
        self.blocks = _last(self.blocks, tied, rank)
        for block in self.blocks:
            if isinstance(block, SharedRail):
                block.children = _last(block.children, tied, rank)
        return max(
            (box.level + box.tall + box.foot + under - rail_edge for _, box, under in self.tied if box.level),
            default=0.0,
        )

    def _draw(self, found: Plan, size: tuple[float, float]) -> None:
        paper, several = found.paper, len(found.bands) > 1
        width = found.width
        bottoms = found.total
        alone = bool(self.blocks) and not several
        mains_x = paper.right - size[0]
        narrow = found.narrow
        if narrow and size[0]:
            mains_x = found.left + width + APART
        if not self.blocks:
            mains_x = paper.left
        beside = size[0] > 0 and alone and not narrow and size[1] > found.total + 20.0
        if narrow or not self.blocks:
            left = (mains_x + size[0] if size[0] else found.left + width) + 8.0
            area = (left, paper.top, paper.right - left, paper.bottom - paper.top)
        elif beside:
            area = (paper.left, paper.top + bottoms, mains_x - 4.0 - paper.left, paper.bottom - paper.top - bottoms)
        else:
            high = max(bottoms, size[1] + 2.0)
            area = (paper.left, paper.top + high, paper.right - paper.left, paper.bottom - paper.top - high)
        used = self._cards(area, narrow or not self.blocks)
        spare = 0.0
        if narrow:
            spare = paper.bottom - paper.top - found.total
        else:
            spare = area[3] - used - (3.0 if used else 0.0)
            if not beside:
                spare += max(0.0, size[1] + 2.0 - bottoms) if alone else 0.0
        more = max(0.0, spare) / max(1, len(found.bands))
        lower = self._bands(found, more, mains_x)
        if size[0]:
            bottom = max(self.mains.bottom, min(lower, paper.bottom) if alone and not beside else self.mains.bottom)
            self.mains.draw(mains_x, paper.top, paper.bottom if beside or not self.blocks else bottom)

    def _cards(self, area: tuple[float, float, float, float], tall: bool) -> float:
        """The cards in the room left for them, at its lower edge (`tall`: from its upper edge down); returns the height
        that they take."""
        x, y, width, height = area
        if width < 40 or height < 16:
            return 0.0
        listed = [card for card in cards(self.task, self.canvas.zones) if card.width <= width]
        fillers = [
            card for card in (materials(self.task), wires(self.task)) if card is not None and card.width <= width
        ]
        choose = column_pack if tall else best_pack
        placed, pitch, used = choose(listed, width, height)
        while placed and fillers and (tall or used < height * 0.6):
            again = choose([*listed, fillers[0]], width, height)
            if not again[0] or sum(len(each.card.rows) for each in again[0]) <= sum(len(p.card.rows) for p in placed):
                fillers.pop(0)
                continue
            placed, pitch, used = again
            listed = [*listed, fillers.pop(0)]
        top = y if tall else y + height - used
        for each in placed:
            each.card.draw(self.canvas, x + each.x, top + each.y, each.width, pitch)
        return used

    # --- bands -------------------------------------------------------------------------------------------

    def _bands(self, found: Plan, more: float, mains_x: float) -> float:
        """Draws the columns of every band with the bars; returns the lower edge of the last."""
        if not self.blocks:
            return 0.0
        y = found.paper.top
        uppers: list[tuple[float, list[float]]] = []
        lowers: list[tuple[float, list[float]]] = []
        last = len(found.bands) - 1
        for place, (band, inner) in enumerate(zip(found.bands, found.inner, strict=True)):
            upper = y + NAME
            edge = upper + BAR
            bottom = edge + inner + more
            x, studs, landings = found.left, [], []
            for block in band:
                studs += block.tops(x)
                landings += block.draw(x, edge, bottom, edge)
                x += block.width + found.gap
            uppers.append((upper, studs))
            lowers.append((bottom, [landing.x for landing in landings if landing.node == self.ground]))
            y = bottom + BAR + NAME + (max(0.0, self._below_height() - NAME) if place == last else 0.0)
        self._bar(self.root, uppers, found, "above")
        if self.ground:
            self._bar(self.ground, lowers, found, "below")
        self._hang_below(found, next((piece for piece in reversed(lowers) if piece[1]), lowers[-1]))
        return y

    def _below_height(self) -> float:
        return max((tail.height for tail in self.below), default=0.0)

    def _hang_below(self, found: Plan, lower: tuple[float, list[float]]) -> None:
        """Bonds of the ground rail under its last piece, right of its name."""
        level = lower[0] + (BAR if self._is_bar(self.ground) else 0.6)
        x = min(lower[1], default=found.left) + self._name_room()
        for tail in self.below:
            landed: list[Landing] = tail.draw(x, level, level + tail.height)
            assert not landed or tail.kind == "foot"
            x += tail.width + 4.0

    def _name_room(self) -> float:
        """From the first stud of the ground rail to the bonds right of its name."""
        return max(24.0, rail_width(self.canvas, self.ground) + 2 * LEAD) if self._is_bar(self.ground) else 24.0

    def _is_bar(self, node: str) -> bool:
        return self.task.wiring.roles_at(node).is_busbar

    def _bar(self, node: str, pieces: list[tuple[float, list[float]]], found: Plan, side: str) -> None:
        """A bar with a piece in each band, folded at the side where there are several."""
        if not node:
            return
        canvas = self.canvas
        met = [piece for piece in pieces if piece[1]]
        low = side == "below"
        below = bool(low and self.below)
        while len(pieces) > 1 and not pieces[-1][1]:
            pieces = pieces[:-1]
        if len(pieces) == 1:
            if pieces[0][1] or below:
                studs = pieces[0][1] or [found.left + LEAD]
                ends = (min(studs), max([*studs, *self._below_x(studs)])) if below else None
                level = pieces[0][0] + (0.0 if self._is_bar(node) else 0.6 if low else BAR - 0.6)
                rail(canvas, node, level, studs, side, ends)
            return
        if not met:
            return
        fold = found.left - FOLD + 2.4 if not low else found.right + FOLD - 3.0
        at = BAR / 2
        part = self.task.wiring.part_at(node)
        is_bar = self._is_bar(node)
        name = part.id if part is not None and is_bar else ""
        group = canvas.add("part" if name else "rail", name or node, "bar", at=(found.left, pieces[0][0]))
        lines: list[tuple[Point, ...]] = [((fold, pieces[0][0] + at), (fold, pieces[-1][0] + at))]
        for level, studs in pieces:
            reach = max(studs, default=fold) if not low else min(studs, default=fold)
            reach += (2.4 if not low else -2.4) if is_bar else 0.0
            lines.append(((fold, level + at), (reach, level + at)))
        style = "bar-neg" if low else "bar-pos"
        if is_bar:
            for weight, colour in ((BAR, "bar-ink"), (BAR - 0.8, style)):
                group.add(Polyline(lines[0], colour, weight, then=tuple(lines[1:])))
            if low:
                group.add(Polyline(lines[0], "bar-ink", 0.6, then=tuple(lines[1:])))
        else:
            group.add(Polyline(lines[0], "c-neg" if low else "c-pos", 1.2, then=tuple(lines[1:])))
        for level, studs in pieces:
            for stud in dict.fromkeys(round(stud, 3) for stud in studs):
                group.add(Disc(stud, level + at, 0.9, "w" if is_bar else "k"))
        for place, (level, studs) in enumerate(pieces if is_bar else ()):
            text = "one bar, drawn folded" if place == (0 if low else len(pieces) - 1) else ""
            start = min(studs, default=found.left) if low else found.left
            name_rail(canvas, node, start - 2.4 if low else start, level, side, text)

    def _below_x(self, studs: list[float]) -> list[float]:
        x = min(studs) + self._name_room()
        xs = []
        for tail in self.below:
            xs.append(x + LEAD)
            x += tail.width + 4.0
        return xs

    # --- what refers to it -------------------------------------------------------------------------------

    def zones(self) -> dict[str, str]:
        paper = self.plan.paper
        return {name: f" {paper.zone(*place)}" for name, place in self.canvas.places.items()}

    def _keys(self) -> list[Key]:
        """Symbols of devices, the ring of residual current, earth and the chip of a route, as far as they occur."""
        keys: list[Key] = []
        for kind in DEVICE_ROLES:
            if kind in self.canvas.symbols:
                keys.append(_symbol_key(symbols.DEVICES.get(kind, symbols.PLAIN), kind))
        if "residual" in self.canvas.symbols:
            keys.append(Key("with residual current", 6.0, lambda x, y: [symbols.ring(x + 1.5, x + 4.5, y)]))
        if "earth" in self.canvas.symbols:
            keys.append(_symbol_key(symbols.EARTH, "earth"))
        if any(run.routes for run in self.task.design.system.runs.values()):
            keys.append(Key("laid in route R1", chip_width(1), lambda x, y: chip(x, y + 1.0, 1)))
        return keys


def _tied(blocks: Sequence[Block], under: float = 0.0) -> Iterator[tuple[Column, PartBlock, float]]:
    """The columns whose boxes cables of an alternating current can reach, and the height of what their rail stands
    on."""
    for block in blocks:
        if isinstance(block, SharedRail):
            yield from _tied(block.children, under + block.height - block.inner)
        elif isinstance(block, Column) and isinstance(block.body, PartBlock) and block.order[0] == 3:
            yield block, block.body, under


def _last(blocks: Sequence[Block], tied: set[int], rank: Callable[[Block], int]) -> list[Block]:
    """Blocks with those that are tied to alternating current last, in the order of their cables."""
    return [*(b for b in blocks if id(b) not in tied), *sorted((b for b in blocks if id(b) in tied), key=rank)]


def _stacked(canvas: Canvas, blocks: Sequence[Block]) -> list[Block]:
    """Blocks that no lead reaches, in stacks."""
    stacks: list[list[Block]] = []
    for block in blocks:
        if not stacks or sum(each.height + 3.0 for each in stacks[-1]) + block.height > STACK:
            stacks.append([])
        stacks[-1].append(block)
    return [Stack(canvas, stack) for stack in stacks]


def _symbol_key(symbol: symbols.Symbol, word: str) -> Key:
    middle = (symbol.top + symbol.bottom) / 2

    def draw(x: float, y: float) -> list[Primitive]:
        return symbol.at(x - symbol.left, y - middle)

    return Key(word, symbol.right - symbol.left, draw)
