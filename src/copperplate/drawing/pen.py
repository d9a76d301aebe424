"""The pen: strokes, outlines and lettering in millimetres, gathered in groups and written as SVG.

A sheet is a list of `Group`s. A group carries the address of what it shows (`data-conductor`, `data-device`,
`data-part`, ...), so that a reader's program finds the stroke, the symbol and the words of one thing together.
Layers fix what lies over what, whatever the order of drawing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from html import escape
from typing import Literal

from copperplate.drawing import lettering

Point = tuple[float, float]
Layer = Literal["tint", "rule", "conductor", "bar", "symbol", "mark", "frame"]
LAYERS: tuple[Layer, ...] = ("tint", "rule", "conductor", "bar", "symbol", "mark", "frame")
"""From the bottom to the top."""

INK = "#111111"
GREY = "#666666"
FONTS = "'Liberation Sans', Arimo, 'Nimbus Sans', sans-serif"

STROKES: dict[str, tuple[str, str]] = {
    "pos": ("#B3121D", ""),
    "neg": (INK, "3.6 1.2"),
    "pe": ("#1B6E34", "4 1 0.8 1"),
    "l": ("#7A3E12", ""),
    "l1": ("#7A3E12", ""),
    "l2": ("#7A3E12", "6 1.2"),
    "n": ("#1F4FA3", "2 1"),
    "dc": (INK, ""),
    "ac": ("#7A3E12", "2.6 1.2"),
}
"""Colour and dashes of a conductor's stroke by pole; `dc` and `ac` are the strokes of the one-line sheet. Nearly
equal in grey, so dashes, side, marks and letters carry the meaning."""

CLASSES: dict[str, str] = {
    "b": "font-weight:700",
    "o": f"fill:none;stroke:{INK};stroke-width:0.4",
    "w": f"fill:#FFFFFF;stroke:{INK};stroke-width:0.4",
    "k": f"fill:{INK};stroke:none",
    "x": f"fill:#FFFFFF;stroke:{INK};stroke-width:0.5",
    "e": f"fill:none;stroke:{INK};stroke-width:0.35;stroke-dasharray:5 1 1 1",
    "f": f"fill:none;stroke:{INK};stroke-width:0.5",
    "r": f"fill:none;stroke:{GREY};stroke-width:0.2;stroke-dasharray:0.6 0.6",
    "t": "fill:#FAF6EC;stroke:#9A6A3A;stroke-width:0.35;stroke-dasharray:5 1.2 1 1.2",
    "u": "fill:#F8F8F8;stroke:#777777;stroke-width:0.25;stroke-dasharray:1.6 1",
    "g": "fill:#FFFFFF;stroke:#888888;stroke-width:0.3",
    "bn": f"fill:#FFFFFF;stroke:{INK};stroke-width:0.4",
    "ba": "fill:#FFFFFF;stroke:#7A3E12;stroke-width:0.4",
    "bar-ink": f"fill:none;stroke:{INK};stroke-linecap:square",
    "bar-pos": "fill:none;stroke:#B3121D;stroke-linecap:square",
    "bar-neg": "fill:none;stroke:#FFFFFF;stroke-linecap:square",
    "bp": f"fill:#B3121D;stroke:{INK};stroke-width:0.4",
    "h": "fill:none;stroke:#B8B8B8;stroke-width:0.2",
    **{
        f"c-{pole}": f"fill:none;stroke:{colour}" + (f";stroke-dasharray:{dashes}" if dashes else "")
        for pole, (colour, dashes) in STROKES.items()
    },
}
"""b bold, o outline, w white symbol, k solid, x box, e enclosure, f frame, h hairline, r route, t AC, u bank, g card,
bp positive bar, bn negative bar, ba AC bar, bar-* folded bars, c-* conductors."""

STYLE = f"[data-sheet] text{{font-family:{FONTS};fill:{INK};white-space:pre}}" + "".join(
    f"[data-sheet] .{name}{{{rules}}}" for name, rules in CLASSES.items()
)
"""Bound to the sheet, so that sheets set into one page do not dress the rest of it."""


@dataclass(frozen=True, slots=True)
class Polyline:
    """A polyline of conductor, symbol or rule. `weight` 0: the width of its class."""

    points: tuple[Point, ...]
    style: str
    weight: float = 0.0
    closed: bool = False
    then: tuple[tuple[Point, ...], ...] = ()
    """Further polylines of the same path."""


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle by its corner and size."""

    x: float
    y: float
    width: float
    height: float
    style: str = "x"
    round: float = 0.0
    fill: str = ""


