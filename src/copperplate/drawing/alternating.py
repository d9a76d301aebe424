"""The AC sheets: supplies on top, cables as one stroke a pole, panels with their breakers, earthing shown.

The wiring is a forest and is drawn as one: every part stands below what feeds it. A tree that does not fit its
sheet is cut at a panel or another part with several ways out, which then stands on top of a tree of its own.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from copperplate.drawing import captions, lettering, symbols
from copperplate.drawing.cables import Cable, Supply
from copperplate.drawing.captions import Line, Task
from copperplate.drawing.page import Page
from copperplate.drawing.pen import Box, Group, Stroke, measure, words
from copperplate.drawing.stack import LABEL_ROOM, Rect, arrow, box_lines, centred, conductor_group, label_rect, put

APART = 4.0
"""Between the strokes of a cable."""
SLOT = 13.8
"""Length of one piece of a cable: three lines of label and room around them."""
DEVICE = 9.4
"""Length that a device takes with its two lines of label."""
GAP = 3.0
BAND = 12.0
"""Height of the breakers inside a panel's box."""
LETTERS = {"l": "L", "l1": "L1", "l2": "L2", "n": "N", "pe": "PE"}


@dataclass
class Block:
    """A part of the tree with what hangs below it. Coordinates in mm from the axis of its own feed, y of the
    sheet. `cut`: what leaves it stands on another sheet."""

    part: str
    feed: Cable | None
    lines: list[Line]
    branches: list[tuple[Cable, Block]] = field(default_factory=list)
    cut: bool = False
    earth: bool = False
    flag: str = ""
    y0: float = 0.0
    y1: float = 0.0
    left: float = 0.0
    right: float = 0.0
    axes: list[float] = field(default_factory=list)

    def all(self) -> list[Block]:
        return [self, *(block for _, branch in self.branches for block in branch.all())]


def pages(task: Task, wiring: Supply) -> list[Page]:
    """The AC sheets of a design; none where it has no AC."""
    return _Trees(task, wiring).pages()


