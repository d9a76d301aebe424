"""Sheets read back from their SVG: what stands where, by address. Millimetres throughout.

The marks of a comparison are laid over finished sheets and never move anything, so that they need to know only what
is drawn and not how.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from xml.etree import ElementTree

Box = tuple[float, float, float, float]
"""Left, top, right, bottom."""

SVG = "{http://www.w3.org/2000/svg}"
_PIECE = re.compile(r"([MLHVQCAZ])([^MLHVQCAZ]*)")
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
_NARROW, _WIDE = frozenset("iljtfrI.,:;'|!()[]/- ·"), frozenset("mwMWGOQ@%Ω→²")
_OPEN = ("f", "e", "o")
"""Classes of outlines with nothing in them: they block with their edges alone."""


@dataclass(frozen=True)
class Drawn:
    """One group of a sheet: the address of what it shows, its SVG, and the room that each of its pieces takes."""

    kind: str
    address: str
    svg: str
    boxes: tuple[Box, ...]
    texts: tuple[Box, ...]

    @cached_property
    def box(self) -> Box | None:
        return union((*self.boxes, *self.texts))


@dataclass(frozen=True)
class SheetRead:
    """A sheet as text, with its size and its groups in order."""

    slug: str
    title: str
    svg: str
    width: float
    height: float
    groups: tuple[Drawn, ...] = field(repr=False)


def read_sheet(slug: str, title: str, svg: str) -> SheetRead:
    """The sheet of an SVG text as the drawing writes it."""
    root = ElementTree.fromstring(svg)
    _, _, width, height = (float(number) for number in root.attrib["viewBox"].split())
    return SheetRead(slug, title, svg, width, height, tuple(_groups(root)))


def union(boxes: tuple[Box, ...] | list[Box]) -> Box | None:
    """The smallest box around all; None around none."""
    if not boxes:
        return None
    left, top, right, bottom = zip(*boxes, strict=True)
    return min(left), min(top), max(right), max(bottom)


def overlap(box: Box, other: Box, gap: float = 0.0) -> bool:
    """Whether two boxes come nearer to each other than `gap`."""
    return box[0] < other[2] + gap and other[0] < box[2] + gap and box[1] < other[3] + gap and other[1] < box[3] + gap


def grown(box: Box, by: float) -> Box:
    return box[0] - by, box[1] - by, box[2] + by, box[3] + by


def text_width(text: str, size: float) -> float:
    """At least as wide as `text` is set in an open sans."""
    return size * sum(0.34 if c in _NARROW else 0.86 if c in _WIDE else 0.72 if c.isupper() else 0.57 for c in text)


def _groups(root: ElementTree.Element) -> Iterator[Drawn]:
    for layer in root.iter(f"{SVG}g"):
        for group in layer.findall(f"{SVG}g"):
            boxes: list[Box] = []
            texts: list[Box] = []
            for item in group:
                frames = _item_boxes(item)
                (texts if item.tag == f"{SVG}text" else boxes).extend(frames)
            kind = next((name for name in group.attrib if name.startswith("data-")), "")
            address = group.attrib.get(kind, "")
            for special in ("data-rail", "data-way"):
                kind = special if special in group.attrib else kind
            yield Drawn(kind, address, _inner(group), tuple(boxes), tuple(texts))


def _inner(group: ElementTree.Element) -> str:
    """What a group draws, without its title and its ids."""
    pieces = []
    for item in group:
        if item.tag != f"{SVG}title":
            text = ElementTree.tostring(item, encoding="unicode").strip()
            pieces.append(text.replace("ns0:", "").replace(' xmlns:ns0="http://www.w3.org/2000/svg"', ""))
    return "".join(pieces)


def _item_boxes(item: ElementTree.Element) -> list[Box]:
    get = item.attrib.get
    if item.tag == f"{SVG}rect":
        x, y = float(get("x", "0")), float(get("y", "0"))
        right, bottom = x + float(get("width", "0")), y + float(get("height", "0"))
        if get("class") in _OPEN:
            return [(x, y, right, y), (x, bottom, right, bottom), (x, y, x, bottom), (right, y, right, bottom)]
        return [(x, y, right, bottom)]
    if item.tag == f"{SVG}circle":
        x, y, r = float(get("cx", "0")), float(get("cy", "0")), float(get("r", "0"))
        return [(x - r, y - r, x + r, y + r)]
    if item.tag == f"{SVG}text":
        size = float(get("font-size", "2.8"))
        wide = text_width("".join(item.itertext()), size)
        x, y = float(get("x", "0")), float(get("y", "0"))
        left = {"middle": x - wide / 2, "end": x - wide}.get(get("text-anchor", "start"), x)
        return [(left, y - 0.78 * size, left + wide, y + 0.24 * size)]
    if item.tag == f"{SVG}path":
        half = float(get("stroke-width", "0.4")) / 2
        return [grown(box, half) for box in _path_boxes(get("d", ""))]
    return []


def _path_boxes(data: str) -> Iterator[Box]:
    """The box of each piece of a path; of a curve that of its control points."""
    x = y = start_x = start_y = 0.0
    for verb, rest in _PIECE.findall(data):
        numbers = [float(number) for number in _NUMBER.findall(rest)]
        before = (x, y)
        if verb == "H":
            points = [(number, y) for number in numbers]
        elif verb == "V":
            points = [(x, number) for number in numbers]
        elif verb == "A":
            points = [(numbers[i + 5], numbers[i + 6]) for i in range(0, len(numbers) - 6, 7)]
        elif verb == "Z":
            points = [(start_x, start_y)]
        else:
            points = list(zip(numbers[::2], numbers[1::2], strict=False))
        if not points:
            continue
        x, y = points[-1]
        if verb == "M":
            start_x, start_y = points[0]
            points = points[1:]
            before = (start_x, start_y)
        for point in points:
            yield min(before[0], point[0]), min(before[1], point[1]), max(before[0], point[0]), max(before[1], point[1])
            before = point
