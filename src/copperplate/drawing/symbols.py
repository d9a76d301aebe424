"""Graphic symbols in the manner of IEC 60617, in millimetres: one entry of a table for each kind.

A symbol is a tuple of items around its own centre. Devices stand upright (the conductor comes from above) and are
turned for a rung; parts are never turned.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

from copperplate.drawing import things
from copperplate.drawing.pen import Arc, Box, Disc, Polyline, Primitive, words
from copperplate.model import Device, Part
from copperplate.model.parts import (
    Alternator,
    Battery,
    Bus,
    Charger,
    Controller,
    Converter,
    Earth,
    Engine,
    Generator,
    Inverter,
    Junction,
    Load,
    Metal,
    Panel,
    Selector,
    Shore,
    Solar,
    Splitter,
)

HALF = 3.2
"""From the centre of a device's symbol to where its conductors end."""


@dataclass(frozen=True, slots=True)
class Symbol:
    """Items around (0, 0) and the extent of what they cover: left, top, right, bottom."""

    items: tuple[Primitive, ...]
    left: float
    top: float
    right: float
    bottom: float

    def at(self, x: float, y: float) -> list[Primitive]:
        return [moved(item, x, y) for item in self.items]

    def turned(self) -> Symbol:
        """The symbol of a device on a rung: what came from above comes from the left, what stood on the left
        stands below."""
        return Symbol(tuple(_turn(item) for item in self.items), self.top, -self.right, self.bottom, -self.left)


def moved(item: Primitive, x: float, y: float) -> Primitive:
    match item:
        case Polyline(points=points, then=then):
            return replace(item, points=_shift(points, x, y), then=tuple(_shift(line, x, y) for line in then))
        case Arc(extent=extent):
            data = re.sub(
                r"([ML]) ?(-?[\d.]+) (-?[\d.]+)|Q ?(-?[\d.]+) (-?[\d.]+) (-?[\d.]+) (-?[\d.]+)",
                lambda command: _shift_data(command, x, y),
                item.data,
            )
            left, top, right, bottom = extent
            return Arc(data, item.style, (left + x, top + y, right + x, bottom + y))
        case _:
            return replace(item, x=item.x + x, y=item.y + y)


def _shift(points: Iterable[tuple[float, float]], x: float, y: float) -> tuple[tuple[float, float], ...]:
    return tuple((a + x, b + y) for a, b in points)


def _shift_data(command: re.Match[str], x: float, y: float) -> str:
    if command[1]:
        return f"{command[1]}{float(command[2]) + x:.2f} {float(command[3]) + y:.2f}"
    a, b, c, d = (float(command[place]) for place in (4, 5, 6, 7))
    return f"Q{a + x:.2f} {b + y:.2f} {c + x:.2f} {d + y:.2f}"


def _turn(item: Primitive) -> Primitive:
    match item:
        case Polyline(points=points, then=then):
            return replace(
                item,
                points=tuple((b, -a) for a, b in points),
                then=tuple(tuple((b, -a) for a, b in line) for line in then),
            )
        case Box(x=x, y=y, width=width, height=height):
            return replace(item, x=y, y=-x - width, width=height, height=width)
        case Disc(x=x, y=y):
            return replace(item, x=y, y=-x)
        case _:
            return item


def _line(*points: tuple[float, float], style: str = "o", weight: float = 0.0) -> Polyline:
    return Polyline(points, style, weight)


# --- devices in a line -----------------------------------------------------------------------------------