@dataclass(frozen=True, slots=True)
class Disc:
    """A circle."""

    x: float
    y: float
    radius: float
    style: str = "w"


@dataclass(frozen=True, slots=True)
class Arc:
    """A free curve for symbols: SVG path data already in sheet millimetres, with its extent."""

    data: str
    style: str
    extent: tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Words:
    """One line of lettering on the baseline `y`: runs of (text, bold) with `GAP` between them."""

    x: float
    y: float
    runs: tuple[tuple[str, bool], ...]
    size: float = lettering.SMALL
    anchor: Literal["start", "middle", "end"] = "start"
    fill: str = ""

    @property
    def width(self) -> float:
        return measure(self.runs, self.size)


GAP = 1.2
"""Between the bold tag of a label and what follows it."""

Primitive = Polyline | Box | Disc | Arc | Words


@dataclass
class Group:
    """What belongs to one thing. `kind` names its data attribute: conductor, device, part, bar, ..."""

    kind: str
    address: str
    layer: Layer
    title: str = ""
    home: bool = False
    """True where this is the place of the thing in the whole set: it carries the id."""
    notes: tuple[tuple[str, str], ...] = ()
    """Further data attributes."""
    items: list[Primitive] = field(default_factory=list)

    def add(self, *items: Primitive) -> Group:
        self.items.extend(items)
        return self


Extent = tuple[float, float, float, float]
"""Left, top, right and bottom of the room that something takes, in mm."""


def extent(item: Primitive) -> Extent:
    """The room of a primitive; of a stroke without its width."""
    match item:
        case Polyline(points, then=then):
            across, down = zip(*(point for line in (points, *then) for point in line), strict=True)
            return min(across), min(down), max(across), max(down)
        case Box(x, y, width, height):
            return x, y, x + width, y + height
        case Disc(x, y, radius):
            return x - radius, y - radius, x + radius, y + radius
        case Arc(extent=room):
            return room
        case Words(x, y, size=size, anchor=anchor, width=width):
            left = x - {"start": 0.0, "middle": width / 2, "end": width}[anchor]
            return left, y - lettering.ASCENT * size, left + width, y + lettering.DESCENT * size


def measure(runs: Iterable[tuple[str, bool]], size: float = lettering.SMALL) -> float:
    """Width in mm of runs of lettering on one line."""
    runs = tuple(runs)
    return sum(lettering.width(text, size, bold) for text, bold in runs) + GAP * max(0, len(runs) - 1)


def words(
    x: float,
    y: float,
    text: str,
    *,
    bold: bool = False,
    size: float = lettering.SMALL,
    anchor: Literal["start", "middle", "end"] = "start",
    fill: str = "",
) -> Words:
    """One run of lettering."""
    return Words(x, y, ((text, bold),), size, anchor, fill)


def weight_of(area_mm2: float) -> float:
    """Width of a conductor's stroke by its cross-section, so that heavy conductors look heavy."""
    return 0.35 if area_mm2 <= 2.6 else 0.5 if area_mm2 <= 10.1 else 0.8 if area_mm2 <= 35.1 else 1.2


