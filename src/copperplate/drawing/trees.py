"""Trees of the AC sheets: parts below what feeds them, cut to the sheet and set from the top down and across."""

from __future__ import annotations

from dataclasses import dataclass, field

from copperplate.drawing import captions, lettering, symbols
from copperplate.drawing.cables import Cable, SupplyForest
from copperplate.drawing.captions import Line, Task
from copperplate.drawing.packing import Rect, clear, shift
from copperplate.drawing.reserve import given, reserved
from copperplate.drawing.stack import LABEL_ROOM, centred, label_rect
from copperplate.drawing.wiring import is_between_dc_and_ac
from copperplate.model.parts import Panel

APART = 4.0
"""Between the strokes of a cable."""
SLOT = 13.8
"""Length of one piece of a cable: three lines of label and room around them."""
MOUNTED = 3.0
"""Length of a piece that is none: a device mounted on what stands before or after it."""
DEVICE = 9.4
"""Length that a device takes with its two lines of label."""
GAP = 3.0
BAND = 13.0
"""Height of the breakers inside a panel's box."""


@dataclass
class TreeBlock:
    """A part of the tree with what hangs below it. Coordinates in mm from the axis of its own feed, y of the
    sheet. `cut`: what leaves it stands on another sheet."""

    part: str
    feed: Cable | None
    lines: list[Line]
    branches: list[tuple[Cable, TreeBlock]] = field(default_factory=list)
    cut: bool = False
    earth: bool = False
    flag: str = ""
    top: float = 0.0
    """Where its feed begins: the lower edge of what it hangs from."""
    y0: float = 0.0
    y1: float = 0.0
    left: float = 0.0
    right: float = 0.0
    axes: list[float] = field(default_factory=list)

    def all(self) -> list[TreeBlock]:
        return [self, *(block for _, branch in self.branches for block in branch.all())]


