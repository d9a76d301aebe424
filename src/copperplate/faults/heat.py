"""What shorts heat on their way back: the I²t that each conductor of the return carries until its short is cleared."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import inf

from copperplate.faults.ways import Turn, Ways

Passing = Callable[[str, float], float | None]
"""I²t that a device lets pass at a current, at most, A²s: infinite where it does not open in time, None without a
curve."""


@dataclass(frozen=True, slots=True)
class Heat:
    """The most I²t in a conductor, A²s: of the short of a live `node` to a node of the return, `back`; with the devices
    that clear it, as they open."""

    i2t: float
    node: str
    back: str
    devices: tuple[str, ...]


class Heats:
    """Gathers the heat of the shorts that some sources drive. Each turn lasts as long as its slowest device, and what
    the turns pass adds up (IEC 60364-4-43 434.5.2 for each)."""

    def __init__(self, names: Sequence[str], ways: Ways, passing: Passing) -> None:
        self._names, self._ways, self._passing = names, ways, passing
        self._most: dict[tuple[int, int], float] = {}
        self._worst: dict[str, Heat] = {}

    def add(self, node: int, back: int, turns: Sequence[Turn]) -> None:
        """A short that some turns clear; nothing where a curve is missing, or a device does not open in time."""
        seconds = [self._seconds(turn) for turn in turns]
        if inf in seconds:
            return
        if len(turns) == 1:
            # Of the shorts that come back alike only the worst counts.
            way = self._ways.core(node, back), back
            if (i2t := turns[0].amperes ** 2 * seconds[0]) <= self._most.get(way, 0.0):
                return
            self._most[way] = i2t
        heat: dict[str, float] = {}
        opened: frozenset[str] = frozenset()
        for turn, lasting in zip(turns, seconds, strict=True):
            for link, share in self._ways.shares(node, back, opened):
                if link.back:
                    heat[link.back] = heat.get(link.back, 0.0) + (share * turn.amperes) ** 2 * lasting
            opened |= {each.device for each in turn.opened}
        devices = tuple(each.device for turn in turns for each in turn.opened)
        for conductor, i2t in heat.items():
            if conductor not in self._worst or i2t > self._worst[conductor].i2t:
                self._worst[conductor] = Heat(i2t, self._names[node], self._names[back], devices)

    def _seconds(self, turn: Turn) -> float:
        longest = 0.0
        for each in turn.opened:
            passed = self._passing(each.device, each.amperes)
            longest = max(longest, inf if passed is None else passed / each.amperes**2)
        return longest

    def raise_to(self, heat: dict[str, Heat]) -> None:
        """Keeps in `heat` the worst of what stands there and of these."""
        for conductor, worst in self._worst.items():
            if conductor not in heat or worst.i2t > heat[conductor].i2t:
                heat[conductor] = worst
