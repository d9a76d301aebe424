"""Reads what begins with a number: quantities, sizes, ranges, counts, fractions. A problem comes beside its atom."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache
from typing import Any

from copperplate.syntax.problems import Problem
from copperplate.syntax.tree import Atom, Bad, Count, Number, Pair, Quantity, Range, SizeAtom, StudAtom, Unknown
from copperplate.text import Span, nearest
from copperplate.units import SIZE_SYSTEMS, UNITS, converted, dimension_of, normal, suggest
from copperplate.units import number as shown

Make = Callable[[Span], Atom]
Recipe = tuple[Make, Problem | None]
"""How to make the atom once its place is known, and what is wrong with it (offsets from its first character)."""

_NUMERAL = r"[-+−]?(?:[0-9]+(?:[.,/][0-9]+)*|\.[0-9]+)"
_VALUE = re.compile(
    rf"(?:(?P<count>[0-9]+) *[x×*] *)?(?P<low>{_NUMERAL})(?: *(?P<unit>[^\s0-9.…]\S*?))?"
    rf"(?: *(?P<dots>\.\.+|…|to|[-–—−]) *(?P<high>{_NUMERAL})(?: *(?P<unit_high>[^\s0-9.…]\S*))?)?"
)
_PLAIN = re.compile(r"[-+−]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)")
_FRACTION = re.compile(r"([0-9]+)/([0-9]+)")
_SIZE = re.compile(r"[0-9]+(?:\.[0-9]+)?|[0-9]/0")
_MOST_CHARACTERS = 15
"""Digits past these are no measurement, and a number of four hundred of them is no number to a computer."""
_MOST_WITH_DECIMALS = 30
"""A program that writes plates writes all decimals of its numbers: 17 digits, a sign and the zeros before them."""

_FEET_AND_INCHES = re.compile(r"['′’]([0-9.]+)[\"″”]?")
_WORD = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*")


def _numeral(text: str) -> str:
    """A plain number in the one spelling: `+5` -> `5`, `.5` -> `0.5`, the minus sign as a hyphen."""
    text = text.replace("−", "-").removeprefix("+")
    sign, digits = ("-", text[1:]) if text.startswith("-") else ("", text)
    return sign + ("0" + digits if digits.startswith(".") else digits)


def _bad(written: str, code: str, start: int = 0, **figures: Any) -> Recipe:
    return lambda span: Bad(written, span), Problem(code, start, len(written), {"written": written, **figures})


def _bad_count(written: str, count: str) -> Recipe:
    return _bad(written, "CP116", counted=written, count=count)


def _bad_numeral(written: str, numeral: str, rest: str) -> Recipe:
    """Why `numeral` (with `rest` behind it, as `written`) is no plain number."""
    if "," in numeral:
        point, apart = numeral.replace(",", "."), f"{numeral.replace(',', ', ')}{rest}"
        if point.count(".") > 1:
            return _bad(written, "CP101", apart=apart)
        thousands = re.fullmatch(r"[-+−]?[0-9]{1,3},[0-9]{3}", numeral)
        whole = f"{numeral.replace(',', '')}{rest}" if thousands else None
        return _bad(written, "CP101", whole=whole, point=f"{point}{rest}", apart=apart)
    if _is_long(numeral):
        return _bad(written, "CP116", characters=len(numeral))
    fraction = _FRACTION.fullmatch(numeral)
    if fraction and int(fraction[2]) and rest:
        decimal = f"{int(fraction[1]) / int(fraction[2]):.4g}"
        return _bad(written, "CP116", fraction=written, instead=f"{decimal}{rest}")
    return _bad(written, "CP116", numeral=numeral)


def is_size(numeral: str) -> bool:
    """Whether a conductor size can have this number."""
    return _SIZE.fullmatch(numeral) is not None and len(numeral) <= _MOST_CHARACTERS


def _is_long(numeral: str) -> bool:
    return len(numeral.partition(".")[0]) > _MOST_CHARACTERS or len(numeral) > _MOST_WITH_DECIMALS


def _is_plain(numeral: str) -> bool:
    return not _is_long(numeral) and _PLAIN.fullmatch(numeral) is not None


def _unknown_unit(written: str, front: str, unit: str) -> Recipe:
    """`unit` behind `front` is none of the list."""
    begins = len(written) - len(unit)
    other = converted(float(_numeral(front)), unit) if _is_plain(front) else None
    if other is not None:
        amount = f"{shown(other[0], 4)} {other[1]}"
        return _bad(written, "CP102", begins, unit=unit, instead=amount, remark=other[2] or None)
    meant = suggest(unit) or (nearest(unit, (*UNITS, *SIZE_SYSTEMS)) if len(unit) > 2 else None)
    if written == front + unit and ("-" in unit or (meant is None and _WORD.fullmatch(unit) and len(unit) > 1)):
        return _bad(written, "CP109", digit_first=written)
    if unit in ("x", "×"):
        return _bad_count(written, front)
    instead = f"{front} {meant}" if meant else None
    name_like = _WORD.fullmatch(unit) is not None
    return _bad(written, "CP102", begins, unit=unit, instead=instead, number=front, next=name_like)


def _fraction(written: str, numeral: str, unit: str, name: str) -> Recipe | None:
    """A fraction of an inch (a stud's name), or the two voltages of a split supply."""
    parts = _FRACTION.fullmatch(numeral)
    if parts is None or len(numeral) > _MOST_CHARACTERS:
        return None
    if name == "in" and int(parts[2]):
        label = f"{numeral} in"
        return lambda span: StudAtom(label, span), None
    if name == "V":
        return lambda span: Pair(parts[1], parts[2], "V", span), None
    if name in UNITS and UNITS[name].dimension == "length" and int(parts[2]):
        value = int(parts[1]) / int(parts[2])
        return lambda span: Quantity(value, name, f"{shown(value, 4)} {name}", span), None
    if name == "":
        sized = _SIZE.fullmatch(numeral)
        instead, fraction = (f"{numeral} AWG", None) if sized else (None, numeral)
        return _bad(written, "CP104", instead=instead, fraction=fraction)
    if suggest(unit) in ("in", "AWG", "V"):
        return _unknown_unit(written, numeral, unit)
    return None


def _single(written: str, numeral: str, unit: str) -> Recipe:
    """One number, with or without a unit."""
    inches = _FEET_AND_INCHES.fullmatch(unit)
    if inches and _is_plain(numeral):
        return read_inches(f"{_numeral(numeral)} ft {inches[1]} in")
    name = normal(unit)
    if name in SIZE_SYSTEMS and _SIZE.fullmatch(numeral) and len(numeral) <= _MOST_CHARACTERS:
        return lambda span: SizeAtom(numeral, name, span), None
    if not _is_plain(numeral):
        return _fraction(written, numeral, unit, name) or _bad_numeral(written, numeral, f" {unit}" if unit else "")
    number = _numeral(numeral)
    value = float(number)
    if not unit:
        return lambda span: Number(value, number, span), None
    if name in SIZE_SYSTEMS:
        return _bad(written, "CP116", size=written)
    if dimension_of(name) is None:
        return _unknown_unit(written, numeral, unit)
    spelled = f"{number} {name}"
    return lambda span: Quantity(value, name, spelled, span), None


def _counted(written: str, count: str, each: Recipe) -> Recipe:
    """`8 x 0.25 A` once its quantity is read."""
    make, problem = each
    if problem:
        return (lambda span: Bad(written, span)), problem
    if len(count) > _MOST_CHARACTERS:
        return _bad(written, "CP116", characters=len(count))

    def counted(span: Span) -> Atom:
        atom = make(span)
        assert isinstance(atom, Quantity | SizeAtom)
        return Count(int(count), atom, span)

    return counted, None


def _range(written: str, low: str, high: str, unit_low: str, unit_high: str) -> Recipe:
    """`10.5..15 V`, `10.5-15 V`, `10.5 to 15 V`."""
    unit = unit_high or unit_low
    name = normal(unit)
    for numeral in (low, high):
        if not (_is_plain(numeral) or (name in SIZE_SYSTEMS and _SIZE.fullmatch(numeral))):
            return _bad_numeral(written, numeral, "")
    sized = name in SIZE_SYSTEMS
    ends = (low, high) if sized else (_numeral(low), _numeral(high))
    spelled = f"{ends[0]}..{ends[1]}"
    if not unit:
        return _bad(written, "CP104", range=written, volts=spelled)
    if not sized and name not in UNITS:
        return _unknown_unit(written, spelled, unit)
    if unit_low and unit_high and normal(unit_low) != name:
        return _bad(written, "CP116", ends=written)
    return (lambda span: Range(ends[0], ends[1], name, span)), None


@lru_cache(maxsize=4096)
def read_value(written: str) -> Recipe:
    """A token that begins with a number: quantity, size, range, count, split voltage, fraction or bare number."""
    match = _VALUE.fullmatch(written)
    if match is None:
        return _bad(written, "CP116")
    count, low, unit, dots, high, unit_high = match.group("count", "low", "unit", "dots", "high", "unit_high")
    if dots and count is None:
        return _range(written, low, high, unit or "", unit_high or "")
    if count is None:
        return _single(written, low, unit or "")
    if dots or not unit:
        return _bad_count(written, count)
    return _counted(written, count, _single(written, low, unit))


def _inches(text: str) -> float:
    """`6`, `6.5`, `1/2` or `6 1/2`."""
    total = 0.0
    for part in text.split():
        fraction = _FRACTION.fullmatch(part)
        total += int(fraction[1]) / int(fraction[2]) if fraction else float(part)
    return total


@lru_cache(maxsize=512)
def read_inches(written: str) -> Recipe:
    """`5 ft 6 in`, `5 ft 6 1/2 in`, `9 1/2 ft` (a quantity of feet) or `6 1/2 in` (a quantity of inches)."""
    parts = re.sub("(ft|in)", r" \1 ", written).split()
    numbers = [part for part in parts if part not in ("ft", "in")]
    if any(len(n) > _MOST_CHARACTERS or n.endswith("/0") or re.fullmatch(r".*/0+", n) for n in numbers):
        return _bad(written, "CP116", length=written)
    spelled = " ".join(parts)
    if parts[-1] == "ft":
        value = _inches(" ".join(numbers))
        return (lambda span: Quantity(value, "ft", f"{shown(value, 6)} ft", span)), None
    if "ft" in parts:
        cut = parts.index("ft")
        value = float(parts[0]) + _inches(" ".join(parts[cut + 1 : -1])) / 12.0
        return (lambda span: Quantity(value, "ft", spelled, span)), None
    value = _inches(" ".join(numbers))
    return (lambda span: Quantity(value, "in", spelled, span)), None


def read_unknown(written: str) -> Recipe:
    """`? m`: a number that is not known yet."""
    unit = written.removeprefix("?").strip()
    name = normal(unit)
    if name not in UNITS:
        return _unknown_unit(written, "?", unit)
    return (lambda span: Unknown(name, span)), None


def read_date(written: str) -> Recipe:
    """A day without quotes: numbers are no text."""
    return _bad(written, "CP116", date=written)
