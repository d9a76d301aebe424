"""What values are read from: the atoms of an item, and the findings of those that are of another form."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from copperplate import units
from copperplate.model.kinds import Attribute
from copperplate.resolve.reading import Place, Unread
from copperplate.resolve.words import DIMENSION_WORDS, sample
from copperplate.syntax.tree import Atom, Number, Quantity

OF_SHARES = ("share", "budget", "budgets")
"""Forms whose value may be a share, in percent."""


class Atoms:
    """The atoms of one item, taken from the left."""

    __slots__ = ("_atoms", "at")

    def __init__(self, atoms: tuple[Atom, ...]) -> None:
        self._atoms = atoms
        self.at = 0

    def peek(self, further: int = 0) -> Atom | None:
        at = self.at + further
        return self._atoms[at] if at < len(self._atoms) else None

    def take(self) -> Atom:
        self.at += 1
        return self._atoms[self.at - 1]

    @property
    def last(self) -> Atom:
        """The atom taken last."""
        return self._atoms[self.at - 1]

    def __bool__(self) -> bool:
        return self.at < len(self._atoms)


@dataclass(frozen=True, slots=True)
class Wanted:
    """The value of an attribute that is to be read: from which atoms, and where it stands."""

    attribute: Attribute
    atoms: Atoms
    place: Place

    def report(self, code: str, atom: Atom, **figures: Any) -> Unread:
        """Adds a finding at an atom, with the attribute's word and what is written there among its figures."""
        return self.place.report(code, atom.span, **{"word": self.attribute.word, "written": atom.span.text, **figures})

    def misfit(self, atom: Atom) -> Unread:
        """A finding of what is of another form than the attribute's."""
        attribute, how = self.attribute, self.place.sample(self.attribute)
        if isinstance(atom, Number) and attribute.form in ("quantity", "window", "voltage-pair", *OF_SHARES):
            return self.place.report("CP104", atom.span, **in_a_unit(atom, attribute, self.place))
        if isinstance(atom, Quantity):
            what = DIMENSION_WORDS.get(units.dimension_of(atom.unit) or "", "a quantity")
            wants = DIMENSION_WORDS.get(attribute.dimension, "a value without a unit")
            if attribute.form in OF_SHARES:
                wants = "a share, in percent" if attribute.form == "share" else "a share or a voltage"
            return self.report("CP120", atom, what=what, wants=wants, kind=self.place.kind, sample=how)
        return self.report("CP124", atom, sample=how)


def in_a_unit(atom: Number, attribute: Attribute, place: Place) -> dict[str, Any]:
    """The figures of a number without a unit: the unit that the plate would write."""
    if attribute.dimension == "length":
        counts = "feet" if place.reading.length_unit == "ft" else "metres"
        return {"written": atom.written, "unit": place.reading.length_unit, "counts": counts}
    if attribute.form == "window":
        return {"written": atom.written, "sample": sample(attribute)}
    unit = attribute.unit or ("%" if attribute.form in OF_SHARES else "V")
    if attribute.unit == "kA" and atom.value >= 100:
        unit = "A"
    return {"written": atom.written, "word": attribute.word, "unit": unit}


def in_si(atom: Quantity) -> tuple[float, str] | None:
    """Value and dimension of a quantity as the model counts, or None for a unit that no list holds."""
    try:
        return units.to_si(atom.value, atom.unit)
    except KeyError:
        return None
