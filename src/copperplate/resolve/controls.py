"""Control ports: those of devices in a line, and what signals and made-up leads alone reach."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from copperplate.model import Part
from copperplate.resolve.brackets import InLine
from copperplate.resolve.legs import Leg
from copperplate.resolve.reading import Reading
from copperplate.syntax.tree import End, RunStatement, Segment, Word


@dataclass(frozen=True, kw_only=True)
class Contact(Part):
    """A device in a line as an end of signals: while a plate is read it stands among the parts."""


_SERVICES = ("signal", "data", "loom", "bonding")


def served_alone(reading: Reading) -> frozenset[str]:
    """The parts that signals, made-up leads and bonds reach, and nothing else: nothing is asked of what they take."""
    served: set[str] = set()
    powered: set[str] = set()
    for statement in reading.plate.statements:
        if isinstance(statement, RunStatement):
            words = [
                atom.text
                for element in statement.elements
                if isinstance(element, Segment)
                for item in element.items
                for atom in item.atoms
                if isinstance(atom, Word)
            ]
            ends = {e.address.text.partition(".")[0] for e in statement.elements if isinstance(e, End)}
            (served if any(word in _SERVICES for word in words) else powered).update(ends)
    return frozenset(served - powered)


def controlled(legs: Iterable[Leg], parts: Mapping[str, Part], reading: Reading) -> dict[str, Part]:
    """The devices with a name at which a signal or a lead ends, by that name."""
    legs = tuple(legs)
    ended = {word.text.partition(".")[0] for leg in legs if leg.serves for word in (leg.near, leg.far)}
    found: dict[str, Part] = {}
    for leg in legs:
        for thing in leg.line:
            if isinstance(thing, InLine) and thing.name is not None and thing.name.text in ended - parts.keys():
                ports = thing.facts.values.get("ports")
                found[thing.name.text] = Contact(id=thing.name.text, span=thing.span, control_ports=ports)
    return found
