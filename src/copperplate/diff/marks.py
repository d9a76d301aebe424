"""The marked drawing: the new sheets with what was added, changed and removed, and a list of the changes.

Outline, word and tint say it together, so that it reads in grey: added is a solid outline, changed a dashed one with
the old values beside it, removed a dotted, struck ghost in its old place. Marks lie under and over finished sheets;
nothing on them moves.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from html import escape
from textwrap import wrap
from typing import Any

from copperplate.diff import sentences, words
from copperplate.diff.sheets import Box, Drawn, SheetRead, grown, overlap, read_sheet, text_width, union
from copperplate.model.sheet import Sheet
from copperplate.units import local, show

Json = dict[str, Any]


@dataclass(frozen=True)
class Style:
    word: str
    ink: str
    tint: str
    dashes: str


STYLES = {
    "added": Style("ADDED", "#0B4F8A", "#E6F0FA", ""),
    "changed": Style("CHANGED", "#8A5A00", "#FFF3D1", "2.4 1"),
    "removed": Style("REMOVED", "#555555", "#EFEFEF", "0.5 0.9"),
}
SMALL = 2.8
LINE = 4.2
MARGIN = 12.0
FONTS = "'Liberation Sans', Arimo, 'Nimbus Sans', sans-serif"
TOUCH = 1.6
"""So far may things reach into each other where they meet."""
BACKGROUND = ("data-rule", "data-mount", "data-heads", "data-strip", "data-legend", "data-rail")
"""Groups that no mark needs to keep away from with its outline."""
SHOWN = ("circuit", "part")
"""Kinds of changes that stand on the sheets."""
SHOWN_FACTS = ("size", "stated size", "rating", "stated rating", "length")
"""Facts whose old value is written beside a change."""


@dataclass(frozen=True)
class Mark:
    """One outline of one change on one sheet; `number` is its line in the list."""

    number: int
    style: Style
    box: Box
    words: tuple[tuple[str, ...], ...]
    """What may be written beside it, the fullest first, each as lines."""


def marked(document: Json, old: Iterable[Sheet], new: Iterable[Sheet]) -> str:
    """One SVG with the list of changes and, below it, every new sheet that carries a mark."""
    before = {_place(sheet.slug): read_sheet(sheet.slug, sheet.title, sheet.svg) for sheet in old}
    after = [read_sheet(sheet.slug, sheet.title, sheet.svg) for sheet in new]
    listed = (c for c in document["changes"] if c["change"] in ("added", "changed", "removed", "renamed"))
    numbered = list(enumerate(listed, 1))
    pages = []
    for sheet in after:
        page = _page(sheet, before.get(_place(sheet.slug)), numbered, document["units"])
        pages += [(page, sheet.width, sheet.height)] if page else []
    width, height = (after[0].width, after[0].height) if after else (297.0, 210.0)
    return _stacked([*((page, width, height) for page in _list_pages(document, numbered, width, height)), *pages])


def _place(slug: str) -> str:
    """A sheet by what it shows, without its number in the set."""
    return re.sub(r"^\d+-", "", slug)


def _page(sheet: SheetRead, before: SheetRead | None, numbered: list[tuple[int, Json]], units: str) -> str:
    """The SVG of a sheet with its marks; "" where it has none."""
    marks: list[Mark] = []
    ghosts: list[str] = []
    taken = [box for group in sheet.groups for box in (*group.boxes, *group.texts)]
    for number, change in numbered:
        if change["kind"] not in SHOWN:
            continue
        if change["change"] == "removed":
            groups = [] if before is None else _of(before, change)
            free = [group for group in groups if _is_free(group, sheet)]
            ghosts += [group.svg for group in free]
            style, boxes = STYLES["removed"], [group.box for group in free if group.box is not None]
        elif change["change"] in ("added", "changed"):
            style, boxes = STYLES[change["change"]], [g.box for g in _of(sheet, change) if g.box is not None]
        else:
            continue
        beside = _beside(change, style, units)
        foreign = [
            g.box
            for g in sheet.groups
            if g.box is not None and g.kind not in BACKGROUND and g.address not in change["addresses"]
        ]
        marks += [Mark(number, style, box, beside) for box in _gathered(boxes, foreign)]
    if not marks:
        return ""
    under = "".join(_outline(mark) for mark in marks)
    over = f'<g class="ghost">{"".join(ghosts)}</g>' if ghosts else ""
    for mark in marks:
        label, room = _label(mark, taken, sheet)
        over += label
        taken += [room] if room is not None else []
    paper = re.search(r'<rect class="paper"[^>]*/>\n?', sheet.svg)
    assert paper is not None
    body = sheet.svg[: paper.end()] + f'<g data-marks="under">{under}</g>\n' + sheet.svg[paper.end() :]
    return body.replace("</svg>", f'<g data-marks="over">{over}</g>\n</svg>')


def _of(sheet: SheetRead, change: Json) -> list[Drawn]:
    """The groups that show a change. The box of a consumer is part of its circuit where it stands in its row; else it
    is marked for what changed in itself alone."""
    addresses = set(change["addresses"])
    if change["kind"] == "circuit" and change["change"] == "changed":
        own = {fact["subject"] for fact in change["causes"]}
        return [
            g for g in sheet.groups if g.address in addresses and g.box and (g.kind != "data-part" or g.address in own)
        ]
    return [group for group in sheet.groups if group.address in addresses and group.box is not None]


def _is_free(group: Drawn, sheet: SheetRead) -> bool:
    """Whether nothing stands now in the old place of a group. Where conductors end they may touch what is there."""
    others = (other for other in sheet.groups if other.kind not in BACKGROUND)
    taken = [box for other in others for box in (*other.boxes, *other.texts)]
    return not any(overlap(_shorter(mine), box, 0.1) for mine in (*group.boxes, *group.texts) for box in taken)


def _shorter(box: Box) -> Box:
    """A box without the ends of its long sides."""
    across = TOUCH if box[2] - box[0] > 2 * TOUCH else 0.0
    along = TOUCH if box[3] - box[1] > 2 * TOUCH else 0.0
    return box[0] + across, box[1] + along, box[2] - across, box[3] - along


def _gathered(boxes: list[Box], foreign: list[Box]) -> list[Box]:
    """Boxes of one change put together wherever nothing foreign lies between them."""
    gathered = list(boxes)
    merged = True
    while merged:
        merged = False
        for first in range(len(gathered)):
            for second in range(first + 1, len(gathered)):
                both = union((gathered[first], gathered[second]))
                assert both is not None
                if not any(overlap(both, box) for box in foreign):
                    gathered[first] = both
                    del gathered[second]
                    merged = True
                    break
            if merged:
                break
    return [grown(box, 0.6) for box in gathered]


def _outline(mark: Mark) -> str:
    left, top, right, bottom = mark.box
    dashes = f' stroke-dasharray="{mark.style.dashes}"' if mark.style.dashes else ""
    return (
        f'<rect data-mark="{mark.style.word.lower()}" x="{left:.2f}" y="{top:.2f}" width="{right - left:.2f}" '
        f'height="{bottom - top:.2f}" rx="1" fill="{mark.style.tint}" stroke="{mark.style.ink}" '
        f'stroke-width="0.4"{dashes}/>'
    )


def _beside(change: Json, style: Style, units: str) -> tuple[tuple[str, ...], ...]:
    """What may be written at a mark, the fullest first, each as lines: the word, and for a change what it was."""
    if style.word != "CHANGED":
        return ((style.word,),)
    facts = [*change["consequences"], *change["causes"]]
    was = [_was(fact, units) for fact in facts if fact["fact"] in SHOWN_FACTS]
    kept = [text for text in was if text]
    sets: list[tuple[str, ...]] = []
    for count in range(len(kept), 0, -1):
        sets.append((f"{style.word}, was {', '.join(kept[:count])}",))
        sets.append((style.word, f"was {kept[0]}", *kept[1:count]))
    return (*sets, (style.word,))


def _was(fact: Json, units: str) -> str:
    """The old value of a fact, short enough to stand on a sheet."""
    if fact["old"] is None:
        return ""
    if fact["fact"] in ("size", "stated size"):
        return words.size_label(fact["old"])
    return show(fact["old"], local(fact["unit"], units)) if fact["unit"] in ("A", "m") else ""


def _label(mark: Mark, taken: list[Box], sheet: SheetRead) -> tuple[str, Box | None]:
    """The words of a mark with its number, where they touch nothing: within the outline, else right beside it."""
    for spots in (_within, _around):
        for first, *rest in mark.words:
            lines = (f"{mark.number}  {first}", *rest)
            wide, high = max(text_width(line, SMALL) for line in lines) + 1.0, 3.5 * len(lines) - 0.3
            for left, top in spots(mark.box, wide, high):
                box = (left, top, left + wide, top + high)
                inside = box[0] > 8 and box[2] < sheet.width - 8 and box[1] > 8 and box[3] < sheet.height - 8
                if inside and not any(overlap(box, other, 0.2) for other in taken):
                    return "".join(_words(left, top, lines, mark.style)), box
    return "", None


def _words(left: float, top: float, lines: tuple[str, ...], style: Style) -> Iterator[str]:
    for row, line in enumerate(lines):
        yield (
            f'<text x="{left + 0.5:.2f}" y="{top + 2.45 + 3.5 * row:.2f}" font-size="{SMALL}" class="b" '
            f'style="fill:{style.ink}">{escape(line, quote=False)}</text>'
        )


def _within(box: Box, wide: float, high: float) -> Iterator[tuple[float, float]]:
    """Left upper corners inside an outline, from its right upper one on."""
    left, top, right, bottom = grown(box, -0.4)
    if right - left >= wide and bottom - top >= high:
        for row in range(int((bottom - top - high) / 0.7) + 1):
            for column in range(int((right - left - wide) / 2.0) + 1):
                yield right - wide - 2.0 * column, top + 0.7 * row


def _around(box: Box, wide: float, high: float) -> Iterator[tuple[float, float]]:
    """Left upper corners that touch an outline: at its right, above, below, at its left."""
    left, top, right, bottom = box
    rows = [top + row for row in range(int(max(bottom - top - high, 0)) + 1)]
    yield from ((right + 0.3, y) for y in rows)
    for x in (left, (left + right - wide) / 2, right - wide):
        yield x, top - high - 0.3
        yield x, bottom + 0.3
    yield from ((left - wide - 0.3, y) for y in rows)


def _list_pages(document: Json, numbered: list[tuple[int, Json]], width: float, height: float) -> list[str]:
    """Sheets with the changes by number, their marks and what they say."""
    room = int((width - 2 * MARGIN - 72.0) / (SMALL * 0.5))
    rows: list[tuple[str, str, str, str]] = []
    for number, change in numbered:
        word = change["change"].upper()
        lines = wrap(sentences.sentence(change).replace(" -> ", " → "), room) or [""]
        rows.append((str(number), word, change["address"], lines[0]))
        rows += [("", "", "", line) for line in lines[1:]]
    names = f"{document['old']['name']} to {document['new']['name']}"
    per_page = int((height - 2 * MARGIN - 30.0) / LINE)
    pages = [rows[at : at + per_page] for at in range(0, len(rows), per_page)] or [[]]
    return [
        _list_page(names, sentences.closing(document), page, number, width, height)
        for number, page in enumerate(pages, 1)
    ]


def _list_page(
    names: str, closing: str, rows: list[tuple[str, str, str, str]], number: int, width: float, height: float
) -> str:
    def text(x: float, y: float, line: str, more: str = "") -> str:
        return f'<text x="{x:.2f}" y="{y:.2f}" font-size="{SMALL}"{more}>{escape(line, quote=False)}</text>'

    inner = f'width="{width - 14:.2f}" height="{height - 14:.2f}"'
    frame = f'<rect x="7" y="7" {inner} fill="none" stroke="#111111" stroke-width="0.5"/>'
    body = text(MARGIN, MARGIN + 4.0, f"Changes, {names}", ' font-weight="700"') + text(MARGIN, MARGIN + 9.0, closing)
    x = MARGIN
    for style in STYLES.values():
        body += _outline(Mark(0, style, (x, MARGIN + 12.5, x + 26.0, MARGIN + 17.5), ()))
        body += text(x + 2.0, MARGIN + 16.0, style.word, f' font-weight="700" fill="{style.ink}"')
        x += 30.0
    y = MARGIN + 25.0
    for line, word, address, sentence in rows:
        style_of = STYLES.get(word.lower())
        ink = f' font-weight="700" fill="{style_of.ink}"' if style_of else ""
        body += text(MARGIN, y, line) + text(MARGIN + 8.0, y, word, ink) + text(MARGIN + 30.0, y, address)
        body += text(MARGIN + 72.0, y, sentence)
        y += LINE
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:g}mm" height="{height:g}mm" '
        f'viewBox="0 0 {width:g} {height:g}" role="img" data-sheet="changes-{number}" font-family="{FONTS}">'
        f"<title>Changes, {escape(names)}</title>"
        f'<rect class="paper" width="{width:g}" height="{height:g}" fill="#FFFFFF"/>{frame}{body}</svg>\n'
    )


def _stacked(pages: list[tuple[str, float, float]]) -> str:
    """The pages one below the other, each as it is."""
    wide, y, body = max(width for _, width, _ in pages), 0.0, ""
    for svg, _, height in pages:
        body += (
            svg.replace("<svg ", f'<svg x="0" y="{y:g}" ', 1)
            .replace('mm" height="', '" height="', 1)
            .replace('mm" viewBox', '" viewBox', 1)
        )
        y += height + 6.0
    high = y - 6.0
    style = (
        "<style>.ghost path,.ghost rect,.ghost circle"
        "{stroke:#555555!important;stroke-dasharray:0.5 0.9!important;fill:none!important}"
        ".ghost text,.ghost tspan{fill:#555555!important;text-decoration:line-through}</style>"
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:g}mm" height="{high:g}mm" '
        f'viewBox="0 0 {wide:g} {high:g}" role="img">\n<title>What changed</title>\n{style}\n{body}</svg>\n'
    )
