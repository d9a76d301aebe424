"""The syntax tree of a plate: what was written, where, with its comments. It knows no kind and no attribute."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from copperplate.text import Source, Span

# --- atoms: the values an item is made of -------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Word:
    """A lower-case word or an address: `lifepo4`, `port-locker`, `cabin.3`, `inv.pos`, `CP412`."""

    text: str
    span: Span


@dataclass(frozen=True, slots=True)
class Text:
    """A quoted string; `text` without its quotes and escapes."""

    text: str
    span: Span


@dataclass(frozen=True, slots=True)
class Number:
    """A number without a unit."""

    value: float
    written: str
    span: Span


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with a unit: value as written, `unit` normalised (`mm²` -> `mm2`, `°C` -> `degC`).

    `5 ft 6 in` is one quantity of 5.5 ft whose `written` keeps the two parts.
    """

    value: float
    unit: str
    written: str
    span: Span


@dataclass(frozen=True, slots=True)
class SizeAtom:
    """A conductor size: number `12`, `2/0`, `35`, `1.5`; system `AWG`, `SAE` or `mm2`."""

    number: str
    system: str
    span: Span


@dataclass(frozen=True, slots=True)
class Range:
    """`10.5..15 V`, `1.5..35 mm2`, `14..2 AWG`: two numbers as written and one unit (or size system)."""

    low: str
    high: str
    unit: str
    span: Span


@dataclass(frozen=True, slots=True)
class Pair:
    """`120/240 V`: two voltages of one supply, line to neutral and line to line; numbers as written."""

    low: str
    high: str
    unit: str
    span: Span


@dataclass(frozen=True, slots=True)
class Count:
    """`8 x 0.25 A`: so many of one quantity. `2 x 6 mm2` parses too; resolve asks which was meant."""

    count: int
    each: Quantity | SizeAtom
    span: Span


@dataclass(frozen=True, slots=True)
class Unknown:
    """`? m`: a number that is not known yet, with its unit."""

    unit: str
    span: Span


@dataclass(frozen=True, slots=True)
class StudAtom:
    """A stud by its trade name: `M8`, `no-10`, `3/8 in`."""

    name: str
    span: Span


@dataclass(frozen=True, slots=True)
class Bad:
    """An atom that could not be read; its finding is already made. Keeps the rest of the statement alive."""

    written: str
    span: Span


Atom = Word | Text | Number | Quantity | SizeAtom | Range | Pair | Count | Unknown | StudAtom | Bad


@dataclass(frozen=True, slots=True)
class Item:
    """What stands between two commas: one or more atoms (`works 10.5..15 V`)."""

    atoms: tuple[Atom, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class Comment:
    """`# ...`; `own_line` where nothing else stands on its line. `text` without the mark, right-stripped."""

    text: str
    span: Span
    own_line: bool


# --- statements -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Declaration:
    """`battery house "House bank" 12.8 V, ...`.

    `head` holds the atoms between the kind and the first comma or line break (name, title and whatever else
    stands there: `12.8 V`); `items` what follows. Comments of the statement, in order: `comments`.
    """

    keyword: Word
    head: tuple[Atom, ...]
    items: tuple[Item, ...]
    span: Span
    comments: tuple[Comment, ...] = ()

    @property
    def groups(self) -> tuple[tuple[Atom, ...], ...]:
        """Its atoms, those of the head first and then those of each item."""
        return (self.head, *(item.atoms for item in self.items))

    @property
    def atoms(self) -> tuple[Atom, ...]:
        """Its atoms, in order."""
        return tuple(atom for group in self.groups for atom in group)


STROKES: dict[int, str] = {1: "--", 2: "-//-", 3: "-///-", 4: "-////-"}
"""The stroke of so many conductors."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """`--`, `-//-`, `-///-`, `-////-`: so many conductors (a plain stroke says 1)."""

    conductors: int
    span: Span


@dataclass(frozen=True, slots=True)
class Segment:
    """`4.5 m, via port-locker, 10 AWG` between two strokes."""

    items: tuple[Item, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class Bracket:
    """`[main: fuse class-t, 250 A]`: a device in the line; `name` is None where none is written."""

    name: Word | None
    items: tuple[Item, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class End:
    """A component or one of its ports in a run: `house.pos`, `cabin.3`, `plus`."""

    address: Word


RunElement = End | Stroke | Segment | Bracket


@dataclass(frozen=True, slots=True)
class RunStatement:
    """`name: end stroke [segment stroke] end ...`, elements in the order written, ends first and last."""

    name: Word | None
    elements: tuple[RunElement, ...]
    span: Span
    comments: tuple[Comment, ...] = ()


@dataclass(frozen=True, slots=True)
class BadStatement:
    """A statement that could not be read. `keyword` and `name` as far as they could be, so that what refers
    to the name does not fall over it a second time. `words` are all words in it: a part that it mentions may
    well be connected by it."""

    keyword: str
    name: str
    span: Span
    comments: tuple[Comment, ...] = ()
    words: tuple[Word, ...] = ()


Statement = Declaration | RunStatement | BadStatement


@dataclass(frozen=True)
class Plate:
    """A whole source as a tree. `comments` are those that belong to no statement (own lines between them)."""

    source: Source
    statements: tuple[Statement, ...]
    comments: tuple[Comment, ...]

    def declarations(self, *keywords: str) -> Iterator[Declaration]:
        """The declarations of these kinds, in order."""
        return (s for s in self.statements if isinstance(s, Declaration) and s.keyword.text in keywords)
