"""The alternating-current part of sheet 1: trees from each source down to its panels, one below the other.

What feeds a charger or an inverter turns left out of its tree into that box; what an inverter gives comes in from the
left. A second feed of a panel comes straight down from the tree above it. Anything else goes on at a flag.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from copperplate.drawing import captions, lettering
from copperplate.drawing.cables import Cable, SupplyForest
from copperplate.drawing.diagram.blocks import BAR, GAP, LEAD, earth_mark
from copperplate.drawing.diagram.canvas import Canvas
from copperplate.drawing.diagram.faces import Face, FaceRow
from copperplate.drawing.diagram.leads import Lead
from copperplate.drawing.diagram.parts import PartBlock
from copperplate.drawing.pen import Box, Disc, Point, Polyline, words
from copperplate.drawing.stack import arrow
from copperplate.model.parts import Panel

STROKES = 1.5
"""Between the strokes of a cable."""
TREES = 9.0
"""Between one tree and the next below it."""
TURN = 6.0
"""Room where a cable turns."""


BODIES = {"bar": BAR, "tie": TURN, "earth": 5.4, "flag": 6.4, "foot": 2.0, "from": 6.4, "in": 5.0}
"""Heights of what has neither box nor face."""


@dataclass
class Tie:
    """Where a cable leaves or reaches a box of the direct-current part: `level` is that of its first stroke."""

    part: str
    port: str
    level: float = 0.0


@dataclass
class Node:
    """A thing of a tree with the cable that leads to it from above. `kind`: what it ends at. Levels from the top of its
    cable; `x` from the left edge of what it hangs from."""

    kind: str
    part: str
    cable: Cable | None
    lead: Lead | None
    box: PartBlock | None = None
    face: Face | None = None
    children: list[Node] = field(default_factory=list)
    rows: dict[int, Node] = field(default_factory=dict)
    """What ways of a panel feed that is no load: ties to the left, the others at the right."""
    tie: Tie | None = None
    x: float = 0.0
    top: float = 0.0
    lane: float = 0.0
    target: Node | None = None
    lanes: list[float] = field(default_factory=list)
    """Where second feeds come down to it."""

    @property
    def depth(self) -> float:
        """Height of its cable."""
        return self.lead.height if self.lead is not None else 0.0

    @property
    def body(self) -> float:
        if self.box is not None:
            return self.box.least
        if self.face is not None:
            return self.face.height
        return BODIES.get(self.kind, 0.0)

    @property
    def height(self) -> float:
        under = max((child.height for child in self.children), default=0.0)
        beside = max((self._side_top(way) + node.height for way, node in self._sides()), default=0.0)
        return self.depth + max(self.body + under, beside)

    def _sides(self) -> list[tuple[int, Node]]:
        return [(way, node) for way, node in self.rows.items() if node.kind != "tie"]

    def _side_top(self, way: int) -> float:
        return self.face.level(way) + 3.0 if self.face is not None else 0.0

    @property
    def own_width(self) -> float:
        """Of its cable's labels and its body."""
        wide = LEAD + self.lead.width if self.lead is not None else LEAD
        if self.box is not None:
            wide = max(wide, self.box.box_width)
        if self.face is not None:
            wide = max(wide, self.face.width)
        if self.kind in ("flag", "earth", "from"):
            wide = max(wide, LEAD + 6.0 + lettering.width(f"to {self.part} 00/A00", bold=True))
        return wide

    @property
    def width(self) -> float:
        under = sum(child.width for child in self.children) + GAP * max(0, len(self.children) - 1)
        if self.kind == "bar" and self.children:
            last = self.children[-1]
            start = under - last.width + LEAD + (last.lead.spread if last.lead is not None else 0.0)
            under = max(under, start + 5.0 + lettering.width(self.part, bold=True))
        beside = sum(node.width + GAP for _, node in self._sides())
        return max(self.own_width + beside, under)

    def all(self) -> list[Node]:
        return [self, *(n for child in (*self.children, *self.rows.values()) for n in child.all())]


