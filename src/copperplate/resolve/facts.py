"""The items of a statement, a bracket or a stretch read into facts by the kinds table."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any

from copperplate import units
from copperplate.findings.entry import an
from copperplate.model import Advice, Size, Terminal
from copperplate.model.kinds import DEVICE_KINDS, KINDS, Attribute
from copperplate.resolve.atoms import UNREAD, Atoms, Place, in_a_unit, misfit
from copperplate.resolve.forms import MOST, NEVER_WORDS, read_value
from copperplate.resolve.sizes import ask_count, each_text, read_size
from copperplate.resolve.words import DIMENSION_WORDS, Table, table
from copperplate.syntax.tree import Atom, Bad, Count, Item, Number, Quantity, SizeAtom, Text, Word
from copperplate.text import Span, nearest


@dataclass
class Facts:
    """What one statement says. `values` by the keys of the kinds table, `spans` the place of each; `broken` the
    keys whose value could not be read (their findings are made, so nothing is missed a second time)."""

    values: dict[str, Any] = field(default_factory=dict)
    spans: dict[str, Span] = field(default_factory=dict)
    terminals: dict[str, Terminal] = field(default_factory=dict)
    advised: dict[str, Advice] = field(default_factory=dict)
    comparable: tuple[Size, str] | None = None
    title: Text | None = None
    broken: set[str] = field(default_factory=set)
    lost: bool = False
    """True behind the name and title of what was meant to be another statement."""
    strange: int = 0
    """How many things could not be read and nobody knows which attribute they were."""

    @property
    def unread(self) -> bool:
        """True where an attribute may have been said and was not understood."""
        return self.strange > 0

    def lacks(self, *keys: str) -> bool:
        """True where none of these is said and nothing unread can have been one of them."""
        return not self.unread and not any(key in self.values or key in self.broken for key in keys)


Entry = tuple[Attribute, Any, Span]
"""One attribute as said: what, its value (UNREAD where it could not be read), where."""


_ENOUGH = 3
"""Strange things in one statement that are told; what follows is likely another statement that lost its head."""


def read_entries(items: Iterable[tuple[Atom, ...]], words: Table, place: Place, facts: Facts) -> list[Entry]:
    """Every attribute that the items say, in order and with repeats; the title, if one stands there, goes into
    `facts`."""
    entries: list[Entry] = []
    for item in items:
        atoms = Atoms(item)
        while atoms:
            _read_next(atoms, words, place, facts, entries)
    return entries


def _read_next(atoms: Atoms, words: Table, place: Place, facts: Facts, entries: list[Entry]) -> None:
    atom = atoms.take()
    if facts.lost:
        return
    if facts.strange >= _ENOUGH and not (isinstance(atom, Word) and atom.text in words.attributes):
        place = replace(place, findings=[])
    if isinstance(atom, Word):
        _read_word(atom, atoms, words, place, facts, entries)
    elif isinstance(atom, Text):
        if facts.title is None and place.kind in KINDS and KINDS[place.kind].titled:
            facts.title = atom
        else:
            place.report("CP204", atom.span, text=True)
    elif isinstance(atom, Bad):
        facts.strange += 1
    else:
        _read_bare(atom, words, place, facts, entries)


def _read_word(word: Word, atoms: Atoms, words: Table, place: Place, facts: Facts, entries: list[Entry]) -> None:
    """An attribute by its word, a bare choice, or one more name of a list."""
    attribute = words.attributes.get(word.text)
    if attribute is not None:
        before = atoms.at
        then = atoms.peek()
        if isinstance(then, Word) and attribute.form in NEVER_WORDS and then.text not in words.known:
            value = misfit(atoms.take(), attribute, place)
        else:
            value = read_value(attribute, word.span, atoms, place)
        entries.append((attribute, value, word.span.to(atoms.last.span) if atoms.at > before else word.span))
    elif word.text in words.choices:
        entries.append((words.choices[word.text], word.text, word.span))
    elif entries and entries[-1][0].form == "address-list":
        attribute, so_far, span = entries[-1]
        entries[-1] = (attribute, (*(so_far or ()), (word, None)), span.to(word.span))
    elif place.kind == "case" and facts.unread:
        pass  # The names of a list whose word was not understood.
    elif isinstance(atoms.peek(), Text) and facts.title is not None:
        facts.lost = True
        place.report("CP204", word.span, title_of=word.text)
    else:
        facts.strange += 1
        likely = _unknown_word(word, words, place)
        if likely in words.choices:
            facts.broken.add(words.choices[likely].key)
        while atoms and not isinstance(atoms.peek(), Word | Text):
            atoms.take()  # Its value, if it is one: nothing can be said of it.


def _read_bare(atom: Atom, words: Table, place: Place, facts: Facts, entries: list[Entry]) -> None:
    if isinstance(atom, Quantity):
        entries += _bare_quantity(atom, words, place, facts, tuple(entries))
    elif isinstance(atom, Count):
        entries += _bare_count(atom, words, place, facts)
    elif isinstance(atom, SizeAtom) and "size" in words.bare:
        entries.append((words.bare["size"][0], read_size(atom, place, "size"), atom.span))
    elif isinstance(atom, SizeAtom) and "sizes" in words.attributes:
        sizes = words.attributes["sizes"]
        entries.append((sizes, read_value(sizes, atom.span, Atoms((atom,)), place), atom.span))
    elif isinstance(atom, Number):
        entries += _bare_number(atom, words, place, facts)
    else:
        facts.strange += 1
        keyed = [a for a in words.attributes.values() if a.form in _FORMS_OF.get(type(atom).__name__, ())]
        about = {"options": _with_words(keyed, atom), **_says(words, place)}
        place.report("CP121", atom.span, written=atom.span.text, **about)


_FORMS_OF = {
    "Range": ("window",),
    "StudAtom": ("terminal",),
    "SizeAtom": ("advice", "comparable", "size"),
    "Pair": ("voltage-pair",),
}


def _bare_quantity(
    atom: Quantity, words: Table, place: Place, facts: Facts, before: Iterable[Entry] = ()
) -> list[Entry]:
    dimension = units.dimension_of(atom.unit) or ""
    bare = words.bare.get(dimension, ())
    if len(bare) == 1:
        return [(bare[0], read_value(bare[0], atom.span, Atoms((atom,)), place), atom.span)]
    facts.strange += 1
    keyed = (*bare, *words.keyed.get(dimension, ()), *_shares(words, dimension))
    written = atom.span.text
    if keyed:
        what = DIMENSION_WORDS[dimension] if len(keyed) > 1 else None
        about = {"kind": place.kind, "options": _with_words(keyed, atom)}
        place.report("CP121", atom.span, written=written, what=what, **about)
        return []
    about = {"what": DIMENSION_WORDS.get(dimension, "a quantity"), **_capacity(atom, words, before)}
    place.report("CP120", atom.span, written=written, **about, **_says(words, place))
    return []


def _capacity(atom: Quantity, words: Table, before: Iterable[Entry]) -> dict[str, Any]:
    """A battery's energy told as its charge, at the voltage that it states."""
    volts = next((value for attribute, value, _ in before if attribute.key == "voltage_v"), None)
    if "charge" not in words.bare or units.dimension_of(atom.unit) != "energy":
        return {}
    if not isinstance(volts, float) or volts <= 0.0:
        return {"energy": True}
    return {"charge": units.to_si(float(atom.value), atom.unit)[0] / volts, "volts": volts}


