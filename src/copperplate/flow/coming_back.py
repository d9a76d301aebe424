"""What comes back for ever through the earthed side: from consumers, and of shorts to a conducting body."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from functools import lru_cache

from copperplate.flow.lasting import Grid, cut, into
from copperplate.flow.leading import Leading
from copperplate.flow.overload import NO_DUTY, Duty, Overload
from copperplate.flow.pole import Source, return_pole
from copperplate.flow.returns import Returns, returning
from copperplate.model import DC_POLES
from copperplate.model.graph import Terminals, graph
from copperplate.model.results import Limit

NOTHING = Limit(0.0)
Both = tuple[Limit, Limit]
"""What flows through a conductor from its first end to its second, and back."""


@lru_cache(maxsize=3)
def from_consumers(overload: Overload) -> dict[str, Both]:
    """The most that can come back through each conductor of the earthed side of the direct-current system for ever."""
    back, returns = return_pole(overload.system), _returns(overload.leading)
    return {
        line.id: (overload.named(cuts[0], 0), overload.named(cuts[1], 0))
        for line, cuts in zip(back.lines, returning(overload.grids[0], returns), strict=True)
        if line.kind == "conductor"
    }


@lru_cache(maxsize=2)
def _returns(leading: Leading) -> Returns:
    back, net = return_pole(leading.system), graph(leading.system)
    gives, takes = _negatives(net.consumers, net.outputs), _negatives(net.outputs, net.consumers)
    feeding = ((s.node, back.number.get(gives.get(s.part, ""))) for s in leading.pole.sources if s.direct)
    taking = ((node, back.number.get(takes.get(part, ""))) for part, node in leading.pole.draws)
    return Returns(
        len(back.names),
        [(line.a, line.b) for line in back.lines],
        [(live, node) for live, node in feeding if node is not None],
        [(live, node) for live, node in taking if node is not None],
    )


def _negatives(*ends_of: Mapping[str, Terminals]) -> dict[str, str]:
    """By part its negative in direct current; of one that has several the last."""
    return {part: ends.neg for each in ends_of for part, ends in each.items() if ends.current == "dc"}


@lru_cache(maxsize=3)
def from_bodies(overload: Overload) -> dict[str, Both]:
    """The most that a short of any ungrounded node behind a device to a conducting body drives for ever through each
    conductor that leads back from there. Nothing where there is no body."""
    system = overload.system
    back = return_pole(system, parted=False)
    grounds = {part.id for part in system.parts.values() if part.roles.grounds}
    bodies = [n for n, name in enumerate(back.names) if system.nodes[name].part in grounds]
    gives = _negatives(graph(system).consumers, graph(system).outputs)
    sources = {
        source: back.number[gives[source.part]]
        for source in overload.pole.sources
        if source.direct and gives.get(source.part) in back.number
    }
    worst: dict[tuple[Source, ...], Limit] = {}
    found: dict[str, Both] = {}
    for index, line in enumerate(back.lines if bodies else ()):
        if line.kind != "conductor" or line.b in (here := back.joined(line.a, index)):
            continue
        there = back.joined(line.b, index)
        both: list[Limit] = []
        for near, far in ((here, there), (there, here)):
            driving = tuple(source for source, node in sources.items() if node in far)
            short = bool(driving) and not near.isdisjoint(bodies)
            if short and driving not in worst:
                worst[driving] = _largest_short(overload, driving)
            both.append(worst[driving] if short else NOTHING)
        found[line.id] = both[0], both[1]
    return found


def _largest_short(overload: Overload, sources: Iterable[Source]) -> Limit:
    """The most that some sources drive for ever to any direct-current node that a device stands before: a stub at each
    node is a line that brings nothing."""
    pole, grid = overload.pole, overload.grids[0]
    direct = [n for n, name in enumerate(pole.names) if overload.system.nodes[name].pole in DC_POLES]
    stubs = [(node, grid.nodes + number) for number, node in enumerate(direct)]
    free = [math.inf] * len(stubs)
    given = [0.0] * (grid.nodes + len(stubs))
    for source in sources:
        given[source.node] += source.amperes
    forward, back = [*grid.forward, *free], [*grid.back, *free]
    wide = Grid(len(given), [*grid.ends, *stubs], forward, back, given, [0.0] * len(given))
    arriving = [(first, number) for number, (first, _) in enumerate(into(wide)) if number >= len(grid.ends)]
    _, line = max(((a, n) for a, n in arriving if a < math.inf), default=(0.0, -1))
    return NOTHING if line < 0 else overload.named(cut(wide, line, 0), 0)


def duties(limits: Mapping[str, Both]) -> dict[str, Duty]:
    """What each conductor must carry with the devices of the minimum cut, of two sides from which as much comes of the
    one that devices limit; nothing where no size carries it."""
    found: dict[str, Duty] = {}
    for conductor, both in limits.items():
        most = max(both, key=lambda limit: (limit.amperes, bool(limit.devices)))
        devices = tuple(device for device, _ in most.devices)
        found[conductor] = Duty(most.amperes, devices) if most.amperes < math.inf else NO_DUTY
    return found
