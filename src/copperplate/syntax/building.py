"""Makes the tree of one statement from what the grammar found."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import takewhile
from typing import Any

from copperplate.syntax import values, words
from copperplate.syntax.problems import Problem, shown
from copperplate.syntax.tree import (
    STROKES,
    Atom,
    Bad,
    Bracket,
    Count,
    Declaration,
    End,
    Item,
    Number,
    Pair,
    Quantity,
    Range,
    RunElement,
    RunStatement,
    Segment,
    SizeAtom,
    Stroke,
    StudAtom,
    Text,
    Unknown,
    Word,
)
from copperplate.text import Source, Span
from copperplate.units import SIZE_SYSTEMS

_CONDUCTORS = {mark: conductors for conductors, mark in STROKES.items()}
_STRAYS: dict[str, str] = {"=": "equals", ";": "semicolon", "(": "round", "°": "degrees"}
_READERS: dict[str, Callable[[str], values.Recipe]] = {
    "VALUE": values.read_value,
    "WORD": words.read_word,
    "FEET_INCHES": values.read_inches,
    "MIXED_INCHES": values.read_inches,
    "DATE": values.read_date,
    "UNKNOWN": values.read_unknown,
    "LOOSE_TEXT": words.read_loose_text,
}
_NAMING = ("inputs", "positions", "outputs", "set")
"""Words behind which numbers are names."""
_WITH_UNITS = (Quantity, SizeAtom, Range, Pair, Count, Unknown)
_NUMERIC = (Number, *_WITH_UNITS)


def _is_negative(atom: Atom) -> bool:
    return atom.span.text.startswith(("-", "−"))


def _kind_first(atoms: tuple[Atom, ...]) -> tuple[Atom, ...] | None:
    """`5 A fuse` as `fuse 5 A`; None where words do not stand behind values alone."""
    cut = next((place for place, atom in enumerate(atoms) if isinstance(atom, Word)), 0)
    return (*atoms[cut:], *atoms[:cut]) if cut and all(isinstance(atom, Word) for atom in atoms[cut:]) else None


@dataclass(slots=True)
class Builder:
    """Builds the statements of one source, of which `text` is the surveyed form. `base` is the offset of the statement
    at hand; `problems` and `misspelled` (words that are no names, by their spelling, with the place of each) grow."""

    source: Source
    text: str
    base: int = 0
    problems: list[Problem] = field(default_factory=list)
    misspelled: dict[str, list[Problem]] = field(default_factory=dict)

    def _span(self, start: int, end: int) -> Span:
        return Span(self.source, self.base + start, self.base + end)

    def _report(self, code: str, span: Span, **figures: Any) -> None:
        self.problems.append(Problem(code, span.start, span.end, figures))

    def atom(self, token: Any) -> Atom:
        """The value of one token."""
        span = self._span(token.start_pos, token.end_pos)
        kind, written = token.type, str(token)
        if kind == "TEXT":
            return Text(words.read_text(span.text), span)
        reader = _READERS.get(kind)
        if reader is None:
            return self._stray(written, span)
        make, problem = reader(written)
        if problem:
            placed = problem.moved(span.start)
            if kind == "WORD":
                self.misspelled.setdefault(words.misspelled_part(written), []).append(placed)
            else:
                self.problems.append(placed)
        return make(span)

    def _stray(self, written: str, span: Span) -> Bad:
        self._report("CP110", span, written=shown(written), **{_STRAYS.get(written[0], "other"): True})
        return Bad(written, span)

    def _word(self, token: Any) -> Word:
        """A word where only a name will do."""
        atom = self.atom(token)
        if isinstance(atom, Word):
            return atom
        written = atom.name if isinstance(atom, StudAtom) else str(token)
        if isinstance(atom, StudAtom) and not words.NAME.fullmatch(written):
            written = written.lower()
            self._report("CP109", atom.span, stud=str(token), instead=written)
        return Word(written, atom.span)

    def _groups(self, tokens: list[Any], named: bool = False) -> list[tuple[Atom, ...]]:
        """The atoms of an item; of several, where a comma was left out between two values. `named`: it begins with a
        name."""
        groups: list[list[Atom]] = [[]]
        stray: list[Atom] = []
        for place, token in enumerate(tokens):
            atoms = groups[-1]
            before = atoms[-1] if atoms else None
            if token == "@" and isinstance(before, _WITH_UNITS) and place < len(tokens) - 1:
                groups.append([])
                continue
            if isinstance(before, Word) and token.type == "VALUE" and (size := self._turned(before, token)):
                atoms[-1] = size
                continue
            if token.type == "VALUE" and _lists_names(atoms[named:] if len(groups) == 1 else atoms):
                atoms += self._names_in(token)
                continue
            atom = self.atom(token)
            # What means nothing is reported, and what stands beside it is read as if it were not there.
            if token.type == "STRAY":
                stray.append(atom)
            elif isinstance(before, _WITH_UNITS) and isinstance(atom, _WITH_UNITS) and not _is_negative(atom):
                groups.append([atom])
            elif isinstance(before, _NUMERIC) and isinstance(atom, _NUMERIC):
                atoms[-1:] = self._side_by_side(before, atom)
            else:
                atoms.append(atom)
        return [tuple(atoms) for atoms in groups if atoms] or [tuple(stray)]

    def _names_in(self, token: Any) -> list[Word]:
        """The names in `1 2 both`: numbers are names there."""
        starts = [(match[0], token.start_pos + match.start()) for match in re.finditer(r"\S+", str(token))]
        return [Word(name.lower(), self._span(start, start + len(name))) for name, start in starts]

    def _turned(self, word: Word, token: Any) -> SizeAtom | None:
        """`AWG 14`: a size with its number behind."""
        system = word.text.upper()
        if system not in SIZE_SYSTEMS or not values.is_size(str(token)):
            return None
        return SizeAtom(str(token), system, word.span.to(self._span(token.start_pos, token.end_pos)))

    def _side_by_side(self, left: Atom, right: Atom) -> tuple[Atom, ...]:
        """Two values with nothing between them, and what they are read as."""
        first, second = [" ".join(self.text[atom.span.start : atom.span.end].split()) for atom in (left, right)]
        span, both = left.span.to(right.span), f"{first} {second}"
        if second.startswith(("-", "−")):
            self._report("CP116", span, dashed=both, instead=f"{first}..{second[1:]}")
            return (Bad(both, span),)
        elif isinstance(left, Quantity) and left.unit == "ft" and isinstance(right, Number):
            self._report("CP104", right.span, written=second, instead=f"{first} {second} in")
        else:
            one_number = isinstance(left, Number) and second[:3].isdigit() and second[3:4].strip("0123456789")
            whole = f"{first}{second}" if one_number else None
            self._report("CP117", span, both=both, whole=whole, apart=f"{first}, {second}")
        return left, right

    def _items(self, trees: list[Any]) -> list[Item]:
        return [
            Item(atoms, atoms[0].span.to(atoms[-1].span)) for tree in trees for atoms in self._groups(tree.children)
        ]

    def declaration(self, tree: Any, span: Span) -> Declaration:
        """A statement that begins with its kind."""
        keyword, *rest = tree.children
        cut = len(rest)
        while cut and hasattr(rest[cut - 1], "children"):
            cut -= 1
        head, *more = self._groups(rest[:cut], named=True)
        items = [*(Item(atoms, atoms[0].span.to(atoms[-1].span)) for atoms in more), *self._items(rest[cut:])]
        return Declaration(self._word(keyword), head, tuple(items), span)

    def stroke(self, token: Any) -> Stroke:
        """A stroke, its blanks and line breaks aside."""
        mark = token.strip()
        start = token.start_pos + token.index(mark)
        span = self._span(start, min(start + len(mark), token.end_pos))
        conductors = _CONDUCTORS.get(mark)
        if conductors is None:
            hatches = mark.count("/")
            conductors = min(max(hatches, 1), 4)
            if hatches == 1 or hatches > 4:
                self._report("CP113", span, written=mark, instead=None if hatches == 1 else STROKES[conductors])
        return Stroke(conductors, span)

    def _bracket(self, tree: Any) -> Bracket:
        opening, *rest, closing = tree.children
        span = self._span(opening.start_pos, closing.end_pos)
        name = None
        if rest and getattr(rest[0], "type", "") == "WORD":
            name = self._word(rest[0])
            rest = rest[2:]
        if not rest:
            self._report("CP117", span, empty=True)
        items = self._items(rest)
        if items and (turned := _kind_first(items[0].atoms)):
            items[0] = Item(turned, items[0].span)
        return Bracket(name, tuple(items), span)

    def _between(self, tree: Any) -> RunElement:
        """What stands between two strokes: a device, an end (one word alone), or a stretch of conductor."""
        if tree.data == "bracket":
            return self._bracket(tree)
        first = [token for token in tree.children[0].children if token.type != "STRAY"]
        if len(tree.children) == 1 and len(first) == 1 and first[0].type == "WORD":
            for token in tree.children[0].children:
                if token.type == "STRAY":
                    self.atom(token)
            return End(self._word(first[0]))
        items = tuple(self._items(tree.children))
        return Segment(items, items[0].span.to(items[-1].span))

    def _count_at_first(self, elements: list[RunElement]) -> None:
        """Strokes that count conductors and are not the first. Where the first is plain, what one of them counts is
        taken for the run, so that no conductor of it is missed as well."""
        first = elements[1]
        assert isinstance(first, Stroke)
        for at, element in enumerate(elements[2:], start=2):
            if not isinstance(element, Stroke) or element.conductors == 1:
                continue
            mark, plain = element.span.text, first.conductors == 1
            if element.conductors != first.conductors:
                self._report("CP113", element.span, counting=mark, first=plain)
            elements[at] = Stroke(1, element.span)
            if elements[1] is first and plain:
                elements[1] = Stroke(element.conductors, first.span)

    def run(self, tree: Any, span: Span) -> RunStatement:
        """A statement that begins with a run's name or its first end."""
        name, children = None, tree.children
        if hasattr(children[0], "children"):
            name, children = self._word(children[0].children[0]), children[1:]
        elements: list[RunElement] = [End(self._word(children[0]))]
        for child in children[1:]:
            elements.append(self._between(child) if hasattr(child, "children") else self.stroke(child))
        self._count_at_first(elements)
        return RunStatement(name, tuple(elements), span)


def _lists_names(atoms: list[Atom]) -> bool:
    """Whether what comes next stands in a list of names: one of the words that begin such a list, and words since."""
    words_last = list(takewhile(lambda atom: isinstance(atom, Word), reversed(atoms)))
    return any(isinstance(atom, Word) and atom.text in _NAMING for atom in words_last)
