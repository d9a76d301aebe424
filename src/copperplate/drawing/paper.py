"""The paper: sheet sizes, the frame with its zones, and the strip below with legend, basis, revisions and title."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from copperplate.drawing import lettering
from copperplate.drawing.pen import Box, Group, Polyline, Primitive, words
from copperplate.model import Settings

BORDER, FRAME = 7.0, 11.0
"""From the edge of the paper to the border and to the frame; the zones stand between them."""
STRIP = 33.0
ZONE = 50.0
"""A zone is about so long."""
ROWS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Letters of the rows of zones: no I, no O."""
REVISIONS, TITLE, NUMBER = 56.0, 74.0, 32.0
"""Least widths of the cells of the strip from the left, after the legend."""
CAUTION = (
    "Design aid: local codes, the makers' instructions and licensed\u00a0practice\u00a0prevail. Isolate before work."
)


@dataclass(frozen=True, slots=True)
class Paper:
    """One sheet size in mm, landscape, and the room for the drawing on it."""

    name: str
    width: float
    height: float

    @property
    def left(self) -> float:
        return FRAME + 2.5

    @property
    def right(self) -> float:
        return self.width - FRAME - 2.5

    @property
    def top(self) -> float:
        return FRAME + 2.0

    @property
    def bottom(self) -> float:
        return self.height - FRAME - STRIP - 2.0

    @property
    def columns(self) -> int:
        return max(2, 2 * round((self.width - 2 * BORDER) / ZONE / 2))

    @property
    def rows(self) -> int:
        return max(2, 2 * round((self.height - 2 * BORDER) / ZONE / 2))

    def zone(self, x: float, y: float) -> str:
        """`C3`: the zone of a place."""
        column = int((x - BORDER) / (self.width - 2 * BORDER) * self.columns)
        row = int((y - BORDER) / (self.height - 2 * BORDER) * self.rows)
        return f"{row_name(min(max(row, 0), self.rows - 1))}{min(max(column, 0), self.columns - 1) + 1}"


