"""The AC sheets: supplies on top, cables as one stroke a pole, panels with their breakers, earthing shown.

The wiring is a forest and is drawn as one: every part stands below what feeds it. A tree that does not fit its
sheet is cut at a panel or another part with several ways out, which then stands on top of a tree of its own.
"""

from __future__ import annotations

from copperplate.drawing import symbols
from copperplate.drawing.cables import Cable, SupplyForest
from copperplate.drawing.captions import Task
from copperplate.drawing.packing import Rect, clear, shift
from copperplate.drawing.page import Page
from copperplate.drawing.pen import Box, Group, Polyline, measure, words
from copperplate.drawing.stack import arrow, centred, conductor_group, put
from copperplate.drawing.trees import APART, BAND, TreeBlock, Trees
from copperplate.drawing.wiring import is_between_dc_and_ac

LETTERS = {"l": "L", "l1": "L1", "l2": "L2", "n": "N", "pe": "PE"}


def pages(task: Task, wiring: SupplyForest) -> list[Page]:
    """The AC sheets of a design; none where it has no AC."""
    return _AcSheets(task, wiring).pages()


class _AcSheets:
    def __init__(self, task: Task, wiring: SupplyForest) -> None:
        self.task = task
        self.roots = wiring.roots
        self.system = task.design.system
        self.trees = Trees(task, wiring)

    def pages(self) -> list[Page]:
        trees: list[TreeBlock] = []
        waiting = [(root, None) for root in self.roots]  # type: list[tuple[str, list[Cable] | None]]
        while waiting:
            root, only = waiting.pop(0)
            tree, later = self.trees.fitted(root, only)
            trees.append(tree)
            waiting = [*later, *waiting]
        return self._packed(trees)

    # --- pages -------------------------------------------------------------------------------------------

    def _packed(self, trees: list[TreeBlock]) -> list[Page]:
        """Trees side by side, each on the first sheet that has room for it."""
        made: list[tuple[Page, list[Rect]]] = []
        for tree in trees:
            own = self.trees.place(tree)
            left, right = min(r[0] for r in own), max(r[2] for r in own)
            start = self.task.paper.left - left
            places = ((page, rects, clear(own, rects, start, 6.0)) for page, rects in made)
            chosen = next((place for place in places if right + place[2] <= self.task.paper.right), None)
            if chosen is None:
                chosen = (Page("ac", "AC", remark="Lengths are one way."), [], clear(own, (), start, 6.0))
                made.append(chosen[:2])
            page, rects, x = chosen
            rects += shift(own, x)
            page.show(f"ac-root:{tree.part}")
            self._draw(page, tree, x)
        pages = [page for page, _ in made]
        if len(pages) > 1:
            for place, page in enumerate(pages, 1):
                page.slug, page.title = f"ac-{place}", f"AC, part {place}"
        return pages

    def _draw(self, page: Page, block: TreeBlock, x: float) -> None:
        if block.flag:
            cores = len(block.feed.cores) if block.feed is not None else 1
            mark = Group("goes-on", block.flag, "mark")
            mark.add(*(arrow(x + APART * place, block.y0 + 2.2, "down") for place in range(cores)))
            flag = self.trees.goes_to(block.part, f"ac:{block.part}" in page.shows)
            page.groups.append(mark.add(words(x + APART * (cores - 1) + 2.4, block.y0 + 2.6, flag)))
        elif block.earth:
            earth = Group("part", block.part, "symbol").add(*symbols.EARTH.at(x, block.y0))
            page.groups.append(earth.add(*put(x + 4.4, block.y0 + 3.0, block.lines)))
            page.show(f"part:{block.part}")
        else:
            page.groups += self._box(block, x)
            page.show(f"ac:{block.part}")
            if not is_between_dc_and_ac(self.system.parts[block.part]):
                page.show(f"part:{block.part}")
        for (cable, branch), axis in zip(block.branches, block.axes, strict=True):
            page.groups += self._cable(cable, x + axis, block.y1, branch.y0)
            self._draw(page, branch, x + axis)

    def _box(self, block: TreeBlock, x: float) -> list[Group]:
        left, right = block.left + x, block.right + x
        group = Group("part", block.part, "symbol").add(Box(left, block.y0, right - left, block.y1 - block.y0))
        above, below = self.trees.inset(block)
        band = BAND if self.trees.is_panel(block) and block.branches else 0.0
        middle = (block.y0 + above + block.y1 - below) / 2
        symbol = symbols.part_symbol(self.system.parts[block.part])
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
        ways = [(x + axis, cable.way) for axis, (cable, _) in zip(block.axes, block.branches, strict=True) if cable.way]
        rising = [axis for axis, way in ways if "" in self._lines(way)]
        if len(rising) > 1:
            group.add(Polyline(((rising[0], bar), (rising[-1], bar)), "o", 0.5))
        for (cable, _), axis in zip(block.branches, block.axes, strict=True):
            passed = len(self.system.devices[cable.way].legs) if cable.way else 0
            if cable.way:
                groups.append(self._way(cable, x + axis, bar, block.y1))
            elif band:
                passed = len(cable.cores)
            group.add(*(
                words(x + axis + APART * place, block.y1 - 1.3, LETTERS[core.pole], bold=True, anchor="middle")
                for place, core in enumerate(cable.cores) if place >= passed
            ))  # fmt: skip
        return groups

    def _way(self, cable: Cable, x: float, bar: float, foot: float) -> Group:
        """A breaker inside a panel's box, from the panel's bar down to its edge. Of a panel on two lines every pole
        begins at the letter of its line, and so does a neutral pole: two bars could not reach their ways without
        crossing."""
        device = self.system.devices[cable.way]
        symbol = symbols.device_symbol(device)
        group = Group("device", device.id, "symbol")
        middle = (bar + foot) / 2
        lines = self._lines(device.id)
        for place in range(len(device.legs)):
            axis = x + APART * place
            group.add(*symbol.at(axis, middle))
            if lines[place]:
                group.add(words(axis, bar + 1.2, lines[place], bold=True, anchor="middle"))
            else:
                group.add(Polyline(((axis, bar), (axis, middle - symbols.HALF)), "o", 0.4))
            group.add(Polyline(((axis, middle + symbols.HALF), (axis, foot)), "o", 0.4))
        if len(device.legs) > 1:
            group.add(_ganged(x, middle, len(device.legs)))
        at = x + APART * (len(device.legs) - 1) + 2.2
        return group.add(*put(at, centred(middle, 1), [self.trees.way_line(cable)]))

    def _lines(self, way: str) -> list[str]:
        """The letter that each pole of a way begins at, "" for the bar of a panel on one line."""
        poles = [self.system.nodes[start].pole for start, _ in self.system.devices[way].legs]
        return [LETTERS.get(pole, "") if pole != "l" else "" for pole in poles]

    def _cable(self, cable: Cable, x: float, top: float, foot: float) -> list[Group]:
        """The strokes, devices and labels of a cable from `top` to `foot`, its first core on `x`."""
        task = self.task
        groups: list[Group] = []
        spread = APART * (len(cable.cores) - 1)
        levels: dict[str, tuple[float, float]] = {}
        y, slots = top, self.trees.slots(cable)
        for place, name in enumerate(cable.devices):
            piece, own = slots[2 * place], slots[2 * place + 1]
            middle = y + piece + own / 2
            levels[name] = (middle - symbols.HALF, middle + symbols.HALF)
            y += piece + own
        for place, core in enumerate(cable.cores):
            axis, level = x + APART * place, top
            for index, (kind, name) in enumerate(core.steps):
                if kind == "device":
                    groups += _mount(core.pole, axis, level, levels[name][0])
                    level = levels[name][1]
                    continue
                following = next((n for k, n in core.steps[index + 1 :] if k == "device"), None)
                stop = levels[following][0] if following is not None else foot
                groups.append(conductor_group(task, name, ((axis, level), (axis, stop))))
                level = stop
            groups += _mount(core.pole, axis, level, foot)
        for name in cable.devices:
            groups.append(self._device(cable, name, x, sum(levels[name]) / 2))
        for (baseline, lines), owner in zip(self.trees.labels(cable, top, foot), self._owners(cable), strict=True):
            if owner == "":
                label = Group("cable", cable.run.id, "symbol")
                groups.append(label.add(*put(x + spread + 2.4, baseline, lines)))
            else:
                groups[_index(groups, owner)].add(*put(x + spread + 2.4, baseline, lines))
        return groups

    def _owners(self, cable: Cable) -> list[str]:
        """Whose each label of a cable is: "" for the cable itself, else the device."""
        owners: list[str] = []
        for place, names in enumerate(self.trees.pieces(cable)):
            if names:
                owners.append("")
            if place < len(cable.devices):
                owners.append(cable.devices[place])
        return owners

    def _device(self, cable: Cable, name: str, x: float, y: float) -> Group:
        device = self.system.devices[name]
        group = Group("device", name, "symbol")
        poles = [place for place, core in enumerate(cable.cores) if ("device", name) in core.steps]
        for place in poles:
            group.add(*symbols.device_symbol(device).at(x + APART * place, y))
        if len(poles) > 1:
            group.add(_ganged(x + APART * poles[0], y, len(poles)))
        return group


def _mount(pole: str, x: float, start: float, stop: float) -> list[Group]:
    """The short link of a device that is mounted on its neighbour; nothing where a conductor leads there."""
    if stop - start < 0.05:
        return []
    return [Group("mount", "", "conductor").add(Polyline(((x, start), (x, stop)), f"c-{pole}", 0.35))]


def _ganged(x: float, y: float, poles: int) -> Polyline:
    """The dashed line that joins blades which open together."""
    start, end = x - 1.2, x + APART * (poles - 1) - 1.2
    pieces = []
    at = start
    while at < end - 0.1:
        pieces.append(((at, y), (min(at + 0.8, end), y)))
        at += 1.5
    return Polyline(pieces[0], "o", then=tuple(pieces[1:]))


def _index(groups: list[Group], device: str) -> int:
    return next(n for n, group in enumerate(groups) if group.kind == "device" and group.address == device)
