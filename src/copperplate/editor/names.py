"""Where the names of a plate are given and where they are used, read from its tree."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from copperplate.model.kinds import COMMON, DEVICE, DEVICE_KINDS, KINDS, SEGMENT, Attribute
from copperplate.syntax.tree import Bracket, Declaration, End, Item, Plate, RunStatement, Segment, Word
from copperplate.text import Span


@dataclass(frozen=True, slots=True)
class Occurrence:
    """One name at one place. Of the address `cabin.3` it is the span of `cabin`; `gives`: the name is given here."""

    name: str
    span: Span
    gives: bool


def occurrences(plate: Plate) -> list[Occurrence]:
    """Every place of a name, in order. Names that the plate uses and does not give count too: another file may."""
    places: list[Occurrence] = []
    for statement in plate.statements:
        if isinstance(statement, Declaration):
            places += _declaration(statement)
        elif isinstance(statement, RunStatement):
            places += _run(statement)
        else:
            unread = (word for word in statement.words if word.text != statement.keyword)
            places += [_occurrence(word, gives=word.text == statement.name) for word in unread]
    return places


def _declaration(statement: Declaration) -> Iterator[Occurrence]:
    kind = KINDS.get(statement.keyword.text)
    words = [atom for atom in statement.head if isinstance(atom, Word)]
    if kind is not None and kind.named and words:
        yield _occurrence(words.pop(0), gives=True)
    attributes = (*kind.attributes, *COMMON) if kind is not None else COMMON
    if statement.keyword.text == "part" and words:
        part = KINDS.get(words.pop(0).text)
        attributes += part.attributes if part is not None else ()
    yield from _names(words, attributes)
    yield from _items(statement.items, attributes)


def _run(statement: RunStatement) -> Iterator[Occurrence]:
    if statement.name is not None:
        yield _occurrence(statement.name, gives=True)
    for element in statement.elements:
        if isinstance(element, End):
            yield _occurrence(element.address)
        elif isinstance(element, Segment):
            yield from _items(element.items, SEGMENT)
        elif isinstance(element, Bracket):
            if element.name is not None:
                yield _occurrence(element.name, gives=True)
            yield from _items(element.items, DEVICE, DEVICE_KINDS)


def _items(
    items: Iterable[Item], attributes: tuple[Attribute, ...], more: tuple[str, ...] = ()
) -> Iterator[Occurrence]:
    for item in items:
        yield from _names([atom for atom in item.atoms if isinstance(atom, Word)], attributes, more)


def _names(words: list[Word], attributes: tuple[Attribute, ...], more: tuple[str, ...] = ()) -> Iterator[Occurrence]:
    """The words that can be names: neither the word of an attribute nor one of its choices."""
    taken = {word for a in attributes for word in (a.word, *a.choices)} | set(more)
    return (_occurrence(word) for word in words if word.text not in taken)


def _occurrence(word: Word, gives: bool = False) -> Occurrence:
    name = word.text.partition(".")[0]
    return Occurrence(name, Span(word.span.source, word.span.start, word.span.start + len(name)), gives)
