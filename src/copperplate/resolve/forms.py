"""How each form of value in the kinds table is read from the atoms of an item."""

from __future__ import annotations

from collections.abc import Callable
from math import ceil
from typing import Any

from copperplate import units
from copperplate.model import Budget, Window
from copperplate.model.kinds import Attribute
from copperplate.resolve.atoms import UNREAD, Atoms, Place, in_si, misfit
from copperplate.resolve.sizes import advice_of, comparable_of, size_of, sizes_of, terminal_of
from copperplate.resolve.words import DIMENSION_WORDS, listed, sample, table
from copperplate.syntax.tree import Bad, Number, Pair, Quantity, Range, Text, Word
from copperplate.text import Span, nearest

_TINY, _HUGE = 1e-9, 1e9
"""No quantity of a plate is smaller or greater, in the units that the model counts in."""
_SAMPLE_LENGTHS = {"m": "4.5 m", "ft": "15 ft"}


MOST = 100_000
"""No count of a plate is greater."""


def read_value(attribute: Attribute, word: Span, atoms: Atoms, place: Place) -> Any:
    """The value of `attribute`, whose word (or first atom, where it stands bare) is at `word`; UNREAD where it
    could not be read. Takes from `atoms` what belongs to it."""
    if attribute.form == "flag":
        return True
    atom = atoms.peek()
    if atom is None or (isinstance(atom, Word) and attribute.form in NEVER_WORDS):
        wants = f"`{attribute.word}` wants its value"
        return place.report("CP124", wants, word, help=f"write it as `{sample(attribute, place.length_unit)}`")
    if isinstance(atom, Bad):
        atoms.take()
        return UNREAD
    return _READERS[attribute.form](attribute, atoms, place)


NEVER_WORDS = frozenset({"quantity", "window", "budget", "number", "count", "share", "voltage-pair", "size"})
"""Forms whose value is never a word: a word that follows begins the next attribute."""


_DAY_H = 24.0