def row_name(row: int) -> str:
    """`A` to `Z` without I and O, then `AA` and on."""
    return (ROWS[row // len(ROWS) - 1] if row >= len(ROWS) else "") + ROWS[row % len(ROWS)]


PAPERS = {
    "a4": Paper("A4", 297.0, 210.0),
    "a3": Paper("A3", 420.0, 297.0),
    "letter": Paper("Letter", 279.4, 215.9),
}
METRIC = (PAPERS["a4"], PAPERS["a3"], Paper("A2", 594.0, 420.0), Paper("A1", 841.0, 594.0), Paper("A0", 1189.0, 841.0))
US = (
    PAPERS["letter"], Paper("Tabloid", 431.8, 279.4), Paper("ANSI C", 558.8, 431.8), Paper("ANSI D", 863.6, 558.8),
    Paper("ANSI E", 1117.6, 863.6),
)  # fmt: skip
"""What the wiring diagram may stand on, from the smallest."""


@dataclass(frozen=True, slots=True)
class Key:
    """One entry of a legend: its word, how it is drawn with its left edge and middle at a place, and how wide."""

    word: str
    width: float
    draw: Callable[[float, float], list[Primitive]]


def stroke_key(style: str, word: str) -> Key:
    return Key(word, 9.0, lambda x, y: [Polyline(((x, y), (x + 9, y)), f"c-{style}", 0.8)])


def frame(
    paper: Paper, settings: Settings, title: str, number: int, count: int, keys: Sequence[Key], basis: Sequence[str],
    since: str,
) -> tuple[list[Group], list[str]]:  # fmt: skip
    """Border, zones, frame and strip of one sheet; and the texts that had to be cut to fit their cell. `since`: the
    issue before, as `issued` writes it."""
    left, right, bottom = FRAME, paper.width - FRAME, paper.height - FRAME
    strip = bottom - STRIP
    block = Group("strip", title, "frame")
    block.add(
        Box(BORDER, BORDER, paper.width - 2 * BORDER, paper.height - 2 * BORDER, "o"),
        Box(left, FRAME, right - left, bottom - FRAME, "f"),
        Polyline(((left, strip), (right, strip)), "f"),
    )
    _zones(paper, block)
    total = min(190.0, max(REVISIONS + TITLE + NUMBER, (right - left) * 0.42))
    titles = total - REVISIONS - NUMBER - (total - REVISIONS - TITLE - NUMBER) * 0.3
    first = right - total
    second = first + total - titles - NUMBER
    third = second + titles
    for x in (first, second, third):
        block.add(Polyline(((x, strip), (x, bottom)), "f"))
    cut: list[str] = []

    def put(x: float, y: float, text: str, room: float, bold: bool = False, sizes: Sequence[float] = ()) -> None:
        if not text:
            return
        for size in (*sizes, lettering.SMALL):
            if lettering.width(text, size, bold) <= room:
                block.add(words(x, y, text, bold=bold, size=size))
                return
        fitted = lettering.shorten(text, room, bold=bold)
        cut.append(text)
        block.add(words(x, y, fitted, bold=bold))

    _revisions(block, settings, first, second, strip, since, put)
    clean = lettering.clean
    room = titles - 4
    ac = f", {settings.ac} V AC" if settings.ac else ""
    put(second + 2, strip + 7.6, clean(settings.title) or "Untitled system", room, True, (6.0, 5.0, 4.2, 3.4))
    put(second + 2, strip + 13.0, title, room, True, (4.2, 3.6, 3.2))
    owner = ", ".join(filter(None, (f"{settings.nominal_v:g} V DC{ac}", clean(settings.client))))
    put(second + 2, strip + 18.4, owner, room)
    put(second + 2, strip + 22.6, clean(settings.site), room)
    put(second + 2, strip + 26.8, clean(settings.status), room)
    letter = clean(settings.revision).split(",")[0]
    room = NUMBER - 4
    put(third + 2, strip + 4.6, "Document", room)
    put(third + 2, strip + 9.4, clean(settings.document), room, True, (3.4, 3.2))
    put(third + 2, strip + 16.8, f"Sheet {number} of {count}", room, True, (3.4, 3.2))
    put(third + 2, strip + 23.8, ", ".join(filter(None, (f"Rev {letter}" if letter else "", paper.name))), room)
    put(third + 2, strip + 28.0, "Not to scale", room)
    return [block, _legend(left + 2.5, first - 2.0, strip, keys, [CAUTION, *basis])], cut


def _zones(paper: Paper, block: Group) -> None:
    wide = (paper.width - 2 * BORDER) / paper.columns
    tall = (paper.height - 2 * BORDER) / paper.rows
    for n in range(paper.columns):
        x = BORDER + wide * n
        for y in (BORDER, paper.height - FRAME):
            if n:
                block.add(Polyline(((x, y), (x, y + FRAME - BORDER)), "o", 0.25))
            block.add(words(x + wide / 2, y + 3.0, str(n + 1), anchor="middle"))
    for n in range(paper.rows):
        y = BORDER + tall * n
        for x in (BORDER, paper.width - FRAME):
            if n:
                block.add(Polyline(((x, y), (x + FRAME - BORDER, y)), "o", 0.25))
            block.add(words(x + (FRAME - BORDER) / 2, y + tall / 2 + 1.0, row_name(n), anchor="middle"))


def _revisions(
    block: Group, settings: Settings, left: float, right: float, top: float, since: str, put: Callable[..., None]
) -> None:
    """The table of revisions, and who drew, checked and approved."""
    clean = lettering.clean
    letter, _, change = clean(settings.revision).partition(",")
    third = (right - left - 8.0) / 2
    columns = (left + 2, left + 10.0, left + 10.0 + max(19.0, third * 0.8))
    ends = (columns[1], columns[2], right)
    rows = (
        ("Rev", "Date", "Change"),
        (letter, clean(settings.date), change.strip()),
        ("", "", ""),
    )
    for place, row in enumerate(rows):
        y = top + 4.2 + 5.0 * place
        for text, x, end in zip(row, columns, ends, strict=True):
            put(x, y, text, end - x - 1.0, place == 0)
        line = ((left, top + 5.6 + 5.0 * place), (right, top + 5.6 + 5.0 * place))
        block.add(Polyline(line, "f" if place == 2 else "h"))
    put(left + 2, top + 14.2, f"issue before: {since}" if since else "", right - left - 3.0)
    for place, (word, name, date) in enumerate(
        (("Drawn", clean(settings.designer), clean(settings.date)), ("Checked", "", ""), ("Approved", "", ""))
    ):
        y = top + 20.0 + 5.6 * place
        put(left + 2, y, word, 16.0, True)
        put(left + 17.0, y, name, right - left - 37.0)
        put(right - 19.0, y, date, 18.0)
        if place:
            block.add(Polyline(((left, y - 4.0), (right, y - 4.0)), "h"))


def issued(settings: Settings) -> str:
    """Revision and date as the strip names an issue; "" where the plate states neither."""
    revision = lettering.clean(settings.revision)
    return ", ".join(text for text in (f"Rev {revision}" if revision else "", lettering.clean(settings.date)) if text)


def _legend(left: float, right: float, strip: float, keys: Sequence[Key], basis: Sequence[str]) -> Group:
    """The symbols that occur with their words, and below them what the sheet rests on."""
    group = Group("legend", "legend", "frame")
    x, y = left, strip + 4.8
    group.add(words(left, strip + 4.8, "Symbols used", bold=True))
    x += lettering.width("Symbols used", bold=True) + 5.0
    rows = 1
    for key in keys:
        wide = key.width + 1.6 + lettering.width(key.word)
        if x + wide > right:
            if rows == 3:
                break
            x, y, rows = left, y + 6.4, rows + 1
        group.add(*key.draw(x, y - 1.0), words(x + key.width + 1.6, y, key.word))
        x += wide + 5.0
    y += 6.2 if keys else 5.0
    whole = [text.replace(" ", "\u00a0") if len(text) < 40 else text for text in basis]
    for line in lettering.wrap(" ".join(whole), right - left):
        if y > strip + STRIP - 1.4:
            break
        group.add(words(left, y, line.replace("\u00a0", " ")))
        y += 3.6
    return group