def number(value: float) -> str:
    """A coordinate with at most two decimals."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def write(groups: Iterable[Group], width_mm: float, height_mm: float, title: str, description: str, name: str) -> str:
    """The sheet as SVG text: real text, escaped, nothing that depends on time or place.

    `name` makes the ids of title and description; it is unique in the set."""
    groups = list(groups)
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{number(width_mm)}mm" height="{number(height_mm)}mm" '
        f'viewBox="0 0 {number(width_mm)} {number(height_mm)}" role="img" '
        f'aria-labelledby="{name}-title {name}-desc" data-sheet="{_attribute(name)}">',
        f'<title id="{name}-title">{escape(title, quote=False)}</title>',
        f'<desc id="{name}-desc">{escape(description, quote=False)}</desc>',
        f"<style>{STYLE}</style>",
        f'<rect class="paper" width="{number(width_mm)}" height="{number(height_mm)}" fill="#FFFFFF"/>',
    ]
    for layer in LAYERS:
        of_layer = [group for group in groups if group.layer == layer]
        if of_layer:
            lines.append(f'<g class="layer-{layer}">')
            for group in of_layer:
                lines += _write_group(group)
            lines.append("</g>")
    lines.append("</svg>")
    return "\n".join(lines) + "\n"


def _write_group(group: Group) -> Iterator[str]:
    identity = f' id="{_attribute(group.address)}"' if group.home else ""
    data = f' data-{group.kind}="{_attribute(group.address)}"'
    notes = "".join(f' data-{key}="{_attribute(value)}"' for key, value in group.notes)
    yield f"<g{identity}{data}{notes}>"
    if group.title:
        yield f"<title>{escape(group.title, quote=False)}</title>"
    for item in group.items:
        yield _write_item(item)
    yield "</g>"


def _attribute(text: str) -> str:
    return escape(text, quote=True)


def _write_item(item: Primitive) -> str:
    match item:
        case Polyline(points, style, weight, closed, then):
            data = " ".join(_path(line, closed) for line in (points, *then))
            wide = f' stroke-width="{number(weight)}"' if weight else ""
            return f'<path class="{style}" d="{data}"{wide}/>'
        case Box(x, y, width, height, style, radius, fill):
            corner = f' rx="{number(radius)}"' if radius else ""
            corner += f' style="fill:{fill}"' if fill else ""
            return (
                f'<rect class="{style}" x="{number(x)}" y="{number(y)}" '
                f'width="{number(width)}" height="{number(height)}"{corner}/>'
            )
        case Disc(x, y, radius, style):
            return f'<circle class="{style}" cx="{number(x)}" cy="{number(y)}" r="{number(radius)}"/>'
        case Arc(data, style, _):
            return f'<path class="{style}" d="{data}"/>'
        case Words():
            return _write_words(item)


def _path(points: tuple[Point, ...], closed: bool) -> str:
    """Points as path data: `H` and `V` for the upright pieces that conductors are made of."""
    (x, y), *rest = points
    data = f"M{number(x)} {number(y)}"
    for next_x, next_y in rest:
        if number(next_y) == number(y):
            data += f"H{number(next_x)}"
        elif number(next_x) == number(x):
            data += f"V{number(next_y)}"
        else:
            data += f"L{number(next_x)} {number(next_y)}"
        x, y = next_x, next_y
    return data + ("Z" if closed else "")


def _write_words(item: Words) -> str:
    anchor = f' text-anchor="{item.anchor}"' if item.anchor != "start" else ""
    fill = f' style="fill:{item.fill}"' if item.fill else ""
    head = f'<text x="{number(item.x)}" y="{number(item.y)}" font-size="{number(item.size)}"{anchor}{fill}'
    if len(item.runs) == 1:
        text, bold = item.runs[0]
        return f"{head}{_BOLD[bold]}>{escape(text, quote=False)}</text>"
    gap = f' dx="{GAP}"'
    spans = "".join(
        f"<tspan{_BOLD[bold]}{gap if place else ''}>{escape(text, quote=False)}</tspan>"
        for place, (text, bold) in enumerate(item.runs)
    )
    return f"{head}>{spans}</text>"


_BOLD = {True: ' class="b"', False: ""}