_FUSE = Symbol((Box(-1.5, -HALF, 3, 2 * HALF, "w"), _line((0, -HALF), (0, HALF))), -1.5, -HALF, 1.5, HALF)
_SWITCH = Symbol(
    (
        _line((0, -HALF), (0, -2.9)),
        Disc(0, -2.4, 0.5, "w"),
        _line((0, 2.4), (-2.3, -2.3), weight=0.5),
        Disc(0, 2.4, 0.6, "k"),
        _line((0, 2.4), (0, HALF)),
    ),
    -2.6, -HALF, 0.7, HALF,
)  # fmt: skip
_BREAKER = Symbol(
    (
        _line((0, -HALF), (0, -2.1)),
        _line((-0.9, -3.0), (0.9, -1.2)),
        _line((-0.9, -1.2), (0.9, -3.0)),
        _line((0, 2.4), (-2.3, -2.0), weight=0.5),
        _line((0, 2.4), (0, HALF)),
    ),
    -2.6, -HALF, 1.1, HALF,
)  # fmt: skip
_SHUNT = Symbol(
    (
        Box(-1.5, -HALF, 3, 2 * HALF, "w"),
        _line((-1.5, -1.7), (-3.2, -1.7)),
        _line((-1.5, 1.7), (-3.2, 1.7)),
    ),
    -3.2, -HALF, 1.5, HALF,
)  # fmt: skip
_RELAY = Symbol(
    (
        *_SWITCH.items,
        Box(-5.0, -1.4, 2.0, 2.8, "w"),
        _line((-3.0, 0), (-2.4, 0)),
        _line((-2.0, 0), (-1.3, 0)),
    ),
    -5.2, -HALF, 0.7, HALF,
)  # fmt: skip
_SELECTOR = Symbol(
    (
        _line((0, -HALF), (0, -2.9)),
        Disc(0, -2.4, 0.5, "w"),
        Disc(-2.6, -2.4, 0.5, "w"),
        _line((0, 2.4), (-1.3, -2.6), weight=0.5),
        Disc(0, 2.4, 0.6, "k"),
        _line((0, 2.4), (0, HALF)),
    ),
    -3.3, -HALF, 0.7, HALF,
)  # fmt: skip
_DIMMER = Symbol(
    (
        Box(-1.9, -HALF + 0.6, 3.8, 2 * HALF - 1.2, "w"),
        _line((0, -HALF), (0, -HALF + 0.6)),
        _line((0, HALF - 0.6), (0, HALF)),
        _line((-1.2, 1.6), (1.2, -1.6)),
        _line((0.2, -1.5), (1.2, -1.6), (1.1, -0.6)),
    ),
    -1.9, -HALF, 1.9, HALF,
)  # fmt: skip
_DIODE = Symbol(
    (
        Box(-2.2, -HALF + 0.6, 4.4, 2 * HALF - 1.2, "w"),
        _line((0, -HALF), (0, -HALF + 0.6)),
        _line((0, HALF - 0.6), (0, HALF)),
        _line((-0.9, -1.2), (-0.9, 1.2), (1.1, 0), (-0.9, -1.2)),
        _line((1.1, -1.2), (1.1, 1.2), weight=0.6),
    ),
    -2.2, -HALF, 2.2, HALF,
)  # fmt: skip
"""One output of a splitter; which way it passes is told by the terminals beside it."""
_ISOLATOR = Symbol(
    (
        Box(-2.2, -HALF + 0.6, 4.4, 2 * HALF - 1.2, "w"),
        _line((0, -HALF), (0, -HALF + 0.6)),
        _line((0, HALF - 0.6), (0, HALF)),
        _line((-0.9, 1.2), (-0.9, -0.4), (-1.5, 0.6), (-0.3, 0.6), (-0.9, -0.4)),
        _line((0.9, -1.2), (0.9, 0.4), (0.3, -0.6), (1.5, -0.6), (0.9, 0.4)),
    ),
    -2.2, -HALF, 2.2, HALF,
)  # fmt: skip
_PIN = Symbol(
    (
        _line((0, -HALF), (0, -0.9)),
        Arc("M-1.3 0.4Q-1.3 -0.9 0 -0.9Q1.3 -0.9 1.3 0.4", "o", (-1.3, -0.9, 1.3, 0.4)),
        _line((0, 0.1), (0, 1.6), weight=1.0),
        _line((0, 1.6), (0, HALF)),
    ),
    -1.3, -HALF, 1.3, HALF,
)  # fmt: skip
DEVICES: dict[str, Symbol] = {
    "fuse": _FUSE,
    "breaker": _BREAKER,
    "switch": _SWITCH,
    "rcd": _SWITCH,
    "galvanic-isolator": _ISOLATOR,
    "connector": _PIN,
    "shunt": _SHUNT,
    "relay": _RELAY,
    "selector": _SELECTOR,
    "contactor": _RELAY,
    "combiner": _RELAY,
    "dimmer": _DIMMER,
    "diode": _DIODE,
}

# --- batteries, earths -----------------------------------------------------------------------------------

