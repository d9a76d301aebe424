"""The order of the bays on the power sheets: which bar stands beside which, so that the fewest bars are broken.

The bars stand as declared wherever that keeps each in one piece. Where it does not, few bars are tried in every
order. Many begin as declared and as sweeps of mean places set them, and one bar after the other is moved for as long
as that helps. Of orders that break equally many bars the one nearest to the declared one is taken.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence

from copperplate.drawing.bay import Bay
from copperplate.drawing.wiring import DcWiring, WiringEdge

FEW = 720
"""So many orders of the bars are tried one by one: bars of both rows up to three and five, or four and four."""
TRIES = 12000
"""Most orders tried in moving bars one by one, from all starts together."""

Cost = tuple[int, tuple[int, ...]]
"""Pieces that the bars are drawn in, then the bars by their declared place: less is better."""


def arrange(wiring: DcWiring, edges: Sequence[WiringEdge], bays: list[Bay], rails: list[str]) -> list[Bay]:
    """`bays` in drawing order: grouped by the rail above, batteries first, then as declared. Rails that a link joins
    stand side by side where they can, the link between them. `edges`, `rails`: in order of declaration."""
    return _Order(wiring, edges, bays, rails).ordered()


class _Order:
    def __init__(self, wiring: DcWiring, edges: Sequence[WiringEdge], bays: list[Bay], rails: list[str]) -> None:
        self.rails = rails
        self.declared = {rail: n for n, rail in enumerate(rails)}
        self.above = {rail for rail in rails if not wiring.is_low(rail)}
        self.standing = [bay for bay in bays if bay.link != "bottom"]
        self.lower_links = [bay for bay in bays if bay.link == "bottom"]
        self.turned = {id(bay): bay.reversed() for bay in bays if bay.link}
        self.meets = {id(bay): _meets(bay) for bay in (*bays, *self.turned.values())}
        place = {edge: n for n, edge in enumerate(edges)}
        self.facts = {
            id(bay): (
                not any(wiring.roles_at(edge.a).stores for edge in bay.parts),
                min(place[edge] for edge in bay.path),
            )
            for bay in bays
        }
        """Of each bay: whether it has no battery, and its place as declared."""
        self.joined: dict[str, list[str]] = {rail: [] for rail in rails}
        """By upper rail: those that a link joins to it."""
        for link in (bay for bay in self.standing if bay.link):
            self.joined[link.top].append(link.bottom)
            self.joined[link.bottom].append(link.top)
        self.pairs = [(c.top, c.bottom) for c in self.standing if c.top and c.bottom and not c.link]
        self.least = len({met for bay in bays for met in self.meets[id(bay)]})
        """In how many pieces the bars are drawn at best: one each."""

    def ordered(self) -> list[Bay]:
        if self._cost(self.rails)[0] <= self.least or not self.pairs:
            return self._arranged(self.rails)
        return self._arranged(self._best())

    # --- the bars ----------------------------------------------------------------------------------------

    def _best(self) -> list[str]:
        """The rails in the order that costs least."""
        upper = sorted({top for top, _ in self.pairs}, key=self.declared.__getitem__)
        lower = sorted({bottom for _, bottom in self.pairs} - set(upper), key=self.declared.__getitem__)
        if math.factorial(len(upper)) * math.factorial(len(lower)) <= FEW:
            orders = itertools.product(itertools.permutations(upper), itertools.permutations(lower))
            return min((self._set(self.rails, above, below) for above, below in orders), key=self._cost)
        best, left = self.rails, TRIES
        for start in sorted(self._starts(upper, lower), key=self._cost):
            if left > 0:
                settled, tries = self._settled(start, (upper, lower), left)
                best, left = min(best, settled, key=self._cost), left - tries
        return best

    def _starts(self, upper: list[str], lower: list[str]) -> list[list[str]]:
        """Orders to begin with: the declared one, and what sweeps make of either row, as declared and in reverse,
        begun at each of its bars."""
        starts = {tuple(self.rails): None}
        for row, other in ((upper, lower), (lower, upper)):
            for line in (row, row[::-1]):
                for place in range(len(line)):
                    swept = self._swept([*line[place:], *line[:place]], other)
                    starts[tuple(self._set(self.rails, *swept))] = None
        return [list(start) for start in starts]

    def _swept(self, row: list[str], other: list[str]) -> tuple[list[str], list[str]]:
        """Two rows ordered in turn, each by the mean place of its bars' neighbours in the other, until they stay."""
        other = self._by_mean_place(other, row)
        for _ in range(len(row) + len(other)):
            before = row, other
            row = self._by_mean_place(row, other)
            other = self._by_mean_place(other, row)
            if (row, other) == before:
                break
        return row, other

    def _by_mean_place(self, row: list[str], other: list[str]) -> list[str]:
        """`row` by the mean place of each bar's neighbours in `other`; of equal ones the order stays."""
        place = {rail: n for n, rail in enumerate(other)}
        beside: dict[str, list[int]] = {rail: [] for rail in row}
        for pair in self.pairs:
            for rail, neighbour in (pair, pair[::-1]):
                if rail in beside and neighbour in place:
                    beside[rail].append(place[neighbour])
        mean = {rail: sum(places) / len(places) if places else 0.0 for rail, places in beside.items()}
        return sorted(row, key=mean.__getitem__)

    def _set(self, rails: Sequence[str], *rows: Iterable[str]) -> list[str]:
        """`rails` with those of each row in the order given, in the places that the rails of the row have as
        declared."""
        order = list(rails)
        for row in map(list, rows):
            for place, rail in zip(sorted(self.declared[rail] for rail in row), row, strict=True):
                order[place] = rail
        return order

    def _settled(self, rails: list[str], rows: tuple[list[str], list[str]], most: int) -> tuple[list[str], int]:
        """`rails` after moving one of a row to another place in it for as long as the cost falls, and how many orders
        were tried: no further round is begun after `most`."""
        cost, tries = self._cost(rails), 0
        moved = True
        while moved and tries < most:
            moved = False
            for row in rows:
                for rail in row:
                    rest = [other for other in rails if other in row and other != rail]
                    for place in range(len(row)):
                        tries += 1
                        order = self._set(rails, [*rest[:place], rail, *rest[place:]])
                        now = self._cost(order)
                        if now < cost:
                            rails, cost, moved = order, now, True
        return rails, tries

    def _cost(self, rails: Sequence[str]) -> Cost:
        count, last = 0, {"top": "", "bottom": ""}
        for bay in self._arranged(rails):
            for row, rail in self.meets[id(bay)]:
                if last[row] != rail:
                    count += 1
                    last[row] = rail
        return count, tuple(self.declared[rail] for rail in rails)

    # --- the bays -------------------------------------------------------------------------------------

    def _arranged(self, rails: Sequence[str]) -> list[Bay]:
        """The bays in the order of these rails."""
        sequence = self._sequence(rails)
        lower = {rail: n for n, rail in enumerate(rails)}

        def rank(bay: Bay) -> tuple[int, int, int, int, int]:
            without_battery, declared = self.facts[id(bay)]
            if bay.link:
                return max(sequence[bay.top], sequence[bay.bottom]), 0, 0, 0, declared
            top = sequence.get(bay.top, len(rails))
            bottom = lower[bay.bottom] if bay.bottom else len(rails)
            return top, 1, without_battery, bottom, declared

        ordered = sorted(self.standing, key=rank)
        for n, bay in enumerate(ordered):
            if bay.link and sequence[bay.top] > sequence[bay.bottom]:
                ordered[n] = self.turned[id(bay)]
        for link in self.lower_links:
            ends = (link.top, link.bottom)
            first = next((n for n, bay in enumerate(ordered) if bay.bottom in ends), len(ordered))
            after = next(
                (n for n in range(first + 1, len(ordered)) if ordered[n].bottom in ends
                 and ordered[n].bottom != ordered[first].bottom), len(ordered)
            )  # fmt: skip
            is_other_way = first < len(ordered) and ordered[first].bottom != link.top
            ordered.insert(after, self.turned[id(link)] if is_other_way else link)
        return ordered

    def _sequence(self, rails: Sequence[str]) -> dict[str, int]:
        """The place of each upper rail: as given, but what a link joins to a rail comes right after it."""
        order: dict[str, int] = {}
        waiting = [rail for rail in rails if rail in self.above][::-1]
        while waiting:
            rail = waiting.pop()
            if rail not in order:
                order[rail] = len(order)
                waiting += self.joined[rail][::-1]
        return order


def _meets(bay: Bay) -> list[tuple[str, str]]:
    """(row, rail) of each bar that a bay and what hangs from it reach, in order."""
    met = [(bay.link or "top", bay.top), (bay.link or "bottom", bay.bottom)]
    met += [("bottom", rail) for hung in bay.hung for rail in (hung.tail_rail, hung.bottom)]
    return [(row, rail) for row, rail in met if rail]
