"""The items of a statement, a bracket or a stretch read into facts by the kinds table."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any

from copperplate import units
from copperplate.findings.entry import an
from copperplate.model.kinds import DEVICE_KINDS, KINDS, Attribute
from copperplate.resolve.atoms import OF_SHARES, Atoms, Wanted, in_a_unit
from copperplate.resolve.forms import MOST, NEVER_WORDS, read_value
from copperplate.resolve.reading import LEFT_OPEN, UNREAD, Facts, Place, Unread
from copperplate.resolve.sizes import ask_count, each_text, read_size
from copperplate.resolve.words import DIMENSION_WORDS, table
from copperplate.standards.batteries import nominal_voltages
from copperplate.syntax.tree import Atom, Bad, Count, Item, Number, Quantity, Range, SizeAtom, Text, Unknown, Word
from copperplate.text import Span, nearest

Entry = tuple[Attribute, Any, Span]
"""One attribute as stated: what, its value (UNREAD where it could not be read), where."""

_ENOUGH = 3
"""So many strange things of one statement are reported; what follows is likely another one that lost its head."""


def read_facts(items: Iterable[Item], rest: tuple[Atom, ...], title: Text | None, place: Place) -> Facts:
    """The facts of a statement: `title` and `rest` are what its head holds beside the name."""
    facts = Facts(title=title)
    fold(read_entries([rest, *(item.atoms for item in items)], place, facts), facts, place)
    return facts


def read_entries(groups: Iterable[tuple[Atom, ...]], place: Place, facts: Facts) -> list[Entry]:
    """Every attribute that the groups of atoms state, in order and with repeats; the title, if one stands there,
    goes into `facts`."""
    groups = tuple(groups)
    if any(isinstance(atom, Bad) and '"' in atom.written for group in groups for atom in group):
        facts.strange = _ENOUGH  # Words of a title that lost a quote are no words of the language.
    reader = _ItemReader(place, facts)
    for group in groups:
        atoms = Atoms(group)
        while atoms:
            reader.read(atoms)
    return reader.entries


def fold(entries: Iterable[Entry], facts: Facts, place: Place) -> None:
    """The entries into `facts`, one value an attribute; of what is stated twice the first counts, with a finding."""
    for attribute, value, span in entries:
        key, word = attribute.key, attribute.word
        if isinstance(value, Unread):
            facts.broken.add(key)
            facts.left_open.update([key] if value is LEFT_OPEN else [])
            facts.spans.setdefault(key, span) if value is LEFT_OPEN else None
            continue
        target: dict[str, Any] = facts.values
        entry = key
        if attribute.form in ("terminal", "advice", "budgets"):
            target = facts.by_form(attribute.form)
            entry, value = value
            key, word = f"{key} {entry}".strip(), f"{word} {entry}".strip()
        first = facts.spans.setdefault(key, span)
        if first is not span:
            place.report("CP205", span, word=word, first=first.text, second=span.text, at={"first": first})
        elif attribute.form == "comparable":
            facts.comparable = value
        else:
            target[entry] = value


_FORMS_OF = {
    "Range": ("window",),
    "StudAtom": ("terminal",),
    "SizeAtom": ("advice", "comparable", "size"),
    "Pair": ("voltage-pair",),
}
_CALLED = {"lithium": "lifepo4", "lfp": "lifepo4", "lead-acid": "flooded", "lead": "flooded", "wet": "flooded"}
"""What people also call the chemistries."""


def _is_about(atom: Atom, then: Atom | None) -> bool:
    """Whether an atom is the word `about` before a value that is to be measured."""
    return isinstance(atom, Word) and atom.text == "about" and isinstance(then, Quantity | Range | Count)


@dataclass
class _ItemReader:
    """Reads atoms at one place into entries; counts in `facts` what is not understood."""

    place: Place
    facts: Facts
    entries: list[Entry] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.words = self.place.words

    def read(self, atoms: Atoms) -> None:
        """One attribute, from the left."""
        atom = atoms.take()
        if self.facts.lost:
            return
        known = isinstance(atom, Word) and atom.text in self.words.attributes
        self.place = replace(self.place, silent=self.facts.strange >= _ENOUGH and not known)
        if _is_about(atom, atoms.peek()):
            self._note_about(atoms)
        elif isinstance(atom, Word):
            self._word(atom, atoms)
        elif isinstance(atom, Text):
            if self.facts.title is None and self.words.titled:
                self.facts.title = atom
            else:
                self.place.report("CP204", atom.span, text=True)
        elif isinstance(atom, Bad):
            self.facts.strange += 1
        else:
            self._bare(atom)

    def _word(self, word: Word, atoms: Atoms) -> None:
        """An attribute by its word, a bare choice, or one more name of a list."""
        attribute = self.words.attributes.get(word.text)
        if attribute is not None:
            before = atoms.at
            then = atoms.peek()
            if then is not None and _is_about(then, atoms.peek(1)):
                atoms.take()
                self._note_about(atoms)
                then = atoms.peek()
            if isinstance(then, Word) and attribute.form in NEVER_WORDS and then.text not in self.words.known:
                value = Wanted(attribute, atoms, self.place).misfit(atoms.take())
            else:
                attribute = self._works_instead(attribute, then, word)
                value = read_value(Wanted(attribute, atoms, self.place), word.span)
            self.entries.append((attribute, value, word.span.to(atoms.last.span) if atoms.at > before else word.span))
        elif word.text in self.words.choices:
            self.entries.append((self.words.choices[word.text], word.text, word.span))
        elif self.entries and self.entries[-1][0].form == "address-list":
            attribute, so_far, span = self.entries[-1]
            self.entries[-1] = (attribute, (*(so_far or ()), (word, None)), span.to(word.span))
        elif self.place.kind == "case" and self.facts.unread:
            pass  # The names of a list whose word was not understood.
        elif isinstance(atoms.peek(), Text) and self.facts.title is not None:
            self.facts.lost = True
            self.place.report("CP204", word.span, title_of=word.text)
        else:
            self.facts.strange += 1
            self._unknown(word)
            while atoms and not self._begins(atoms.peek()):
                atoms.take()  # Its value, if it is one: nothing can be known of it.

    def _begins(self, atom: Atom | None) -> bool:
        """Whether something begins that such a statement may say."""
        return isinstance(atom, Text) or (isinstance(atom, Word) and atom.text in self.words.known)

    def _note_about(self, atoms: Atoms) -> None:
        """The value behind `about` is to be measured."""
        value = atoms.peek()
        if value is not None and not self.place.silent:
            self.place.reading.assume(self.place.subject, f"about {value.span.text}, to be measured")

    def _works_instead(self, attribute: Attribute, then: Atom | None, word: Word) -> Attribute:
        """Where a range stands for the voltage that a part takes, the window that it works in; its nominal voltage is
        then the one of the usual ones in that window."""
        type, works = self.words.type, self.words.attributes.get("works")
        if type is None or works is None or attribute.key != type.input_key or not isinstance(then, Range):
            return attribute
        low, high = float(then.low), float(then.high)
        nominal = next((volts for volts in nominal_voltages() if low <= volts <= high), None)
        if nominal is not None:
            self.entries.append((attribute, nominal, word.span.to(then.span)))
        return works

    def _unknown(self, word: Word) -> None:
        """A word that no statement of the kind has; it breaks the choice that it probably means."""
        words, kind = self.words, self.place.kind
        called = _CALLED.get(word.text)
        likely = called if called in words.known else nearest(word.text, words.known)
        about: dict[str, Any] = {"word": word.text, "kind": kind if kind in (*KINDS, *DEVICE_KINDS) else "run"}
        if likely is not None:
            attribute = words.attributes.get(likely)
            listing = attribute is None or attribute.form == "address-list"
            about["instead"] = likely if listing or attribute is None else self.place.sample(attribute)
            if likely in words.choices:
                self.facts.broken.add(words.choices[likely].key)
        elif word.text in DEVICE_KINDS:
            about["bracket"] = True
        else:
            owners = [owner for owner in (*KINDS, *DEVICE_KINDS) if word.text in table(owner).known]
            about["owners"] = " or ".join(map(an, owners[:3])) or None
            about["knows"], about["others"] = words.known[:8], len(words.known) > 8
        self.place.report("CP204", word.span, **about)

    def _bare(self, atom: Atom) -> None:
        """A value without a word."""
        if isinstance(atom, Quantity | Unknown):
            self._quantity(atom)
        elif isinstance(atom, Count):
            self._count(atom)
        elif isinstance(atom, SizeAtom) and "size" in self.words.bare:
            self.entries.append((self.words.bare["size"][0], read_size(atom, self.place, "size"), atom.span))
        elif isinstance(atom, SizeAtom) and "sizes" in self.words.attributes:
            self._value(self.words.attributes["sizes"], atom)
        elif isinstance(atom, Number):
            self._number(atom)
        else:
            self.facts.strange += 1
            forms = _FORMS_OF.get(type(atom).__name__, ())
            about = self._with_words((a for a in self.words.attributes.values() if a.form in forms), atom)
            self.place.report("CP121", atom.span, written=atom.span.text, **about, **self._bare_words())

    def _value(self, attribute: Attribute, atom: Atom) -> None:
        value = read_value(Wanted(attribute, Atoms((atom,)), self.place), atom.span)
        self.entries.append((attribute, value, atom.span))

    def _quantity(self, atom: Quantity | Unknown) -> None:
        dimension, words = units.dimension_of(atom.unit) or "", self.words
        bare = words.bare.get(dimension, ())
        if len(bare) == 1:
            self._value(bare[0], atom)
            return
        self.facts.strange += 1
        what = DIMENSION_WORDS.get(dimension, "a quantity")
        of_share = [a for a in words.attributes.values() if dimension == "share" and a.form in OF_SHARES]
        keyed = (*bare, *words.keyed.get(dimension, ()), *of_share)
        if keyed:
            about = {"kind": self.place.kind, **self._with_words(keyed, atom), "what": what if len(keyed) > 1 else None}
            self.place.report("CP121", atom.span, written=atom.span.text, **about)
        else:
            about = {"what": what, **self._charge(atom), **self._bare_words()}
            self.place.report("CP120", atom.span, written=atom.span.text, **about)

    def _charge(self, atom: Quantity | Unknown) -> dict[str, Any]:
        """An energy as the charge that a battery states, at the voltage that it states."""
        if isinstance(atom, Unknown) or "charge" not in self.words.bare or units.dimension_of(atom.unit) != "energy":
            return {}
        volts = next((value for attribute, value, _ in self.entries if attribute.key == "voltage_v"), None)
        if not isinstance(volts, float) or volts <= 0.0:
            return {"energy": True}
        return {"charge": units.to_si(float(atom.value), atom.unit)[0] / volts, "volts": volts}

    def _count(self, atom: Count) -> None:
        """`8 x 0.25 A` where the kind counts; a question where it could be meant in two ways."""
        if isinstance(atom.each, SizeAtom):
            ask_count(atom, self.place)
            self.facts.strange += 1
            return
        count = self.words.attributes.get("count")
        bare = self.words.bare.get(units.dimension_of(atom.each.unit) or "", ())
        if count is not None and len(bare) == 1:
            value = read_value(Wanted(bare[0], Atoms((atom.each,)), self.place), atom.span)
            if 1 <= atom.count <= MOST:
                self.entries.append((count, atom.count, atom.span))
            else:
                code = "CP122" if atom.count < 1 else "CP127"
                self.place.report(code, atom.span, counted=atom.span.text, instead=each_text(atom))
            self.entries.append((bare[0], value, atom.span))
            return
        self.facts.strange += 1
        about = {"each": each_text(atom), "count": atom.count, "series": "series" in self.words.attributes}
        self.place.report("CP123", atom.span, written=atom.span.text, kind=self.place.kind, **about)

    def _number(self, atom: Number) -> None:
        unit = self.place.reading.length_unit
        if "length" in self.words.bare:
            (length,) = self.words.bare["length"]
            self.place.report("CP104", atom.span, **in_a_unit(atom, length, self.place))
            metres = units.to_si(atom.value, unit)[0]
            self.entries.append((length, metres if metres > 0 else UNREAD, atom.span))
            return
        self.facts.strange += 1
        bare = [a for some in self.words.bare.values() for a in some if a.form == "quantity"]
        options = [f"{atom.written} {unit if a.dimension == 'length' else a.unit}" for a in bare]
        self.place.report("CP104", atom.span, written=atom.written, options=options)

    def _with_words(self, attributes: Iterable[Attribute], atom: Atom) -> dict[str, Any]:
        """The atom behind the words that it may be of."""
        return {"options": [f"{attribute.word} {atom.span.text}" for attribute in attributes][:5]}

    def _bare_words(self) -> dict[str, Any]:
        """What such a statement may say without a word."""
        bare = [self.place.sample(a).removeprefix(a.word + " ") for some in self.words.bare.values() for a in some]
        type = self.words.type
        return {"kind": self.place.kind, "bare": bare, "load": type is not None and type.roles.is_load}