BATTERY = Symbol(
    (
        _line((0, -4.4), (0, -2.7)),
        _line((-3.4, -2.7), (3.4, -2.7)),
        _line((-1.6, -1.1), (1.6, -1.1), weight=1.0),
        _line((0, -0.4), (0, -0.15)),
        _line((0, 0.15), (0, 0.4)),
        _line((-3.4, 1.1), (3.4, 1.1)),
        _line((-1.6, 2.7), (1.6, 2.7), weight=1.0),
        _line((0, 2.7), (0, 4.4)),
    ),
    -3.4, -4.4, 3.4, 4.4,
)  # fmt: skip
"""Two cells; its conductors end 4.4 mm above and below the centre."""
EARTH = Symbol(
    (
        _line((0, 0), (0, 1.6)),
        _line((-3, 1.6), (3, 1.6)),
        _line((-1.9, 2.7), (1.9, 2.7)),
        _line((-0.8, 3.8), (0.8, 3.8)),
    ),
    -3, 0, 3, 4,
)  # fmt: skip
"""Earth or hull point; its conductor ends at the centre, the symbol hangs below."""

# --- parts -----------------------------------------------------------------------------------------------


def _direct(x: float, y: float) -> tuple[Primitive, ...]:
    """The mark of direct current: a line over three dashes."""
    return (
        _line((x - 1.5, y - 0.5), (x + 1.5, y - 0.5)),
        _line((x - 1.5, y + 0.5), (x - 0.8, y + 0.5)),
        _line((x - 0.35, y + 0.5), (x + 0.35, y + 0.5)),
        _line((x + 0.8, y + 0.5), (x + 1.5, y + 0.5)),
    )


def _alternating(x: float, y: float) -> tuple[Primitive, ...]:
    """The mark of alternating current: one wave."""
    rise = f"Q{x - 0.8:.2f} {y - 2.0:.2f} {x:.2f} {y:.2f}"
    fall = f"Q{x + 0.8:.2f} {y + 2.0:.2f} {x + 1.6:.2f} {y:.2f}"
    wave = f"M{x - 1.6:.2f} {y:.2f}{rise}{fall}"
    return (Arc(wave, "o", (x - 1.6, y - 1.1, x + 1.6, y + 1.1)),)


def _converter(upper: tuple[Primitive, ...], lower: tuple[Primitive, ...]) -> Symbol:
    square = Box(-4.5, -4.5, 9, 9, "o")
    return Symbol((square, _line((-4.5, 4.5), (4.5, -4.5)), *upper, *lower), -4.5, -4.5, 4.5, 4.5)


def _letter(letter: str, mark: tuple[Primitive, ...]) -> Symbol:
    lift = -0.1 if mark else 1.15
    return Symbol(
        (Disc(0, 0, 4.5, "o"), words(0, lift, letter, bold=True, size=3.2, anchor="middle"), *mark),
        -4.5, -4.5, 4.5, 4.5,
    )  # fmt: skip


