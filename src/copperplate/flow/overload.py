"""Lasting overload: what can flow in each conductor for ever, and what of it the conductor must carry.

For each ungrounded conductor and each of its ends, `into` is the most that all sources bring to that end without the
conductor; a conductor that carries it is protected there. One that carries less is protected as well where it lies on
a short tap, and carries what the devices ahead let pass.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from copperplate.flow.lasting import cut, into
from copperplate.flow.leading import leading
from copperplate.flow.messages import Cut
from copperplate.flow.taps import Tap
from copperplate.model import System
from copperplate.model.cranking import cranking
from copperplate.model.results import Limit, Rating
from copperplate.standards import Profile
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


def overload(system: System, profile: Profile, ratings: Mapping[str, Rating]) -> Overload:
    """That of devices of these ratings; of the last few it is kept."""
    return _kept(system, profile, tuple((device, rating.rating_a) for device, rating in ratings.items()))


@lru_cache(maxsize=3)
def _kept(system: System, profile: Profile, ratings: tuple[tuple[str, float | None], ...]) -> Overload:
    return Overload(system, profile, dict(ratings))


class Overload:
    """Lasting overload of a system with all switches closed and devices of these ratings (amperes; a device without
    a rating limits nothing). AC supplies take turns: each is a grid of its own."""

    def __init__(self, system: System, profile: Profile, rating_a: Mapping[str, float | None]) -> None:
        self.system, self.leading = system, leading(system, profile)
        self.pole = pole = self.leading.pole
        self._rating_a = rating_a
        self.cranking = cranking(system) if profile.exempts_cranking else frozenset[str]()
        """What starters are fed through: nothing is asked of it, and all that leaves it sees it unlimited."""
        passes = [self._passes(index) for index in range(len(pole.lines))]
        draws = [0.0] * len(pole.names)
        for _, node in pole.draws:
            draws[node] = math.inf
        turns = self.leading.turns
        self.grids = [self.leading.grid(turn, passes, lambda source: source.amperes, draws) for turn in turns]
        self._into = [into(grid) for grid in self.grids]

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
        turn = self.leading.turns[grid].supply
        nodes = set(least.supplies)
        here = [s for s in pole.sources if s.node in nodes and s.amperes > 0.0 and (s.direct or s.part == turn)]
        return Limit(
            least.amperes,
            tuple(devices.items()),
            tuple((s.part, s.amperes) for s in here if s.amperes < math.inf),
            tuple(s.part for s in here if s.amperes == math.inf),
        )

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
            if edge.id in self.cranking:
                return False
            coming = directions[line][0 if edge.a == node else 1].into_a
            if coming <= 0.0:
                return False
            amperes = carried_a.get(edge.id)
            return (line, node) not in covered if amperes is None else exceeds(coming, amperes * share(edge.id))

        while True:
            found = [
                self._judged(direction, exposed, allowed_m)
                for index in wires
                if pole.lines[index].id not in self.cranking
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

    def duties(self, judgements: Iterable[Judged]) -> dict[str, Duty]:
        """What each ungrounded conductor must carry, of all that was `judged`. Where nothing limits what comes in, no
        size carries it: what the devices ahead let pass stands for it, or nothing."""
        found = {line.id: NO_DUTY for line in self.pole.lines if line.kind == "conductor"}
        for judged in judgements:
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
            ways = self.leading.taps.through(direction.line, direction.node, exposed)
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
        feeding = self.leading.feeding.get(pole.region[direction.node], ())
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
                if index == came_by or not self.leading.brings(index, node):
                    continue
                other = pole.other(index, node)
                if line.protects:
                    found[line.id] = None
                elif other not in seen:
                    seen.add(other)
                    waiting.append((other, index))
        return tuple(device for device in feeding if device in found)

    def guards(self, conductor: str) -> tuple[str, ...]:
        """The devices next to a conductor of either end that something comes from."""
        found: dict[str, None] = {}
        for line in self.pole.of.get(conductor, ()):
            for direction in self.directions(line):
                found.update(dict.fromkeys(self.before(direction) if direction.into_a > 0.0 else ()))
        return tuple(found)
