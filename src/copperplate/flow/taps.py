"""Short taps: ways of conductors without a device of their own, from where they begin to the first device ahead.

A conductor that carries less than what can come into it for ever may still lie on a way so short that a fault along it
is not to be expected, if the devices at the end of the way let no more pass than it carries.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

from copperplate.flow.pole import Pole
from copperplate.model import Battery, System

Origin = Literal["battery", "bar", "device"]
Ends = tuple[tuple[str, float, bool], ...]
"""(Address, metres, in a sheath all the way) of each."""
Exposed = Callable[[int, int], bool]
"""Whether a line is exposed to what comes into it from the node given."""


@dataclass(frozen=True, slots=True)
class Tap:
    """One way through a conductor: from its beginning (a battery's terminal; a bar, a part or a protected conductor;
    or a protective device, whose rating the conductor then carries) to the farthest end ahead. `devices` are the first
    protective devices that it meets, with the metres to each; `bare` are the nodes at which it ends without one.
    `sheath`: every conductor of it is in a sheath."""

    origin: Origin
    start: str
    metres: float
    sheath: bool
    devices: tuple[tuple[str, float], ...]
    bare: tuple[str, ...]
    conductors: tuple[str, ...]
    """From the beginning up to and with the conductor asked of."""


@dataclass(frozen=True, slots=True)
class _Stretch:
    node: int
    metres: float
    sheath: bool
    conductors: tuple[str, ...]
    origin: Origin = "bar"


class Taps:
    """Measures the ways through conductors of one pole. `brings`: whether a line brings current to a node."""

    def __init__(self, system: System, pole: Pole, brings: Callable[[int, int], bool]) -> None:
        self._system = system
        self._pole = pole
        self._brings = brings
        self._batteries = frozenset(
            source.node for source in pole.sources if isinstance(system.parts[source.part], Battery)
        )
        self._ways = {b for device in system.devices.values() if device.panel for _, b in device.legs}
        self._ahead: dict[tuple[int, int], tuple[Ends, Ends]] = {}

    def through(self, line: int, start: int, exposed: Exposed, ahead: bool = True) -> tuple[Tap, ...]:
        """Every way that leads through a line away from `start`, one of each beginning; with what lies `ahead`."""
        edge = self._pole.lines[line]
        devices, bare = self._onward(line, self._pole.other(line, start)) if ahead else ((), ())
        found: list[Tap] = []
        for begun in self._back(line, start, exposed):
            ends = (*devices, *bare)
            metres = begun.metres + edge.length_m
            wires = (*begun.conductors, edge.id) if edge.kind == "conductor" else begun.conductors
            sheathed = begun.sheath and (edge.sheath or edge.kind != "conductor") and all(s for _, _, s in ends)
            at = self._pole.names[begun.node]
            found.append(
                Tap(
                    "battery" if begun.node in self._batteries else begun.origin,
                    at,
                    metres + max((m for _, m, _ in ends), default=0.0),
                    bool(wires) and sheathed,
                    tuple((device, metres + m) for device, m, _ in devices),
                    tuple(node for node, _, _ in bare),
                    wires,
                )
            )
        return tuple(found)

    def _ends_way(self, node: int) -> bool:
        """Whether a way begins or ends at a node: the terminal of a part that is no splice. What lies behind a way's
        own device is a point of its run."""
        name = self._pole.names[node]
        part = self._system.parts.get(self._system.nodes[name].part)
        return part is not None and name not in self._ways and (not part.roles.splits or part.roles.bar)

    def _back(self, line: int, start: int, exposed: Exposed) -> list[_Stretch]:
        """Where the ways through a line begin, with the metres before it."""
        found: list[_Stretch] = []
        waiting = [(_Stretch(start, 0.0, True, ()), line)]
        seen = {start}
        while waiting:
            here, came_by = waiting.pop()
            if self._ends_way(here.node) or here.node in self._batteries:
                found.append(here)
                continue
            origins: set[Origin] = set()
            for index in self._pole.at[here.node]:
                edge = self._pole.lines[index]
                if index == came_by or not self._brings(index, here.node):
                    continue
                other = self._pole.other(index, here.node)
                if edge.protects:
                    origins.add("device")
                elif edge.kind == "conductor" and not exposed(index, other):
                    origins.add("bar")
                elif other not in seen:
                    seen.add(other)
                    wire = edge.kind == "conductor"
                    waiting.append(
                        (
                            _Stretch(
                                other,
                                here.metres + edge.length_m,
                                here.sheath and (edge.sheath or not wire),
                                (edge.id, *here.conductors) if wire else here.conductors,
                            ),
                            index,
                        )
                    )
            found += [replace(here, origin=origin) for origin in sorted(origins)]
        return found

    def _onward(self, line: int, start: int) -> tuple[Ends, Ends]:
        """The first protective devices, and the ends without one, ahead of a node that a line leads to."""
        known = self._ahead.get((line, start))
        if known is not None:
            return known
        devices: dict[str, tuple[float, bool]] = {}
        bare: list[tuple[str, float, bool]] = []
        waiting = [(start, line, 0.0, True)]
        seen = {start, self._pole.other(line, start)}
        while waiting:
            node, came_by, metres, sheath = waiting.pop()
            name = self._pole.names[node]
            part = self._system.parts.get(self._system.nodes[name].part)
            if part is not None and not part.roles.splits and name not in self._ways:
                bare.append((name, metres, sheath))
                continue
            onward = 0
            for index in self._pole.at[node]:
                edge = self._pole.lines[index]
                if index == came_by:
                    continue
                onward += 1
                other = self._pole.other(index, node)
                if edge.protects:
                    before = devices.get(edge.id, (0.0, True))
                    devices[edge.id] = (max(before[0], metres), before[1] and sheath)
                elif other not in seen:
                    seen.add(other)
                    wire = edge.kind == "conductor"
                    waiting.append((other, index, metres + edge.length_m, sheath and (edge.sheath or not wire)))
            if not onward:
                bare.append((name, metres, sheath))
        result = tuple((d, m, s) for d, (m, s) in devices.items()), tuple(bare)
        self._ahead[(line, start)] = result
        return result
