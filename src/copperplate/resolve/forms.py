"""How each form of value in the kinds table is read from the atoms of an item."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from math import ceil
from typing import Any

from copperplate import units
from copperplate.findings import Finding, finding
from copperplate.model import Advice, Budget, Size, Terminal, Window
from copperplate.model.kinds import Attribute
from copperplate.resolve.words import DIMENSION_WORDS, an, listed, sample
from copperplate.syntax.tree import (
    Atom,
    Bad,
    Count,
    Number,
    Pair,
    Quantity,
    Range,
    SizeAtom,
    StudAtom,
    Text,
    Word,
)  # fmt: skip
from copperplate.text import Span, nearest

_TINY, _HUGE = 1e-9, 1e9
"""No quantity of a plate is smaller or greater, in the units that the model counts in."""
_SAMPLE_LENGTHS = {"m": "4.5 m", "ft": "15 ft"}


class _Unread:
    """Stands for a value that could not be read; its finding is made."""

    def __bool__(self) -> bool:
        return False


UNREAD = _Unread()
_GAUGE = re.compile(r"([1-4])/0|0{1,4}|[1-9]\d?")
_METRIC = re.compile(r"\d+(?:\.\d+)?|\.\d+")


@dataclass(frozen=True)
class Place:
    """Where values stand: the kind, the address and the ports of what says them, for messages."""

    kind: str
    subject: str
    length_unit: str
    findings: list[Finding] = field(repr=False)
    ports: tuple[str, ...] = ()

    def report(self, code: str, message: str, span: Span | None, **more: Any) -> _Unread:
        """Adds a finding; returns UNREAD for the caller to hand on."""
        self.findings.append(finding(code, self.subject, message, span, **more))
        return UNREAD


class Atoms:
    """The atoms of one item, taken from the left."""

    __slots__ = ("_atoms", "at")

    def __init__(self, atoms: tuple[Atom, ...]) -> None:
        self._atoms = atoms
        self.at = 0

    def peek(self) -> Atom | None:
        return self._atoms[self.at] if self.at < len(self._atoms) else None

    def take(self) -> Atom:
        self.at += 1
        return self._atoms[self.at - 1]

    @property
    def last(self) -> Atom:
        """The atom taken last."""
        return self._atoms[self.at - 1]

    def __bool__(self) -> bool:
        return self.at < len(self._atoms)


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


def misfit(atom: Atom, attribute: Attribute, place: Place) -> _Unread:
    """What stands there is of another form than the attribute's."""
    written = atom.span.text
    how = sample(attribute, place.length_unit)
    if isinstance(atom, Number) and attribute.form in ("quantity", "window", "budget", "share", "voltage-pair"):
        return place.report(
            "CP104", f"a number without a unit: {written}", atom.span, help=unit_help(atom, attribute, place)
        )
    if isinstance(atom, Quantity):
        kind = DIMENSION_WORDS.get(units.dimension_of(atom.unit) or "", "a quantity")
        wants = DIMENSION_WORDS.get(attribute.dimension, "a value without a unit")
        if attribute.form in ("budget", "share"):
            wants = "a share, in percent" if attribute.form == "share" else "a share or a voltage"
        message = f"`{written}` is {kind}, and `{attribute.word}` of {an(place.kind)} wants {wants}"
        return place.report("CP120", message, atom.span, help=f"write it as `{how}`")
    message = f"`{attribute.word}` cannot be `{written}`"
    return place.report("CP124", message, atom.span, help=f"write it as `{how}`")


def unit_help(atom: Number, attribute: Attribute, place: Place) -> str:
    """The number with the unit that the plate would write."""
    if attribute.dimension == "length":
        counts = "feet" if place.length_unit == "ft" else "metres"
        return f"{atom.written} {place.length_unit} (this plate counts in {counts})"
    if attribute.form == "window":
        return f"both ends and their unit, as in `{sample(attribute)}`"
    unit = attribute.unit or ("%" if attribute.form in ("share", "budget") else "V")
    return f"`{attribute.word} {atom.written} {unit}`, if that is what it counts"


