"""Lasting overload: what can flow in each conductor for ever, and what of it the conductor must carry.

For each ungrounded conductor and each of its ends, `into` is the most that all sources bring to that end without the
conductor; a conductor that carries it is protected there. One that carries less is protected as well where it lies on
a short tap, and carries what the devices ahead let pass.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from copperplate.flow.lasting import Grid, cut, into, through
from copperplate.flow.messages import Cut
from copperplate.flow.pole import Pole, Source, live_pole
from copperplate.flow.taps import Tap, Taps
from copperplate.model import System
from copperplate.model.graph import Graph
from copperplate.model.results import Limit
from copperplate.model.turns import Turn, turns
from copperplate.standards import Profile
from copperplate.standards.supplies import unlimited
from copperplate.units import exceeds

Allowed = Callable[[Tap], float]
"""How many metres a tap may be long."""
Carried = Mapping[str, float | None]
"""What each conductor carries after its factors, amperes; None where its size is left out."""


@dataclass(frozen=True, slots=True)
class Direction:
    """What comes into a conductor from one of its ends for ever, amperes. `line`, `node` and `grid` tell where."""

    into_a: float
    line: int
    node: int
    grid: int


@dataclass(frozen=True, slots=True)
class Duty:
    """What a conductor must carry against lasting overload, amperes (infinite where nothing limits it), and the
    devices that it relies on: those next to it, or on a short tap those ahead."""

    amperes: float
    by: tuple[str, ...]


NO_DUTY = Duty(0.0, ())


@dataclass(frozen=True, slots=True)
class Judged:
    """One conductor with what comes into it from one of its ends. `before` are the devices of its own circuit there;
    `ways` those that it lies on without a device, where it is exposed, and `passed_a` what the devices ahead of it let
    pass (infinite where a way ends without one); `short`: it relies on them."""

    conductor: str
    direction: Direction
    duty: Duty
    before: tuple[str, ...]
    ways: tuple[Tap, ...]
    passed_a: float
    short: bool


class Overload:
    """Lasting overload of a system with all switches closed and devices of these ratings (amperes; a device without
    a rating limits nothing). AC supplies take turns: each is a grid of its own."""

    def __init__(
        self, system: System, net: Graph, profile: Profile, rating_a: Mapping[str, float | None]
    ) -> None:
        self.system, self.net = system, net
        self.pole: Pole = live_pole(system, net, profile)
        self._rating_a = rating_a
        pole = self.pole
        passes = [self._passes(index) for index in range(len(pole.lines))]
        draws = [0.0] * len(pole.names)
        for _, node in pole.draws:
            draws[node] = math.inf
        self._turns = turns(system, net) or (Turn("", (), frozenset(), frozenset(), {}),)
        self.grids = [self._grid(turn, passes, lambda source: source.amperes, draws) for turn in self._turns]
        self._into = [into(grid) for grid in self.grids]

    def _grid(
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
        return Grid(len(supplies), [(line.a, line.b) for line in lines], along, along, supplies, draws)

    def _passes(self, index: int) -> float:
        line = self.pole.lines[index]
        rating = self._rating_a.get(line.id) if line.protects else None
        return math.inf if rating is None else rating

    def directions(self, line: int) -> tuple[Direction, Direction]:
        """What comes into a line from its first end and from its second: of AC supplies the one that gives most."""
        edge = self.pole.lines[line]
        found: list[Direction] = []
        for end, node in enumerate((edge.a, edge.b)):
            grid = max(range(len(self.grids)), key=lambda g: (self._into[g][line][end], -g))
            found.append(Direction(self._into[grid][line][end], line, node, grid))
        return found[0], found[1]

    def limit(self, direction: Direction) -> Limit:
        """The minimum cut behind what comes into a line."""
        end = 0 if self.pole.lines[direction.line].a == direction.node else 1
        return self.named(cut(self.grids[direction.grid], direction.line, end), direction.grid)

    def named(self, least: Cut, grid: int) -> Limit:
        """A minimum cut of a grid by the names of its devices and sources."""
        pole = self.pole
        devices = {pole.lines[index].id: self._passes(index) for index in least.lines if index < len(pole.lines)}
        turn = self._turns[grid].supply
        nodes = set(least.supplies)
        here = [s for s in pole.sources if s.node in nodes and s.amperes > 0.0 and (s.direct or s.part == turn)]
        return Limit(
            least.amperes,
            tuple(devices.items()),
            tuple((s.part, s.amperes) for s in here if s.amperes < math.inf),
            tuple(s.part for s in here if s.amperes == math.inf),
        )

    @cached_property
    def taps(self) -> Taps:
        """The ways through conductors."""
        return Taps(self.system, self.pole, self.brings)

    def judged(self, carried_a: Carried, allowed_m: Allowed, share: Callable[[str], float]) -> tuple[Judged, ...]:
        """What comes into each ungrounded conductor from each end that something comes from, and what the conductor
        must carry of it. `carried_a` is None for sizes that are left out: they count as exposed, and where their way
        is too long they carry what comes into them, and the ways are measured again. `share`: what part of its
        ampacity may be protected, by conductor."""
        pole = self.pole
        wires = [index for index, line in enumerate(pole.lines) if line.kind == "conductor"]
        directions = {index: self.directions(index) for index in wires}
        covered: set[tuple[int, int]] = set()
        """(line, node) of sizes left out that carry what comes into them from that node."""

        def exposed(line: int, node: int) -> bool:
            edge = pole.lines[line]
            coming = directions[line][0 if edge.a == node else 1].into_a
            if coming <= 0.0:
                return False
            amperes = carried_a.get(edge.id)
            return (line, node) not in covered if amperes is None else exceeds(coming, amperes * share(edge.id))

        while True:
            found = [
                self._judged(direction, exposed, allowed_m)
                for index in wires
                for direction in directions[index]
                if direction.into_a > 0.0
            ]
            more = {
                (j.direction.line, j.direction.node)
                for j in found
                if carried_a.get(j.conductor) is None and not j.short
            } - covered
            if not more:
                return tuple(found)
            covered |= more

    def duties(self, carried_a: Carried, allowed_m: Allowed, share: Callable[[str], float]) -> dict[str, Duty]:
        """What each ungrounded conductor must carry, see `judged`. Where nothing limits what comes in, no size carries
        it: what the devices ahead let pass stands for it, or nothing."""
        found = {line.id: NO_DUTY for line in self.pole.lines if line.kind == "conductor"}
        for judged in self.judged(carried_a, allowed_m, share):
            duty = judged.duty
            if duty.amperes == math.inf:
                ahead = tuple(dict.fromkeys(device for way in judged.ways for device, _ in way.devices))
                duty = Duty(judged.passed_a, ahead) if judged.passed_a < math.inf else Duty(0.0, duty.by)
            if duty.amperes > found[judged.conductor].amperes or not found[judged.conductor].by:
                found[judged.conductor] = duty
        return found

    def _judged(self, direction: Direction, exposed: Callable[[int, int], bool], allowed_m: Allowed) -> Judged:
        """A conductor must carry all that comes in from one end, and at least the rating of the device before it in
        its own run, even where a source gives less; or what the devices ahead let pass, where every way that it lies
        on begins without a device and is short enough."""
        pole = self.pole
        conductor = pole.lines[direction.line].id
        before = self.before(direction)
        ways: tuple[Tap, ...] = ()
        passed = math.inf
        if exposed(direction.line, direction.node):
            ways = self.taps.through(direction.line, direction.node, exposed)
            ahead = tuple(dict.fromkeys(device for way in ways for device, _ in way.devices))
            if ahead and not any(way.bare for way in ways):
                passed = sum(self._rating_a.get(device) or math.inf for device in ahead)
            if passed < direction.into_a and not any(exceeds(way.metres, allowed_m(way)) for way in ways):
                return Judged(conductor, direction, Duty(passed, ahead), before, ways, passed, True)
        run = self.system.conductors[conductor].run
        own = (self._rating_a.get(d) or 0.0 for d in before if self.system.devices[d].run == run)
        amperes = max((direction.into_a, *own))
        return Judged(conductor, direction, Duty(amperes, before), before, ways, passed, False)

    def before(self, direction: Direction) -> tuple[str, ...]:
        """The devices of a conductor's own circuit: the first that what comes in from one end passes on its way."""
        pole = self.pole
        feeding = self._feeding.get(pole.region[direction.node], ())
        if len(feeding) <= 1 and pole.lines[direction.line].kind == "conductor":
            return feeding if direction.into_a > 0.0 else ()
        if pole.lines[direction.line].protects:
            return tuple(device for device in feeding if device != pole.lines[direction.line].id)
        found: dict[str, None] = {}
        seen = {direction.node}
        waiting = [(direction.node, direction.line)]
        while waiting:
            node, came_by = waiting.pop()
            for index in pole.at[node]:
                line = pole.lines[index]
                if index == came_by or not self.brings(index, node):
                    continue
                other = pole.other(index, node)
                if line.protects:
                    found[line.id] = None
                elif other not in seen:
                    seen.add(other)
                    waiting.append((other, index))
        return tuple(device for device in feeding if device in found)

    @cached_property
    def _feeding(self) -> dict[int, tuple[str, ...]]:
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
        turns = [through(self._grid(turn, free, lambda s: float(counts(s)), every)) for turn in self._turns]
        return tuple((max(a for a, _ in ways), max(b for _, b in ways)) for ways in zip(*turns, strict=True))

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

    def guards(self, conductor: str) -> tuple[str, ...]:
        """The devices next to a conductor of either end that something comes from."""
        found: dict[str, None] = {}
        for line in self.pole.of.get(conductor, ()):
            for direction in self.directions(line):
                found.update(dict.fromkeys(self.before(direction) if direction.into_a > 0.0 else ()))
        return tuple(found)

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

    def onward(self, device: str) -> int:
        """How many ways lead on from the region behind a device, those without a device of their own included. Of a
        device that can feed either side (a battery at each) the side with more ways counts."""
        fed = (region for region, devices in self._driving.items() if device in devices)
        return max((self._ways_on[region] for region in fed), default=0)

    @cached_property
    def _ways_on(self) -> dict[int, int]:
        """By region, the devices that lead on from it and do not feed it, and its ends without a device."""
        pole = self.pole
        border: dict[int, set[str]] = {}
        ends: dict[int, int] = {}
        for line in pole.lines:
            for node in (line.a, line.b) if line.protects else ():
                border.setdefault(pole.region[node], set()).add(line.id)
        for node, lines in enumerate(pole.at):
            if len(lines) == 1:
                ends[pole.region[node]] = ends.get(pole.region[node], 0) + 1
        return {
            region: len(border.get(region, set()) - set(self._driving.get(region, ()))) + ends.get(region, 0)
            for region in set(pole.region)
        }

    def brings(self, line: int, node: int) -> bool:
        """Whether a line brings current to one of its nodes from its other end."""
        return self._led[line][0 if self.pole.lines[line].b == node else 1] > 0.0
