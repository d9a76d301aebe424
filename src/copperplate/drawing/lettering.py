"""How wide a text is in the pen's hand, and how a text that does not fit is broken.

Widths come from a table frozen in the package (`widths.csv`: thousandths of the text size, regular and bold, of
an open sans with the common metrics of its class), so that a sheet is the same on every machine. Lengths in mm.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from functools import cache, lru_cache
from importlib.resources import files
from types import MappingProxyType

SMALL = 2.8
"""Labels and everything else: capitals of 2.0 mm. Nothing on a sheet is smaller."""
NAME = 3.2
"""Names of loads and bars, bold."""
TITLE = 3.4
"""Titles, bold."""
LINE = 3.7
"""From one line of small text to the next."""
ASCENT = 0.74
DESCENT = 0.22
"""Shares of the size that a line of text takes above and below its baseline."""

_UNKNOWN, _WIDE, _PICTURE = 900, 1000, 1350
"""Other scripts come from whatever font the viewer has: room enough for any of them."""
_UNSAFE = {"Cc", "Cs", "Co", "Cn"}
_DIRECTION = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


@cache
def _table() -> Mapping[str, tuple[int, int]]:
    rows = files("copperplate.drawing").joinpath("widths.csv").read_text(encoding="utf-8").splitlines()[1:]
    cells = (row.split(",") for row in rows)
    return MappingProxyType({chr(int(code, 16)): (int(regular), int(bold)) for code, regular, bold in cells})


@cache
def _advance(character: str, bold: bool) -> int:
    known = _table().get(character)
    if known is not None:
        return known[bold]
    category = unicodedata.category(character)
    if category in ("Mn", "Me", "Cf"):
        return 0
    if unicodedata.east_asian_width(character) in ("W", "F"):
        return _PICTURE if category == "So" else _WIDE
    return _UNKNOWN


@lru_cache(maxsize=8192)
def clean(text: str) -> str:
    """`text` as one line that may stand in a drawing: no control characters, no overrides of direction."""
    kept = (
        " " if character.isspace() else "\ufffd" if unicodedata.category(character) in _UNSAFE else character
        for character in text
        if character not in _DIRECTION
    )
    return " ".join("".join(kept).split())


@lru_cache(maxsize=16384)
def width(text: str, size: float = SMALL, bold: bool = False) -> float:
    """Width of `text` in mm at `size` mm."""
    return sum(_advance(character, bold) for character in text) * size / 1000


@lru_cache(maxsize=8192)
def wrap(text: str, room: float, size: float = SMALL, bold: bool = False) -> tuple[str, ...]:
    """`text` in lines no wider than `room` mm. A word wider than that is broken after a hyphen, else anywhere."""
    lines: list[str] = []
    line = ""
    for word in text.split(" "):
        joined = f"{line} {word}" if line else word
        if width(joined, size, bold) <= room:
            line = joined
            continue
        if line:
            lines.append(line)
        while width(word, size, bold) > room and len(word) > 1:
            cut = _break(word, room, size, bold)
            lines.append(word[:cut])
            word = word[cut:]
        line = word
    return (*lines, line) if line or not lines else tuple(lines)


def _break(word: str, room: float, size: float, bold: bool) -> int:
    """Where to break a word that is wider than `room`: after its last hyphen, dot or slash that fits."""
    fits = 1
    while fits < len(word) and width(word[: fits + 1], size, bold) <= room:
        fits += 1
    soft = max(word.rfind(mark, 0, fits) for mark in "-./")
    return soft + 1 if soft > 0 else fits


def wrap_to(text: str, room: float, lines: int, size: float = SMALL, bold: bool = False) -> tuple[str, ...]:
    """`text` in at most so many lines: the last is cut with an ellipsis where it says more."""
    wrapped = wrap(text, room, size, bold)
    if len(wrapped) <= lines:
        return wrapped
    return (*wrapped[: lines - 1], shorten(f"{wrapped[lines - 1]} {wrapped[lines]}", room, size, bold))


def shorten(text: str, room: float, size: float = SMALL, bold: bool = False) -> str:
    """`text`, cut with an ellipsis where it is wider than `room` mm."""
    if width(text, size, bold) <= room:
        return text
    while text and width(text + "…", size, bold) > room:
        text = text[:-1]
    return text.rstrip() + "…"