def in_si(atom: Quantity) -> tuple[float, str] | None:
    """Value and dimension of a quantity as the model counts, or None for a unit that no list holds."""
    try:
        return units.to_si(atom.value, atom.unit)
    except KeyError:
        return None


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
        return place.report("CP126", message, atom.span, help=f"write it as `{sample(attribute)}`")
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
    help_ = f"`{attribute.word} {meant}`" if meant else f"{listed(attribute.choices)}"
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


def to_size(number: str, system: str) -> Size | None:
    """The conductor size of that number, in its usual spelling ("0" AWG is 1/0), or None for no such size."""
    if system == "mm2":
        if not _METRIC.fullmatch(number) or float(number) <= 0:
            return None
        return Size(f"{float(number):g}", "mm2")
    if system not in ("AWG", "SAE") or not _GAUGE.fullmatch(number):
        return None
    if set(number) == {"0"}:
        number = f"{len(number)}/0"
    return Size(number, "AWG" if system == "AWG" else "SAE")


def read_size(atom: Atom | None, place: Place, word: str) -> Any:
    """A conductor size from its atom; UNREAD with a finding where there is none."""
    if isinstance(atom, Bad):
        return UNREAD
    if isinstance(atom, Quantity) and atom.unit == "mm2":
        atom = SizeAtom(f"{atom.value:g}", "mm2", atom.span)
    if isinstance(atom, Count):
        return ask_count(atom, place)
    if isinstance(atom, SizeAtom):
        size = to_size(atom.number, atom.system)
        if size is not None:
            return size
        return place.report(
            "CP129",
            f"there is no conductor of {atom.span.text}",
            atom.span,
            help="`2/0 AWG`, `10 AWG` or `35 mm2`, say",
        )
    if atom is None:
        return UNREAD
    message = f"`{atom.span.text}` is no conductor size"
    return place.report("CP129", message, atom.span, help=f"write it as `{word} 10 AWG` or `{word} 6 mm2`")


def each_text(atom: Count) -> str:
    """One of those that a count counts, as a plate writes it."""
    each = atom.each
    return f"{each.number} {each.system}" if isinstance(each, SizeAtom) else f"{each.value:g} {each.unit}"


def ask_count(atom: Count, place: Place) -> _Unread:
    """`2 x 6 mm2`: so many conductors in parallel, or a cable of so many cores?"""
    each, n = each_text(atom), atom.count
    message = f"`{atom.span.text}` can be read in two ways: {n} conductors in parallel, or a cable of {n} cores"
    cable = f"`{each}` behind a stroke `-//-` for a cable of two cores" if n == 2 else f"`{each}` for one core of it"
    help_ = f"`{each}, parallel {n}` for {n} in parallel in each pole; {cable}"
    return place.report("CP123", message, atom.span, help=help_)