def _quantity(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    atom = atoms.take()
    if not isinstance(atom, Quantity):
        return misfit(atom, attribute, place)
    converted = in_si(atom)
    if converted is None or converted[1] != attribute.dimension:
        return misfit(atom, attribute, place)
    if converted[0] != 0 and not _TINY <= abs(converted[0]) <= _HUGE:
        message = f"`{attribute.word}` is {atom.span.text}, which nothing of this kind can be"
        return place.report("CP127", message, atom.span, help="write the figure of the data sheet")
    if attribute.positive and not converted[0] > 0:
        message = f"`{attribute.word}` is {atom.span.text}, and it must be above zero"
        help_ = "write the figure of the data sheet" + ("" if attribute.bare else ", or leave it out if unknown")
        if attribute.dimension == "length":
            help_ = f"the length one way, as in `{_SAMPLE_LENGTHS[place.length_unit]}`"
        return place.report("CP122", message, atom.span, help=help_)
    if attribute.key == "daily_h" and converted[0] > _DAY_H:
        message = f"`{attribute.word}` is {atom.span.text}, and a day has {_DAY_H:.0f} h"
        return place.report("CP127", message, atom.span, help=f"`{attribute.word} 24 h` at most")
    return converted[0]


def _window(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    atom = atoms.take()
    if isinstance(atom, Quantity) and units.dimension_of(atom.unit) == attribute.dimension:
        message = f"`{attribute.word}` wants two ends, and only `{atom.written}` is here"
        help_ = f"write it as `{attribute.word} LOW..HIGH {atom.unit}`"
        return place.report("CP124", message, atom.span, help=help_)
    if not isinstance(atom, Range) or units.dimension_of(atom.unit) is None:
        return misfit(atom, attribute, place)
    low, dimension = units.to_si(_number(atom.low), atom.unit)
    high, _ = units.to_si(_number(atom.high), atom.unit)
    if dimension != attribute.dimension:
        message = f"`{atom.span.text}` is {DIMENSION_WORDS[dimension]}, and `{attribute.word}` wants a voltage"
        return place.report("CP120", message, atom.span, help=f"write it as `{sample(attribute)}`")
    if not _TINY < low < high < _HUGE:
        message = f"`{attribute.word} {atom.span.text}` does not run from low to high"
        swapped = f"{atom.high}..{atom.low} {atom.unit}"
        help_ = f"write `{attribute.word} {swapped}`" if 0 < high < low else f"write it as `{sample(attribute)}`"
        return place.report("CP125", message, atom.span, help=help_)
    return Window(low, high)


def _number(written: str) -> float:
    try:
        return float(written)
    except ValueError:
        return 0.0


def _budget(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    atom = atoms.take()
    converted = in_si(atom) if isinstance(atom, Quantity) else None
    if converted is None or converted[1] not in ("share", "voltage"):
        return misfit(atom, attribute, place)
    value, dimension = converted
    if dimension == "share" and value >= 1:
        message = f"a drop of {atom.span.text} leaves no voltage at all"
        return place.report("CP127", message, atom.span, help=f"write it as `{sample(attribute)}`")
    if not value > 0:
        message = f"`{attribute.word}` is {atom.span.text}, and it must be above zero"
        return place.report("CP122", message, atom.span, help=f"write it as `{sample(attribute)}`, or leave it out")
    return Budget(share=value) if dimension == "share" else Budget(volts=value)


def _share(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    atom = atoms.take()
    converted = in_si(atom) if isinstance(atom, Quantity) else None
    if converted is None or converted[1] != "share":
        return misfit(atom, attribute, place)
    return checked_share(converted[0], attribute.word, atom.span, place)


def checked_share(value: float, word: str, span: Span, place: Place) -> Any:
    """A share above 0 and up to 1, or UNREAD with a finding."""
    if not value > 0:
        return place.report("CP122", f"`{word}` is {span.text}, and it must be above zero", span)
    if value > 1:
        message = f"`{word}` is {span.text}, and it cannot be more than 100 %"
        return place.report("CP127", message, span, help="write the figure of the data sheet")
    return value


def _plain_number(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    atom = atoms.take()
    if not isinstance(atom, Number):
        return misfit(atom, attribute, place)
    if atom.value > _HUGE:
        return place.report("CP127", f"`{attribute.word}` is {atom.written}, which it cannot be", atom.span)
    if not atom.value > 0:
        return place.report("CP122", f"`{attribute.word}` is {atom.written}, and it must be above zero", atom.span)
    if attribute.key == "power_factor" and atom.value > 1:
        message = f"a power factor of {atom.written} cannot be: 1 is the most"
        return place.report("CP127", message, atom.span, help=f"write it as `{sample(attribute)}`")
    return atom.value


def _count(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    atom = atoms.take()
    if isinstance(atom, Quantity):
        message = f"`{attribute.word}` counts, and `{atom.span.text}` has a unit"
        whole = ceil(atom.value) if 1 <= atom.value <= MOST else 1
        return place.report("CP126", message, atom.span, help=f"write it as `{attribute.word} {whole}`")
    if not isinstance(atom, Number):
        return misfit(atom, attribute, place)
    if not 1 <= atom.value <= MOST or atom.value != int(atom.value):
        message = f"`{attribute.word}` counts, and {atom.written} is no whole number from 1 up"
        whole = ceil(atom.value) if 1 <= atom.value <= MOST else 1
        return place.report("CP126", message, atom.span, help=f"a whole number, as in `{attribute.word} {whole}`")
    return int(atom.value)


def _choice(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    atom = atoms.take()
    if isinstance(atom, Word) and atom.text in attribute.choices:
        return atom.text
    written = atom.span.text
    meant = nearest(written.lower(), attribute.choices)
    message = f"`{attribute.word}` cannot be `{written}`"
    help_ = f"`{attribute.word} {meant}`" if meant else f"{listed(tuple(attribute.choices))}"
    return place.report("CP128", message, atom.span, help=help_)


def _word(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    atom = atoms.take()
    return atom if isinstance(atom, Word) else misfit(atom, attribute, place)


def _text(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    atom = atoms.take()
    if isinstance(atom, Text | Word):
        return atom.text
    message = f"`{attribute.word}` is text and stands in quotes"
    return place.report("CP124", message, atom.span, help=f'`{attribute.word} "{atom.span.text}"`')


def _voltage_pair(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    atom = atoms.take()
    split = atoms.peek()
    if isinstance(split, Word) and split.text == "split":
        atoms.take()
    known = {("120", "240"): "120/240"}
    if isinstance(atom, Pair) and atom.unit == "V" and (atom.low, atom.high) in known:
        return known[atom.low, atom.high]
    if isinstance(atom, Quantity) and atom.unit == "V" and atom.value in (120, 230):
        return f"{atom.value:g}"
    if isinstance(atom, Number) or (isinstance(atom, Quantity) and units.dimension_of(atom.unit) != "voltage"):
        return misfit(atom, attribute, place)
    message = f"`{atom.span.text}` is no supply that this version knows"
    return place.report("CP128", message, atom.span, help="`ac 120 V`, `ac 230 V` or `ac 120/240 V split`")


def _addresses(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    """Names, and behind `share` the percentage of each: ((word, share or None), ...)."""
    found: list[tuple[Word, float | None]] = []
    words = table(place.kind).attributes
    while isinstance(word := atoms.peek(), Word) and not (found and word.text in words):
        atoms.take()
        share: Any = None
        atom = atoms.peek()
        if attribute.word == "share" and isinstance(atom, Quantity):
            share = _share(attribute, atoms, place)
            if share is UNREAD:
                continue
        found.append((word, share))
    if not found:
        atom = atoms.take() if atoms else None
        if atom is not None and not isinstance(atom, Bad):
            return misfit(atom, attribute, place)
        return UNREAD
    return tuple(found)


_READERS: dict[str, Callable[[Attribute, Atoms, Place], Any]] = {
    "quantity": _quantity,
    "window": _window,
    "budget": _budget,
    "number": _plain_number,
    "count": _count,
    "choice": _choice,
    "word": _word,
    "reference": _word,
    "text": _text,
    "size": size_of,
    "share": _share,
    "terminal": terminal_of,
    "advice": advice_of,
    "comparable": comparable_of,
    "voltage-pair": _voltage_pair,
    "size-list": sizes_of,
    "address-list": _addresses,
}
