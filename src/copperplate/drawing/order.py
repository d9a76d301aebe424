"""The order of the columns on the power sheets: which bar stands beside which, so that the fewest bars are broken.

The bars stand as declared wherever that keeps each in one piece. Where it does not, few bars are tried in every
order; many start from the order that Graphviz gives them (see `engine`) and from the declared one, and one bar after
the other is moved for as long as that helps. Of orders that break equally many bars the one nearest to the declared
one is taken, so that the engine that ran leaves no mark.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from copperplate.drawing import engine
from copperplate.drawing.column import Column
from copperplate.drawing.wiring import Edge, Wiring

FEW = 720
"""So many orders of the bars are tried one by one: bars of both rows up to three and five, or four and four."""
TRIES = 1500
"""Most orders tried in moving bars one by one."""

Cost = tuple[int, tuple[int, ...]]
"""Pieces that the bars are drawn in, then the bars by their declared place: less is better."""


def arrange(wiring: Wiring, edges: Sequence[Edge], found: list[Column], rails: list[str]) -> list[Column]:
    """`found` in drawing order: grouped by the rail above, batteries first, then as declared. Rails that a link joins
    stand side by side where they can, the link between them. `edges`, `rails`: in order of declaration.

    Raises LayoutEngineMissing where many bars need another order and there is no engine."""
    return _Order(wiring, edges, found, rails).columns()


class _Order:
    def __init__(self, wiring: Wiring, edges: Sequence[Edge], found: list[Column], rails: list[str]) -> None:
        self.wiring = wiring
        self.found = found
        self.rails = rails
        self.declared = {rail: n for n, rail in enumerate(rails)}
        self.place = {edge: n for n, edge in enumerate(edges)}
        self.pairs = [(c.top, c.bottom) for c in found if c.top and c.bottom and not c.link]

    def columns(self) -> list[Column]:
        ordered = self._arranged(self.rails)
        if _pieces(ordered) <= _least(self.found) or not self.pairs:
            return ordered
        return self._arranged(self._best())

    # --- the bars ----------------------------------------------------------------------------------------

    def _best(self) -> list[str]:
        """The rails in the order that costs least."""
        upper = sorted({top for top, _ in self.pairs}, key=self.declared.__getitem__)
        lower = sorted({bottom for _, bottom in self.pairs} - set(upper), key=self.declared.__getitem__)
        if math.factorial(len(upper)) * math.factorial(len(lower)) <= FEW:
            orders = itertools.product(itertools.permutations(upper), itertools.permutations(lower))
            return min((self._whole(one, two) for one, two in orders), key=self._cost)
        starts = [self.rails, self._whole(*engine.ranks(self.pairs))]
        return min((self._settled(start, (upper, lower)) for start in starts), key=self._cost)

    def _whole(self, upper: Sequence[str], lower: Sequence[str]) -> list[str]:
        """All rails: those of a row in the order given, in the places that the rails of that row have as declared."""
        order = list(self.rails)
        for row in (list(dict.fromkeys(upper)), [rail for rail in dict.fromkeys(lower) if rail not in upper]):
            for place, rail in zip(sorted(self.declared[rail] for rail in row), row, strict=True):
                order[place] = rail
        return order

    def _cost(self, rails: Sequence[str]) -> Cost:
        return _pieces(self._arranged(rails)), tuple(self.declared[rail] for rail in rails)

    def _settled(self, rails: list[str], rows: tuple[list[str], list[str]]) -> list[str]:
        """`rails` after moving one of a row to another place in it for as long as the cost falls."""
        cost, tries = self._cost(rails), 0
        moved = True
        while moved and tries < TRIES:
            moved = False
            for row, other in (rows, rows[::-1]):
                for rail in row:
                    rest = [one for one in rails if one in row and one != rail]
                    kept = [one for one in rails if one in other]
                    for place in range(len(row)):
                        tries += 1
                        here = [*rest[:place], rail, *rest[place:]]
                        order = self._whole(here, kept) if row is rows[0] else self._whole(kept, here)
                        now = self._cost(order)
                        if now < cost:
                            rails, cost, moved = order, now, True
        return rails

    # --- the columns -------------------------------------------------------------------------------------

    def _arranged(self, rails: Sequence[str]) -> list[Column]:
        """The columns in the order of these rails."""
        found = list(self.found)
        links = [column for column in found if column.link == "top"]
        sequence = self._sequence(links, rails)
        lower = {rail: n for n, rail in enumerate(rails)}

        def rank(column: Column) -> tuple[int, int, int, int, int]:
            declared = min(self.place[edge] for edge in column.path)
            if column.link == "top":
                return max(sequence[column.top], sequence[column.bottom]), 0, 0, 0, declared
            battery = any(self.wiring.roles_at(edge.a).stores for edge in column.parts)
            top = sequence.get(column.top, len(rails))
            bottom = lower[column.bottom] if column.bottom else len(rails)
            return top, 1, not battery, bottom, declared

        for n, link in enumerate(found):
            if link.link == "top" and sequence[link.top] > sequence[link.bottom]:
                found[n] = link.reversed()
        ordered = sorted((column for column in found if column.link != "bottom"), key=rank)
        for link in (column for column in found if column.link == "bottom"):
            ends = (link.top, link.bottom)
            first = next((n for n, column in enumerate(ordered) if column.bottom in ends), len(ordered))
            after = next(
                (n for n in range(first + 1, len(ordered)) if ordered[n].bottom in ends
                 and ordered[n].bottom != ordered[first].bottom), len(ordered)
            )  # fmt: skip
            if first < len(ordered) and ordered[first].bottom != link.top:
                link = link.reversed()
            ordered.insert(after, link)
        return ordered

    def _sequence(self, links: list[Column], rails: Sequence[str]) -> dict[str, int]:
        """The place of each upper rail: as given, but what a link joins to a rail comes right after it."""
        order: list[str] = []
        waiting = [rail for rail in rails if not self.wiring.is_low(rail)][::-1]
        while waiting:
            rail = waiting.pop()
            if rail not in order:
                order.append(rail)
                joined = [
                    link.bottom if link.top == rail else link.top for link in links if rail in (link.top, link.bottom)
                ]
                waiting += joined[::-1]
        return {rail: n for n, rail in enumerate(order)}


def _pieces(ordered: list[Column]) -> int:
    """In how many pieces the bars are drawn where columns stand in this order on one sheet."""
    count, last = 0, {"top": "", "bottom": ""}
    for column in ordered:
        for row, rail in _meets(column):
            if rail and last[row] != rail:
                count += 1
                last[row] = rail
        for hung in column.hung:
            for rail in (hung.tail_rail, hung.bottom):
                if rail and last["bottom"] != rail:
                    count += 1
                    last["bottom"] = rail
    return count


def _meets(column: Column) -> list[tuple[str, str]]:
    if column.link:
        return [(column.link, column.top), (column.link, column.bottom)]
    return [("top", column.top), ("bottom", column.bottom)]


def _least(found: list[Column]) -> int:
    """In how many pieces the bars are drawn at best: one each."""
    met = {pair for column in found for pair in _meets(column) if pair[1]}
    for column in found:
        met |= {("bottom", rail) for hung in column.hung for rail in (hung.tail_rail, hung.bottom) if rail}
    return len(met)
