"""Symbols of what loads are, by the plate's word (`model/things.py`), in the manner of IEC 60617. None is larger than
the plain box of a load."""

from __future__ import annotations

from copperplate.drawing.pen import Arc, Box, Disc, Polyline, Primitive, words
from copperplate.model import Load
from copperplate.model.things import SYMBOLS, THINGS

Drawn = tuple[Primitive, ...]
REACH_X, REACH_Y = 3.0, 2.5
"""From the centre of a load's symbol to its sides, and to its top and bottom."""
_R = REACH_Y
_D = 1.77


def _of(*items: Primitive) -> Drawn:
    return items


def _line(*points: tuple[float, float], weight: float = 0.0) -> Polyline:
    return Polyline(points, "o", weight)


_RAYS = tuple(_line(*ends) for ends in (((2.5, 0), (3, 0)), ((_D, -_D), (2.3, -2.3)), ((_D, _D), (2.3, 2.3))))
_RING = Disc(0, 0, _R, "w")
_CROSS = (_RING, _line((-_D, -_D), (_D, _D)), _line((-_D, _D), (_D, -_D)))
_BOX = Box(-3, -_R, 6, 2 * _R, "w")
PLAIN = (_BOX,)
_HALF = Arc("M-2.5 1Q-2.5 -2.4 0 -2.4Q2.5 -2.4 2.5 1L-2.5 1", "o", (-2.5, -2.4, 2.5, 1))
_MOTOR = _of(_RING, words(0, 1.15, "M", bold=True, size=3.2, anchor="middle"))
_ELEMENT = _of(Box(-3, -1.4, 6, 2.8, "w"), *(_line((x, -1.4), (x, 1.4)) for x in (-1.5, 0.0, 1.5)))
_DRAWN: dict[str, Drawn] = {
    "lamp": _of(*_CROSS),
    "nav-light": _of(*_CROSS, *_RAYS),
    "heater": _ELEMENT,
    "glow-plug": _ELEMENT,
    "electronics": _of(_BOX, Box(-2, -1.6, 4, 3.2, "o")),
    "radio": _of(_BOX, _line((0, 1.5), (0, -1.5)), _line((-1.3, -1.5), (0, 0.2), (1.3, -1.5))),
    "gauge": _of(_RING, _line((-1.2, 1.2), (1.3, -1.3)), _line((0.4, -1.3), (1.3, -1.3), (1.3, -0.4))),
    "alarm": _of(_HALF, _line((-0.8, 1), (-0.8, 2.5)), _line((0.8, 1), (0.8, 2.5))),
    "sender": _of(Box(-3, -1.2, 6, 2.4, "w"), _line((-2.2, _R), (2.2, -_R)), _line((1, -2.3), (2.2, -_R), (2.1, -1.3))),
    "socket": _of(_BOX, _line((-1, -1.2), (-1, 1.2), weight=0.8), _line((1, -1.2), (1, 1.2), weight=0.8)),
    "horn": _of(Box(-2.6, -0.8, 1.8, 1.6, "w"), _line((-0.8, -0.8), (2.4, -2.4), (2.4, 2.4), (-0.8, 0.8))),
    "solenoid": _of(_BOX, _line((-1.6, _R), (1.6, -_R))),
    "antenna": _of(_line((0, _R), (0, -_R)), _line((-2, -_R), (0, -0.3), (2, -_R))),
    "switch": _of(_line((-3, 0), (-1.9, 0)), _line((-1.9, 0), (1.6, -1.9), weight=0.5), _line((1.9, 0), (3, 0))),
    "plug": _of(Arc("M-0.5 -2Q2.4 -2 2.4 0Q2.4 2 -0.5 2", "o", (-0.5, -2, 1.7, 2)), _line((-2.8, 0), (1, 0), weight=1)),
}  # fmt: skip


def drawn(load: Load) -> Drawn:
    """The symbol that a load states, or that of what it states to be; a plain box for any other."""
    word = load.symbol or load.is_a or ("socket" if load.outlets else "")
    if word in THINGS and THINGS[word].turns:
        return _MOTOR
    return _DRAWN[word] if word in SYMBOLS else PLAIN
