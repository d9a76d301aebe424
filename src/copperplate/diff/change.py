"""One change between two designs: what it is, why, and what follows from it. The form that is written as JSON."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from copperplate.text import fields

Kind = Literal["circuit", "part", "route", "lead", "case", "system", "rules", "stock", "note", "title block"]
What = Literal["added", "removed", "renamed", "changed", "pinned", "follows"]
"""pinned: what was chosen is now stated, with the same result; follows: nothing of its own changed, only figures that
depend on others, and size and rating stayed."""

WEIGHTS = ("safety", "conductor", "protection", "circuit", "voltage", "fact", "figure", "words")
"""In the order of reading. safety: what nobody but its author vouches for (a new warning or error on it, a device
gone, a stated rating raised, a stated size made thinner, a warning accepted); conductor: another size; protection:
another rating or device; circuit: a circuit more or less; voltage: another drop; fact: something that changes none of
these; figure: only figures that follow; words: names, titles, notes."""


@dataclass(frozen=True)
class Fact:
    """One fact of `subject` that was `old` and is `new`, in SI units (`unit`), and the same in words; `limit` is what
    the new value must keep to, where there is such a thing."""

    fact: str
    subject: str
    old: Any
    new: Any
    unit: str
    words: str
    limit: float | None = None

    def as_json(self) -> dict[str, Any]:
        return fields(self, "fact", "subject", "old", "new", "unit", "limit", "words")


@dataclass(frozen=True)
class Change:
    """A change of the thing at `address` (called `was` in the old design, where that differs). `words` says the whole
    of an added, removed or renamed thing; `addresses` are all that belong to it, for marks on the drawing."""

    what: What
    kind: Kind
    address: str
    title: str
    weight: str
    causes: tuple[Fact, ...] = ()
    consequences: tuple[Fact, ...] = ()
    words: str = ""
    was: str | None = None
    addresses: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        return {
            "change": self.what,
            **fields(self, "kind", "address", "was", "title", "weight"),
            "causes": [fact.as_json() for fact in self.causes],
            "consequences": [fact.as_json() for fact in self.consequences],
            **fields(self, "words", "addresses"),
        }