def _shares(words: Table, dimension: str) -> tuple[Attribute, ...]:
    """Attributes that a percentage may be of."""
    return tuple(a for a in words.attributes.values() if dimension == "share" and a.form in ("share", "budget"))


def _with_words(attributes: Iterable[Attribute], atom: Atom) -> list[str] | None:
    return [f"{a.word} {atom.span.text}" for a in attributes][:5] or None


def _says(words: Table, place: Place) -> dict[str, Any]:
    """What such a statement may say bare."""
    bare = [place.sample(a).removeprefix(a.word + " ") for some in words.bare.values() for a in some]
    type = KINDS[place.kind].type if place.kind in KINDS else None
    return {"kind": place.kind, "bare": bare or None, "load": type is not None and type.roles.is_load}


def _bare_count(atom: Count, words: Table, place: Place, facts: Facts) -> list[Entry]:
    """`8 x 0.25 A` where the kind counts; a question where it could be meant in two ways."""
    if isinstance(atom.each, SizeAtom):
        ask_count(atom, place)
        facts.strange += 1
        return []
    count = words.attributes.get("count")
    bare = words.bare.get(units.dimension_of(atom.each.unit) or "", ())
    if count is not None and len(bare) == 1:
        value = read_value(bare[0], atom.span, Atoms((atom.each,)), place)
        if not 1 <= atom.count <= MOST:
            code = "CP122" if atom.count < 1 else "CP127"
            place.report(code, atom.span, counted=atom.span.text, instead=each_text(atom))
            return [(bare[0], value, atom.span)]
        return [(count, atom.count, atom.span), (bare[0], value, atom.span)]
    facts.strange += 1
    about = {"each": each_text(atom), "count": atom.count, "kind": place.kind, "series": "series" in words.attributes}
    place.report("CP123", atom.span, written=atom.span.text, **about)
    return []