def _size(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    return read_size(atoms.take(), place, attribute.word)


def _port(atoms: Atoms, place: Place, known: tuple[str, ...]) -> str | None:
    """The port that the next word names, "" where it names none, None with a finding for an unknown one."""
    atom = atoms.peek()
    if not isinstance(atom, Word) or atom.text in known:
        return ""
    atoms.take()
    if atom.text in place.ports:
        return atom.text
    meant = nearest(atom.text, place.ports)
    message = f"{an(place.kind)} has no terminal `{atom.text}`"
    place.report("CP222", message, atom.span, help=f"`{meant}`" if meant else f"it has {listed(place.ports, 'and')}")
    return None


def _terminal(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    first = atoms.peek()
    port = _port(atoms, place, ("stud", "clamp", "lead"))
    form = atoms.take() if isinstance(atoms.peek(), Word) else None
    value = atoms.take() if atoms else None
    if port is None or isinstance(value, Bad):
        return UNREAD
    terminal: Terminal | _Unread | None = None
    form_word = form.text if isinstance(form, Word) else ""
    if form_word == "stud" and isinstance(value, StudAtom):
        terminal = Terminal("stud", stud=value.name)
    elif form_word == "stud" and isinstance(value, Quantity) and value.unit == "in":
        terminal = Terminal("stud", stud=value.written)
    elif form_word == "clamp" and isinstance(value, Range):
        terminal = _clamp(value)
    elif form_word == "clamp" and isinstance(value, SizeAtom):
        size = to_size(value.number, value.system)
        terminal = Terminal("clamp", largest=size) if size else None
    elif form_word == "lead":
        size = read_size(value, place, "lead")
        terminal = Terminal("lead", smallest=size, largest=size) if isinstance(size, Size) else None
        if value is not None and terminal is None:
            return UNREAD
    if terminal is None:
        wrong = value or form or first
        message = f"`{attribute.word}` wants a stud, a clamp or a lead"
        help_ = "`terminal stud M8`, `terminal clamp 1.5..35 mm2` or `terminal lead 14 AWG`"
        meant = {StudAtom: "stud", Range: "clamp", SizeAtom: "clamp"}.get(type(value))
        if value is not None and meant is not None and not form_word:
            help_ = f"`{' '.join(filter(None, ('terminal', port, meant, value.span.text)))}`"
        return place.report("CP129", message, wrong.span if wrong else None, help=help_)
    return port, terminal


def _clamp(value: Range) -> Terminal | None:
    ends = [to_size(n, value.unit) for n in (value.low, value.high)]
    sizes = sorted((size for size in ends if size is not None), key=_thickness)
    return Terminal("clamp", smallest=sizes[0], largest=sizes[1]) if len(sizes) == 2 else None


def _thickness(size: Size) -> float:
    """Grows with the conductor; compares sizes of one system only."""
    if size.system == "mm2":
        return float(size.number)
    return float(size.number[0]) - 1 if size.number.endswith("/0") else -float(size.number)


def _advice(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    port = _port(atoms, place, ())
    atom = atoms.take() if atoms else None
    size = read_size(atom, place, attribute.word)
    to_m: float | None = None
    then = atoms.peek()
    if isinstance(then, Word) and then.text == "to":
        atoms.take()
        length = atoms.take() if atoms else None
        converted = in_si(length) if isinstance(length, Quantity) else None
        if converted is None or converted[1] != "length" or converted[0] <= 0:
            if not isinstance(length, Bad):
                message = f"`{attribute.word}` wants a length after `to`"
                how = sample(attribute, place.length_unit)
                place.report("CP124", message, length.span if length else then.span, help=f"write it as `{how}`")
            return UNREAD
        to_m = converted[0]
    if port is None or not isinstance(size, Size):
        if atom is None:
            how = sample(attribute, place.length_unit)
            place.report("CP124", f"`{attribute.word}` wants a size", atoms.last.span, help=f"write it as `{how}`")
        return UNREAD
    return port, Advice(size, to_m)


def _comparable(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    size = read_size(atoms.take(), place, attribute.word)
    text = atoms.peek()
    if not isinstance(size, Size):
        if isinstance(text, Text):
            atoms.take()
        return UNREAD
    if isinstance(text, Text):
        atoms.take()
        return size, text.text
    return size, ""


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


def _sizes(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    sizes = []
    while isinstance(atoms.peek(), SizeAtom | Quantity | Count | Bad):
        size = read_size(atoms.take(), place, "stock")
        if isinstance(size, Size):
            sizes.append(size)
    return tuple(sizes)


def _addresses(attribute: Attribute, atoms: Atoms, place: Place) -> Any:
    """Names, and behind `share` the percentage of each: ((word, share or None), ...)."""
    found: list[tuple[Word, float | None]] = []
    while isinstance(atoms.peek(), Word):
        word = atoms.take()
        assert isinstance(word, Word)
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
    "size": _size,
    "share": _share,
    "terminal": _terminal,
    "advice": _advice,
    "comparable": _comparable,
    "voltage-pair": _voltage_pair,
    "size-list": _sizes,
    "address-list": _addresses,
}