_SOLAR = Symbol(
    (
        Box(-4.5, -4.5, 9, 9, "o"),
        _line((-4.5, 1), (-0.5, 1)),
        _line((-0.5, -1.9), (-0.5, 3.9)),
        _line((0.8, -0.3), (0.8, 2.3), weight=0.9),
        _line((0.8, 1), (4.5, 1)),
        _line((-3.9, -3.9), (-2.3, -2.3)),
        _line((-2.3, -3.1), (-2.3, -2.3), (-3.1, -2.3)),
        _line((-2.1, -3.9), (-0.9, -2.7)),
        _line((-0.9, -3.5), (-0.9, -2.7), (-1.7, -2.7)),
    ),
    -4.5, -4.5, 4.5, 4.5,
)  # fmt: skip
_PANEL = Symbol(
    (
        _line((-4.5, -3.4), (4.5, -3.4), weight=0.8),
        *(
            item
            for x in (-3, 0, 3)
            for item in (Box(x - 0.9, -1.7, 1.8, 3.8, "o"), _line((x, -3.4), (x, 3.6)))
        ),
    ),
    -4.5, -3.9, 4.5, 3.6,
)  # fmt: skip
_BREAKERS = Symbol(
    (
        _line((-4.0, -3.4), (4.5, -3.4), weight=0.8),
        *(
            item
            for x in (-2.8, 0.4, 3.6)
            for item in (
                _line((x, -3.4), (x, -2.0)),
                _line((x - 0.6, -2.3), (x + 0.6, -1.1)),
                _line((x - 0.6, -1.1), (x + 0.6, -2.3)),
                _line((x, 1.8), (x - 1.5, -1.2)),
                _line((x, 1.8), (x, 3.6)),
            )
        ),
    ),
    -4.5, -3.9, 4.5, 3.6,
)  # fmt: skip
_INLET = Symbol(
    (
        Arc("M1.5 -3.4Q-3.2 -3.4 -3.2 0Q-3.2 3.4 1.5 3.4L1.5 -3.4", "o", (-2.6, -3.4, 1.5, 3.4)),
        _line((-3.9, 0), (-0.85, 0), weight=1.0),
    ),
    -4, -3.4, 1.5, 3.4,
)  # fmt: skip
_BUSBAR = Symbol(
    (_line((-4, -1.6), (4, -1.6), weight=1.2), *(_line((x, -1.6), (x, 1.6)) for x in (-2.6, 0, 2.6))), -4, -2.2, 4, 1.6
)
_ENGINE = Symbol(
    (
        Box(-3.6, -3.4, 7.2, 4.2, "o"),
        *(_line((x, -3.4), (x, -1.4)) for x in (-1.8, 0, 1.8)),
        _line((0, 0.8), (0, 2.2)),
        _line((-2.4, 2.2), (2.4, 2.2)),
        *(_line((x, 2.2), (x - 1.0, 3.8)) for x in (-2.0, 0, 2.0)),
    ),
    -3.6, -3.4, 3.6, 3.8,
)  # fmt: skip
"""An engine's block with the sign of a frame, for its metal is what conductors end at."""
PLAIN = Symbol(things.PLAIN, -things.REACH_X, -things.REACH_Y, things.REACH_X, things.REACH_Y)
PARTS: dict[type[Part], Symbol] = {
    Battery: BATTERY,
    Bus: _BUSBAR,
    Panel: _PANEL,
    Load: PLAIN,
    Inverter: _converter(_direct(-2.2, -2.4), _alternating(2.1, 2.3)),
    Charger: _converter(_alternating(-2.2, -2.4), _direct(2.1, 2.4)),
    Converter: _converter(_direct(-2.2, -2.4), _direct(2.1, 2.4)),
    Controller: _converter(_direct(-2.2, -2.4), _direct(2.1, 2.4)),
    Solar: _SOLAR,
    Alternator: _letter("G", _direct(0, 2.4)),
    Generator: _letter("G", _alternating(0, 2.5)),
    Shore: _INLET,
    Junction: Symbol((), 0, 0, 0, 0),
    Earth: EARTH,
    Metal: EARTH,
    Engine: _ENGINE,
    Selector: _SELECTOR,
    Splitter: _DIODE,
}
"""A kind that has no entry has that of the kind which it is a sort of, else one by its roles: a source a circle with
a G, a bar a bar, anything else a plain box."""


def part_symbol(part: Part) -> Symbol:
    """The symbol of a part; that of a load by the plate's words, for a title is in any language."""
    if isinstance(part, Load):
        return replace(PLAIN, items=things.drawn(part))
    if isinstance(part, Panel) and (part.ac or part.family == "breaker"):
        return _BREAKERS
    known = next((PARTS[sort] for sort in type(part).__mro__ if sort in PARTS), None)
    if known is not None:
        return known
    if part.roles.gives and not part.roles.consumes:
        return _letter("G", ())
    return _BUSBAR if part.roles.bar else PLAIN


def device_symbol(device: Device) -> Symbol:
    """The symbol of a device: its kind's own, else by its roles a fuse, a switch or a shunt."""
    if device.kind in DEVICES:
        return DEVICES[device.kind]
    return _FUSE if device.roles.protects else _SWITCH if device.roles.switches else _SHUNT


def blade(device: Device) -> Symbol:
    """The second pole of a device beside the first: its blade, or its body where it has none."""
    if not device.roles.switches:
        return device_symbol(device)
    stroke = (_line((0, -HALF), (0, -2.4)), _line((0, 2.4), (-2.3, -2.2), weight=0.5), _line((0, 2.4), (0, HALF)))
    return Symbol(stroke, -2.6, -HALF, 0.7, HALF)


def ring(left: float, right: float, y: float) -> Arc:
    """The residual-current ring round the poles between two axes."""
    a, b, h = left - 1.5, right + 1.5, 1.0
    middle = (a + b) / 2
    data = (
        f"M{a:.2f} {y:.2f}Q{a:.2f} {y - h:.2f} {middle:.2f} {y - h:.2f}Q{b:.2f} {y - h:.2f} {b:.2f} {y:.2f}"
        f"Q{b:.2f} {y + h:.2f} {middle:.2f} {y + h:.2f}Q{a:.2f} {y + h:.2f} {a:.2f} {y:.2f}"
    )
    return Arc(data, "o", (a, y - h, b, y + h))
