"""What a sheet must satisfy, read from its SVG alone (and from the design, where it is to be complete).

`faults(svg)` looks at one sheet, `set_faults(sheets, design)` at a whole set. Each fault is one sentence; an empty
list is a clean sheet. Widths of texts are those of the table frozen in the package, which a test of its own holds
against the font files.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from xml.etree import ElementTree

from copperplate.drawing import lettering
from copperplate.drawing.pen import GAP
from copperplate.model.results import Design

SVG = "{http://www.w3.org/2000/svg}"
SIZES = {(297.0, 210.0), (420.0, 297.0), (279.4, 215.9)}
DIAGRAM_SIZES = SIZES | {
    (594.0, 420.0), (841.0, 594.0), (1189.0, 841.0), (431.8, 279.4), (558.8, 431.8), (863.6, 558.8), (1117.6, 863.6),
}  # fmt: skip
"""A4 to A0 by ISO 216, ANSI A to E by ASME Y14.1, and Tabloid; of the wiring diagram."""
MARGIN, FRAME, STRIP = 7.0, 11.0, 33.0
CELL = 5.0
"""Cells of the room inside the frame by which the used share of a sheet is counted, mm."""
BROKEN = 20
"""Markers of so many characters may be broken over lines."""
Rect = tuple[float, float, float, float]
Segment = tuple[float, float, float, float]


@dataclass
class Shape:
    """One stroke or outline: its pieces, half its width, its class, and the group that it belongs to. `ink`: what it
    covers at most."""

    pieces: list[Segment]
    half: float
    style: str
    group: Group
    box: Rect | None = None
    circle: tuple[float, float, float] | None = None
    solid: bool = False
    ink: Rect = (0.0, 0.0, 0.0, 0.0)

    def __post_init__(self) -> None:
        a, b, c, d = _bounds([*self.pieces, *([self.box] if self.box is not None else [])])
        self.ink = (a - self.half, b - self.half, c + self.half, d + self.half)


@dataclass
class Text:
    content: str
    box: Rect
    size: float
    fill: str
    group: Group


@dataclass
class Group:
    data: dict[str, str]
    layer: str
    shapes: list[Shape] = field(default_factory=list)
    texts: list[Text] = field(default_factory=list)

    @property
    def conductor(self) -> str:
        return self.data.get("data-conductor", "")


@dataclass
class Drawn:
    """A sheet as read back."""

    width: float
    height: float
    groups: list[Group]
    styles: dict[str, dict[str, str]]
    ids: list[str]
    root: ElementTree.Element

    @property
    def shapes(self) -> list[Shape]:
        return [shape for group in self.groups for shape in group.shapes]

    @property
    def texts(self) -> list[Text]:
        return [text for group in self.groups for text in group.texts]


# --- reading ----------------------------------------------------------------------------------------------


@lru_cache(maxsize=64)
def read(svg: str) -> Drawn:
    """A sheet read back; kept for the next check of the same sheet."""
    root = ElementTree.fromstring(svg)
    styles = _styles("".join(root.find(f"{SVG}style").itertext()))
    ids = [element.get("id", "") for element in root.iter() if element.get("id")]
    groups: list[Group] = []
    for layer in root.findall(f"{SVG}g"):
        name = layer.get("class", "")
        for element in layer.findall(f"{SVG}g"):
            data = {key: value for key, value in element.attrib.items() if key.startswith("data-")}
            group = Group(data, name.removeprefix("layer-"))
            for child in element:
                _read_item(child, group, styles)
            groups.append(group)
    return Drawn(float(root.get("width", "0mm")[:-2]), float(root.get("height", "0mm")[:-2]), groups, styles, ids, root)


def _styles(text: str) -> dict[str, dict[str, str]]:
    found: dict[str, dict[str, str]] = {}
    for name, rules in re.findall(r"\.([\w-]+)\{([^}]*)\}", text):
        found[name] = dict(rule.split(":", 1) for rule in rules.split(";") if rule)
    return found


def _read_item(element: ElementTree.Element, group: Group, styles: dict[str, dict[str, str]]) -> None:
    tag = element.tag.removeprefix(SVG)
    style = element.get("class", "")
    rules = styles.get(style, {})
    stroked = rules.get("stroke", "none") != "none"
    half = float(element.get("stroke-width", rules.get("stroke-width", "0"))) / 2 if stroked else 0.0
    solid = rules.get("fill", "none") not in ("none", "#FFFFFF") and group.layer != "tint"
    if tag == "path":
        pieces = [piece for line in polylines(element.get("d", "")) for piece in itertools.pairwise(line)]
        flat = [(a, b, c, d) for (a, b), (c, d) in pieces]
        box = _bounds(flat) if solid else None
        group.shapes.append(Shape(flat, half, style, group, box, solid=solid))
    elif tag == "rect":
        x, y = float(element.get("x", 0)), float(element.get("y", 0))
        right, bottom = x + float(element.get("width", 0)), y + float(element.get("height", 0))
        edges = [(x, y, right, y), (right, y, right, bottom), (right, bottom, x, bottom), (x, bottom, x, y)]
        group.shapes.append(Shape(edges, half, style, group, (x, y, right, bottom), solid=solid))
    elif tag == "circle":
        cx, cy, r = (float(element.get(key, 0)) for key in ("cx", "cy", "r"))
        group.shapes.append(Shape([], half, style, group, (cx - r, cy - r, cx + r, cy + r), (cx, cy, r), solid=solid))
    elif tag == "text":
        group.texts.append(_read_text(element, group))


def polylines(data: str) -> list[list[tuple[float, float]]]:
    """Path data as polylines; curves by points along them."""
    lines: list[list[tuple[float, float]]] = []
    for command, numbers in re.findall(r"([MLHVQZ])([^MLHVQZ]*)", data):
        values = [float(value) for value in re.findall(r"-?[\d.]+", numbers)]
        if command == "M":
            lines.append([(values[0], values[1])])
            continue
        x, y = lines[-1][-1]
        if command == "L":
            lines[-1].append((values[0], values[1]))
        elif command == "H":
            lines[-1].append((values[0], y))
        elif command == "V":
            lines[-1].append((x, values[0]))
        elif command == "Q":
            ax, ay, bx, by = values
            for step in range(1, 9):
                t = step / 8
                lines[-1].append(
                    (
                        (1 - t) ** 2 * x + 2 * t * (1 - t) * ax + t * t * bx,
                        (1 - t) ** 2 * y + 2 * t * (1 - t) * ay + t * t * by,
                    )
                )
        else:
            lines[-1].append(lines[-1][0])
    return lines


def _read_text(element: ElementTree.Element, group: Group) -> Text:
    size = float(element.get("font-size", "0"))
    spans = element.findall(f"{SVG}tspan")
    runs = [("".join(span.itertext()), span.get("class") == "b") for span in spans] or [
        ("".join(element.itertext()), element.get("class") == "b")
    ]
    wide = sum(lettering.width(text, size, bold) for text, bold in runs) + GAP * (len(runs) - 1)
    x, y = float(element.get("x", 0)), float(element.get("y", 0))
    anchor = element.get("text-anchor", "start")
    left = x - (wide if anchor == "end" else wide / 2 if anchor == "middle" else 0.0)
    box = (left, y - lettering.ASCENT * size, left + wide, y + lettering.DESCENT * size)
    fill = element.get("style", "").partition("fill:")[2] or "#111111"
    return Text(" ".join(text for text, _ in runs), box, size, fill, group)


def _bounds(pieces: Sequence[Segment]) -> Rect:
    xs = [x for a, _, c, _ in pieces for x in (a, c)]
    ys = [y for _, b, _, d in pieces for y in (b, d)]
    return (min(xs), min(ys), max(xs), max(ys)) if xs else (0, 0, 0, 0)


# --- geometry ---------------------------------------------------------------------------------------------


def overlap(one: Rect, two: Rect, slack: float = 0.05) -> bool:
    return one[0] < two[2] - slack and two[0] < one[2] - slack and one[1] < two[3] - slack and two[1] < one[3] - slack


def meets(piece: Segment, box: Rect, half: float) -> bool:
    """True where a stroke of half width `half` enters a rectangle (clipping by Liang and Barsky)."""
    left, top, right, bottom = box[0] - half, box[1] - half, box[2] + half, box[3] + half
    a, b, c, d = piece
    start, end = 0.0, 1.0
    for along, near, far in ((c - a, a - left, right - a), (d - b, b - top, bottom - b)):
        if abs(along) < 1e-9:
            if near < 0 or far < 0:
                return False
            continue
        first, last = -near / along, far / along
        if first > last:
            first, last = last, first
        start, end = max(start, first), min(end, last)
        if start > end:
            return False
    return True


def touches(shape: Shape, box: Rect) -> bool:
    """True where the ink of a stroke or outline enters a rectangle."""
    ink = shape.ink
    if ink[0] > box[2] or ink[2] < box[0] or ink[1] > box[3] or ink[3] < box[1]:
        return False
    if shape.circle is not None:
        x, y, r = shape.circle
        near = math.hypot(max(box[0] - x, 0, x - box[2]), max(box[1] - y, 0, y - box[3]))
        far = max(math.hypot(a - x, b - y) for a in (box[0], box[2]) for b in (box[1], box[3]))
        return near < r + shape.half and (shape.solid or far > r - shape.half)
    if shape.solid and shape.box is not None and overlap(shape.box, box):
        return True
    return any(meets(piece, box, shape.half) for piece in shape.pieces)


def cross(one: Segment, two: Segment) -> str:
    """How two upright or level pieces meet: "cross", "overlap", "touch" or ""."""
    first, second = _sorted(one), _sorted(two)
    if _level(first) == _level(second):
        axis = 1 if _level(first) else 0
        if abs(first[axis] - second[axis]) > 0.05:
            return ""
        low, high = (0, 2) if _level(first) else (1, 3)
        shared = min(first[high], second[high]) - max(first[low], second[low])
        return "overlap" if shared > 0.3 else "touch" if shared > -0.05 else ""
    across, down = (first, second) if _level(first) else (second, first)
    x, y = down[0], across[1]
    if not (across[0] - 0.05 <= x <= across[2] + 0.05 and down[1] - 0.05 <= y <= down[3] + 0.05):
        return ""
    inside = across[0] + 0.05 < x < across[2] - 0.05 and down[1] + 0.05 < y < down[3] - 0.05
    return "cross" if inside else "touch"


def _sorted(piece: Segment) -> Segment:
    a, b, c, d = piece
    return (min(a, c), min(b, d), max(a, c), max(b, d))


def _level(piece: Segment) -> bool:
    return abs(piece[1] - piece[3]) < 0.01


# --- one sheet --------------------------------------------------------------------------------------------


def faults(svg: str, design: Design | None = None) -> list[str]:
    """What is wrong with one sheet."""
    try:
        sheet = read(svg)
    except ElementTree.ParseError as problem:
        return [f"not well-formed: {problem}"]
    found = [*_page(sheet), *_texts(sheet), *_conductors(sheet, design), *_styles_faults(sheet)]
    return found


def _page(sheet: Drawn) -> Iterable[str]:
    root = sheet.root
    if (sheet.width, sheet.height) not in (DIAGRAM_SIZES if is_diagram(sheet) else SIZES):
        yield f"no listed sheet size: {sheet.width} x {sheet.height} mm"
    if [float(value) for value in root.get("viewBox", "").split()] != [0, 0, sheet.width, sheet.height]:
        yield "the viewBox is not in millimetres"
    if root.get("role") != "img" or root.find(f"{SVG}title") is None or root.find(f"{SVG}desc") is None:
        yield "no role, title or description"
    if not (root.findtext(f"{SVG}title") or "").strip():
        yield "an empty title"
    for name in {name for name in sheet.ids if sheet.ids.count(name) > 1}:
        yield f"the id {name} twice"
    left, top, right, bottom = MARGIN, MARGIN, sheet.width - MARGIN, sheet.height - MARGIN
    for text in sheet.texts:
        a, b, c, d = text.box
        if a < left + 0.2 or b < top + 0.2 or c > right - 0.2 or d > bottom - 0.2:
            yield f"text outside the frame: {text.content}"
        if text.group.layer != "frame" and d > sheet.height - FRAME - STRIP:
            yield f"text in the strip: {text.content}"
        if text.size < 2.8 - 1e-9:
            yield f"text of {text.size} mm: {text.content}"
    for shape in sheet.shapes:
        a, b, c, d = shape.box or _bounds(shape.pieces)
        if a < left - 0.01 or b < top - 0.01 or c > right + 0.01 or d > bottom + 0.01:
            yield f"a stroke outside the frame, of {shape.group.data}"


def _texts(sheet: Drawn) -> Iterable[str]:
    texts = sorted(sheet.texts, key=lambda text: text.box[0])
    for place, one in enumerate(texts):
        for two in texts[place + 1 :]:
            if two.box[0] > one.box[2]:
                break
            if overlap(one.box, two.box):
                yield f"texts overlap: {one.content} / {two.content}"
    bands = _bands(sheet.shapes)
    for text in sheet.texts:
        if not text.content.strip():
            yield f"an empty text in {text.group.data}"
        letters = _inner(text.box)
        near = {id(shape): shape for band in _rows(letters) for shape in bands.get(band, ())}
        for shape in near.values():
            if touches(shape, letters):
                yield f"text on a stroke: {text.content} / {shape.style} of {shape.group.data}"


BAND = 5.0
"""Height in mm of the bands that strokes are sorted into, so that a text is held against those near it only."""


def _rows(box: Rect) -> range:
    return range(math.floor(box[1] / BAND), math.floor(box[3] / BAND) + 1)


def _bands(shapes: Iterable[Shape]) -> dict[int, list[Shape]]:
    """Strokes and outlines by the bands that their ink enters."""
    found: dict[int, list[Shape]] = {}
    for shape in shapes:
        a, b, c, d = shape.ink
        for band in _rows((a, b - 0.01, c, d + 0.01)):
            found.setdefault(band, []).append(shape)
    return found


def _inner(box: Rect) -> Rect:
    """The letters themselves: what the line of a text keeps clear for tall marks and tails is not ink."""
    a, b, c, d = box
    return a + 0.05, b + 0.05, c - 0.05, d - 0.1


def _conductors(sheet: Drawn, design: Design | None) -> Iterable[str]:
    strokes = [
        (group, shape, piece)
        for group in sheet.groups
        if group.conductor
        for shape in group.shapes
        for piece in shape.pieces
    ]
    for group, _, (a, b, c, d) in strokes:
        if min(abs(a - c), abs(b - d)) > 0.005:
            yield f"a slanted piece in {group.conductor}"
        if max(abs(a - c), abs(b - d)) < 0.3:
            yield f"a jog of less than 0.3 mm in {group.conductor}"
    drawn = [group.conductor for group in sheet.groups if group.conductor]
    for name in {name for name in drawn if drawn.count(name) > 1}:
        yield f"the conductor {name} twice on one sheet"
    for group in sheet.groups:
        if group.conductor and sum(len(polylines_of(group)) for _ in (0,)) != 1:
            yield f"the conductor {group.conductor} is not one path"
    yield from _crossings(sheet)
    yield from _boxes(sheet, design)
    yield from _outlines(sheet)


def polylines_of(group: Group) -> list[Shape]:
    return [shape for shape in group.shapes if shape.style.startswith("c-")]


def is_diagram(sheet: Drawn) -> bool:
    """True of sheet 1, the wiring diagram."""
    return "Wiring diagram" in (sheet.root.findtext(f"{SVG}title") or "")


def _poles(group: Group) -> set[str]:
    return {shape.style for shape in group.shapes}


MAINS = {"c-l", "c-l1", "c-l2", "c-n", "c-pe"}


def _crossings(sheet: Drawn) -> Iterable[str]:
    lines = [
        (group, piece)
        for group in sheet.groups
        if group.layer == "conductor"
        for shape in group.shapes
        for piece in shape.pieces
    ]
    for place, (one, first) in enumerate(lines):
        for two, second in lines[place + 1 :]:
            if one is two or not (one.conductor or two.conductor):
                continue
            meeting = cross(first, second)
            if meeting == "cross" and is_diagram(sheet) and bool(_poles(one) & MAINS) != bool(_poles(two) & MAINS):
                continue
            if meeting in ("cross", "overlap"):
                yield f"{meeting}: {one.conductor or 'a link'} and {two.conductor or 'a link'}"


def _boxes(sheet: Drawn, design: Design | None) -> Iterable[str]:
    """No conductor passes through a box, a bar that it does not end on, or the symbol of something."""
    blocks = [
        shape
        for group in sheet.groups
        if group.layer in ("symbol", "bar")
        for shape in group.shapes
        if shape.box is not None and shape.style in ("w", "x", "bp", "k") and _area(shape.box) > 2.5
    ]
    for group in sheet.groups:
        if not group.conductor:
            continue
        for shape in group.shapes:
            for block in blocks:
                a, b, c, d = block.box or (0, 0, 0, 0)
                inside = (a + 0.3, b + 0.3, c - 0.3, d - 0.3)
                if not any(meets(piece, inside, 0.0) for piece in shape.pieces):
                    continue
                if block.group.layer == "bar" and _ends_on(group.conductor, block, design):
                    continue
                yield f"{group.conductor} passes through {block.group.data}"


def _outlines(sheet: Drawn) -> Iterable[str]:
    """No conductor crosses a stroke of a symbol: it may end on one."""
    bands = _bands(shape for group in sheet.groups if group.layer in ("symbol", "mark") for shape in group.shapes)
    for group in sheet.groups:
        for shape in group.shapes if group.conductor else ():
            for piece in shape.pieces:
                near = {id(other): other for band in _rows(_sorted(piece)) for other in bands.get(band, ())}
                for other in near.values():
                    if any(_pierce(piece, stroke) for stroke in other.pieces):
                        yield f"{group.conductor} crosses the symbol of {other.group.data}"


def _pierce(one: Segment, two: Segment) -> bool:
    """True where two pieces cross away from their ends (by more than 0.15 mm)."""
    a, b, c, d = one
    e, f, g, h = two
    turn = (c - a) * (h - f) - (d - b) * (g - e)
    if abs(turn) < 1e-9:
        return False
    along = ((e - a) * (h - f) - (f - b) * (g - e)) / turn
    across = ((e - a) * (d - b) - (f - b) * (c - a)) / turn
    first, second = 0.15 / math.hypot(c - a, d - b), 0.15 / math.hypot(g - e, h - f)
    return first < along < 1 - first and second < across < 1 - second


def _area(box: Rect) -> float:
    return (box[2] - box[0]) * (box[3] - box[1])


def _ends_on(conductor: str, bar: Shape, design: Design | None) -> bool:
    if design is None:
        return True
    found = design.system.conductors.get(conductor)
    if found is None:
        return False
    owner = next(iter(bar.group.data.values()))
    ends = {found.from_node, found.to_node}
    parts = {design.system.nodes[node].part for node in ends}
    return bar.group.data.get("data-rail") in ends or owner in parts


def _styles_faults(sheet: Drawn) -> Iterable[str]:
    used = {shape.style for group in sheet.groups if group.conductor for shape in group.shapes}
    if {"c-l", "c-l1", "c-l2"} & used and "c-pos" in used and not is_diagram(sheet):
        yield "an AC line and a DC positive on one sheet"
    for style in sorted(used):
        rules = sheet.styles.get(style, {})
        colour = rules.get("stroke", "#FFFFFF")
        if contrast(colour) < 4.5:
            yield f"too little contrast: {style} {colour}"
        if _is_yellow(colour):
            yield f"a yellow stroke: {style} {colour}"
        dashed = "stroke-dasharray" in rules
        if style in ("c-neg", "c-n", "c-pe") and not dashed:
            yield f"no dashes on {style}"
        if (style in ("c-pos", "c-l", "c-l1") or colour == sheet.styles["c-pos"]["stroke"]) and dashed:
            yield f"dashes on {style}"
    for text in sheet.texts:
        if text.fill != "#FFFFFF" and contrast(text.fill) < 4.5:
            yield f"too little contrast: {text.content}"


def _channels(colour: str) -> tuple[float, float, float]:
    return tuple(int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5))  # type: ignore[return-value]


def contrast(colour: str) -> float:
    """Contrast with white by WCAG 2.1, success criterion 1.4.3."""
    linear = [value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4 for value in _channels(colour)]
    return 1.05 / (0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2] + 0.05)


def _is_yellow(colour: str) -> bool:
    red, green, blue = _channels(colour)
    return red > 0.6 and green > 0.6 and blue < 0.5


# --- a set ------------------------------------------------------------------------------------------------


def set_faults(svgs: Sequence[str], design: Design) -> list[str]:
    """What is wrong with the sheets of a design, one by one and together."""
    found: list[str] = []
    conductors: dict[str, int] = {}
    devices: set[str] = set()
    parts: set[str] = set()
    ids: list[str] = []
    for number, svg in enumerate(svgs, 1):
        found += [f"sheet {number}: {fault}" for fault in faults(svg, design)]
        sheet = read(svg)
        ids += sheet.ids
        texts = _labels(sheet)
        for group in sheet.groups:
            name = group.conductor
            if name:
                conductors[name] = conductors.get(name, 0) + 1
                if not _labelled(name, texts, design, is_diagram(sheet)):
                    found.append(f"sheet {number}: {name} is not labelled")
            devices.add(group.data.get("data-device", ""))
            parts.add(group.data.get("data-part", ""))
    system = design.system
    found += [f"{name} is on no sheet" for name in system.conductors if name not in conductors]
    links = {link.id: link for link in design.links}
    found += [f"{name} is no conductor" for name in conductors if name not in system.conductors and name not in links]
    found += [f"device {name} is on no sheet" for name in system.devices if name not in devices]
    found += [f"part {name} is on no sheet" for name in system.parts if name not in parts]
    found += [f"the id {name} on two sheets" for name in {name for name in ids if ids.count(name) > 1}]
    return found


def _labels(sheet: Drawn) -> list[str]:
    """The texts of a sheet, and those of each group joined: a long name may be broken over its lines."""
    found = [text.content for text in sheet.texts]
    for group in sheet.groups:
        if len(group.texts) > 1:
            found.append("".join(text.content for text in group.texts))
    return found


def _labelled(name: str, texts: Sequence[str], design: Design, together: bool = False) -> bool:
    """True where a text of the sheet gives the marker of a conductor; a cable names its cores behind its own name.
    `together`: the cores of a cable, and the two poles of a pair, may have one label, the marker without core or sign.
    Names that the design does not know are another fault."""
    conductor = design.system.conductors.get(name) or next((link for link in design.links if link.id == name), None)
    if conductor is None:
        return True
    base = conductor.run.removesuffix(".run")
    tail = conductor.marker.removeprefix(base).removeprefix(".")
    is_cable = design.system.runs[conductor.run].current == "ac"
    if together and design.system.runs[conductor.run].conductors > 1:
        number = conductor.marker.rpartition("/")[2] if "/" in conductor.marker else ""
        names = {f"{base}{sign}{'/' + number if number else ''}" for sign in ("", "+", "-")}
        heads = (base, base + "/") if is_cable else ()
        spoken = [word.removesuffix(",") for text in texts for word in text.split()]
        if any(word in names or word.rstrip("0123456789") in heads for word in spoken):
            return True
        if len(base) >= BROKEN and any(base in text.replace(" ", "") for text in texts):
            return True
    for text in texts:
        words = [word.removesuffix(",") for word in text.split()]
        if conductor.marker in words or (is_cable and base in words and tail in words):
            return True
    if len(conductor.marker) < BROKEN:
        return False
    joined = [text.replace(" ", "") for text in texts]
    return any(conductor.marker in text or (is_cable and base in text and tail in text) for text in joined)


def places(svg: str, kinds: Sequence[str] = ("conductor", "device", "part")) -> dict[tuple[str, str], list[Rect]]:
    """By kind and address: where the strokes and symbols of each thing lie. For comparing two drawings."""
    found: dict[tuple[str, str], list[Rect]] = {}
    for group in read(svg).groups:
        for kind in kinds:
            address = group.data.get(f"data-{kind}", "")
            if address and group.layer != "bar":
                boxes = [shape.box or _bounds(shape.pieces) for shape in group.shapes]
                found.setdefault((kind, address), []).extend(
                    (round(a, 2), round(b, 2), round(c, 2), round(d, 2)) for a, b, c, d in boxes
                )
    return found
