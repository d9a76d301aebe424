"""What the wiring diagram must satisfy beyond what every sheet must, read from its SVG and the design.

Every part and every power conductor is on it; ends of conductors lie on what they end at; cables cross leads of the
direct-current part as seldom as they can; the sheet is used; what it says of zones is true.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence

from svgcheck import CELL, FRAME, STRIP, Drawn, Rect, Shape, cross, read

from copperplate.drawing.paper import Paper
from copperplate.model.results import Design

NEAR = 0.5
"""How far an end may lie from the outline that it ends on, mm."""
MAINS = ("c-l", "c-l1", "c-l2", "c-n")
LEAST_USED, MOST_EMPTY = 0.30, 1 / 6
"""Share of the cells with ink, and of the room that the largest empty rectangle may take."""


def diagram_faults(svg: str, design: Design) -> list[str]:
    """What is wrong with sheet 1 of a design."""
    sheet = read(svg)
    return [*_missing(sheet, design), *_ends(sheet), *_bolts(sheet, design), *_crossings(sheet), *zones(sheet)]


def _missing(sheet: Drawn, design: Design) -> Iterable[str]:
    system = design.system
    parts = {group.data.get("data-part") for group in sheet.groups}
    yield from (f"{name} is not on the diagram" for name in system.parts if name not in parts)
    drawn = {group.conductor for group in sheet.groups}
    rows = {run for group in sheet.groups if "data-row" in group.data for run in group.data["data-run"].split()}
    for name, conductor in system.conductors.items():
        if system.runs[conductor.run].signal_a is None and name not in drawn and conductor.run not in rows:
            yield f"{name} is neither a path nor a row"
    devices = {group.data.get("data-device") for group in sheet.groups}
    for name, device in system.devices.items():
        own = system.runs.get(device.run)
        if not device.panel and name not in devices and own is not None and own.id not in rows and own.signal_a is None:
            yield f"{name} is not on the diagram"


def _ends(sheet: Drawn) -> Iterable[str]:
    """Every end of a path lies on a stud, a joint, a port at the edge of a box, the end of a symbol or another path."""
    others = [
        shape for group in sheet.groups for shape in group.shapes
        if group.layer in ("symbol", "bar", "mark") or (group.layer == "conductor" and not group.conductor)
    ]  # fmt: skip
    paths = [shape for group in sheet.groups if group.conductor for shape in group.shapes]
    for group in sheet.groups:
        for shape in group.shapes if group.conductor else ():
            if not shape.pieces:
                continue
            a, b, _, _ = shape.pieces[0]
            _, _, c, d = shape.pieces[-1]
            for x, y in ((a, b), (c, d)):
                if not any(_meets(other, x, y) for other in (*others, *(p for p in paths if p is not shape))):
                    yield f"{group.conductor} ends on nothing at {x:.1f}, {y:.1f}"


def _meets(shape: Shape, x: float, y: float) -> bool:
    left, top, right, bottom = shape.ink
    if not (left - NEAR <= x <= right + NEAR and top - NEAR <= y <= bottom + NEAR):
        return False
    if shape.circle is not None:
        return math.hypot(shape.circle[0] - x, shape.circle[1] - y) <= shape.circle[2] + NEAR
    return any(_apart(piece, x, y) <= NEAR + shape.half for piece in shape.pieces)


def _apart(piece: Rect, x: float, y: float) -> float:
    """From a point to a stroke."""
    a, b, c, d = piece
    long = math.hypot(c - a, d - b)
    share = max(0.0, min(1.0, ((x - a) * (c - a) + (y - b) * (d - b)) / long**2)) if long else 0.0
    return math.hypot(a + share * (c - a) - x, b + share * (d - b) - y)


def _bolts(sheet: Drawn, design: Design) -> Iterable[str]:
    """The symbol of a device that is bolted to a bar touches that bar."""
    bars = {
        group.data["data-part"]: group for group in sheet.groups if group.layer == "bar" and "data-part" in group.data
    }  # fmt: skip
    for name, device in design.system.devices.items():
        mounted = [
            design.system.nodes[node].part for leg in device.legs for node in leg
            if node in design.system.nodes and design.system.nodes[node].part in bars
        ]  # fmt: skip
        symbols = [group for group in sheet.groups if group.data.get("data-device") == name and group.shapes]
        for bar in mounted:
            inks = [shape.ink for shape in bars[bar].shapes]
            touching = any(
                ink[1] - NEAR <= y <= ink[3] + NEAR
                for symbol in symbols for shape in symbol.shapes for y in (shape.ink[1], shape.ink[3]) for ink in inks
            )  # fmt: skip
            if symbols and not touching:
                yield f"{name} is bolted to {bar} and does not touch it"


def _crossings(sheet: Drawn) -> Iterable[str]:
    """Cables over leads: fewer than there are cables that leave the tinted rectangle."""
    frame = next((s.box for g in sheet.groups if "data-ac" in g.data for s in g.shapes), None)
    if frame is None:
        return
    cables = [g for g in sheet.groups if g.conductor and any(s.style in MAINS for s in g.shapes)]
    leads = [g for g in sheet.groups if g.conductor and any(s.style in ("c-pos", "c-neg") for s in g.shapes)]
    leaving = {
        g.data["data-run"] for g in cables for s in g.shapes for p in s.pieces if min(p[0], p[2]) < frame[0] - 1
    }  # fmt: skip
    crossed = {
        (cable.data["data-run"], lead.conductor)
        for cable in cables for lead in leads
        for s in cable.shapes for t in lead.shapes for p in s.pieces for q in t.pieces if cross(p, q) == "cross"
    }  # fmt: skip
    if len(crossed) > max(0, len(leaving) - 1):
        yield f"{len(crossed)} cables over leads: {sorted(crossed)}"


def zones(sheet: Drawn) -> Iterable[str]:
    """Every flag that names a zone names that of the thing it leads to."""
    paper = Paper("", sheet.width, sheet.height)
    places: dict[str, set[str]] = {}
    for group in sheet.groups:
        name = group.data.get("data-part", "")
        if name:
            for text in group.texts:
                places.setdefault(name, set()).add(paper.zone(text.box[0], (text.box[1] + text.box[3]) / 2))
            for shape in group.shapes:
                a, b, c, d = shape.ink
                places[name] = places.get(name, set()) | {paper.zone(x, y) for x in (a, c) for y in (b, d)}
    for group in sheet.groups:
        for text in group.texts if "data-goes-on" in group.data else ():
            told = re.search(r"(?:to|from) (\S+).* ([A-Z]+\d+)$", text.content)
            if told and (name := told[1].split(".")[0]) in places and told[2] not in places[name]:
                yield f"{text.content}: {name} is in {sorted(places[name])}"


def used(svg: str) -> tuple[float, float]:
    """Shares of the room inside the frame: of its cells that hold text, a stroke or the inside of a box or card; and
    what the largest empty rectangle of cells takes."""
    sheet = read(svg)
    left, top = FRAME, FRAME
    across = int((sheet.width - 2 * FRAME) / CELL)
    down = int((sheet.height - 2 * FRAME - STRIP) / CELL)
    filled = [[False] * across for _ in range(down)]

    def fill(box: Rect) -> None:
        for row in range(max(0, int((box[1] - top) / CELL)), min(down, int((box[3] - top) / CELL) + 1)):
            for column in range(max(0, int((box[0] - left) / CELL)), min(across, int((box[2] - left) / CELL) + 1)):
                filled[row][column] = True

    for group in sheet.groups:
        if group.layer in ("frame", "tint"):
            continue
        for text in group.texts:
            fill(text.box)
        for shape in group.shapes:
            for piece in shape.pieces:
                a, b, c, d = piece
                fill((min(a, c), min(b, d), max(a, c), max(b, d)))
            if shape.box is not None:
                fill(shape.box)
    share = sum(map(sum, filled)) / (across * down)
    return share, largest_empty(filled) / (across * down)


def largest_empty(filled: Sequence[Sequence[bool]]) -> int:
    """Cells of the largest rectangle without a filled one: row by row, the largest under the heights of empty cells."""
    heights = [0] * len(filled[0])
    best = 0
    for row in filled:
        heights = [0 if cell else height + 1 for cell, height in zip(row, heights, strict=True)]
        stack: list[tuple[int, int]] = []
        for place, height in enumerate((*heights, 0)):
            start = place
            while stack and stack[-1][1] >= height:
                start, tall = stack.pop()
                best = max(best, tall * (place - start))
            stack.append((start, height))
    return best
