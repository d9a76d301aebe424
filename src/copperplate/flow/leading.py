"""By which devices something comes to each place of a system, whatever they are rated."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property, lru_cache

from copperplate.flow.lasting import Grid, through
from copperplate.flow.pole import Source, live_pole
from copperplate.flow.taps import Tap, Taps
from copperplate.model import System
from copperplate.model.graph import graph
from copperplate.model.turns import Turn, turns
from copperplate.standards import Profile
from copperplate.standards.supplies import unlimited


@lru_cache(maxsize=2)
def leading(system: System, profile: Profile) -> Leading:
    """That of the last systems is kept."""
    return Leading(system, profile)


class Leading:
    """The ungrounded side of a system with all switches closed. AC supplies take turns."""

    def __init__(self, system: System, profile: Profile) -> None:
        net = graph(system)
        self.system = system
        self.pole = live_pole(system, net, profile)
        self.turns = turns(system, net) or (Turn("", (), frozenset(), frozenset(), {}),)

    @cached_property
    def _bare_grid(self) -> Grid:
        """The network by itself."""
        ends = [(line.a, line.b) for line in self.pole.lines]
        none = [0.0] * len(ends)
        nothing = [0.0] * len(self.pole.names)
        return Grid(len(nothing), ends, none, none, nothing, nothing)

    def grid(
        self, turn: Turn, passes: Sequence[float], given: Callable[[Source], float], draws: Sequence[float]
    ) -> Grid:
        """The network while one AC supply gives, beside all that gives direct current."""
        lines = self.pole.lines
        supplies = [0.0] * len(self.pole.names)
        for source in self.pole.sources:
            if source.direct or source.part == turn.supply:
                supplies[source.node] += given(source)
        shut = (line.id in turn.opened or (bool(line.hands) and line.hands not in turn.handing) for line in lines)
        along = [0.0 if each else amperes for each, amperes in zip(shut, passes, strict=True)]
        back = [0.0 if line.one_way else amperes for line, amperes in zip(lines, along, strict=True)]
        return Grid(len(supplies), self._bare_grid.ends, along, back, supplies, draws, self._bare_grid)

    @cached_property
    def taps(self) -> Taps:
        """The ways through conductors."""
        return Taps(self.system, self.pole, self.brings)

    @cached_property
    def feeding(self) -> dict[int, tuple[str, ...]]:
        """By region, the devices that feed it, in the order of the plate."""
        return self._by_region(self.brings)

    @cached_property
    def _driving(self) -> dict[int, tuple[str, ...]]:
        """By region, the devices through which a large fault current or an AC supply comes to it."""
        return self._by_region(lambda line, node: self._large[line][0 if self.pole.lines[line].b == node else 1] > 0.0)

    def _by_region(self, brings: Callable[[int, int], bool]) -> dict[int, tuple[str, ...]]:
        found: dict[int, dict[str, None]] = {}
        for index, line in enumerate(self.pole.lines):
            for node in (line.a, line.b) if line.protects else ():
                if brings(index, node):
                    found.setdefault(self.pole.region[node], {})[line.id] = None
        return {region: tuple(devices) for region, devices in found.items()}

    def before_device(self, line: int) -> tuple[Tap, ...]:
        """The stretches of conductor before a device, from each end that a large fault current can come from: that of
        a battery, or of an alternator that does not limit itself."""
        edge = self.pole.lines[line]
        ends = [node for node, large in zip((edge.a, edge.b), self._large[line], strict=True) if large > 0.0]
        return tuple(tap for node in ends for tap in self.taps.through(line, node, lambda *_: True, ahead=False))

    @cached_property
    def _large(self) -> tuple[tuple[float, float], ...]:
        """Whether a large fault current, or an AC supply, comes to the ends of each line, by whatever devices."""
        return self._leading(lambda source: not source.direct or unlimited(self.system.parts[source.part]))

    @cached_property
    def _led(self) -> tuple[tuple[float, float], ...]:
        """Whether anything comes to the ends of each line, by whatever devices."""
        return self._leading(lambda source: source.amperes > 0.0)

    def _leading(self, counts: Callable[[Source], bool]) -> tuple[tuple[float, float], ...]:
        """By line, whether a way leads from a source that counts to its first end without the second, and to its second
        without the first: above zero where one does."""
        free = [1.0] * len(self.pole.lines)
        every = [1.0] * len(self.pole.names)
        turns = [through(self.grid(turn, free, lambda s: float(counts(s)), every)) for turn in self.turns]
        return tuple(
            (max(a for a, _ in ways), 0.0 if line.one_way else max(b for _, b in ways))
            for line, ways in zip(self.pole.lines, zip(*turns, strict=True), strict=True)
        )

    def driving(self, node: str) -> tuple[str, ...]:
        """The devices through which large fault currents, or AC supplies, come to a node; () where one comes bare."""
        number = self.pole.number.get(node)
        if number is None or self.pole.region[number] in self._bare:
            return ()
        return self._driving.get(self.pole.region[number], ())

    @cached_property
    def _bare(self) -> frozenset[int]:
        """The regions that a battery, or an alternator that does not limit itself, sits in."""
        parts = self.system.parts
        return frozenset(self.pole.region[s.node] for s in self.pole.sources if s.direct and unlimited(parts[s.part]))

    def upper(self, device: str) -> tuple[str, ...]:
        """The devices directly above one, towards the sources. Those that feed each other stand on one level."""
        pole = self.pole
        found: dict[str, None] = {}
        for index in pole.of.get(device, ()):
            for node in (pole.lines[index].a, pole.lines[index].b):
                feeding = self._driving.get(pole.region[node], ())
                if device not in feeding:
                    found.update(dict.fromkeys(feeding))
        return tuple(found)

    def large_into(self, node: int) -> tuple[str, ...]:
        """The devices through which large fault currents come to the region of a node."""
        return self._driving.get(self.pole.region[node], ())

    def bare_ends(self, device: str) -> int:
        """How many ways without a device of their own end in the regions that a device drives such currents to."""
        return sum(self._ends.get(region, 0) for region in self._driven.get(device, ()))

    @cached_property
    def _driven(self) -> dict[str, list[int]]:
        """By device the regions that it drives large fault currents to."""
        found: dict[str, list[int]] = {}
        for region, devices in self._driving.items():
            for device in devices:
                found.setdefault(device, []).append(region)
        return found

    @cached_property
    def _ends(self) -> dict[int, int]:
        """By region, its ends without a device."""
        ends: dict[int, int] = {}
        for node, lines in enumerate(self.pole.at):
            if len(lines) == 1:
                ends[self.pole.region[node]] = ends.get(self.pole.region[node], 0) + 1
        return ends

    def brings(self, line: int, node: int) -> bool:
        """Whether a line brings current to one of its nodes from its other end."""
        return self._led[line][0 if self.pole.lines[line].b == node else 1] > 0.0
