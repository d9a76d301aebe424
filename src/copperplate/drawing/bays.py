"""Power wiring as bays: what hangs between which bars, derived from the wiring.

A *rail* is a node drawn as a bar: every bus, and every terminal where three or more things meet. A *bay* is a
chain of edges from a rail above to a rail below (or to an end). A *link* joins two rails of one row. What feeds
the second side of a converter or controller *hangs* from it. Rails may be drawn in several pieces, so any wiring
becomes bays side by side that cross nothing.
"""

from __future__ import annotations

from copperplate.drawing import order
from copperplate.drawing.banks import gather
from copperplate.drawing.bay import Bay, Power
from copperplate.drawing.wiring import DcWiring, WiringEdge
from copperplate.model.parts import Panel


def bays(wiring: DcWiring, used: set[WiringEdge], sides: set[tuple[str, str]], roots: list[str]) -> Power:
    """The power wiring: everything that no ladder has taken (`used`, `sides`). `roots` are the nodes that ladders
    start from: a part that only ladders leave is drawn between rails of its own."""
    return _Bays(wiring, used, sides, roots).power()


class _Bays:
    def __init__(self, wiring: DcWiring, used: set[WiringEdge], sides: set[tuple[str, str]], roots: list[str]) -> None:
        self.wiring = wiring
        self.roots = set(roots)
        edges = [edge for edge in wiring.edges if edge not in used]
        for part, all_sides in wiring.sides.items():
            is_load = wiring.system.parts[part].roles.is_load
            for side in all_sides:
                if is_load or (part, side.name) in sides:
                    continue
                if side.pos is not None and side.neg is not None:
                    edges.append(WiringEdge("part", part, side.pos, side.neg, side.name))
                elif side.pos is not None or side.neg is not None:
                    end = side.pos or side.neg or ""
                    edges.append(WiringEdge("part", part, end, f"{end}|{part}", side.name))
        edges = self._drop_bare_sides(edges, sides)
        batteries = [e for e in edges if e.kind == "part" and wiring.system.parts[e.id].roles.stores]
        edges, self.banks = gather(edges, batteries)
        self.at: dict[str, list[WiringEdge]] = {}
        for edge in edges:
            self.at.setdefault(edge.a, []).append(edge)
            self.at.setdefault(edge.b, []).append(edge)
        self.edges = edges
        self.rails: dict[str, None] = {}

    def _drop_bare_sides(self, edges: list[WiringEdge], sides: set[tuple[str, str]]) -> list[WiringEdge]:
        """Leaves out sides that no conductor reaches; and those that only ladders leave, where the part stands
        elsewhere by its other side."""
        joined = {node for edge in edges if edge.kind != "part" for node in (edge.a, edge.b)}
        bare = {edge for edge in edges if edge.kind == "part" and not {edge.a, edge.b} & joined}
        stands = {part for part, _ in sides} | {edge.id for edge in edges if edge.kind == "part" and edge not in bare}
        return [edge for edge in edges if edge not in bare or ({edge.a, edge.b} & self.roots and edge.id not in stands)]

    # --- rails and chains --------------------------------------------------------------------------------

    def power(self) -> Power:
        for node in self.at:
            if self._is_rail(node):
                self.rails[node] = None
        for _ in range(len(self.at) + 2):
            chains, loops = self._trace()
            settled, unsettled = self._settle(chains, loops)
            if not unsettled:
                break
            self._force(unsettled)
        return Power(order.arrange(self.wiring, self.edges, settled, list(self.rails)), list(self.rails), self.banks)

    def _is_rail(self, node: str) -> bool:
        roles = self.wiring.roles_at(node)
        meeting = len(self.at.get(node, ()))
        if roles.is_busbar:
            return True
        if roles.grounds:
            return meeting >= 2
        return meeting >= 3 or (meeting == 1 and self._only_ladders(node))

    def _only_ladders(self, node: str) -> bool:
        """True at a terminal of a part that nothing but ladders leaves."""
        edge = self.at[node][0]
        if edge.kind != "part" or isinstance(self.wiring.part_at(edge.a), Panel):
            return False
        return "|" not in node and bool({edge.a, edge.b} & self.roots)

    def _trace(self) -> tuple[list[Bay], list[Bay]]:
        """Chains between rails or loose ends, and closed loops that touch no rail."""
        seen: set[WiringEdge] = set()
        chains: list[Bay] = []
        starts = [*self.rails, *(node for node in self.at if node not in self.rails and len(self.at[node]) == 1)]
        for start in starts:
            for edge in self.at.get(start, ()):
                if edge not in seen:
                    chains.append(self._follow(start, edge, seen))
        loops = [self._follow(edge.a, edge, seen) for edge in self.edges if edge not in seen]
        return chains, [loop for loop in loops if loop.path]

    def _follow(self, start: str, edge: WiringEdge, seen: set[WiringEdge]) -> Bay:
        path: list[WiringEdge] = []
        nodes = [start]
        if edge in seen:
            return Bay(path, nodes)
        node = start
        following: WiringEdge | None = edge
        while following is not None:
            seen.add(following)
            path.append(following)
            node = following.other(node)
            nodes.append(node)
            if node in self.rails:
                break
            following = next((e for e in self.at[node] if e not in seen), None)
        return Bay(path, nodes, start if start in self.rails else "", node if node in self.rails and node != "" else "")

    # --- settling ----------------------------------------------------------------------------------------

    def _settle(self, chains: list[Bay], loops: list[Bay]) -> tuple[list[Bay], list[Bay]]:
        """Turns every chain the right way up and hangs what hangs. Returns the bays, and the chains that need
        another rail before they can be drawn."""
        standing: list[Bay] = []
        waiting: list[Bay] = []
        for chain in chains:
            directions = {
                _down(edge, node) for edge, node in zip(chain.path, chain.nodes, strict=False) if edge.kind == "part"
            }
            if directions == {True, False}:
                waiting.append(chain)
                continue
            standing.append(self._upright(chain, directions))
        straight = {edge.id: bay for bay in standing for edge in bay.parts}
        unsettled: list[Bay] = []
        for chain in [*waiting, *loops]:
            hung = self._hang(chain, straight)
            if hung is None:
                unsettled.append(chain)
            else:
                straight[hung.hangs_from].hung.append(hung)
        return standing, unsettled

    def _upright(self, chain: Bay, directions: set[bool]) -> Bay:
        if directions == {False}:
            chain = chain.reversed()
        elif not directions:
            if chain.top and chain.bottom and self._row(chain.top) == self._row(chain.bottom):
                chain.link = self._row(chain.top)
                return chain
            upper = chain.top or chain.bottom
            if (chain.top == "" and self._row(upper) == "top") or (chain.top and self._row(chain.top) == "bottom"):
                chain = chain.reversed()
        if not directions and not chain.top and self._row(chain.bottom) == "top":
            chain = chain.reversed()
        return chain

    def _row(self, rail: str) -> str:
        return "bottom" if self.wiring.is_low(rail) else "top"

    def _hang(self, chain: Bay, straight: dict[str, Bay]) -> Bay | None:
        """`chain` as a bay hung from the second side of a part that already stands in a bay of its own;
        None where no side in it allows that."""
        closed = chain.nodes[0] == chain.nodes[-1] and not chain.top
        for place, edge in enumerate(chain.path):
            if edge.kind != "part" or edge.id not in straight:
                continue
            if closed:
                path = chain.path[place + 1 :] + chain.path[:place]
                nodes = chain.nodes[place + 1 : -1] + chain.nodes[: place + 1]
                if nodes[0] != edge.a:
                    path, nodes = path[::-1], nodes[::-1]
                tail: list[WiringEdge] = []
                end, tail_rail = "", ""
            else:
                before = Bay(chain.path[:place][::-1], chain.nodes[: place + 1][::-1], "", chain.top)
                after = Bay(chain.path[place + 1 :], chain.nodes[place + 1 :], "", chain.bottom)
                outer, inner = (after, before) if after.nodes[0] == edge.a else (before, after)
                if inner.parts:
                    continue
                path, nodes, end = outer.path, outer.nodes, outer.bottom
                tail, tail_rail = inner.path, inner.bottom
            if not any(e.kind == "part" for e in path):
                continue
            if all(_down(e, node) for e, node in zip(path, nodes, strict=False) if e.kind == "part"):
                return Bay(
                    path,
                    nodes,
                    "",
                    end,
                    hangs_from=edge.id,
                    side=edge.side,
                    loop=closed,
                    tail=tail,
                    tail_rail=tail_rail,
                )
        return None

    def _force(self, unsettled: list[Bay]) -> None:
        """Makes rails of the terminals of one part: a battery's before any other's."""
        edges = [edge for chain in unsettled for edge in chain.path if edge.kind == "part"]
        nodes = {node for chain in unsettled for node in chain.nodes}
        chosen = next(
            (e for e in edges if self.wiring.roles_at(e.a).stores and not {e.a, e.b} <= set(self.rails)),
            next((e for e in edges if not {e.a, e.b} <= set(self.rails)), None),
        )
        if chosen is not None:
            self.rails.update({node: None for node in (chosen.a, chosen.b)})
        else:
            self.rails.update({node: None for chain in unsettled for node in chain.nodes if node in nodes})


def _down(edge: WiringEdge, entered: str) -> bool:
    """True where a part is entered at its positive terminal."""
    return edge.a == entered