class Trees:
    """Makes and sets the trees of one design."""

    def __init__(self, task: Task, wiring: SupplyForest) -> None:
        self.task = task
        self.wiring = wiring
        self.system = task.design.system
        self.top = task.paper.top
        self.high = task.paper.bottom - task.paper.top
        self.wide = task.paper.right - task.paper.left

    # --- fitting -----------------------------------------------------------------------------------------

    def fitted(self, root: str, only: list[Cable] | None) -> tuple[TreeBlock, list[tuple[str, list[Cable] | None]]]:
        """The tree of `root`, cut until it fits a sheet, and the trees that the cuts leave for later."""
        cut: list[str] = []
        tree = self._tree(root, cut, only)
        while not self._fits(tree):
            inner = [block for block in tree.all()[1:] if len(block.branches) > 0]
            if not inner:
                break
            several = [block for block in inner if len(block.branches) > 1] or inner
            cut.append(max(several, key=lambda block: block.y0).part)
            tree = self._tree(root, cut, only)
        later: list[tuple[str, list[Cable] | None]] = [(part, None) for part in cut]
        leaving = only if only is not None else self._leaving(root)
        if not self._fits(tree) and len(tree.branches) > 1:
            least, most = 1, len(tree.branches) - 1
            while least < most:
                middle = (least + most + 1) // 2
                if self._fits(self._tree(root, cut, leaving[:middle])):
                    least = middle
                else:
                    most = middle - 1
            tree = self._tree(root, cut, leaving[:least])
            later = [(root, leaving[least:]), *later]
        shown = {block.part for block in tree.all()}
        return tree, [(part, some) for part, some in later if part in shown]

    def _fits(self, tree: TreeBlock) -> bool:
        rects = self.place(tree)
        tall = max(rect[3] for rect in rects) - self.top
        return tall <= self.high and max(r[2] for r in rects) - min(r[0] for r in rects) <= self.wide

    def _leaving(self, part: str) -> list[Cable]:
        again = [cable for cable in self.wiring.again if cable.start == part]
        return [*self.wiring.leaving.get(part, []), *again]

    def _tree(self, root: str, cut: list[str], only: list[Cable] | None) -> TreeBlock:
        return self._block(root, None, cut, only if only is not None else self._leaving(root))

    def _block(self, part: str, feed: Cable | None, cut: list[str], leaving: list[Cable]) -> TreeBlock:
        block = TreeBlock(part, feed, [], cut=part in cut and feed is not None)
        block.lines = captions.box_lines(self.task, part, self._remarks(block, leaving))
        if not block.cut:
            for cable in leaving:
                if cable in self.wiring.again:
                    flag = TreeBlock(cable.end, cable, [], flag=self.goes_to(cable.end))
                    block.branches.append((cable, flag))
                elif self.system.parts[cable.end].roles.grounds:
                    lines: list[Line] = [((cable.end, True),)]
                    block.branches.append((cable, TreeBlock(cable.end, cable, lines, earth=True)))
                else:
                    branch = self._block(cable.end, cable, cut, self._leaving(cable.end))
                    block.branches.append((cable, branch))
        return block

    def goes_to(self, part: str, here: bool = False) -> str:
        """Where a cable goes on that ends at a part drawn already; `here`: on the same sheet."""
        return f"to {part}" if here else f"to {part}, {self.task.sheet(f'ac:{part}')}"

    def _remarks(self, block: TreeBlock, leaving: list[Cable]) -> list[str]:
        task, part = self.task, self.system.parts[block.part]
        remarks = []
        if is_between_dc_and_ac(part):
            remarks.append(f"DC side on {task.sheet(f'part:{part.id}')}")
        if part.roles.is_load:
            result = task.design.loads.get(part.id)
            if result is not None:
                remarks.append(f"{captions.volts(result.voltage_v)} at load")
        more = [cable.start for cable in self.wiring.again if cable.end == part.id]
        if more:
            remarks.append(f"also from {', '.join(more)}")
        if block.cut and leaving:
            remarks.append(f"goes on: {task.sheet_of(task.numbers.get(f'ac-root:{part.id}', ())[:1])}")
        return remarks

    # --- placing -----------------------------------------------------------------------------------------

    def place(self, tree: TreeBlock) -> list[Rect]:
        """Sets a tree from the top of the sheet down and across; what it covers from its root's axis."""
        self._levels(tree, self.top)
        return self._across(tree)

    def _levels(self, block: TreeBlock, y: float) -> None:
        block.y0 = y
        if block.earth or block.flag:
            block.y1 = y + 5.0
            return
        part = self.system.parts[block.part]
        above, below = self.inset(block)
        symbol = symbols.part_symbol(self.system.parts[block.part])
        body = max(len(block.lines) * lettering.LINE, symbol.bottom - symbol.top + 1)
        block.y1 = y + above + body + below
        if part.roles.is_splice:
            block.y1 = y + above + len(block.lines) * lettering.LINE + below
        reach = max((self.stack(cable) for cable, _ in block.branches), default=0.0)
        for cable, branch in block.branches:
            branch.top = block.y1
            self._levels(branch, block.y1 + (self.stack(cable) if branch.earth or branch.flag else reach))

    def inset(self, block: TreeBlock) -> tuple[float, float]:
        """Room in a box above and below its text: for letters of conductors and breakers of ways."""
        above = 4.2 if block.feed is not None else 1.8
        return above, BAND if self.is_panel(block) and block.branches else 4.0 if block.branches else 1.6

    def stack(self, cable: Cable) -> float:
        """Least length of a cable."""
        return sum(self.slots(cable))

    def slots(self, cable: Cable) -> list[float]:
        """Heights of the pieces of a cable and of the devices between them, in turn."""
        heights: list[float] = []
        for place, names in enumerate(self.pieces(cable)):
            more = len(self._cable_label(cable, names)) - 3 if names else 0
            heights.append(SLOT + lettering.LINE * max(0, more) if names else MOUNTED)
            if place < len(cable.devices):
                lines = captions.device(self.task, cable.devices[place], LABEL_ROOM)
                heights.append(DEVICE + lettering.LINE * (len(lines) - 2))
        return heights

    def pieces(self, cable: Cable) -> list[list[str]]:
        """The conductors of each piece of a cable between its devices; a core that no device interrupts belongs to
        the first piece that is not a mere mounting."""
        pieces: list[list[str]] = [[] for _ in range(len(cable.devices) + 1)]
        whole: list[str] = []
        for core in cable.cores:
            place = 0
            passes = all(kind == "conductor" for kind, _ in core.steps)
            for kind, name in core.steps:
                if kind == "device":
                    place = cable.devices.index(name) + 1
                else:
                    (whole if passes else pieces[place]).append(name)
        first = next((piece for piece in pieces if piece), pieces[0])
        first += whole
        return pieces

    def _across(self, block: TreeBlock) -> list[Rect]:
        """Sets a block and all below it across the sheet; the rectangles it covers from its own axis."""
        if block.earth or block.flag:
            block.left, block.right = -3.2, 3.2
            spread = APART * (len(block.feed.cores) - 1) if block.feed is not None else 0.0
            wide = (given(block.lines) if block.lines else lettering.width(reserved(block.flag)) + spread) + 5
            return [(-3.2, block.y0, wide, block.y1), *self._cable_rects(block)]
        rects: list[Rect] = []
        block.axes = []
        for _, branch in block.branches:
            own = self._across(branch)
            x = 0.0
            x = clear(own, rects, x, GAP)
            if block.axes:
                x = max(x, block.axes[-1] + 10)
            block.axes.append(x)
            rects += shift(own, x)
        own_wide = self._box_wide(block)
        feed_spread = APART * (len(block.feed.cores) - 1) if block.feed is not None else 0.0
        if block.axes:
            last = block.axes[-1] + APART * (len(block.branches[-1][0].cores) - 1)
            left = -5.0
            if self.is_panel(block):
                last = max(
                    last, *(x + self._way_room(cable) for x, (cable, _) in zip(block.axes, block.branches, strict=True))
                )
            right = last + 5.0
            if right - left < own_wide:
                extra = own_wide - (right - left)
                if len(block.axes) == 1:
                    left -= extra / 2
                    right += extra / 2
                else:
                    right += extra
            axis = block.axes[0] if len(block.axes) == 1 else (left + right) / 2 - feed_spread / 2
        else:
            left, right = -own_wide / 2, own_wide / 2
            axis = -feed_spread / 2
        axis = round(axis * 2) / 2
        block.axes = [x - axis for x in block.axes]
        block.left, block.right = left - axis, right - axis
        moved = [(a - axis, b, c - axis, d) for a, b, c, d in rects]
        return [(block.left - 0.3, block.y0, block.right + 0.3, block.y1), *moved, *self._cable_rects(block)]

    def _cable_rects(self, block: TreeBlock) -> list[Rect]:
        """What the feed of a block covers above it, from the block's axis."""
        if block.feed is None:
            return []
        top = block.top
        spread = APART * (len(block.feed.cores) - 1)
        rects: list[Rect] = [(-3.4 if block.feed.devices else -1.2, top, spread + 1.2, block.y0)]
        for y, lines in self.labels(block.feed, top, block.y0):
            rects.append(label_rect(spread + 2.4, y, lines))
        return rects

    def labels(self, cable: Cable, top: float, foot: float) -> list[tuple[float, list[Line]]]:
        """(baseline, lines) beside a cable from `top` to `foot`: piece by piece and device by device from the top
        down; the label of a cable without devices in the middle."""
        labels: list[tuple[float, list[Line]]] = []
        y, slots = top, self.slots(cable)
        if not cable.devices:
            y += (foot - top - slots[0]) / 2
        for place, names in enumerate(self.pieces(cable)):
            if names:
                lines = self._cable_label(cable, names)
                labels.append((centred(y + slots[2 * place] / 2, len(lines)), lines))
            y += slots[2 * place]
            if place < len(cable.devices):
                lines = captions.device(self.task, cable.devices[place], LABEL_ROOM)
                labels.append((centred(y + slots[2 * place + 1] / 2, len(lines)), lines))
                y += slots[2 * place + 1]
        return labels

    def _cable_label(self, cable: Cable, names: list[str]) -> list[Line]:
        task = self.task
        conductors = [self.system.conductors[name] for name in names]
        colours = " + ".join(text for text in (captions.colour(task, name) for name in names) if text)
        long = captions.length(task, conductors[0].length_m)
        if len(conductors) == 1:
            lines: list[Line] = [
                ((text, True),) for text in lettering.wrap(conductors[0].marker, LABEL_ROOM, bold=True)
            ]
        else:
            base = cable.run.id.removesuffix(".run")
            cores = ", ".join(c.marker.removeprefix(base).removeprefix(".") for c in conductors)
            *before, last = lettering.wrap(base, LABEL_ROOM - lettering.width(cores) - 1.2, bold=True)
            lines = [*(((text, True),) for text in before), ((last, True), (cores, False))]
        lines.append(((f"{long}, {captions.cable(task, cable.run)}", False),))
        return [*lines, ((colours, False),)] if colours else lines

    def is_panel(self, block: TreeBlock) -> bool:
        """True for a panel, whose ways' breakers stand inside its box."""
        return isinstance(self.system.parts[block.part], Panel)

    def _box_wide(self, block: TreeBlock) -> float:
        symbol = symbols.part_symbol(self.system.parts[block.part])
        return 2 + given(block.lines) + 3 + (symbol.right - symbol.left) + 2.2

    def _way_room(self, cable: Cable) -> float:
        """How far right of its axis the label of a way's breaker reaches, inside the panel's box."""
        if not cable.way:
            return 0.0
        device = self.system.devices[cable.way]
        return APART * (len(device.legs) - 1) + 2.2 + given([self.way_line(cable)])

    def way_line(self, cable: Cable) -> Line:
        """Number and rating of the way that a cable leaves by."""
        device = self.system.devices[cable.way]
        return ((f"{device.way}", True), (captions.rating(self.task, device), False))
