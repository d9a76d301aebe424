"""The paper: sheet sizes, the room inside the frame, and the strip with the title block, legend and caution."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from copperplate.drawing import lettering
from copperplate.drawing.pen import Box, Group, Polyline, Primitive, words
from copperplate.model import Settings

MARGIN = 7.0
STRIP = 14.0
FOOT = 12.0
"""Room above the strip for legend and caution."""
CELLS = (72.0, 66.0, 40.0)
"""Widths of the project, sheet and number cells, from the right; revisions take the rest."""

BASELINES = (4.9, 8.8, 12.5)
"""Of the three lines of a cell, from the top of the strip."""

CAUTION = (
    "Design aid. Local codes, the makers' instructions and licensed practice prevail. "
    "Isolate every source before work; batteries deliver thousands of amperes."
)


@dataclass(frozen=True, slots=True)
class Paper:
    """One sheet size in mm, landscape, and the room for the drawing on it."""

    name: str
    width: float
    height: float

    @property
    def left(self) -> float:
        return MARGIN + 6

    @property
    def right(self) -> float:
        return self.width - MARGIN - 6

    @property
    def top(self) -> float:
        return MARGIN + 4

    @property
    def bottom(self) -> float:
        return self.height - MARGIN - STRIP - FOOT


PAPERS = {
    "a4": Paper("A4", 297.0, 210.0),
    "a3": Paper("A3", 420.0, 297.0),
    "letter": Paper("Letter", 279.4, 215.9),
}


@dataclass(frozen=True, slots=True)
class Key:
    """One entry of a legend: a stroke and its word."""

    style: str
    word: str


def frame(
    paper: Paper, settings: Settings, title: str, number: int, count: int, keys: Sequence[Key], remark: str, since: str
) -> tuple[list[Group], list[str]]:
    """Frame, strip, legend and caution of one sheet; and the texts that had to be cut to fit their cell. `since`:
    the issue before, as `issued` writes it."""
    left, right = MARGIN, paper.width - MARGIN
    bottom, strip = paper.height - MARGIN, paper.height - MARGIN - STRIP
    items: list[Primitive] = [
        Box(left, MARGIN, right - left, bottom - MARGIN, "f"),
        Polyline(((left, strip), (right, strip)), "f"),
    ]
    edges = [right]
    for cell in CELLS[::-1]:
        edges.append(edges[-1] - cell)
        items.append(Polyline(((edges[-1], strip), (edges[-1], bottom)), "f"))
    cut: list[str] = []
    starts = [left, *edges[:0:-1]]
    ends = edges[::-1]
    for start, end, lines in zip(starts, ends, _cells(paper, settings, title, number, count, since), strict=True):
        for baseline, text, bold in lines:
            if not text:
                continue
            size, fitted = _fit(text, end - start - 4, lettering.TITLE if bold else lettering.SMALL, bold)
            if fitted != text:
                cut.append(text)
            items.append(words(start + 2, strip + baseline, fitted, bold=bold, size=size))
    block = Group("strip", title, "frame").add(*items)
    return [block, _legend(paper, strip, keys, remark)], cut


def _fit(text: str, room: float, size: float, bold: bool) -> tuple[float, str]:
    """`text` at `size`, else at the smallest size, else cut."""
    if lettering.width(text, size, bold) <= room:
        return size, text
    return lettering.SMALL, lettering.shorten(text, room, lettering.SMALL, bold)


def issued(settings: Settings) -> str:
    """Revision and date as the strip names an issue; "" where the plate states neither."""
    revision = lettering.clean(settings.revision)
    return ", ".join(text for text in (f"Rev {revision}" if revision else "", lettering.clean(settings.date)) if text)


def _cells(
    paper: Paper, settings: Settings, title: str, number: int, count: int, since: str
) -> tuple[list[tuple[float, str, bool]], ...]:
    """(baseline, text, bold) of each cell from the left."""
    clean = lettering.clean
    revision = clean(settings.revision)
    issue = issued(settings)
    document = f"Document {clean(settings.document)}" if settings.document else ""
    before = f"issue before: {since}" if since else ""
    system = f"{settings.nominal_v:g} V system"
    client, site = clean(settings.client), clean(settings.site)
    letter = revision.split(",")[0]
    first, second, third = BASELINES
    return (
        [
            (first, issue or "Revision ______", True),
            (second, "; ".join(text for text in (document, before) if text), False),
            (third, clean(settings.status), False),
        ],
        [
            (first, clean(settings.title) or "Untitled system", True),
            (second, f"{system}, {client}" if client else system, False),
            (third, site, False),
        ],
        [
            (first, title, True),
            (second, f"Drawn {clean(settings.designer) or '______'}", False),
            (third, "Checked ______", False),
        ],
        [
            (first, f"Sheet {number} of {count}", True),
            (second, f"Rev {letter}" if letter else "", False),
            (third, f"Paper {paper.name}", False),
        ],
    )


def _legend(paper: Paper, strip: float, keys: Sequence[Key], remark: str) -> Group:
    """One row of strokes with their words and a remark, and the caution below it."""
    group = Group("legend", "legend", "frame")
    x, y = paper.left, strip - 7.2
    for key in keys:
        group.add(Polyline(((x, y - 1), (x + 9, y - 1)), f"c-{key.style}", 0.5), words(x + 10.5, y, key.word))
        x += 10.5 + lettering.width(key.word) + 6
    if remark:
        group.add(words(x, y, lettering.shorten(remark, paper.right - x)))
    caution = lettering.shorten(CAUTION, paper.right - paper.left)
    return group.add(words(paper.left, strip - 2.4, caution))
