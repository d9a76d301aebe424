"""From the wiring to the blocks of sheet 1: a walk from the main bank's positive rail that draws every chain once.

What the walk meets a second time is a flag that names where it is; what it never meets begins with one. So any wiring
becomes columns side by side, and nothing crosses.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from copperplate.drawing import captions
from copperplate.drawing.branches import LadderRow, LadderSection
from copperplate.drawing.diagram.blocks import Block, Column, End, Region, SharedRail, Stray, Tail
from copperplate.drawing.diagram.canvas import Canvas
from copperplate.drawing.diagram.faces import Face, FaceBlock, FaceRow, Sub
from copperplate.drawing.diagram.graph import Chain, PowerGraph
from copperplate.drawing.diagram.leads import Lead
from copperplate.drawing.diagram.parts import PAIR, BankBlock, ConverterBlock, Hung, PartBlock, rank
from copperplate.drawing.wiring import Side, WiringEdge, is_point
from copperplate.model import Battery, Part
from copperplate.model.parts import Panel


class Builder:
    """One walk. `root`: the rail of the main bank; `ground`: the negative rail that the bars end on."""

    def __init__(self, canvas: Canvas, sections: Sequence[LadderSection], held: set[WiringEdge]) -> None:
        self.canvas = canvas
        self.wiring = canvas.task.wiring
        self.system = canvas.task.design.system
        self.graph = PowerGraph(self.wiring, held)
        self.sections = {section.panel: section for section in sections}
        self.placed: set[str] = set()
        """Rails and terminals that are drawn or being drawn."""
        self.done: set[tuple[str, str]] = set()
        """Sides of parts, by part and side."""
        self.shown: set[str] = set()
        """Parts that have a box or a row."""
        self.fed: dict[str, Chain] = {}
        self.legs: dict[str, list[Tail]] = {}
        self.boxes: dict[str, PartBlock] = {}

    # --- the whole ---------------------------------------------------------------------------------------

    def build(self) -> tuple[str, str, list[Block], list[Tail]]:
        """Root rail, ground rail ("" where there is none), the columns in order, and what hangs below the ground."""
        root, self.ground = self._roots()
        self.placed |= {root, self.ground} - {""}
        self.fed = self._feeders(root) if root else {}
        children = self._hanging(root) if root else []
        for node in self._islands():
            children.append(self._island(node))
        self._find_legs()
        children += [stray for stray in self._strays()]
        below = self.legs.pop(self.ground, [])
        children.sort(key=self._key)
        region = Region(self.canvas, root or "none", children) if children else None
        if region is not None:
            self._group(region, self._totals(region, below))
        return root, self.ground, region.children if region is not None else [], below

    def _key(self, block: Block) -> tuple[tuple[int, ...], str]:
        return block.order, block.name

    def _roots(self) -> tuple[str, str]:
        """The bars that the main bank meets first on either side, else its terminals; without a bank those of the first
        source that has conductors."""

        def weight(part: Battery) -> float:
            return (part.voltage_v or 0.0) * (part.capacity_ah or 0.0) * part.series * part.parallel

        banks = sorted(self.system.of(Battery), key=lambda part: (-weight(part), part.id))
        for part in [*banks, *self.system.parts.values()]:
            for side in self.wiring.sides[part.id]:
                if side.pos and self.graph.left(side.pos) and not part.roles.protects:
                    first = self._first_bar(side.pos) or side.pos
                    second = (self._first_bar(side.neg) or side.neg) if side.neg else ""
                    return first, "" if self.wiring.roles_at(second).grounds else second
        bar = next((node for node in self.graph.at if self.wiring.roles_at(node).is_busbar), "")
        return bar, ""

    def _feeders(self, root: str) -> dict[str, Chain]:
        """By bar, the chain that leads to it from the root past the fewest other rails, and past no part."""
        fed: dict[str, Chain] = {}
        front, seen = [root], {root}
        while front:
            here = front.pop(0)
            for chain in self.graph.chains(here):
                part = self.wiring.part_at(chain.end)
                if chain.end in seen or (part is not None and not is_point(part)):
                    continue
                seen.add(chain.end)
                front.append(chain.end)
                if self.wiring.roles_at(chain.end).is_busbar:
                    fed[chain.end] = chain
        return fed

    def _first_bar(self, node: str) -> str:
        """The nearest bar of the same pole along chains, without passing a part."""
        seen, front = {node}, [node]
        while front:
            for here in front:
                if self.wiring.roles_at(here).is_busbar:
                    return here
            ends = [chain.end for here in front for chain in self.graph.chains(here) if self._passes(here, node)]
            front = [end for end in dict.fromkeys(ends) if end not in seen]
            seen.update(front)
        return ""

    def _passes(self, here: str, start: str) -> bool:
        if here == start or self.graph.side_at(here) is None:
            return True
        return self.wiring.roles_at(here).stores and self.wiring.is_low(here) == self.wiring.is_low(start)

    def _islands(self) -> Iterator[str]:
        """Positive rails and terminals that the walk has not reached, batteries first."""
        parts = sorted(self.system.parts.values(), key=lambda part: (not part.roles.stores, not part.roles.gives))
        for part in parts:
            nodes = [side.pos for side in self.wiring.sides[part.id] if part.roles.gives and not part.roles.protects]
            if part.roles.is_busbar:
                nodes = [node for node in self.graph.at if self.wiring.owner(node) == part.id]
            for node in nodes:
                if node and node not in self.placed and self.graph.left(node) and not self.wiring.is_low(node):
                    yield node

    def _island(self, node: str) -> Block:
        self.placed.add(node)
        bar = self._first_bar(node)
        if bar and bar not in self.placed:
            self.placed.discard(node)
            node = bar
            self.placed.add(node)
        region = Region(self.canvas, node, sorted(self._hanging(node), key=self._key))
        region.hangs = False
        region.order = (2, 8)
        return region

    def lonely(self, name: str) -> Block:
        """A part that no conductor of this sheet reaches."""
        part = self.system.parts[name]
        if isinstance(part, Battery):
            block: Block = BankBlock(self.canvas, name, Tail(self.canvas, "loose", f"{name}.neg", None))
        elif isinstance(part, Panel) and not part.ac:
            block = self._face(name, Side(name, "", None, None), False)
        else:
            block = PartBlock(self.canvas, name, "", [], [], self._remarks(name))
        self.shown.add(name)
        block.hangs = False
        block.order = (2, 9)
        return block

    def _strays(self) -> Iterator[Block]:
        while self.graph.free:
            chain = self.graph.take(self.graph.whole(next(iter(self.graph.free))))
            yield Stray(self.canvas, chain.start, self._lead(chain), self._tail_to(chain.end, None))

    # --- downwards from a rail ---------------------------------------------------------------------------

    def _hanging(self, node: str) -> list[Block]:
        """What hangs from a rail: the part whose terminal it is, and a column for each chain."""
        blocks: list[Block] = []
        side = self.graph.side_at(node)
        if side is not None and node == side.pos and (side.part, side.name) not in self.done:
            blocks.append(self._part(side))
        while chains := self.graph.chains(node):
            chain = self.graph.take(self._best(chains))
            blocks.append(Column(self._lead(chain), self._body(chain.end, by=chain)))
        return blocks

    def _best(self, chains: list[Chain]) -> Chain:
        """The chain to draw next: to a bank first, then in order of the part that it ends at."""

        def key(chain: Chain) -> tuple[tuple[int, ...], str]:
            part = self.wiring.part_at(chain.end)
            return (rank(self.canvas, part.id, self._side_name(chain.end)), part.id) if part else ((5,), chain.end)

        return min(chains, key=key)

    def _side_name(self, node: str) -> str:
        side = self.graph.side_at(node)
        return side.name if side is not None else ""

    def _body(self, node: str, pair: bool = False, by: Chain | None = None) -> Block:
        """What a lead from above ends at. `by`: its chain; a bar hangs from the chain that feeds it most straightly."""
        if self.wiring.roles_at(node).grounds:
            self.shown.add(self.wiring.owner(node))
            return End(self.canvas, "earth", node)
        straight = self.fed.get(node)
        if node in self.placed or (straight is not None and (by is None or set(by.edges) != set(straight.edges))):
            return End(self.canvas, "flag", node)
        side = self.graph.side_at(node)
        if side is None:
            part = self.wiring.part_at(node)
            if part is not None and not is_point(part):
                return End(self.canvas, "flag", node) if part.id in self.shown else self._several(part, node)
            if not self.graph.left(node):
                self.placed.add(node)
                return End(self.canvas, "loose", node)
            return self._region(node)
        if (side.part, side.name) in self.done or node != side.pos:
            return End(self.canvas, "flag", node)
        if self.graph.left(node) and not isinstance(self.system.parts[side.part], Panel):
            return self._region(node)
        self.placed.add(node)
        return self._part(side, pair)

    def _several(self, part: Part, node: str) -> Block:
        """A part with terminals of its own kind, as a selector: entered at one, what the others lead to below it."""
        self.shown.add(part.id)
        self.placed.add(node)
        hung: list[Hung] = []
        for other in self.graph.at:
            if self.wiring.owner(other) == part.id and other != node and other not in self.placed:
                self.placed.add(other)
                for chain in self.graph.chains(other):
                    self.graph.take(chain)
                    hung.append(Hung(self._port(other), Column(self._lead(chain), self._body(chain.end))))
        return PartBlock(self.canvas, part.id, self._port(node), [], hung, self._remarks(part.id))

    def _port(self, node: str) -> str:
        return self.system.nodes[node].port or "out"

    def _region(self, node: str) -> Region:
        self.placed.add(node)
        part = self.wiring.part_at(node)
        if part is not None:
            self.shown.add(part.id)
        return Region(self.canvas, node, sorted(self._hanging(node), key=self._key))

    def _part(self, side: Side, pair: bool = False) -> Block:
        """The block of a part that is entered at the positive terminal of `side`."""
        canvas, name = self.canvas, side.part
        part = self.system.parts[name]
        self.done.add((name, side.name))
        self.shown.add(name)
        if isinstance(part, Panel):
            return self._face(name, side, pair)
        if isinstance(part, Battery):
            return BankBlock(canvas, name, self._tail(side.neg))
        entry = f"{side.name} +".strip()
        tails = [] if pair else self._tails(side)
        hung: list[Hung] = []
        outlet: tuple[str, list[Chain]] | None = None
        for other in self.wiring.sides[name]:
            if (name, other.name) in self.done or other.pos is None:
                continue
            self.done.add((name, other.name))
            chains = self.graph.chains(other.pos)
            self.placed.add(other.pos)
            pairs = [self._pair(chain, other) for chain in chains]
            if chains and all(pairs):
                hung += [self._hang_pair(chain, other) for chain in chains]
                continue
            if outlet is None and (len(chains) > 1 or (len(chains) == 1 and self._is_open_rail(chains[0].end))):
                outlet = (other.name, chains)
                continue
            for chain in chains:
                self.graph.take(chain)
                hung.append(Hung(other.name, Column(self._lead(chain), self._body(chain.end))))
            tails += self._tails(other)
        tails += [("", tail) for tail in self.earths(name)]
        box = PartBlock(canvas, name, entry, tails, hung, self._remarks(name), paired=pair)
        self.boxes[name] = box
        if outlet is None:
            return box
        return self._outlet(box, *outlet)

    def _tails(self, side: Side) -> list[tuple[str, Tail]]:
        """What leaves the negative terminal of a side; nothing where no conductor reaches it."""
        if side.neg is None or not (self.graph.at.get(side.neg) or self.wiring.roles_at(side.neg).grounds):
            return []
        return [(side.name, self._tail(side.neg))]

    def earths(self, name: str) -> list[Tail]:
        """The earthing conductors of a case."""
        tails: list[Tail] = []
        for run in self.system.runs.values():
            ends = self.system.end_parts(run)
            if run.current == "ac" and run.earth and name in ends:
                other = ends[1] if ends[0] == name else ends[0]
                steps = [("conductor", conductor) for conductor in run.conductor_ids]
                node = next(node for node in self.system.nodes if self.system.nodes[node].part == other)
                tails.append(Tail(self.canvas, "earth", node, Lead(self.canvas, [steps], [0.0], ["pe"]), pole="pe"))
                self.shown.add(other)
        return tails

    def _is_open_rail(self, node: str) -> bool:
        """True of a rail that more hangs from, and that nothing has drawn yet."""
        if node in self.placed or self.wiring.roles_at(node).grounds or self.wiring.is_low(node):
            return False
        return len(self.graph.left(node)) > 1 and not isinstance(self.wiring.part_at(node), Panel)

    def _outlet(self, box: PartBlock, side: str, chains: list[Chain]) -> Block:
        other = next(each for each in self.wiring.sides[box.name] if each.name == side)
        lead = None
        node = other.pos or ""
        if len(chains) == 1:
            chain = self.graph.take(chains[0])
            lead, node = self._lead(chain.reversed()), chain.end
            self.placed.add(node)
            part = self.wiring.part_at(node)
            if part is not None:
                self.shown.add(part.id)
        back = None
        if other.neg is not None and self.graph.left(other.neg):
            back = self._tail(other.neg)
        region = Region(self.canvas, node, sorted(self._hanging(node), key=self._key))
        return ConverterBlock(box, side, lead, region, back)

    def _pair(self, chain: Chain, side: Side) -> bool:
        """True where a chain leads to a part of which nothing else leaves but one chain back to `side`."""
        far = self.graph.side_at(chain.end)
        if far is None or far.neg is None or side.neg is None or far.pos != chain.end or chain.end in self.placed:
            return False
        if len(self.graph.left(far.pos)) != 1 or len(self.wiring.sides[far.part]) > 1:
            return False
        if self.wiring.roles_at(far.pos).stores:
            return False
        back = self.graph.chains(far.neg)
        return len(back) == 1 and back[0].end == side.neg

    def _hang_pair(self, chain: Chain, side: Side) -> Hung:
        self.graph.take(chain)
        far = self.graph.side_at(chain.end)
        assert far is not None and far.neg is not None
        back = self.graph.take(self.graph.chains(far.neg)[0]).reversed()
        lead = Lead(self.canvas, [self._steps(chain), self._steps(back)], [0.0, PAIR], ["pos", "neg"])
        self.placed |= {chain.end, far.neg}
        return Hung(side.name, self._part(far, pair=True), lead)

    def _remarks(self, name: str) -> list[str]:
        result = self.canvas.task.design.loads.get(name)
        part = self.system.parts[name]
        lines: list[str] = []
        if result is not None and part.roles.is_load:
            lines.append(f"{captions.amperes(result.current_a)}, {captions.volts(result.voltage_v)}")
            lines.append(f"drop {result.drop_percent:.1f} %")
        runs = [run for run in self.system.runs.values() if name in self.system.end_parts(run)]
        if any(run.signal_a is not None for run in runs):
            lines.append(f"signals, {self.canvas.task.sheet('control')}")
        return lines

    # --- panels ------------------------------------------------------------------------------------------

    def _face(self, name: str, side: Side, pair: bool) -> Block:
        section = self.sections.get(name)
        rows, subs, backs = self._rows(name, section)
        tails: list[Tail] = []
        if not pair and side.neg is not None:
            tails.append(self._tail(side.neg))
        own = side.neg or ""
        for node, count in backs.items():
            if node == own:
                continue
            kind = "earth" if self.wiring.roles_at(node).grounds else "foot"
            if kind == "earth":
                self.shown.add(self.wiring.owner(node))
            tails.append(Tail(self.canvas, kind, node, None, count=count))
        return FaceBlock(self.canvas, Face(self.canvas, name, rows, self._detail(name), not subs), tails, subs, pair)

    def _detail(self, name: str) -> list[str]:
        """Where the ladder of a panel stands."""
        key = f"circuits:{name}"
        return [f"circuits {self.canvas.task.sheet(key)}"] if name in self.sections else []

    def _rows(self, name: str, section: LadderSection | None) -> tuple[list[FaceRow], list[Sub], dict[str, int]]:
        panel = self.system.parts[name]
        devices = {d.way: d for d in self.system.devices.values() if d.panel == name and d.way is not None}
        count = max([getattr(panel, "ways", None) or 0, *(way or 0 for way in devices)])
        by_way: dict[int, list[LadderRow]] = {}
        for ladder in section.rows if section is not None else ():
            by_way.setdefault(ladder.way or 0, []).append(ladder)
        rows: list[FaceRow] = []
        subs: list[Sub] = []
        backs: dict[str, int] = {}
        for way in range(1, count + 1):
            device = devices.get(way)
            if device is None:
                rows.append(FaceRow(way, "", words="spare"))
                continue
            row = FaceRow(way, captions.rating(self.canvas.task, device), runs=[device.run], device=device.id)
            rows.append(row)
            for ladder in by_way.get(way, ()):
                self._fill(row, ladder, subs, backs)
            amps = [r.current_a for load in row.loads if (r := self.canvas.task.design.loads.get(load)) is not None]
            row.amperes = captions.amperes(sum(amps)) if amps else ""
            if not row.loads and not row.words:
                row.words = f"to {self.system.runs[device.run].to_end}" if device.run in self.system.runs else "-"
        return rows, subs, backs

    def _fill(self, row: FaceRow, ladder: LadderRow, subs: list[Sub], backs: dict[str, int]) -> None:
        """One rung of a ladder into its row of the face; what is no load gets a column beside the face."""
        for step in (*ladder.positive, *ladder.negative):
            if isinstance(step, str):
                part = self.wiring.part_at(step)
                if part is not None and part.roles.is_splice and part.id not in row.joins:
                    row.joins.append(part.id)
                    self.shown.add(part.id)
            elif step.kind == "conductor":
                run = self.system.conductors[step.id].run
                if run not in row.runs:
                    row.runs.append(run)
        part = self.system.parts.get(ladder.part)
        end = ladder.positive[-1] if ladder.positive else None
        if part is not None and part.roles.is_load:
            if part.id not in row.loads:
                row.loads.append(part.id)
            self.shown.add(part.id)
            if ladder.back_to and ladder.above_back is None:
                backs[ladder.back_to] = backs.get(ladder.back_to, 0) + 1
            return
        target = ladder.flag
        if part is not None:
            side = next(each for each in self.wiring.sides[part.id] if each.name == ladder.side)
            target = side.pos or ""
        edges = [step for step in ladder.positive if not isinstance(step, str)]
        name = captions.end(self.canvas.task, target) if target else ""
        row.words = captions.name_of(part) if part is not None else f"to {name}"
        if ladder.above is None and target and end is not None and not row.loads:
            column = self._beside(edges, target, ladder, part is not None)
            if column is not None:
                subs.append(Sub(row.way, column))

    def _beside(self, edges: list[WiringEdge], target: str, ladder: LadderRow, is_part: bool) -> Column | None:
        steps = [(edge.kind, edge.id) for edge in edges[1:]]
        if not steps:
            return None
        lead = Lead(self.canvas, [steps], [0.0], ["pos"])
        self.back = ladder
        body = self._body(target)
        self.back = None
        return Column(lead, body)

    back: LadderRow | None = None

    # --- downwards from a negative terminal --------------------------------------------------------------

    def _tail(self, node: str | None) -> Tail:
        """What leaves a part at its negative terminal."""
        canvas = self.canvas
        if node is None:
            return Tail(canvas, "loose", "", None)
        side = self.wiring.side_of.get(node)
        if self.back is not None and self.back.negative and _first_node(self.back, side) == node:
            edges = [step for step in self.back.negative if not isinstance(step, str)]
            end, self.back = self.back.back_to, None
            lead = Lead(canvas, [[(edge.kind, edge.id) for edge in edges]], [0.0], ["neg"])
            return self._tail_to(end, lead)
        if self.wiring.roles_at(node).grounds:
            return self._tail_to(node, None)
        chains = self.graph.chains(node)
        if not chains:
            on_bar = node in self.placed or self.wiring.roles_at(node).is_busbar
            return Tail(canvas, "foot" if on_bar or self.graph.at.get(node) else "loose", node, None)
        if len(chains) > 1 or node == self.ground:
            return Tail(canvas, "foot", node, None)
        chain = self.graph.take(chains[0])
        return self._tail_to(chain.end, self._lead(chain))

    def _tail_to(self, node: str, lead: Lead | None) -> Tail:
        canvas = self.canvas
        if self.wiring.roles_at(node).grounds:
            self.shown.add(self.wiring.owner(node))
            return Tail(canvas, "earth", node, lead)
        side = self.graph.side_at(node)
        if side is not None and node == side.pos:
            if (side.part, side.name) not in self.done and node not in self.placed:
                return Tail(canvas, "block", node, lead, self._body(node))
            return Tail(canvas, "flag", node, lead)
        if not self.wiring.owner(node) and not self.graph.left(node):
            return Tail(canvas, "loose", node, lead)
        return Tail(canvas, "foot", node, lead)

    def _find_legs(self) -> None:
        """The chains between negative rails that no part leads to, each below the rail that is farther from ground."""
        canvas = self.canvas
        front = [self.ground] if self.ground else []
        nodes = [node for node in self.graph.at if self.wiring.is_low(node)]
        reached = set(front)
        while front or nodes:
            if not front:
                node = nodes.pop(0)
                is_ready = node not in reached and self.graph.left(node) and not self._is_loose(node)
                if not is_ready or self.wiring.roles_at(node).grounds:
                    continue
                reached.add(node)
                front = [node]
            here = front.pop(0)
            for chain in self.graph.chains(here):
                if any(edge not in self.graph.free for edge in chain.edges):
                    continue
                end = chain.end
                if self.wiring.roles_at(end).grounds or end in reached:
                    kind = "earth" if self.wiring.roles_at(end).grounds else "flag"
                    self.shown.add(self.wiring.owner(end)) if kind == "earth" else None
                    self.graph.take(chain)
                    tail = Tail(canvas, kind, end, self._lead(chain))
                    self.legs.setdefault(here, []).append(tail)
                elif self.wiring.is_low(end) and not self._is_loose(end):
                    self.graph.take(chain)
                    reached.add(end)
                    front.append(end)
                    self.legs.setdefault(end, []).insert(0, Tail(canvas, "foot", here, self._lead(chain.reversed())))

    def _is_loose(self, node: str) -> bool:
        return len(self.graph.at.get(node, ())) == 1 and not self.wiring.roles_at(node).is_busbar

    # --- inner negative rails ----------------------------------------------------------------------------

    def _totals(self, region: Region, below: Sequence[Tail]) -> dict[str, int]:
        totals: dict[str, int] = {}
        tails = [*region.feet(), *below, *(leg for legs in self.legs.values() for leg in legs)]
        for tail in tails:
            if tail.kind == "foot":
                totals[tail.node] = totals.get(tail.node, 0) + 1
        return totals

    def _group(self, block: Block, totals: dict[str, int]) -> None:
        """Sets blocks that share a negative rail of their own on it, the innermost first; a foot that cannot reach its
        rail so becomes a flag."""
        for region in _regions(block):
            self._group_in(region, totals, outermost=region is block)

    def _group_in(self, region: Region, totals: dict[str, int], outermost: bool) -> None:
        settled: set[str] = set()
        while True:
            counts: dict[str, int] = {}
            for foot in region.feet():
                counts[foot.node] = counts.get(foot.node, 0) + 1
            ready = [
                node
                for node, count in counts.items()
                if node != self.ground and node not in settled and (count == totals[node] or outermost)
            ]
            if not ready:
                break
            ready.sort(key=lambda node: sum(any(f.node == node for f in c.feet()) for c in region.children))
            node = ready[0]
            settled.add(node)
            members = [child for child in region.children if child.feet() and all(f.node == node for f in child.feet())]
            strangers = [f for child in region.children if child not in members for f in child.feet() if f.node == node]
            if strangers and not members:
                continue
            legs = self.legs.pop(node, [])
            for foot in strangers:
                foot.kind = "flag"
            owner = self.wiring.part_at(node)
            if owner is not None:
                self.shown.add(owner.id)
            place = region.children.index(members[0])
            group = SharedRail(self.canvas, node, members, legs)
            region.children = [child for child in region.children if child not in members]
            region.children.insert(place, group)
        if outermost:
            for foot in region.feet():
                if foot.node != self.ground:
                    foot.kind = "flag"

    # --- small things ------------------------------------------------------------------------------------

    def _steps(self, chain: Chain) -> list[tuple[str, str]]:
        steps: list[tuple[str, str]] = []
        for place, edge in enumerate(chain.edges):
            if place and self.wiring.roles_at(chain.nodes[place]).is_splice:
                steps.append(("splice", chain.nodes[place]))
                self.shown.add(self.wiring.owner(chain.nodes[place]))
            steps.append((edge.kind, edge.id))
        return steps

    def _lead(self, chain: Chain) -> Lead:
        low = self.wiring.is_low(chain.start) and self.wiring.is_low(chain.end)
        return Lead(self.canvas, [self._steps(chain)], [0.0], ["neg" if low else "pos"])


def _first_node(ladder: LadderRow, side: Side | None) -> str:
    return side.neg or "" if side is not None and side.part == ladder.part else ""


def _regions(block: Block) -> Iterator[Region]:
    """The regions inside a block, the innermost first, itself last."""
    for child in _inside(block):
        yield from _regions(child)
    if isinstance(block, Region):
        yield block


def _inside(block: Block) -> list[Block]:
    if isinstance(block, Region):
        return list(block.children)
    if isinstance(block, Column):
        return [block.body]
    if isinstance(block, ConverterBlock):
        return [block.box, block.region]
    if isinstance(block, PartBlock):
        return [*(hung.block for hung in block.hung), *(t.block for _, t in block.tails if t.block is not None)]
    if isinstance(block, FaceBlock):
        return [sub.column for sub in block.subs]
    if isinstance(block, BankBlock):
        return [block.tail.block] if block.tail.block is not None else []
    return []