class _Trees:
    def __init__(self, task: Task, wiring: Supply) -> None:
        self.task = task
        self.wiring = wiring
        self.system = task.design.system
        self.top = task.paper.top
        self.high = task.paper.bottom - task.paper.top
        self.wide = task.paper.right - task.paper.left

    def pages(self) -> list[Page]:
        trees: list[Block] = []
        waiting = [(root, None) for root in self.wiring.roots]  # type: list[tuple[str, list[Cable] | None]]
        while waiting:
            root, only = waiting.pop(0)
            tree, later = self._fitted(root, only)
            trees.append(tree)
            waiting = [*later, *waiting]
        return self._packed(trees)

    # --- fitting -----------------------------------------------------------------------------------------

    def _fitted(self, root: str, only: list[Cable] | None) -> tuple[Block, list[tuple[str, list[Cable] | None]]]:
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

    def _fits(self, tree: Block) -> bool:
        rects = self._place(tree)
        tall = max(rect[3] for rect in rects) - self.top
        return tall <= self.high and max(r[2] for r in rects) - min(r[0] for r in rects) <= self.wide

    def _leaving(self, part: str) -> list[Cable]:
        again = [cable for cable in self.wiring.again if cable.start == part]
        return [*self.wiring.leaving.get(part, []), *again]

    def _tree(self, root: str, cut: list[str], only: list[Cable] | None) -> Block:
        return self._block(root, None, cut, only if only is not None else self._leaving(root))

    def _block(self, part: str, feed: Cable | None, cut: list[str], leaving: list[Cable]) -> Block:
        block = Block(part, feed, [], cut=part in cut and feed is not None)
        block.lines = box_lines(self.task, part, self._remarks(block, leaving))
        if not block.cut:
            for cable in leaving:
                if cable in self.wiring.again:
                    flag = Block(cable.end, cable, [], flag=f"to {cable.end}, {self.task.sheet(f'ac:{cable.end}')}")
                    block.branches.append((cable, flag))
                elif self.system.parts[cable.end].kind == "earth":
                    lines: list[Line] = [((cable.end, True),)]
                    block.branches.append((cable, Block(cable.end, cable, lines, earth=True)))
                else:
                    branch = self._block(cable.end, cable, cut, self._leaving(cable.end))
                    block.branches.append((cable, branch))
        return block

    def _remarks(self, block: Block, leaving: list[Cable]) -> list[str]:
        task, part = self.task, self.system.parts[block.part]
        found = []
        if part.kind in ("inverter", "charger"):
            found.append(f"DC side on {task.sheet(f'part:{part.id}')}")
        if part.kind == "load":
            result = task.design.loads.get(part.id)
            if result is not None:
                found.append(f"{captions.volts(result.voltage_v)} at load")
        if block.cut and leaving:
            found.append(f"goes on: {task.sheet(f'ac-root:{part.id}')}")
        return found

    # --- placing -----------------------------------------------------------------------------------------

    def _place(self, tree: Block) -> list[Rect]:
        self._levels(tree, self.top)
        return self._across(tree)

    def _levels(self, block: Block, y: float) -> None:
        block.y0 = y
        if block.earth or block.flag:
            block.y1 = y + 5.0
            return
        part = self.system.parts[block.part]
        above = 4.2 if block.feed is not None else 1.8
        below = BAND if self._is_panel(block) and block.branches else (4.0 if block.branches else 1.6)
        symbol = self._symbol(block.part)
        body = max(len(block.lines) * lettering.LINE, symbol.bottom - symbol.top + 1)
        block.y1 = y + above + body + below
        if part.kind == "junction":
            block.y1 = y + above + len(block.lines) * lettering.LINE + below
        reach = max((self._stack(cable) for cable, _ in block.branches), default=0.0)
        for cable, branch in block.branches:
            self._levels(branch, block.y1 + (self._stack(cable) if branch.earth or branch.flag else reach))

    def _stack(self, cable: Cable) -> float:
        return sum(self._slots(cable))

    def _slots(self, cable: Cable) -> list[float]:
        """Heights of the pieces of a cable and of the devices between them, in turn."""
        found: list[float] = []
        for place, names in enumerate(self._pieces(cable)):
            more = len(self._cable_label(cable, names)) - 3 if names else 0
            found.append(SLOT + lettering.LINE * max(0, more))
            if place < len(cable.devices):
                lines = captions.device(self.task, cable.devices[place], LABEL_ROOM)
                found.append(DEVICE + lettering.LINE * (len(lines) - 2))
        return found

    def _pieces(self, cable: Cable) -> list[list[str]]:
        """The conductors of each piece of a cable between its devices; a core that no device interrupts belongs to
        the first piece."""
        pieces: list[list[str]] = [[] for _ in range(len(cable.devices) + 1)]
        for core in cable.cores:
            place = 0
            for kind, name in core.steps:
                if kind == "device":
                    place = cable.devices.index(name) + 1
                else:
                    pieces[place].append(name)
        return pieces

    def _across(self, block: Block) -> list[Rect]:
        """Sets a block and all below it across the sheet; the rectangles it covers from its own axis."""
        if block.earth or block.flag:
            block.left, block.right = -3.2, 3.2
            spread = APART * (len(block.feed.cores) - 1) if block.feed is not None else 0.0
            wide = max((measure(line) for line in block.lines), default=lettering.width(block.flag) + spread) + 5
            return [(-3.2, block.y0, wide, block.y1), *self._cable_rects(block)]
        rects: list[Rect] = []
        block.axes = []
        for _, branch in block.branches:
            own = self._across(branch)
            x = 0.0
            for a, b, c, d in own:
                for left, top, right, bottom in rects:
                    if top - 1 < d and b - 1 < bottom:
                        x = max(x, right + GAP - a)
            if block.axes:
                x = max(x, block.axes[-1] + 10)
            x = round(x * 2 + 0.499) / 2
            block.axes.append(x)
            rects += [(a + x, b, c + x, d) for a, b, c, d in own]
        own_wide = self._box_wide(block)
        feed_spread = APART * (len(block.feed.cores) - 1) if block.feed is not None else 0.0
        if block.axes:
            last = block.axes[-1] + APART * (len(block.branches[-1][0].cores) - 1)
            left = -5.0
            if self._is_panel(block):
                last = max(last, *(x + self._way_room(cable) for x, (cable, _) in zip(block.axes, block.branches, strict=True)))
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

    def _cable_rects(self, block: Block) -> list[Rect]:
        """What the feed of a block covers above it, from the block's axis."""
        if block.feed is None:
            return []
        top = block.y0 - self._stack(block.feed)
        spread = APART * (len(block.feed.cores) - 1)
        rects: list[Rect] = [(-3.4 if block.feed.devices else -1.2, top, spread + 1.2, block.y0)]
        for y, lines in self._labels(block.feed, top):
            rects.append(label_rect(spread + 2.4, y, lines))
        return rects

    def _labels(self, cable: Cable, top: float) -> list[tuple[float, list[Line]]]:
        """(baseline, lines) beside a cable, piece by piece and device by device, from `top` down."""
        found: list[tuple[float, list[Line]]] = []
        y, slots = top, self._slots(cable)
        for place, names in enumerate(self._pieces(cable)):
            if names:
                lines = self._cable_label(cable, names)
                found.append((centred(y + slots[2 * place] / 2, len(lines)), lines))
            y += slots[2 * place]
            if place < len(cable.devices):
                lines = captions.device(self.task, cable.devices[place], LABEL_ROOM)
                found.append((centred(y + slots[2 * place + 1] / 2, len(lines)), lines))
                y += slots[2 * place + 1]
        return found

    def _cable_label(self, cable: Cable, names: list[str]) -> list[Line]:
        task = self.task
        conductors = [self.system.conductors[name] for name in names]
        colours = " + ".join(text for text in (captions.colour(task, name) for name in names) if text)
        if len(conductors) == 1:
            markers = conductors[0].marker
        else:
            base = cable.run.id.removesuffix(".run")
            markers = " ".join([base, *(c.marker.removeprefix(base) for c in conductors)])
        long = captions.length(task, conductors[0].length_m)
        lines: list[Line] = [((line, True),) for line in lettering.wrap(markers, LABEL_ROOM, bold=True)]
        lines.append(((f"{long}, {captions.cable(task, cable.run)}", False),))
        return [*lines, ((colours, False),)] if colours else lines

    def _is_panel(self, block: Block) -> bool:
        return self.system.parts[block.part].kind == "panel"

    def _symbol(self, part: str) -> symbols.Symbol:
        found = self.system.parts[part]
        if found.kind == "junction":
            return symbols.Symbol((), 0, 0, 0, 0)
        return symbols.load_symbol(found) if found.kind == "load" else symbols.part_symbol(found)

    def _box_wide(self, block: Block) -> float:
        symbol = self._symbol(block.part)
        return 2 + max(measure(line) for line in block.lines) + 3 + (symbol.right - symbol.left) + 2.2

    def _way_room(self, cable: Cable) -> float:
        """How far right of its axis the label of a way's breaker reaches, inside the panel's box."""
        if not cable.way:
            return 0.0
        device = self.system.devices[cable.way]
        return APART * (len(device.legs) - 1) + 2.2 + measure(self._way_line(cable))

    def _way_line(self, cable: Cable) -> Line:
        device = self.system.devices[cable.way]
        return ((f"{device.way}", True), (captions.rating(self.task, device), False))

    # --- pages -------------------------------------------------------------------------------------------

    def _packed(self, trees: list[Block]) -> list[Page]:
        """Trees side by side, each on the first sheet that has room for it."""
        made: list[tuple[Page, list[Rect]]] = []
        for tree in trees:
            own = self._place(tree)
            left, right = min(r[0] for r in own), max(r[2] for r in own)
            for page, rects in made:
                x = self._room(own, rects, self.task.paper.left - left)
                if right + x <= self.task.paper.right:
                    break
            else:
                page, rects = Page("ac", "AC", remark="Lengths are one way."), []
                x = round((self.task.paper.left - left) * 2 + 0.499) / 2
                made.append((page, rects))
            rects += [(a + x, b, c + x, d) for a, b, c, d in own]
            page.show(f"ac-root:{tree.part}")
            self._draw(page, tree, x)
        found = [page for page, _ in made]
        if len(found) > 1:
            for place, page in enumerate(found, 1):
                page.slug, page.title = f"ac-{place}", f"AC, part {place}"
        return found

    def _room(self, own: list[Rect], rects: list[Rect], x: float) -> float:
        """Where a tree stands clear of everything on its page."""
        for a, b, _, d in own:
            for _, top, right, bottom in rects:
                if top - 1 < d and b - 1 < bottom:
                    x = max(x, right + 6 - a)
        return round(x * 2 + 0.499) / 2

    def _draw(self, page: Page, block: Block, x: float) -> None:
        if block.flag:
            cores = len(block.feed.cores) if block.feed is not None else 1
            mark = Group("goes-on", block.flag, "mark")
            mark.add(*(arrow(x + APART * place, block.y0 + 2.2, "down") for place in range(cores)))
            page.groups.append(mark.add(words(x + APART * (cores - 1) + 2.4, block.y0 + 2.6, block.flag)))
        elif block.earth:
            earth = Group("part", block.part, "symbol").add(*symbols.EARTH.at(x, block.y0))
            page.groups.append(earth.add(*put(x + 4.4, block.y0 + 3.0, block.lines)))
            page.show(f"part:{block.part}")
        else:
            page.groups += self._box(block, x)
            page.show(f"ac:{block.part}")
            if self.system.parts[block.part].kind not in ("inverter", "charger"):
                page.show(f"part:{block.part}")
        for (cable, branch), axis in zip(block.branches, block.axes, strict=True):
            page.groups += self._cable(cable, x + axis, block.y1, branch.y0)
            self._draw(page, branch, x + axis)

    def _box(self, block: Block, x: float) -> list[Group]:
        left, right = block.left + x, block.right + x
        group = Group("part", block.part, "symbol").add(Box(left, block.y0, right - left, block.y1 - block.y0))
        above = 4.2 if block.feed is not None else 1.8
        band = BAND if self._is_panel(block) and block.branches else 0.0
        below = band or (4.0 if block.branches else 1.6)
        middle = (block.y0 + above + block.y1 - below) / 2
        symbol = self._symbol(block.part)
        group.add(*put(left + 2, centred(middle, len(block.lines)), block.lines))
        text = left + 2 + max(measure(line) for line in block.lines) + 3
        group.add(*symbol.at(min(right - 2.2, text + 12) - symbol.right, middle))
        if block.feed is not None:
            group.add(*(
                words(x + APART * place, block.y0 + 3.4, LETTERS[core.pole], bold=True, anchor="middle")
                for place, core in enumerate(block.feed.cores)
            ))  # fmt: skip
        groups = [group]
        bar = block.y1 - band + 1.4
        rising = [x + axis for axis, (cable, _) in zip(block.axes, block.branches, strict=True) if cable.way]
        if len(rising) > 1:
            group.add(Stroke(((rising[0], bar), (rising[-1], bar)), "o", 0.5))
        for (cable, _), axis in zip(block.branches, block.axes, strict=True):
            if cable.way:
                groups.append(self._way(cable, x + axis, bar, block.y1))
            elif not band:
                group.add(*(
                    words(x + axis + APART * place, block.y1 - 1.3, LETTERS[core.pole], bold=True, anchor="middle")
                    for place, core in enumerate(cable.cores)
                ))  # fmt: skip
        return groups

    def _way(self, cable: Cable, x: float, bar: float, foot: float) -> Group:
        """A breaker inside a panel's box, from the panel's bar down to its edge."""
        device = self.system.devices[cable.way]
        symbol = symbols.DEVICES[device.kind]
        group = Group("device", device.id, "symbol")
        middle = (bar + foot) / 2
        for place in range(len(device.legs)):
            axis = x + APART * place
            group.add(*symbol.at(axis, middle))
            group.add(Stroke(((axis, bar if place == 0 else middle - symbols.HALF), (axis, middle - symbols.HALF)), "o", 0.4))
            group.add(Stroke(((axis, middle + symbols.HALF), (axis, foot)), "o", 0.4))
        if len(device.legs) > 1:
            group.add(_ganged(x, middle, len(device.legs)))
        at = x + APART * (len(device.legs) - 1) + 2.2
        return group.add(*put(at, centred(middle, 1), [self._way_line(cable)]))

    def _cable(self, cable: Cable, x: float, top: float, foot: float) -> list[Group]:
        """The strokes, devices and labels of a cable from `top` to `foot`, its first core on `x`."""
        task = self.task
        groups: list[Group] = []
        least = self._stack(cable)
        slack = foot - top - least
        spread = APART * (len(cable.cores) - 1)
        levels: dict[str, tuple[float, float]] = {}
        y, slots = top, self._slots(cable)
        for place, name in enumerate(cable.devices):
            piece, own = slots[2 * place], slots[2 * place + 1]
            middle = y + piece + own / 2
            levels[name] = (middle - symbols.HALF, middle + symbols.HALF)
            y += piece + own
        for place, core in enumerate(cable.cores):
            axis, level = x + APART * place, top
            for index, (kind, name) in enumerate(core.steps):
                if kind == "device":
                    level = levels[name][1]
                    continue
                following = next((n for k, n in core.steps[index + 1 :] if k == "device"), None)
                stop = levels[following][0] if following is not None else foot
                groups.append(conductor_group(task, name, ((axis, level), (axis, stop))))
                level = stop
        for name in cable.devices:
            groups.append(self._device(cable, name, x, sum(levels[name]) / 2, spread))
        for (baseline, lines), owner in zip(self._labels(cable, top), self._owners(cable), strict=True):
            shift = slack / 2 if len(cable.devices) == 0 else 0.0
            if owner == "":
                label = Group("cable", cable.run.id, "symbol")
                groups.append(label.add(*put(x + spread + 2.4, baseline + shift, lines)))
            else:
                groups[_index(groups, owner)].add(*put(x + spread + 2.4, baseline + shift, lines))
        return groups

    def _owners(self, cable: Cable) -> list[str]:
        """Whose each label of a cable is: "" for the cable itself, else the device."""
        found: list[str] = []
        for place, names in enumerate(self._pieces(cable)):
            if names:
                found.append("")
            if place < len(cable.devices):
                found.append(cable.devices[place])
        return found

    def _device(self, cable: Cable, name: str, x: float, y: float, spread: float) -> Group:
        device = self.system.devices[name]
        group = Group("device", name, "symbol")
        poles = [place for place, core in enumerate(cable.cores) if ("device", name) in core.steps]
        for place in poles:
            group.add(*symbols.DEVICES[device.kind].at(x + APART * place, y))
        if len(poles) > 1:
            group.add(_ganged(x + APART * poles[0], y, len(poles)))
        return group


def _ganged(x: float, y: float, poles: int) -> Stroke:
    """The dashed line that joins blades which open together."""
    start, end = x - 1.2, x + APART * (poles - 1) - 1.2
    pieces = []
    at = start
    while at < end - 0.1:
        pieces.append(((at, y), (min(at + 0.8, end), y)))
        at += 1.5
    return Stroke(pieces[0], "o", then=tuple(pieces[1:]))


def _index(groups: list[Group], device: str) -> int:
    return next(n for n, group in enumerate(groups) if group.kind == "device" and group.address == device)
