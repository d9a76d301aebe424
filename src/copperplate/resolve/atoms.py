"""What values are read from: the atoms of an item, and the findings of those that are of another form."""

from __future__ import annotations

from typing import Any

from copperplate import units
from copperplate.model.kinds import Attribute
from copperplate.resolve.reading import Place, Unread
from copperplate.resolve.words import DIMENSION_WORDS, sample
from copperplate.syntax.tree import Atom, Number, Quantity


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
    about = {"word": attribute.word, "written": atom.span.text, "sample": place.sample(attribute)}
    if isinstance(atom, Number) and attribute.form in ("quantity", "window", "budget", "share", "voltage-pair"):
        return place.report("CP104", atom.span, **in_a_unit(atom, attribute, place))
    if isinstance(atom, Quantity):
        what = DIMENSION_WORDS.get(units.dimension_of(atom.unit) or "", "a quantity")
        wants = DIMENSION_WORDS.get(attribute.dimension, "a value without a unit")
        if attribute.form in ("budget", "share"):
            wants = "a share, in percent" if attribute.form == "share" else "a share or a voltage"
        return place.report("CP120", atom.span, what=what, wants=wants, kind=place.kind, **about)
    return place.report("CP124", atom.span, **about)


def in_a_unit(atom: Number, attribute: Attribute, place: Place) -> dict[str, Any]:
    """The figures of a number without a unit: the unit that the plate would write."""
    if attribute.dimension == "length":
        counts = "feet" if place.reading.length_unit == "ft" else "metres"
        return {"written": atom.written, "unit": place.reading.length_unit, "counts": counts}
    if attribute.form == "window":
        return {"written": atom.written, "sample": sample(attribute)}
    unit = attribute.unit or ("%" if attribute.form in ("share", "budget") else "V")
    if attribute.unit == "kA" and atom.value >= 100:
        unit = "A"
    return {"written": atom.written, "word": attribute.word, "unit": unit}


def in_si(atom: Quantity) -> tuple[float, str] | None:
    """Value and dimension of a quantity as the model counts, or None for a unit that no list holds."""
    try:
        return units.to_si(atom.value, atom.unit)
    except KeyError:
        return None
