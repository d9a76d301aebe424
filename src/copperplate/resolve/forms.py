"""How each form of value in the kinds table is read from the atoms of an item."""

from __future__ import annotations

from collections.abc import Callable
from math import ceil
from typing import Any

from copperplate import units
from copperplate.model import Budget, Window
from copperplate.model.kinds import Attribute
from copperplate.resolve.atoms import Atoms, in_si, misfit
from copperplate.resolve.reading import UNREAD, Place
from copperplate.resolve.sizes import advice_of, comparable_of, size_of, sizes_of, terminal_of
from copperplate.resolve.words import DIMENSION_WORDS, SAMPLE_LENGTHS, sample
from copperplate.syntax.tree import Bad, Number, Pair, Quantity, Range, Text, Word
from copperplate.text import Span, nearest

_TINY, _HUGE = 1e-9, 1e9
"""No quantity of a plate is smaller or greater, in the units that the model counts in."""


MOST = 100_000
"""No count of a plate is greater."""


def read_value(attribute: Attribute, word: Span, atoms: Atoms, place: Place) -> Any:
    """The value of `attribute`, whose word (or first atom, where it stands bare) is at `word`; UNREAD where it
    could not be read. Takes from `atoms` what belongs to it."""
    if attribute.form == "flag":
        return True
    atom = atoms.peek()
    if atom is None or (isinstance(atom, Word) and attribute.form in NEVER_WORDS):
        return place.report("CP124", word, word=attribute.word, sample=place.sample(attribute))
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
    about = {"word": attribute.word, "written": atom.span.text}
    if converted[0] != 0 and not _TINY <= abs(converted[0]) <= _HUGE:
        return place.report("CP127", atom.span, **about)
    if attribute.positive and not converted[0] > 0:
        length = SAMPLE_LENGTHS[place.reading.length_unit]["run"] if attribute.dimension == "length" else None
        return place.report("CP122", atom.span, length=length, bare=attribute.bare, keyed=True, **about)
    if attribute.key == "daily_h" and converted[0] > _DAY_H:
        return place.report("CP127", atom.span, day=True, **about)
    return converted[0]


def _window(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    atom = atoms.take()
    if isinstance(atom, Quantity) and units.dimension_of(atom.unit) == attribute.dimension:
        return place.report("CP124", atom.span, word=attribute.word, end=atom.written, unit=atom.unit)
    if not isinstance(atom, Range) or units.dimension_of(atom.unit) is None:
        return misfit(atom, attribute, place)
    about = {"word": attribute.word, "written": atom.span.text, "sample": sample(attribute)}
    low, dimension = units.to_si(_number(atom.low), atom.unit)
    high, _ = units.to_si(_number(atom.high), atom.unit)
    if dimension != attribute.dimension:
        what = DIMENSION_WORDS[dimension]
        return place.report("CP120", atom.span, what=what, **about)
    if not _TINY < low < high < _HUGE:
        swapped = f"{atom.high}..{atom.low} {atom.unit}" if 0 < high < low else None
        return place.report("CP125", atom.span, swapped=swapped, **about)
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
        return place.report("CP127", atom.span, drop=atom.span.text, sample=sample(attribute))
    if not value > 0:
        about = {"word": attribute.word, "written": atom.span.text, "sample": sample(attribute)}
        return place.report("CP122", atom.span, **about)
    return Budget(share=value) if dimension == "share" else Budget(volts=value)


def _share(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    atom = atoms.take()
    converted = in_si(atom) if isinstance(atom, Quantity) else None
    if converted is None or converted[1] != "share":
        return misfit(atom, attribute, place)
    about = {"word": attribute.word, "written": atom.span.text}
    if not converted[0] > 0:
        return place.report("CP122", atom.span, **about)
    return converted[0] if converted[0] <= 1 else place.report("CP127", atom.span, share=True, **about)


def _plain_number(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    atom = atoms.take()
    if not isinstance(atom, Number):
        return misfit(atom, attribute, place)
    if atom.value > _HUGE:
        return place.report("CP127", atom.span, word=attribute.word, written=atom.written, number=True)
    if not atom.value > 0:
        return place.report("CP122", atom.span, word=attribute.word, written=atom.written)
    if attribute.key == "power_factor" and atom.value > 1:
        return place.report("CP127", atom.span, factor=atom.written, sample=sample(attribute))
    return atom.value


def _count(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    atom = atoms.take()
    if isinstance(atom, Quantity):
        whole = ceil(atom.value) if 1 <= atom.value <= MOST else 1
        return place.report("CP126", atom.span, word=attribute.word, quantity=atom.span.text, whole=whole)
    if not isinstance(atom, Number):
        return misfit(atom, attribute, place)
    if not 1 <= atom.value <= MOST or atom.value != int(atom.value):
        whole = ceil(atom.value) if 1 <= atom.value <= MOST else 1
        return place.report("CP126", atom.span, word=attribute.word, written=atom.written, whole=whole)
    return int(atom.value)


def _choice(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    atom = atoms.take()
    if isinstance(atom, Word) and atom.text in attribute.choices:
        return atom.text
    written = atom.span.text
    likely = nearest(written.lower(), attribute.choices)
    about = {"word": attribute.word, "likely": likely, "choices": attribute.choices}
    return place.report("CP128", atom.span, written=written, **about)


def _word(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    atom = atoms.take()
    return atom if isinstance(atom, Word) else misfit(atom, attribute, place)


def _text(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    atom = atoms.take()
    if isinstance(atom, Text | Word):
        return atom.text
    return place.report("CP124", atom.span, quotes=True, word=attribute.word, written=atom.span.text)


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
    return place.report("CP128", atom.span, supply=True, written=atom.span.text)


def _addresses(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    """Names, and behind `share` the percentage of each: ((word, share or None), ...)."""
    found: list[tuple[Word, float | None]] = []
    words = place.words.attributes
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
