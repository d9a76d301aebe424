"""Words and figures of the report: text from a plate as data, addresses, prose of findings, numbers."""

from __future__ import annotations

import math
import re
import unicodedata

from copperplate.units import symbol

_SPECIAL = re.compile(r"([\\`*_\[\]<>|~$])")
_ENTITY = re.compile(r"&(?=#|[A-Za-z]+[0-9]*;)")
_AT_START = re.compile(r"^(?:([-+#])|(\d+)([.)]))(?=[\s#]|$)")
_DIRECTION = dict.fromkeys((*range(0x202A, 0x202F), *range(0x2066, 0x206A)))
"""Characters that turn the direction of what follows: they could make a figure read backwards."""


def plain(value: str) -> str:
    """`value` on one line, without control characters and without overrides of the writing direction."""
    spaced = "".join(" " if unicodedata.category(c) in ("Cc", "Zl", "Zp", "Cs") else c for c in value)
    return " ".join(spaced.translate(_DIRECTION).split())


def text(value: str) -> str:
    """Words of a plate as Markdown that shows exactly those words: nothing in them is markup."""
    return _ENTITY.sub(r"\\&", _SPECIAL.sub(r"\\\1", plain(value)))


def code(address: str) -> str:
    """An address as a code span; "" stays empty."""
    inner = " ".join(plain(address).replace("`", " ").replace("|", " ").split())
    return f"`{inner}`" if inner else ""


def codes(addresses: tuple[str, ...] | list[str]) -> str:
    """Addresses in a row of code spans."""
    return " ".join(code(address) for address in addresses)


def prose(sentence: str) -> str:
    """A sentence of a finding or an assumption: its `addresses` stay code spans, the rest is text."""
    parts = re.split(r"(`[^`]*`)", sentence)
    return "".join(code(part) if part.startswith("`") and part.endswith("`") else _inside(part) for part in parts)


def _inside(part: str) -> str:
    """Text between code spans, with its outer spaces kept."""
    lead = " " if part[:1].isspace() else ""
    trail = " " if part[-1:].isspace() and part.strip() else ""
    return f"{lead}{text(part)}{trail}"


def sentence(value: str) -> str:
    """Prose as a sentence that may open a paragraph: nothing at its start makes a heading or a list, a capital
    where it starts with a plain word, a full stop at its end."""
    shown = _AT_START.sub(lambda m: f"\\{m[1]}" if m[1] else f"{m[2]}\\{m[3]}", prose(value.strip()))
    if shown and shown[0].islower():
        shown = shown[0].upper() + shown[1:]
    return shown if not shown or shown[-1] in ".!?" else shown + "."


def unit(name: str) -> str:
    """A unit as readers see it: `degC` is °C, `mm2` is mm²."""
    return text(symbol(name))


def fixed(value: float | None, decimals: int) -> str:
    """A number with so many decimals; "" for None and for what is not finite."""
    if value is None or not math.isfinite(value):
        return ""
    shown = f"{value:.{decimals}f}"
    return shown[1:] if float(shown) == 0 and shown.startswith("-") else shown


def trimmed(value: float | None, decimals: int) -> str:
    """A number with at most so many decimals: 4.5, 300, 0.58."""
    shown = fixed(value, decimals)
    return shown.rstrip("0").rstrip(".") if "." in shown else shown


def thousands(value: float) -> str:
    """A whole number in groups of three: 10 000. The space does not break."""
    return f"{value:,.0f}".replace(",", "\u00a0")


def counted(number: int, noun: str, nouns: str = "") -> str:
    """`1 warning`, `5 warnings`, `no errors`."""
    return f"{number or 'no'} {noun if number == 1 else nouns or noun + 's'}"


def amperes(value: float | None) -> str:
    """A current in three figures at most: one decimal under 100 A, none above."""
    return "" if value is None else fixed(value, 1 if abs(value) < 99.95 else 0)


def against(value: float, limit: float, decimals: int) -> str:
    """A number in so many decimals, or in as many more as keep it on its side of a limit that it does not equal."""
    for places in range(decimals, 7):
        shown = fixed(value, places)
        if (float(shown) > limit, float(shown) < limit) == (value > limit, value < limit):
            return shown
    return fixed(value, decimals)


def lasting(hours: float) -> str:
    """A time: in minutes, then in tenths of an hour, then in hours."""
    if hours < 0.995:
        return f"{fixed(60 * hours, 0)} min"
    return f"{fixed(hours, 1 if hours < 9.95 else 0)} h"


def many(number: int, noun: str, nouns: str = "") -> str:
    """`one point`, `four points`: a count in words up to twelve."""
    word = _NUMERALS[number] if number < len(_NUMERALS) else str(number)
    return f"{word} {noun if number == 1 else nouns or noun + 's'}"


_NUMERALS = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"]


def joined(words: list[str] | tuple[str, ...]) -> str:
    """`A, B and C`."""
    return " and ".join(filter(None, (", ".join(words[:-1]), *words[-1:])))


def link(words: str, name: str) -> str:
    """Words that lead to the section of this name."""
    return f"[{words}](#{name})"
