"""How the wiring diagram is set on paper: which sheet, which columns in which band, how far apart."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from copperplate.drawing.diagram.blocks import BAR, NAME, Block
from copperplate.drawing.paper import Paper

GAPS = (40.0, 32.0, 24.0, 18.0, 12.0, 8.0, 4.0, 2.0)
"""Between columns, the widest that fits."""
FOLD = 6.4
"""Room at either side for the bars where they are folded."""
APART = 7.0
"""From the last column to the alternating-current part."""
MANY = 14
"""Most columns of which every way to cut them is tried."""


@dataclass(frozen=True)
class Plan:
    """`bands`: the columns of each; `inner`: the height between the bars of each; `total`: of all bands together."""

    paper: Paper
    gap: float
    bands: tuple[tuple[Block, ...], ...]
    inner: tuple[float, ...]
    total: float
    narrow: bool = False
    """True where it leaves room for its cards at its right."""

    @property
    def left(self) -> float:
        return self.paper.left + (FOLD if len(self.bands) > 1 else 2.0)

    @property
    def right(self) -> float:
        return self.paper.right - (FOLD if len(self.bands) > 1 else 1.0)

    @property
    def width(self) -> float:
        """Of the widest band without the alternating-current part."""
        return max(row_width(band, self.gap) for band in self.bands)


def row_width(band: Sequence[Block], gap: float) -> float:
    return sum(block.width for block in band) + gap * max(0, len(band) - 1)


def plan(
    papers: Sequence[Paper], blocks: Sequence[Block], below: float, mains: tuple[float, float], least: float,
    cards: float = 0.0,
) -> Plan:  # fmt: skip
    """The first paper on which the blocks find room, then about the least height, the fewest bands, and bands alike.
    `mains`: width and height of the alternating-current part, which stands at the end of the first band; `least`: the
    height between the bars that the first band needs for it; `below`: what hangs under the last bar; `cards`: width of
    the widest card."""
    for paper in papers:
        for gap in (4.0, 2.0):
            found = list(_plans(paper, gap, blocks, below, mains, least))
            if found:
                return _widened(_balanced(found, mains[0]), mains[0], cards)
    *_, last = papers
    wide = max(block.width for block in blocks) + mains[0] + 60.0 if blocks else mains[0] + 60.0
    tall = sum(block.height + 30.0 for block in blocks) + mains[1] + 120.0
    roll = Paper("Roll", max(last.width, wide), max(last.height, tall))
    return _balanced(list(_plans(roll, 2.0, blocks, below, mains, least)), mains[0])


def _balanced(plans: Sequence[Plan], mains: float) -> Plan:
    """Of the plans that are about as low as the lowest and have as few bands, the one whose bands are most alike."""
    low = min(each.total for each in plans) * 1.1
    count = min(len(each.bands) for each in plans if each.total <= low)

    def uneven(each: Plan) -> tuple[float, float]:
        wide = [row_width(band, each.gap) + (0.0 if n else mains) for n, band in enumerate(each.bands)]
        return round(max(wide), 1), round(each.total, 1)

    return min((each for each in plans if len(each.bands) == count and each.total <= low), key=uneven)


def _widened(found: Plan, mains: float, cards: float) -> Plan:
    """The same with the widest gap that fits; where it leaves room for the cards at its right, at most 24 mm."""
    room = found.paper.right - found.paper.left - mains - (APART if mains else 0.0) - max(cards, 60.0) - 12.0
    if len(found.bands) == 1:
        for gap in (24.0, 18.0, 12.0, 8.0, 4.0):
            if row_width(found.bands[0], gap) <= room:
                return Plan(found.paper, gap, found.bands, found.inner, found.total, True)
    for gap in GAPS:
        wider = Plan(found.paper, gap, found.bands, found.inner, found.total)
        if gap >= found.gap and _fits(wider, mains):
            return wider
    return found


def _fits(tried: Plan, mains: float) -> bool:
    room = tried.right - tried.left
    for place, band in enumerate(tried.bands):
        extra = mains + APART if mains and not place else 0.0
        if row_width(band, tried.gap) + extra > room:
            return False
    return True


def _plans(
    paper: Paper, gap: float, blocks: Sequence[Block], below: float, mains: tuple[float, float], least: float
) -> Iterator[Plan]:
    room = paper.right - paper.left - 2 * FOLD
    for bands in (*_cuts(blocks), _filled(blocks, room, gap, mains[0])):
        inner = [max((block.height for block in band), default=20.0) + 2.0 for band in bands]
        inner[0] = max(inner[0], least)
        heights = [NAME + 2 * BAR + each + NAME for each in inner]
        heights[-1] += max(0.0, below - NAME)
        if len(bands) > 1:
            more = max(0.0, mains[1] + 2.0 - (NAME + BAR + inner[0]))
            inner[0] += more
            heights[0] += more
        total = sum(heights)
        tried = Plan(paper, gap, bands, tuple(inner), total)
        if max(total, mains[1]) <= paper.bottom - paper.top and _fits(tried, mains[0]):
            yield tried


def _filled(blocks: Sequence[Block], room: float, gap: float, mains: float) -> tuple[tuple[Block, ...], ...]:
    """Columns in as many bands as it takes, each filled before the next."""
    fed = [block for block in blocks if block.order[0] not in (1, 3)]
    tied = [block for block in blocks if block.order[0] == 3]
    bands: list[list[Block]] = [[block for block in blocks if block.order[0] == 1]]
    kept = row_width(tied, gap) + (mains + APART if mains else 0.0) + gap
    for block in fed:
        if bands[-1] and row_width([*bands[-1], block], gap) + (kept if len(bands) == 1 else 0.0) > room:
            bands.append([])
        bands[-1].append(block)
    return (tuple([*bands[0], *tied]), *(tuple(band) for band in bands[1:]))


def _cuts(blocks: Sequence[Block]) -> Iterator[tuple[tuple[Block, ...], ...]]:
    """Columns in one to four bands: what charges, a first part of what is fed, and what is tied to alternating current
    in the first; the rest of what is fed in the others."""
    first = [block for block in blocks if block.order[0] == 1]
    fed = [block for block in blocks if block.order[0] not in (1, 3)]
    tied = [block for block in blocks if block.order[0] == 3]
    count = len(fed)
    yield (tuple([*first, *fed, *tied]),)
    for bands in range(2, 5):
        places = range(count + 1) if count <= MANY else range(0, count + 1, max(1, count // MANY))
        for cuts in itertools.combinations(places, bands - 1):
            if cuts[-1] >= count:
                continue
            rows = [fed[a:b] for a, b in itertools.pairwise((*cuts, count))]
            if all(rows):
                yield (tuple([*first, *fed[: cuts[0]], *tied]), *(tuple(row) for row in rows))
