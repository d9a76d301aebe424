"""Brackets in the line of a run: the device that each stands for, and what it states."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from copperplate.model import DEVICE_ROLES, DeviceKind
from copperplate.model.kinds import DEVICE_KINDS
from copperplate.resolve.facts import fold, read_entries
from copperplate.resolve.reading import COMMON_PRACTICE, Facts, Gang, Place, Reading
from copperplate.resolve.types import apply_type
from copperplate.resolve.words import table
from copperplate.syntax.tree import Atom, Bracket, Quantity, Word
from copperplate.text import Span, nearest

RESIDUAL = ("rcd", "rcbo")
"""Brackets that open at a residual current; an rcbo is a breaker that does."""
RESIDUAL_A = 0.03


@dataclass(frozen=True)
class InLine:
    """A bracket. `kind` None where it names no device: `[10 A]`. `of`: the declared device that it is one way of."""

    name: Word | None
    kind: DeviceKind | None
    facts: Facts
    span: Span
    of: str = ""

    @property
    def is_a_ways_own(self) -> bool:
        """Whether it is the way's own device where it stands right at a way: it names no device, or a protective one
        that has no name of its own."""
        return self.kind is None or (self.name is None and not self.of and DEVICE_ROLES[self.kind].protects)

    @property
    def inside(self) -> str:
        """What stands between its brackets."""
        return self.span.text.strip("[]").strip()


def read_bracket(bracket: Bracket, run: str, reading: Reading) -> InLine:
    """A device in the line of a run: its kind, then what the kinds table lets a device state."""
    groups = [item.atoms for item in bracket.items]
    first = groups[0][0] if groups and groups[0] else None
    gang = reading.gangs.get(first.text.partition(".")[0]) if isinstance(first, Word) else None
    if isinstance(first, Word) and gang is not None and _named(first.text) is None:
        return _way_of(gang, first, bracket, reading)
    kind = _kind(bracket, groups, run, reading)
    reference = _reference(groups)
    type = reading.library.types.get(reference.text) if reference is not None else None
    if kind is None and type is not None:
        kind = _named(type.kind)
    subject = bracket.name.text if bracket.name is not None else run
    facts = Facts()
    place = Place(kind or "device", subject, reading, in_line=True)
    word = first.text if isinstance(first, Word) else ""
    if word in RESIDUAL:
        groups = [_of_residual(group) for group in groups]
    fold(read_entries(groups, place, facts), facts, place)
    if word in RESIDUAL and facts.lacks("residual_a"):
        facts.values["residual_a"] = RESIDUAL_A
        reading.assume(subject, f"opens at a residual current of {RESIDUAL_A * 1000:g} mA", COMMON_PRACTICE)
    facts.values.pop("part", None)
    if reference is not None and type is not None and kind is None:
        reading.library.used.add(type.name)
        reading.report("CP215", subject, reference.span, part=type.name, other=type.kind)
        kind = "fuse"
    elif reference is not None:
        apply_type(facts, kind or "fuse", reference, subject, reading)
    return InLine(bracket.name, kind, facts, bracket.span)


def _of_residual(group: tuple[Atom, ...]) -> tuple[Atom, ...]:
    """The atoms of an item in which a bare current in milliamperes is the residual one."""
    first = group[0] if group else None
    if isinstance(first, Quantity) and first.unit == "mA":
        return (Word("residual", first.span), *group)
    return group


def _way_of(gang: Gang, word: Word, bracket: Bracket, reading: Reading) -> InLine:
    """One of several switches that a statement declares: the one that the bracket numbers, else the next free."""
    number = word.text.partition(".")[2] or next((str(n) for n in range(1, gang.ways + 1) if n not in gang.taken), "0")
    way = int(number) if number.isascii() and number.isdigit() else 0
    if not 1 <= way <= gang.ways or way in gang.taken:
        free = [n for n in range(1, gang.ways + 1) if n not in gang.taken]
        about = {"way": number, "taken": way in gang.taken, "ways": gang.ways, "free": [str(n) for n in free]}
        about |= {"pins": gang.kind == "connector"}
        reading.report("CP249", gang.name, word.span, **about)
        way = free[0] if free else gang.ways
    gang.taken.add(way)
    return InLine(Word(f"{gang.name}.{way}", word.span), gang.kind, gang.facts, bracket.span, gang.name)


def _kind(bracket: Bracket, groups: list[tuple[Atom, ...]], run: str, reading: Reading) -> DeviceKind | None:
    """The kind that a bracket begins with, which is taken from `groups`; what is meant for one is reported, and the
    likely kind, or a fuse, stands in. None where it begins with something else."""
    first = groups[0][0] if groups and groups[0] else None
    if not isinstance(first, Word):
        return None
    kind, word = _named(first.text), first.text
    if kind is None and word in table("device").known:
        return None
    groups[0] = groups[0][1:]
    if kind is not None:
        return kind
    likely = nearest(word, DEVICE_KINDS)
    if likely is not None:
        reading.report("CP204", run, first.span, device=word, instead=likely)
        return _named(likely)
    inside = " ".join(bracket.span.text.strip("[]").split()).removeprefix(word).strip()
    named = f"{word}: fuse {inside}".strip()
    reading.report("CP226", run, first.span, word=word, devices=DEVICE_KINDS, named=named)
    return "fuse"


def _named(word: str) -> DeviceKind | None:
    if word == "rcbo":
        return "breaker"
    return next((kind for kind in DEVICE_KINDS if kind == word), None)


def _reference(groups: list[tuple[Atom, ...]]) -> Word | None:
    for group in groups:
        for word, name in pairwise(group):
            if isinstance(word, Word) and word.text == "part" and isinstance(name, Word):
                return name
    return None
