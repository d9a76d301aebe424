"""How each form of value in the kinds table is read from the atoms of an item."""

from __future__ import annotations

from collections.abc import Callable
from math import ceil
from typing import Any

from copperplate import units
from copperplate.model import Budget, Window
from copperplate.resolve.atoms import Wanted, in_si
from copperplate.resolve.reading import LEFT_OPEN, UNREAD
from copperplate.resolve.sizes import advice_of, comparable_of, size_of, sizes_of, terminal_of
from copperplate.resolve.words import DIMENSION_WORDS, SAMPLE_LENGTHS, sample
from copperplate.syntax.tree import Bad, Number, Pair, Quantity, Range, Text, Unknown, Word
from copperplate.text import Span, nearest

_TINY, _HUGE = 1e-9, 1e9
"""No quantity of a plate is smaller or greater, in the units that the model counts in."""


MOST = 1000
"""No count of a plate is greater."""


def read_value(wanted: Wanted, word: Span) -> Any:
    """The value that is wanted, whose word (or first atom, where it stands bare) is at `word`; UNREAD where it could
    not be read. Takes from the atoms what belongs to it."""
    attribute, atom = wanted.attribute, wanted.atoms.peek()
    if attribute.form == "flag":
        return True
    if attribute.form == "quantity-or-word" and not isinstance(atom, Quantity):
        return attribute.default
    if atom is None or (isinstance(atom, Word) and attribute.form in NEVER_WORDS):
        return wanted.place.report("CP124", word, word=attribute.word, sample=wanted.place.sample(attribute))
    if isinstance(atom, Bad):
        wanted.atoms.take()
        return UNREAD
    if isinstance(atom, Unknown):
        wanted.atoms.take()
        fits = attribute.open and units.dimension_of(atom.unit) == attribute.dimension
        return LEFT_OPEN if fits else wanted.report("CP254", atom)
    return _READERS[attribute.form](wanted)


NEVER_WORDS = frozenset({"quantity", "price", "window", "budget", "number", "count", "share", "voltage-pair", "size"})
"""Forms whose value is never a word: a word that follows begins the next attribute."""


_DAY_H = 24.0


def _quantity(wanted: Wanted) -> Any:
    atom = wanted.atoms.take()
    attribute, converted = wanted.attribute, in_si(atom) if isinstance(atom, Quantity) else None
    if converted is None or converted[1] != attribute.dimension:
        return wanted.misfit(atom)
    value = converted[0]
    if value != 0 and not _TINY <= abs(value) <= _HUGE:
        return wanted.report("CP127", atom)
    if attribute.positive and not value > 0:
        sample_m = SAMPLE_LENGTHS[wanted.place.reading.length_unit]["run"]
        length = sample_m if attribute.dimension == "length" else None
        return wanted.report("CP122", atom, length=length, bare=attribute.bare, keyed=True)
    if attribute.key == "daily_h" and value > _DAY_H:
        return wanted.report("CP127", atom, day=True)
    return value


def _window(wanted: Wanted) -> Any:
    atom = wanted.atoms.take()
    attribute = wanted.attribute
    if isinstance(atom, Quantity) and units.dimension_of(atom.unit) == attribute.dimension:
        return wanted.report("CP124", atom, end=atom.written, unit=atom.unit)
    if not isinstance(atom, Range) or units.dimension_of(atom.unit) is None:
        return wanted.misfit(atom)
    low, dimension = units.to_si(_number(atom.low), atom.unit)
    high, _ = units.to_si(_number(atom.high), atom.unit)
    if dimension != attribute.dimension:
        return wanted.report("CP120", atom, what=DIMENSION_WORDS[dimension], sample=sample(attribute))
    if not _TINY < low < high < _HUGE:
        swapped = f"{atom.high}..{atom.low} {atom.unit}" if 0 < high < low else None
        return wanted.report("CP125", atom, swapped=swapped, sample=sample(attribute))
    return Window(low, high)


def _number(written: str) -> float:
    try:
        return float(written)
    except ValueError:
        return 0.0


def _budget(wanted: Wanted) -> Any:
    atom = wanted.atoms.take()
    converted = in_si(atom) if isinstance(atom, Quantity) else None
    if converted is None or converted[1] not in ("share", "voltage"):
        return wanted.misfit(atom)
    value, dimension = converted
    if dimension == "share" and value >= 1:
        return wanted.report("CP127", atom, drop=atom.span.text, sample=sample(wanted.attribute))
    if not value > 0:
        return wanted.report("CP122", atom, sample=sample(wanted.attribute))
    return Budget(share=value) if dimension == "share" else Budget(volts=value)


def _budgets(wanted: Wanted) -> Any:
    """The class that a budget is of, "" for every one, and the budget."""
    atoms, choices, of = wanted.atoms, wanted.attribute.choices, ""
    atom = atoms.peek()
    if isinstance(atom, Word) and atom.text not in wanted.place.words.known:
        atoms.take()
        of = atom.text
    budget = atoms.peek()
    if isinstance(budget, Bad):
        atoms.take()
        return UNREAD
    if not isinstance(budget, Quantity | Number | Range):
        return wanted.report("CP124", atoms.last, sample=wanted.place.sample(wanted.attribute))
    value = _budget(wanted)
    if of and of not in choices and isinstance(atom, Word):
        return wanted.report("CP128", atom, likely=nearest(of, choices), choices=choices)
    return UNREAD if value is UNREAD else (of, value)