class Mains:
    """Every tree of a system, set below each other. `boxes`: those of the direct-current part that cables lead to;
    `others`: those that none can reach, which stand as flags."""

    def __init__(self, canvas: Canvas, forest: SupplyForest, boxes: Mapping[str, PartBlock], others: set[str]) -> None:
        self.canvas, self.forest, self.boxes, self.others = canvas, forest, boxes, others
        self.system = canvas.task.design.system
        self.nodes: dict[str, Node] = {}
        self.trees: list[Node] = []
        self.ways = {d.id: d.way for d in self.system.devices.values() if d.panel and d.way is not None}
        for root in forest.roots:
            self._root(root)
        self._order()
        self._feet()
        self._beside()
        self.words = list(self._sentences())

    # --- trees -------------------------------------------------------------------------------------------

    def _root(self, root: str) -> None:
        if root in self.boxes or root in self.others:
            self._outputs(root)
            return
        node = self._node(root, None)
        if node.children or node.rows or not self.system.parts[root].roles.grounds:
            self.trees.append(node)
        for name in [n.part for n in node.all() if n.kind == "tie" or n.part in self.others]:
            self._outputs(name)

    def _outputs(self, name: str) -> None:
        """A tree for each cable that leaves a box of the direct-current part."""
        for cable in self.forest.leaving.get(name, ()):
            if cable.run.earth or self.system.parts[cable.end].roles.grounds:
                continue
            node = self._node(cable.end, cable)
            port = self.system.nodes[self._start(cable)].port.rpartition(".")[0] or "ac-out"
            entered = Node("in", name, None, None, children=[node], tie=Tie(name, port))
            if name in self.others:
                entered = Node("from", name, None, None, children=[node])
            self.trees.append(entered)
            for inner in [n.part for n in node.all() if n.kind == "tie" or n.part in self.others]:
                if inner != name:
                    self._outputs(inner)

    def _start(self, cable: Cable) -> str:
        ids = {self.system.conductors[name].from_node for name in cable.run.conductor_ids}
        ids |= {node for name in cable.devices for leg in self.system.devices[name].legs for node in leg}
        return next((node for node in sorted(ids) if self.system.nodes[node].part == cable.start), min(ids))

    def _node(self, name: str, cable: Cable | None) -> Node:
        part = self.system.parts[name]
        lead = self._lead(cable) if cable is not None else None
        if name in self.boxes:
            port = "ac-in"
            return Node("tie", name, cable, lead, tie=Tie(name, port))
        if part.roles.grounds:
            return Node("earth", name, cable, lead)
        if name in self.others:
            return Node("flag", name, cable, lead)
        node = Node("box", name, cable, lead)
        self.nodes[name] = node
        if isinstance(part, Panel):
            node.kind = "face"
            node.face = self._face(node, part)
        elif part.roles.is_busbar:
            node.kind = "bar"
            node.children = self._children(name)
        else:
            node.box = PartBlock(self.canvas, name, "", [], [], self._remarks(name))
            node.children = self._children(name)
        return node

    def _children(self, name: str) -> list[Node]:
        nodes = [self._node(cable.end, cable) for cable in self.forest.leaving.get(name, ())]
        return sorted(nodes, key=lambda node: node.kind != "tie")

    def _remarks(self, name: str) -> list[str]:
        result = self.canvas.task.design.loads.get(name)
        if result is None or not self.system.parts[name].roles.is_load:
            return []
        return [f"{captions.amperes(result.current_a)}, {captions.volts(result.voltage_v)}"]

    def _face(self, node: Node, panel: Panel) -> Face:
        leaving = {self.ways.get(cable.way): cable for cable in self.forest.leaving.get(panel.id, ())}
        again = {self.ways.get(c.way): c for c in self.forest.again if c.start == panel.id and c.way}
        devices = {d.way: d for d in self.system.devices.values() if d.panel == panel.id and d.way is not None}
        count = max([panel.ways or 0, *devices])
        rows: list[FaceRow] = []
        for way in range(1, count + 1):
            device, cable = devices.get(way), leaving.get(way) or again.get(way)
            if device is None or cable is None:
                rows.append(FaceRow(way, "", words="spare"))
                continue
            row = FaceRow(way, captions.rating(self.canvas.task, device), device=device.id)
            rows.append(row)
            self._fill(node, row, cable, again.get(way) is cable)
        for cable in self.forest.leaving.get(panel.id, ()):
            if not cable.way:
                node.children.append(self._node(cable.end, cable))
        node.children.sort(key=lambda child: child.kind == "earth")
        return Face(self.canvas, panel.id, rows, [f"AC {self.canvas.task.sheet(f'ac:{panel.id}')}"], not node.rows)

    def _fill(self, node: Node, row: FaceRow, cable: Cable, again: bool) -> None:
        """What a way feeds: loads are words of its row, anything else a node beside the face."""
        row.runs.append(cable.run.id)
        part = self.system.parts[cable.end]
        if again:
            row.words = f"to {cable.end}"
            return
        if not part.roles.is_load or cable.end in self.boxes:
            row.words = captions.name_of(part)
            result = self.canvas.task.design.loads.get(part.id)
            row.amperes = captions.amperes(result.current_a) if result is not None else ""
            node.rows[row.way] = self._node(cable.end, cable)
            return
        amps = 0.0
        waiting = [cable]
        while waiting:
            onward = waiting.pop(0)
            if onward.end in row.loads or self.system.parts[onward.end].roles.grounds:
                continue
            row.loads.append(onward.end)
            row.runs += [onward.run.id] if onward is not cable else []
            self.nodes[onward.end] = node
            result = self.canvas.task.design.loads.get(onward.end)
            amps += result.current_a if result is not None else 0.0
            waiting += self.forest.leaving.get(onward.end, [])
        row.amperes = captions.amperes(amps) if amps else ""

    def _lead(self, cable: Cable) -> Lead:
        offsets = [STROKES * place for place in range(len(cable.cores))]
        tracks = [[step for step in core.steps if step[1] != cable.way] for core in cable.cores]
        return Lead(self.canvas, tracks, offsets, [core.pole for core in cable.cores])

    # --- order, and second feeds -------------------------------------------------------------------------

    def _order(self) -> None:
        """A tree that feeds a panel of another a second time stands above it."""
        holds = {name: next((t for t in self.trees if node in t.all()), None) for name, node in self.nodes.items()}
        ordered: list[Node] = []
        waiting = list(self.trees)
        while waiting:
            ready = next((t for t in waiting if not self._awaits(t, waiting, holds)), waiting[0])
            waiting.remove(ready)
            ordered.append(ready)
        self.trees = ordered
        self.holds = holds

    def _awaits(self, tree: Node, waiting: Sequence[Node], holds: Mapping[str, Node | None]) -> bool:
        """True where another tree that is not placed yet feeds something of this one."""
        for cable in self.forest.again:
            if holds.get(cable.end) is tree or (tree.kind == "in" and cable.end == tree.part):
                other = self._tree_of(cable.start, holds)
                if other is not tree and other in waiting:
                    return True
        return False

    def _tree_of(self, part: str, holds: Mapping[str, Node | None]) -> Node | None:
        if part in holds:
            return holds[part]
        return next((tree for tree in self.trees if tree.kind == "in" and tree.part == part), None)

    def _feet(self) -> None:
        """The cables that feed what is fed already: straight down where the panel stands below, else to a flag."""
        for cable in self.forest.again:
            if cable.way:
                continue
            start, target = self.nodes.get(cable.start), self.nodes.get(cable.end)
            above, below = self.holds.get(cable.start), self.holds.get(cable.end)
            lead = self._lead(cable)
            if start is None:
                direct = cable.start in self.boxes
                tie = Tie(cable.start, "ac-out") if direct else None
                tree = Node("in" if direct else "from", cable.start, None, None, tie=tie)
                self.trees.append(tree)
                start, above = tree, tree
            if cable.end in self.boxes and start.kind != "face" and above in self.trees:
                start.children.append(Node("tie", cable.end, cable, lead, tie=Tie(cable.end, "ac-in")))
                continue
            reaches = (
                target is not None and target.kind in ("face", "bar") and above is not None and below is not None
                and above in self.trees and below in self.trees and target in (below, *below.children)
                and self.trees.index(above) < self.trees.index(below) and start in (above, *above.children)
            )  # fmt: skip
            node = Node("foot" if reaches else "flag", cable.end, cable, lead, target=target if reaches else None)
            start.children.append(node)

    def _beside(self) -> None:
        """Sources that do nothing but feed boxes of the direct-current part stand side by side."""
        plain = [t for t in self.trees if t.kind == "box" and t.children and all(c.kind == "tie" for c in t.children)]
        if len(plain) > 1:
            place = self.trees.index(plain[0])
            self.trees = [tree for tree in self.trees if tree not in plain]
            self.trees.insert(place, Node("row", "", None, None, children=plain))

    # --- measuring ---------------------------------------------------------------------------------------

    @property
    def left(self) -> float:
        """Room left of the trees, for the labels of cables that leave a panel to the left."""
        wide = [
            node.lead.width for tree in self.trees for face in tree.all() for node in face.rows.values()
            if node.kind == "tie" and node.lead is not None
        ]  # fmt: skip
        return max(wide, default=0.0) + (7.0 if wide else 4.0)

    def place(self, top: float, tops: Mapping[str, float]) -> float:
        """Sets every tree below the one before it, no box above `tops` (by part: the highest that its first port may
        be), and tells the boxes their levels. Returns the lower edge."""
        y = top + 9.0
        right_bottom = 0.0
        self.order: list[str] = []
        for tree in self.trees:
            tree.top = y
            self._set(tree, 0.0, y)
            self._stagger(tree)
            ties = [node for node in tree.all() if node.tie is not None]
            for node in ties:
                assert node.tie is not None
                box = self.boxes[node.tie.part]
                first = node.tie.part not in self.order
                least = max(tops[node.tie.part], right_bottom + 6.0 if first else 0.0)
                if not first:
                    least = max(least, max(level for _, level in box.ac) + 14.0, box.level + box.least - 3.0)
                if node.tie.level < least:
                    shift = least - node.tie.level
                    self._set(tree, 0.0, tree.top + shift)
                    self._stagger(tree)
            for node in ties:
                assert node.tie is not None
                box = self.boxes[node.tie.part]
                if node.tie.part not in self.order:
                    self.order.append(node.tie.part)
                    box.ac.clear()
                    box.level = node.tie.level - 14.0
                box.ac.append((node.tie.port, node.tie.level))
                box.tall = max(box.least, max(level for _, level in box.ac) + 6.0 - box.level)
                right_bottom = max(right_bottom, box.level + box.tall)
            lowest = max((node.tie.level + TURN for node in ties if node.tie is not None), default=0.0)
            y = max(tree.top + tree.height, lowest) + TREES
        self._lanes()
        self.bottom = y - TREES + 3.0 + lettering.LINE * len(self.words) + 3.0
        return self.bottom

    def _set(self, node: Node, x: float, top: float) -> None:
        """Places of a node and what hangs from it; `top` is where its cable begins."""
        node.x, node.top = x, top
        body = top + node.depth
        if node.tie is not None:
            node.tie.level = body if node.kind == "tie" else top
        at = x
        for child in node.children:
            self._set(child, at, body + node.body)
            at += child.width + GAP
        at = x + node.own_width + GAP
        for way, side in sorted(node.rows.items(), reverse=True):
            assert node.face is not None
            level = body + node.face.level(way)
            if side.kind == "tie" and side.tie is not None:
                side.top = level
                side.tie.level = level - STROKES
            else:
                self._set(side, at, level + 3.0)
                at += side.width + GAP

    def _stagger(self, tree: Node) -> None:
        """Cables that turn left from lanes side by side: the farther right, the lower."""
        turning = sorted((n for n in tree.all() if n.kind == "tie" and n.depth), key=lambda node: node.x)
        level = 0.0
        for node in turning:
            assert node.tie is not None
            if node in [n for face in tree.all() for n in face.rows.values()]:
                continue
            node.tie.level = max(node.tie.level, level)
            level = node.tie.level + TURN

    def _lanes(self) -> None:
        """The lanes of second feeds, right of everything between where they begin and the panel they end at."""
        taken = 0.0
        for tree in self.trees:
            for node in tree.all():
                if node.kind != "foot" or node.target is None:
                    continue
                below = next(t for t in self.trees if node.target in t.all())
                between = self.trees[self.trees.index(tree) + 1 : self.trees.index(below)]
                clear = [other.width + GAP for other in between]
                clear.append(node.target.x + LEAD + (node.target.lead.width if node.target.lead else 0.0) + GAP)
                if below.kind != "in":
                    clear.append(below.own_width + GAP)
                node.lane = max([node.x, taken, *clear])
                taken = node.lane + node.own_width + GAP
                assert node.lead is not None
                node.target.lanes.append(node.lane + LEAD + node.lead.spread)
                if node.target.face is not None:
                    face = node.target.face
                    face.width = max(face.width, node.target.lanes[-1] + 4.0 - node.target.x)

    @property
    def width(self) -> float:
        lanes = [n.lane + n.own_width for tree in self.trees for n in tree.all() if n.kind == "foot"]
        texts = [lettering.width(text) for text in self.words]
        return max([*(tree.width for tree in self.trees), *lanes, *texts, 40.0]) + self.left + 5.0

    # --- drawing -----------------------------------------------------------------------------------------

    def draw(self, x: float, top: float, bottom: float) -> None:
        canvas, settings = self.canvas, self.system.settings
        canvas.add("ac", "AC", "tint", Box(x, top, self.width, bottom - top, "t"))
        volts = settings.ac or "supply"
        text = f"AC {volts} V, {settings.frequency_hz:g} Hz" if settings.ac else "AC"
        head = words(x + 3.0, top + 5.2, text, bold=True, size=lettering.TITLE, fill="#7A3E12")
        canvas.add("heads", "AC", "symbol", head)
        for tree in self.trees:
            self._draw(tree, x + self.left, None, [])
        y = bottom - 3.4 - lettering.LINE * (len(self.words) - 1)
        for line in self.words:
            canvas.add("heads", "neutral", "symbol", words(x + 3.0, y, line))
            y += lettering.LINE

    def _draw(self, node: Node, origin: float, before: Sequence[Sequence[Point]] | None, parent: list[Node]) -> None:
        canvas = self.canvas
        at, top = origin + node.x + LEAD, node.top
        body = top + node.depth
        if node.kind == "tie":
            self._draw_tie(node, at, top, before)
            return
        if node.kind == "in" and node.tie is not None:
            edge = self.boxes[node.tie.part].right
            for child in node.children:
                count = len(child.lead.offsets) if child.lead is not None else 0
                rank = [node.tie.level + STROKES * (count - 1 - n) for n in range(count)]
                at = origin + (child.lane if child.kind == "foot" else child.x) + LEAD
                corners: list[list[Point]] = [[(edge, rank[n]), (at + STROKES * n, rank[n])] for n in range(count)]
                self._draw(child, origin, corners, [node])
            return
        if node.kind == "foot" and node.target is not None and node.lead is not None:
            lane = origin + node.lane + LEAD
            turn: list[list[Point]] = []
            if abs(lane - at) > 0.1 and not (parent and parent[-1].kind == "bar"):
                count = len(node.lead.offsets)
                levels = [top + 2.0 + STROKES * (count - 1 - n) for n in range(count)]
                turn = [
                    [(at + STROKES * n, top), (at + STROKES * n, levels[n]), (lane + STROKES * n, levels[n])]
                    for n in range(count)
                ]
                top += 2.0 + STROKES * count
            node.lead.draw(lane, top, node.target.top + node.target.depth, before=before or turn)
            return
        if node.lead is not None:
            node.lead.draw(at, top, body, before=before or ())
        if node.kind == "earth":
            earth_mark(canvas, node.part, at, body)
        elif node.kind == "flag":
            mark = canvas.add("goes-on", node.part, "mark", Polyline(((at, body), (at, body + 2.2)), "o", 0.5))
            mark.add(arrow(at, body + 3.8, "down"))
            mark.add(words(at + 2.2, body + 3.6, f"to {node.part}{canvas.zones.get(node.part, '')}", bold=True))
        elif node.kind == "from":
            mark = canvas.add("goes-on", node.part, "mark", Disc(at, body + 5.6, 0.8, "w"))
            mark.add(words(at + 2.2, body + 4.4, f"from {node.part}{canvas.zones.get(node.part, '')}", bold=True))
        elif node.kind == "bar":
            self._draw_bar(node, origin, body)
        elif node.face is not None:
            node.face.draw(origin + node.x, body)
            self._draw_rows(node, origin, body)
        elif node.box is not None:
            node.box.draw(origin + node.x, body, body + node.box.least, body)
        for child in node.children:
            self._draw(child, origin, None, [*parent, node])

    def _draw_tie(self, node: Node, at: float, top: float, before: Sequence[Sequence[Point]] | None) -> None:
        assert node.tie is not None and node.lead is not None
        edge, level = self.boxes[node.tie.part].right, node.tie.level
        after: list[list[Point]] = [[(edge, level + STROKES * n)] for n in range(len(node.lead.offsets))]
        lead = node.lead
        if not after:
            return
        for n, track in enumerate(after):
            track.insert(0, (at + STROKES * n, level + STROKES * n))
        lead.draw(at, top, level, before=before or (), after=after)

    def _draw_bar(self, node: Node, origin: float, y: float) -> None:
        """A bar of an alternating current, its cores together; the sheet of the supply draws them apart."""
        ends: list[float] = []
        for child in node.children:
            start = origin + (child.lane if child.kind == "foot" else child.x) + LEAD
            ends += [start, start + (child.lead.spread if child.lead is not None else 0.0)]
        if node.lead is not None:
            ends += [origin + node.x + LEAD, origin + node.x + LEAD + node.lead.spread]
        ends += [origin + lane for lane in node.lanes]
        left, right = min(ends) - 2.4, max(ends) + 2.4
        group = self.canvas.add("part", node.part, "bar", at=(right, y))
        group.add(Box(left, y, right - left, BAR, "ba"))
        for end in dict.fromkeys(ends):
            group.add(Disc(end, y + BAR / 2, 0.5, "k"))
        group.add(words(right + 1.6, y + BAR / 2 + 1.0, node.part, bold=True))

    def _draw_rows(self, node: Node, origin: float, body: float) -> None:
        assert node.face is not None
        for way, side in node.rows.items():
            level = body + node.face.level(way)
            if side.kind == "tie" and side.lead is not None and side.tie is not None:
                self._draw_row_tie(side, origin + node.x, level)
                continue
            count = len(side.lead.offsets) if side.lead is not None else 0
            edge = origin + node.x + node.face.width
            rank = [level + STROKES * ((count - 1) / 2 - n) for n in range(count)]
            at = origin + side.x + LEAD
            corners: list[list[Point]] = [[(edge, rank[n]), (at + STROKES * n, rank[n])] for n in range(count)]
            self._draw(side, origin, corners, [node])

    def _draw_row_tie(self, side: Node, edge: float, level: float) -> None:
        """A way that feeds a box of the direct-current part: straight to the left, its label above it."""
        assert side.tie is not None and side.lead is not None
        box = self.boxes[side.tie.part]
        lines = [line for slot in side.lead.slots for line in slot.lines]
        side.lead.level(box.right, edge, [level + STROKES * (n - 1) for n in range(len(side.lead.offsets))])
        y = level - 3.2 - lettering.LINE * (len(lines) - 1)
        group = self.canvas.add("label", next(iter(side.lead.slots[0].members.values())), "symbol")
        for line in lines:
            text, bold = line.runs[0]
            group.add(words(edge - 1.4, y, text, bold=bold, anchor="end"))
            y += lettering.LINE

    def _sentences(self) -> list[str]:
        """Where and when neutral is bonded, and which selectors exclude each other."""
        texts: list[str] = []
        for part in self.system.parts.values():
            if getattr(part, "bonds_neutral", False):
                if part.roles.converts:
                    texts.append(f"Neutral bonded in {part.id} while it inverts")
                elif any(port == "ac-in" for port in part.reaches):
                    texts.append(f"Neutral bonded in {part.id}")
                elif "earth_loop_ohm" in type(part).__dataclass_fields__:
                    texts.append(f"Neutral bonded ashore while on {part.id}")
                else:
                    texts.append(f"Neutral bonded at {part.id} while it runs")
        by_end: dict[str, list[str]] = {}
        for run in self.system.runs.values():
            if run.current == "ac":
                for name in run.device_ids:
                    if self.system.devices[name].roles.chooses:
                        by_end.setdefault(run.to_end.split(".")[0], []).append(name)
        texts += [
            f"Interlock: {' or '.join(names)}, one closed at a time" for names in by_end.values() if len(names) > 1
        ]
        return texts
