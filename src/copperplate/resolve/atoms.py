"""What values are read from: the atoms of an item, the place where they stand, and what is said of misfits."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from copperplate import units
from copperplate.findings import Finding, finding
from copperplate.model.kinds import Attribute
from copperplate.resolve.words import DIMENSION_WORDS, an, sample
from copperplate.syntax.tree import Atom, Number, Quantity
from copperplate.text import Span


class Unread:
    """Stands for a value that could not be read; its finding is made."""

    def __bool__(self) -> bool:
        return False


UNREAD = Unread()


@dataclass(frozen=True)
class Place:
    """Where values stand: the kind, the address and the ports of what says them, for messages."""

    kind: str
    subject: str
    length_unit: str
    findings: list[Finding] = field(repr=False)
    ports: tuple[str, ...] = ()

    def report(self, code: str, message: str, span: Span | None, **more: Any) -> Unread:
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


def misfit(atom: Atom, attribute: Attribute, place: Place) -> Unread:
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
    if attribute.unit == "kA" and atom.value >= 100:
        return f"`{attribute.word} {atom.written} A`, if that is what it counts"
    unit = attribute.unit or ("%" if attribute.form in ("share", "budget") else "V")
    return f"`{attribute.word} {atom.written} {unit}`, if that is what it counts"


def in_si(atom: Quantity) -> tuple[float, str] | None:
    """Value and dimension of a quantity as the model counts, or None for a unit that no list holds."""
    try:
        return units.to_si(atom.value, atom.unit)
    except KeyError:
        return None
