"""One end of a leg as it comes to a component, and the cores of a cable between two ends."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from copperplate.model import Load, Part, Pole
from copperplate.model.parts import Current
from copperplate.resolve.addresses import Ends, Target, part_of
from copperplate.resolve.brackets import InLine
from copperplate.resolve.legs import Leg
from copperplate.syntax.tree import Word

_CORES: Mapping[int, tuple[Pole, ...]] = {2: ("l", "n"), 3: ("l", "n", "pe"), 4: ("l1", "l2", "n", "pe")}
_BETWEEN_LINES: tuple[Pole, ...] = ("l1", "l2", "pe")
"""Cores of a cable of three to a load that takes the voltage between the lines of a split supply."""
_BETWEEN_V = 200.0
"""What states more than this takes both lines of a split supply: 208, 220 or 240 V beside 120 V."""


@dataclass(frozen=True, slots=True)
class Approach:
    """One end of a leg: the near (side 0) or the far one (side 1), what it and the other end name, and the way
    that it was given where it is one."""

    leg: Leg
    side: int
    target: Target
    other: Target
    way: int | None
    ends: Ends

    @property
    def word(self) -> Word:
        """The address as the plate writes it."""
        return self.leg.far if self.side else self.leg.near

    @property
    def part(self) -> Part:
        """The component at this end."""
        return self.target.part

    @property
    def own_bracket(self) -> InLine | None:
        """The bracket beside a way that is the way's own device."""
        beside = self.leg.beside(self.side)
        return beside if self.way is not None and beside is not None and beside.is_a_ways_own else None

    def groups(self, current: Current) -> list[str]:
        """The groups of terminals of that current."""
        return [group for group, carried in self.part.groups if carried == current]

    def report(self, code: str, **figures: Any) -> None:
        """A finding at this end."""
        at = {"part": self.part.span}
        self.ends.reading.report(code, self.word.text, self.word.span, kind=self.part.kind, **figures, at=at)


def cores(leg: Leg, near: Target, far: Target, ends: Ends) -> tuple[Pole, ...]:
    """The conductors of an AC leg by pole, in the order of the cable."""
    return _BETWEEN_LINES if leg.conductors == 3 and _takes_both(near, far, ends) else _CORES[leg.conductors]


def _takes_both(near: Target, far: Target, ends: Ends) -> bool:
    """Whether one end is a load or charger for the voltage between two lines, and the other end has those."""
    for target, other in ((far, near), (near, far)):
        if (target.part.takes_v or 0.0) > _BETWEEN_V:
            out = [group for group, current in other.part.groups if current == "ac"]
            fed = ends.lines_of(other.part, out[-1]) if out else ends.poled.get(other.part.id, 3)
            return ends.settings.ac == "120/240" or fed == 4
    return False


def leg_of(leg: Leg, ends: Ends) -> int | None:
    """Leg 1 or 2 of a split supply, where the load at one end states it."""
    for word in (leg.far, leg.near):
        part = ends.parts.get(part_of(word.text))
        if isinstance(part, Load) and part.leg in (1, 2):
            return part.leg
    return None
