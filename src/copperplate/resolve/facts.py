"""The items of a statement, a bracket or a stretch read into facts by the kinds table."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any

from copperplate import units
from copperplate.findings import Related
from copperplate.model import Advice, Size, Terminal
from copperplate.model.kinds import DEVICE_KINDS, KINDS, Attribute
from copperplate.resolve.atoms import UNREAD, Atoms, Place, misfit, unit_help
from copperplate.resolve.forms import MOST, NEVER_WORDS, read_value
from copperplate.resolve.sizes import ask_count, each_text, read_size
from copperplate.resolve.words import DIMENSION_WORDS, Table, an, listed, sample, table
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
            place.report("CP204", f"`{place.subject}` has no place for this text", atom.span, help="delete it")
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
        message = f"`{word.text}` and its title stand in the statement of `{place.subject}`"
        help_ = f"begin a statement in the first column with its kind: `load {word.text} ...`"
        place.report("CP204", message, word.span, help=help_)
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
        message = f"`{atom.span.text}` needs the word that says what it is"
        keyed = [a for a in words.attributes.values() if a.form in _FORMS_OF.get(type(atom).__name__, ())]
        place.report("CP121", message, atom.span, help=_with_words(keyed, atom) or _says(words, place))


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
        message = f"`{written}` is {DIMENSION_WORDS[dimension]}, and {an(place.kind)} has more than one: which is it?"
        if len(keyed) == 1:
            message = f"`{written}` needs the word that says what it is"
        place.report("CP121", message, atom.span, help=_with_words(list(keyed), atom))
        return []
    what = DIMENSION_WORDS.get(dimension, "a quantity")
    message = f"`{written}` is {what}, and {an(place.kind)} has none"
    place.report("CP120", message, atom.span, help=_capacity(atom, words, before) or _says(words, place))
    return []


def _capacity(atom: Quantity, words: Table, before: Iterable[Entry]) -> str:
    """A battery's energy told as its charge, at the voltage that it states."""
    volts = next((value for attribute, value, _ in before if attribute.key == "voltage_v"), None)
    if "charge" not in words.bare or units.dimension_of(atom.unit) != "energy":
        return ""
    if not isinstance(volts, float) or volts <= 0.0:
        return "its charge: the energy divided by the voltage, as in 2400 Wh / 12 V = `200 Ah`"
    return f"`{units.number(units.to_si(float(atom.value), atom.unit)[0] / volts)} Ah`, at its {units.number(volts)} V"


def _shares(words: Table, dimension: str) -> tuple[Attribute, ...]:
    """Attributes that a percentage may be of."""
    return tuple(a for a in words.attributes.values() if dimension == "share" and a.form in ("share", "budget"))


def _with_words(attributes: list[Attribute], atom: Atom) -> str:
    return listed([f"{a.word} {atom.span.text}" for a in attributes[:5]])


def _says(words: Table, place: Place) -> str:
    """What such a statement may say bare."""
    bare = [sample(a, place.length_unit).removeprefix(a.word + " ") for some in words.bare.values() for a in some]
    type = KINDS[place.kind].type if place.kind in KINDS else None
    if type is not None and type.roles.consumes and not type.roles.gives:
        return f"{listed(bare)}; the voltage of {an(place.kind)} is that of what feeds it" if bare else ""
    return f"{an(place.kind)} says {listed(bare)}" if bare else ""


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
            message = f"`{atom.span.text}` counts {'none' if atom.count < 1 else 'more than any circuit carries'}"
            place.report("CP122" if atom.count < 1 else "CP127", message, atom.span, help=f"`{each_text(atom)}`")
            return [(bare[0], value, atom.span)]
        return [(count, atom.count, atom.span), (bare[0], value, atom.span)]
    facts.strange += 1
    message = f"`{atom.span.text}` does not say how the {atom.count} are connected"
    each = each_text(atom)
    if "series" in words.attributes:
        help_ = f"`{each}, parallel {atom.count}` or `{each}, series {atom.count}`"
    else:
        help_ = f"only a load counts; declare {atom.count} of {an(place.kind)}"
    place.report("CP123", message, atom.span, help=help_)
    return []


def _bare_number(atom: Number, words: Table, place: Place, facts: Facts) -> list[Entry]:
    bare = [a for some in words.bare.values() for a in some if a.form == "quantity"]
    message = f"a number without a unit: {atom.written}"
    if "length" in words.bare:
        (length,) = words.bare["length"]
        place.report("CP104", message, atom.span, help=unit_help(atom, length, place))
        metres = units.to_si(atom.value, place.length_unit)[0]
        return [(length, metres if metres > 0 else UNREAD, atom.span)]
    facts.strange += 1
    options = [f"{atom.written} {place.length_unit if a.dimension == 'length' else a.unit}" for a in bare]
    place.report("CP104", message, atom.span, help=listed(options))
    return []


_MEANT = {"lithium": "lifepo4", "lfp": "lifepo4", "lead-acid": "flooded", "lead": "flooded", "wet": "flooded"}
"""What people also call the chemistries."""


def _unknown_word(word: Word, words: Table, place: Place) -> str:
    """Reports the word; the known one that it probably means, "" for none."""
    what = place.kind if place.kind in KINDS or place.kind in DEVICE_KINDS else "run"
    message = f"{an(what)} has no `{word.text}`"
    also = _MEANT.get(word.text)
    likely = also if also in words.known else nearest(word.text, words.known)
    if likely is not None:
        attribute = words.attributes.get(likely)
        listing = attribute is None or attribute.form == "address-list"
        help_ = f"`{likely if listing or attribute is None else sample(attribute, place.length_unit)}`"
    elif word.text in DEVICE_KINDS:
        help_ = f"a device stands in brackets: `[{word.text}]`"
    else:
        owners = [
            k for k in (*KINDS, *DEVICE_KINDS) if word.text in table(k).attributes or word.text in table(k).choices
        ]
        help_ = f"`{word.text}` is said of {' or '.join(map(an, owners[:3]))}" if owners else ""
        if not help_:
            help_ = f"{an(what)} says {listed(words.known[:8], 'and')}{' among others' if len(words.known) > 8 else ''}"
    place.report("CP204", message, word.span, help=help_)
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
    message = f"`{place.subject}` says its {word} twice: `{first.text}` and `{span.text}`"
    place.report("CP205", message, span, label="again", help="keep one of them", related=(Related(first, "first"),))


def read_facts(items: Iterable[Item], rest: tuple[Atom, ...], title: Text | None, words: Table, place: Place) -> Facts:
    """The facts of a statement: `title` and `rest` are what its head holds beside the name."""
    facts = Facts(title=title)
    groups = [item.atoms for item in items]
    fold(read_entries([rest, *groups] if rest else groups, words, place, facts), facts, place)
    return facts