def _bare_number(atom: Number, words: Table, place: Place, facts: Facts) -> list[Entry]:
    bare = [a for some in words.bare.values() for a in some if a.form == "quantity"]
    if "length" in words.bare:
        (length,) = words.bare["length"]
        place.report("CP104", atom.span, **in_a_unit(atom, length, place))
        metres = units.to_si(atom.value, place.length_unit)[0]
        return [(length, metres if metres > 0 else UNREAD, atom.span)]
    facts.strange += 1
    options = [f"{atom.written} {place.length_unit if a.dimension == 'length' else a.unit}" for a in bare]
    place.report("CP104", atom.span, written=atom.written, options=options or None)
    return []


_MEANT = {"lithium": "lifepo4", "lfp": "lifepo4", "lead-acid": "flooded", "lead": "flooded", "wet": "flooded"}
"""What people also call the chemistries."""


def _unknown_word(word: Word, words: Table, place: Place) -> str:
    """Reports the word; the known one that it probably means, "" for none."""
    what = place.kind if place.kind in KINDS or place.kind in DEVICE_KINDS else "run"
    also = _MEANT.get(word.text)
    likely = also if also in words.known else nearest(word.text, words.known)
    about: dict[str, Any] = {"word": word.text, "kind": what}
    if likely is not None:
        attribute = words.attributes.get(likely)
        listing = attribute is None or attribute.form == "address-list"
        about["instead"] = likely if listing or attribute is None else place.sample(attribute)
    elif word.text in DEVICE_KINDS:
        about["bracket"] = True
    else:
        owners = [
            k for k in (*KINDS, *DEVICE_KINDS) if word.text in table(k).attributes or word.text in table(k).choices
        ]
        about["owners"] = " or ".join(map(an, owners[:3])) or None
        about["knows"], about["others"] = words.known[:8], len(words.known) > 8
    place.report("CP204", word.span, **about)
    return likely or ""


def fold(entries: Iterable[Entry], facts: Facts, place: Place) -> None:
    """The entries into `facts`, one value an attribute; what is said twice is a finding and the first counts."""
    for attribute, value, span in entries:
        key = attribute.key
        if value is UNREAD:
            facts.broken.add(key)
            continue
        if attribute.form in ("terminal", "advice"):
            port, what = value
            target: dict[str, Any] = facts.terminals if attribute.form == "terminal" else facts.advised
            key = f"{key} {port}".strip()
            if key in facts.spans:
                _twice(f"{attribute.word} {port}".strip(), span, facts.spans[key], place)
                continue
            target[port] = what
        elif key in facts.spans:
            _twice(attribute.word, span, facts.spans[key], place)
            continue
        elif attribute.form == "comparable":
            facts.comparable = value
        else:
            facts.values[key] = value
        facts.spans[key] = span


def _twice(word: str, span: Span, first: Span, place: Place) -> None:
    place.report("CP205", span, word=word, first=first.text, second=span.text, at={"first": first})


def read_facts(items: Iterable[Item], rest: tuple[Atom, ...], title: Text | None, words: Table, place: Place) -> Facts:
    """The facts of a statement: `title` and `rest` are what its head holds beside the name."""
    facts = Facts(title=title)
    groups = [item.atoms for item in items]
    fold(read_entries([rest, *groups] if rest else groups, words, place, facts), facts, place)
    return facts
