"""Conductor sizes, and what is written with them: terminals, the maker's advice, comparable sizes, the shelf."""

from __future__ import annotations

import re
from typing import Any

from copperplate.model import Advice, Size, Terminal
from copperplate.resolve.atoms import Wanted, in_si
from copperplate.resolve.reading import UNREAD, Place, Unread
from copperplate.standards import threads
from copperplate.syntax.tree import Atom, Bad, Count, Quantity, Range, SizeAtom, StudAtom, Text, Word
from copperplate.text import nearest

_GAUGE = re.compile(r"([1-4])/0|0{1,4}|[1-9]\d?")
_METRIC = re.compile(r"\d+(?:\.\d+)?|\.\d+")


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
        return place.report("CP129", atom.span, size=atom.span.text)
    if atom is None:
        return UNREAD
    return place.report("CP129", atom.span, written=atom.span.text, word=word)


def each_text(atom: Count) -> str:
    """One of those that a count counts, as a plate writes it."""
    each = atom.each
    return f"{each.number} {each.system}" if isinstance(each, SizeAtom) else f"{each.value:g} {each.unit}"


def ask_count(atom: Count, place: Place) -> Unread:
    """`2 x 6 mm2`: so many conductors in parallel, or a cable of so many cores?"""
    about = {"each": each_text(atom), "count": atom.count, "pair": atom.count == 2}
    return place.report("CP123", atom.span, written=atom.span.text, cores=True, **about)


def size_of(wanted: Wanted) -> Any:
    return read_size(wanted.atoms.take(), wanted.place, wanted.attribute.word)


def sizes_of(wanted: Wanted) -> Any:
    sizes = []
    while isinstance(wanted.atoms.peek(), SizeAtom | Quantity | Count | Bad):
        size = read_size(wanted.atoms.take(), wanted.place, "stock")
        if isinstance(size, Size):
            sizes.append(size)
    return tuple(sizes)


def _port(wanted: Wanted, known: tuple[str, ...]) -> str | None:
    """The port that the next word names, "" where it names none, None with a finding for an unknown one."""
    atom, ports = wanted.atoms.peek(), wanted.place.words.ports
    if not isinstance(atom, Word) or atom.text in known:
        return ""
    wanted.atoms.take()
    if atom.text in ports:
        return atom.text
    about = {"kind": wanted.place.kind, "terminal": atom.text, "likely": nearest(atom.text, ports), "has": ports}
    wanted.place.report("CP222", atom.span, **about)
    return None


def terminal_of(wanted: Wanted) -> Any:
    atoms, place = wanted.atoms, wanted.place
    first = atoms.peek()
    port = _port(wanted, ("stud", "clamp", "lead"))
    form = atoms.take() if isinstance(atoms.peek(), Word) else None
    value = atoms.take() if atoms else None
    if port is None or isinstance(value, Bad):
        return UNREAD
    terminal: Terminal | Unread | None = None
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
    if isinstance(terminal, Terminal) and terminal.stud and terminal.stud not in threads() and value is not None:
        likely = nearest(terminal.stud, threads()) or "M8"
        return wanted.report("CP129", value, stud=terminal.stud, instead=_terminal_words(port, "stud", likely))
    if terminal is None:
        likely_form = {StudAtom: "stud", Range: "clamp", SizeAtom: "clamp"}.get(type(value))
        instead = None
        if value is not None and likely_form is not None and not form_word:
            instead = _terminal_words(port, likely_form, value.span.text)
        wrong = value or form or first
        span = wrong.span if wrong else None
        return place.report("CP129", span, word=wanted.attribute.word, terminal=True, instead=instead)
    return port, terminal


def _terminal_words(*words: str) -> str:
    """How a plate writes a terminal, with the port if it is of one."""
    return " ".join(("terminal", *filter(None, words)))


def _clamp(value: Range) -> Terminal | None:
    ends = [to_size(n, value.unit) for n in (value.low, value.high)]
    sizes = sorted((size for size in ends if size is not None), key=_thickness)
    return Terminal("clamp", smallest=sizes[0], largest=sizes[1]) if len(sizes) == 2 else None


def _thickness(size: Size) -> float:
    """Grows with the conductor; compares sizes of one system only."""
    if size.system == "mm2":
        return float(size.number)
    return float(size.number[0]) - 1 if size.number.endswith("/0") else -float(size.number)


def advice_of(wanted: Wanted) -> Any:
    attribute, atoms, place = wanted.attribute, wanted.atoms, wanted.place
    port = _port(wanted, ())
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
                span = length.span if length else then.span
                place.report("CP124", span, length=True, word=attribute.word, sample=place.sample(attribute))
            return UNREAD
        to_m = converted[0]
    if port is None or not isinstance(size, Size):
        if atom is None:
            place.report("CP124", atoms.last.span, size=True, word=attribute.word, sample=place.sample(attribute))
        return UNREAD
    return port, Advice(size, to_m)


def comparable_of(wanted: Wanted) -> Any:
    atoms, word = wanted.atoms, wanted.attribute.word
    size = read_size(atoms.take(), wanted.place, word)
    text = atoms.take() if isinstance(atoms.peek(), Text) else None
    if not isinstance(size, Size):
        return UNREAD
    if isinstance(text, Text):
        return size, text.text
    wanted.place.report("CP124", atoms.last.span, word=word, label=size.label)
    return size, ""
