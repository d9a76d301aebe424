"""The ungrounded side of a system and its returns as plain graphs, for flows and for the lengths of ways.

Nodes and lines are numbers; a line is a conductor, one leg of a device, or a join inside a part. Every switch is
closed. Links inside a bank belong to the bank.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Literal

from copperplate.model import System
from copperplate.model.graph import Graph, Terminals, doubled_negatives
from copperplate.model.groups import Groups, reached
from copperplate.model.turns import LINES, transfers
from copperplate.standards import Profile
from copperplate.standards.supplies import lasting_a

LIVE = LINES | {"pos", "mid"}
"""Poles that are ungrounded where the negative is earthed."""


@dataclass(frozen=True, slots=True)
class Line:
    """What joins two nodes. `id` is the conductor's or the device's, "" for a join inside a part; `protects`: it
    opens by itself on too much current; `hands`: the inverter that hands a supply through by it."""

    id: str
    kind: Literal["conductor", "device", "part"]
    a: int
    b: int
    length_m: float = 0.0
    sheath: bool = False
    protects: bool = False
    hands: str = ""
    one_way: bool = False
    """Nothing passes from its second node to its first."""


@dataclass(frozen=True, slots=True)
class Source:
    """Where a part pushes out, and how much for ever (amperes, infinite without a limit). AC sources take turns."""

    part: str
    node: int
    amperes: float
    direct: bool


@dataclass(frozen=True, eq=False)
class Pole:
    """Nodes of one side of a system with the lines between them. `draws` are (part, node) of what takes current
    there: consumers, and banks that are charged."""

    names: tuple[str, ...]
    lines: tuple[Line, ...]
    sources: tuple[Source, ...]
    draws: tuple[tuple[str, int], ...]

    @cached_property
    def number(self) -> dict[str, int]:
        """The number of each node by its address."""
        return {name: index for index, name in enumerate(self.names)}

    @cached_property
    def at(self) -> tuple[tuple[int, ...], ...]:
        """The lines at each node, by number."""
        here: list[list[int]] = [[] for _ in self.names]
        for index, line in enumerate(self.lines):
            here[line.a].append(index)
            if line.b != line.a:
                here[line.b].append(index)
        return tuple(map(tuple, here))

    @cached_property
    def of(self) -> dict[str, tuple[int, ...]]:
        """The lines of each conductor and device, by its address."""
        found: dict[str, tuple[int, ...]] = {}
        for index, line in enumerate(self.lines):
            if line.id:
                found[line.id] = (*found.get(line.id, ()), index)
        return found

    @cached_property
    def region(self) -> tuple[int, ...]:
        """By node, a node that stands for all that is joined to it without a protective device between."""
        groups = Groups[int]()
        for line in self.lines:
            if not line.protects:
                groups.join(line.a, line.b)
        return tuple(groups.root(node) for node in range(len(self.names)))

    def metres(self, start: int, parts: Callable[[Line], bool]) -> dict[int, float]:
        """The nodes that are reached from one without a line that parts them, with the metres of conductor to each by
        the fewest lines."""
        found = {start: 0.0}
        waiting = [start]
        for node in waiting:
            for index in self.at[node]:
                line, other = self.lines[index], self.other(index, node)
                if other not in found and not parts(line):
                    found[other] = found[node] + line.length_m
                    waiting.append(other)
        return found

    def joined(self, start: int, without: int) -> frozenset[int]:
        """The nodes that hang together with a node without one line."""
        return frozenset(reached((start,), lambda node: (self.other(n, node) for n in self.at[node] if n != without)))

    def other(self, line: int, node: int) -> int:
        """The far end of a line seen from a node."""
        ends = self.lines[line]
        return ends.b if ends.a == node else ends.a


def ungrounded(system: System) -> frozenset[str]:
    """The poles that protection must break: the negative too where it floats."""
    return LIVE | {"neg"} if system.settings.negative == "floating" else LIVE


def live_pole(system: System, net: Graph, profile: Profile) -> Pole:
    """Every ungrounded node, DC and AC, with what gives and takes current there. An inverter hands the supply at its
    inlet through to its outlet."""
    poles = ungrounded(system)
    pole = _pole(system, (node.id for node in system.nodes.values() if node.pole in poles), transfers(net))
    number = pole.number
    sources: list[Source] = []
    draws: list[tuple[str, int]] = []
    for part, ends in net.outputs.items():
        for node in _live_ends(ends):
            if node in number:
                amperes = lasting_a(system.parts[part], profile, ends.nominal_v, ends.current == "dc")
                sources.append(Source(part, number[node], amperes, ends.current == "dc"))
                if system.parts[part].roles.stores:
                    draws.append((part, number[node]))
    for part, ends in net.consumers.items():
        charging = system.parts[part].roles.transfers
        given = lasting_a(system.parts[part], profile, ends.nominal_v, True) if charging else 0.0
        for node in _live_ends(ends):
            if node in number:
                draws.append((part, number[node]))
                if given > 0.0:
                    sources.append(Source(part, number[node], given, True))
    for part, ends in net.inlets.items():
        draws += [(part, number[node]) for node in _live_ends(ends) if node in number]
    return Pole(pole.names, pole.lines, tuple(sources), tuple(draws))


def _live_ends(ends: Terminals) -> tuple[str, ...]:
    """The nodes of a part's terminals at which a current goes out: both lines of a split phase, and the negative
    too, which counts only where it is ungrounded."""
    return tuple(node for node in (ends.pos, ends.third, ends.neg) if node)


def _pole(system: System, nodes: Iterable[str], handing: Iterable[tuple[str, str, str]]) -> Pole:
    names = tuple(nodes)
    number = {name: index for index, name in enumerate(names)}
    lines = [
        Line(c.id, "conductor", number[c.from_node], number[c.to_node], c.length_m, c.sheath)
        for c in system.conductors.values()
        if c.from_node in number and c.to_node in number and system.runs[c.run].role == "run"
    ]
    for device in system.devices.values():
        roles = device.roles
        lines += [
            Line(device.id, "device", number[a], number[b], protects=roles.protects, one_way=roles.one_way)
            for a, b in device.legs
            if a in number and b in number
        ]
    lines += [Line("", "part", number[a], number[b]) for a, b in system.ties if a in number and b in number]
    lines += [Line("", "part", number[a], number[b], hands=p) for a, b, p in handing if a in number and b in number]
    return Pole(names, tuple(lines), (), ())


@lru_cache(maxsize=4)
def return_pole(system: System, parted: bool = True) -> Pole:
    """The earthed side of the direct-current system: negatives, and earths that conduct. `parted`: the join of a
    converter's common negative is left out where both its negatives have conductors of their own."""
    nodes = [node.id for node in system.nodes.values() if node.pole == "neg" and node.pole not in ungrounded(system)]
    pole = _pole(system, nodes, ())
    doubled = doubled_negatives(system) if parted else frozenset()
    lines = tuple(
        line for line in pole.lines if line.id or frozenset((pole.names[line.a], pole.names[line.b])) not in doubled
    )
    return Pole(pole.names, lines, (), ())