def _share(wanted: Wanted) -> Any:
    atom = wanted.atoms.take()
    converted = in_si(atom) if isinstance(atom, Quantity) else None
    if converted is None or converted[1] != "share":
        return wanted.misfit(atom)
    if not converted[0] > 0:
        return wanted.report("CP122", atom)
    return converted[0] if converted[0] <= 1 else wanted.report("CP127", atom, share=True)


def _plain_number(wanted: Wanted) -> Any:
    atom = wanted.atoms.take()
    if not isinstance(atom, Number):
        return wanted.misfit(atom)
    if atom.value > _HUGE:
        return wanted.report("CP127", atom, written=atom.written, number=True)
    if not atom.value > 0:
        return wanted.report("CP122", atom, written=atom.written)
    if wanted.attribute.key == "power_factor" and atom.value > 1:
        return wanted.report("CP127", atom, factor=atom.written, sample=sample(wanted.attribute))
    return atom.value


def _count(wanted: Wanted) -> Any:
    atom = wanted.atoms.take()
    if not isinstance(atom, Quantity | Number):
        return wanted.misfit(atom)
    most = wanted.attribute.most
    whole = ceil(atom.value) if 1 <= atom.value <= most else 1
    if isinstance(atom, Quantity):
        return wanted.report("CP126", atom, quantity=atom.span.text, whole=whole)
    if atom.value > most:
        return wanted.report("CP127", atom, written=atom.written, most=most)
    if whole != atom.value:
        return wanted.report("CP126", atom, written=atom.written, whole=whole)
    return int(atom.value)


def _choice(wanted: Wanted) -> Any:
    atom = wanted.atoms.take()
    choices = wanted.attribute.choices
    if isinstance(atom, Word) and atom.text in choices:
        return atom.text
    return wanted.report("CP128", atom, likely=nearest(atom.span.text.lower(), choices), choices=choices)


def _word(wanted: Wanted) -> Any:
    atom = wanted.atoms.take()
    return atom if isinstance(atom, Word) else wanted.misfit(atom)


def _names(wanted: Wanted) -> Any:
    """Every word up to the comma."""
    named: list[Word] = []
    while isinstance(word := wanted.atoms.peek(), Word):
        wanted.atoms.take()
        named.append(word)
    return tuple(word.text for word in named) if named else wanted.misfit(wanted.atoms.take())


def _numbers(wanted: Wanted) -> Any:
    """Every whole number up to the comma."""
    found: list[Number] = []
    while isinstance(number := wanted.atoms.peek(), Number) and number.value == int(number.value):
        wanted.atoms.take()
        found.append(number)
    return tuple(found) if found else wanted.misfit(wanted.atoms.take())


def _text(wanted: Wanted) -> Any:
    atom = wanted.atoms.take()
    if isinstance(atom, Text | Word):
        return atom.text
    return wanted.report("CP124", atom, quotes=True)


def _voltage_pair(wanted: Wanted) -> Any:
    atom = wanted.atoms.take()
    split = wanted.atoms.peek()
    if isinstance(split, Word) and split.text == "split":
        wanted.atoms.take()
    known = {("120", "240"): "120/240"}
    if isinstance(atom, Pair) and atom.unit == "V" and (atom.low, atom.high) in known:
        return known[atom.low, atom.high]
    if isinstance(atom, Quantity) and atom.unit == "V" and atom.value in (120, 230):
        return f"{atom.value:g}"
    if isinstance(atom, Number) or (isinstance(atom, Quantity) and units.dimension_of(atom.unit) != "voltage"):
        return wanted.misfit(atom)
    return wanted.report("CP128", atom, supply=True)


def _price(wanted: Wanted) -> Any:
    """`12.50 EUR`, as it is written."""
    atom = wanted.atoms.take()
    if not isinstance(atom, Quantity) or not units.is_price(atom.unit):
        return wanted.misfit(atom)
    return atom.written if atom.value > 0 else wanted.report("CP122", atom)


def _addresses(wanted: Wanted) -> Any:
    """Names, and behind `share` the percentage of each: ((word, share or None), ...)."""
    named: list[tuple[Word, float | None]] = []
    atoms, words = wanted.atoms, wanted.place.words.attributes
    while isinstance(word := atoms.peek(), Word) and not (named and word.text in words):
        atoms.take()
        share: Any = None
        atom = atoms.peek()
        if wanted.attribute.word == "share" and isinstance(atom, Quantity):
            share = _share(wanted)
            if share is UNREAD:
                continue
        named.append((word, share))
    if not named:
        atom = atoms.take() if atoms else None
        if atom is not None and not isinstance(atom, Bad):
            return wanted.misfit(atom)
        return UNREAD
    return tuple(named)


_READERS: dict[str, Callable[[Wanted], Any]] = {
    "quantity": _quantity,
    "quantity-or-word": _quantity,
    "names": _names,
    "numbers": _numbers,
    "window": _window,
    "budget": _budget,
    "budgets": _budgets,
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
    "price": _price,
    "size-list": sizes_of,
    "address-list": _addresses,
}
