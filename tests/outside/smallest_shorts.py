"""The smallest shorts and how they clear, by their definition: dense nodal solves by NumPy.

Definitions, in words:

- A bolted short at both ends of every ungrounded conductor, to the first minus that all that takes or gives current
  behind it share; and at the terminals of everything that takes current. With a conducting body, to the body as well.
- Behind a node, seen from a bank, is what the bank's plus does not reach without that node. The first minus that
  they share is the node that all of them need to reach the bank's minus, the nearest to them. What lies behind a
  further protective device has a conductor of its own from there on: its minus counts where its return lands.
- Each bank alone, and all that a case leaves joined together, at the low end of their range behind their own
  resistance (joined ones at the lowest); copper as hot as its insulation allows, out and back. Limited supplies drive
  none, and no bank drives one back through a splitter. Consumers are open.
- The device with the most times its rating opens (those within 1 % of it together, all poles), then the rest is
  solved again, until nothing flows. The smallest short of a device is the least current at its turn.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import inf

import numpy as np
from design_network import Network, Supply, Ways

NEARLY_NONE = 1e-7
"""Ohms that stand for none."""
LEAK = 1e-6
"""Siemens that hold what an open device leaves without a bank."""
FLOWS = 0.05
"""Amperes above which something flows."""


@dataclass(frozen=True)
class Short:
    node: str
    to: str


@dataclass(frozen=True)
class Cleared:
    """How a device opens at one short: with its own amperes of those of the short."""

    amperes: float
    of_a: float
    short: Short
    banks: tuple[str, ...]
    turn: int


class Loop:
    """The direct-current circuit with some banks in and some devices open: volts and ohms between its nodes."""

    def __init__(self, net: Network, banks: Iterable[Supply], opened: frozenset[str]) -> None:
        banks = tuple(banks)
        wires = [b for b in net.banked("pos", "neg", "mid") if b.name not in opened]
        wires = [b for b in wires if b.a != b.b]
        nodes = Ways(wires).reached([n for s in banks for n in (s.plus, s.minus)])
        self.wires = [b for b in wires if b.a in nodes]
        self.place = {node: n for n, node in enumerate(sorted(nodes))}
        siemens = np.eye(len(nodes)) * LEAK
        pushed = np.zeros(len(nodes))
        low = min(s.low_v for s in banks)
        for a, b, g in [(w.a, w.b, 1 / max(w.hot_ohm, NEARLY_NONE)) for w in self.wires] + [
            (s.plus, s.minus, 1 / s.ohm) for s in banks
        ]:
            i, j = self.place[a], self.place[b]
            siemens[i, i] += g
            siemens[j, j] += g
            siemens[i, j] -= g
            siemens[j, i] -= g
        for bank in banks:
            pushed[self.place[bank.plus]] += low / bank.ohm
            pushed[self.place[bank.minus]] -= low / bank.ohm
        siemens[self.place[banks[0].minus], self.place[banks[0].minus]] += 1e3
        self.ohms = np.linalg.inv(siemens)
        self.volts = self.ohms @ pushed

    def shorted(self, short: Short) -> tuple[float, dict[str, float]]:
        """Amperes of a short, by superposition, and the largest amperes of the legs of each device."""
        if short.node not in self.place or short.to not in self.place:
            return 0.0, {}
        n, m = self.place[short.node], self.place[short.to]
        across = self.ohms[:, n] - self.ohms[:, m]
        amperes = float((self.volts[n] - self.volts[m]) / (across[n] - across[m]))
        volts = self.volts - amperes * across
        carried: dict[str, float] = {}
        for wire in self.wires:
            if wire.opens:
                through = float(volts[self.place[wire.a]] - volts[self.place[wire.b]])
                now = abs(through) / max(wire.hot_ohm, NEARLY_NONE)
                carried[wire.name] = max(carried.get(wire.name, 0.0), now)
        return amperes, carried


class Shorts:
    """All shorts of a design and how they clear."""

    def __init__(self, net: Network, cases: Iterable[Iterable[str]] = ()) -> None:
        """`cases` are the devices that each case has open."""
        self.net = net
        self.rating = {b.name: b.rating_a for b in net.branches if b.opens}
        self._loops: dict[tuple[tuple[str, ...], frozenset[str]], Loop] = {}
        self.smallest: dict[str, Cleared] = {}
        self.left: list[tuple[Short, tuple[str, ...]]] = []
        """Shorts that nothing opens in the end."""
        for bank in self.banks:
            for short in shorts_from(net, bank):
                self.clear(short, (bank,), frozenset())
        for opened in {frozenset(case) for case in cases} if len(self.banks) > 1 else ():
            for joined in self._joined(opened):
                for short in {short: None for bank in joined for short in shorts_from(net, bank)}:
                    self.clear(short, joined, opened)

    @property
    def banks(self) -> list[Supply]:
        return [s for s in self.net.supplies if s.stores and s.ohm > 0]

    def clear(self, short: Short, banks: tuple[Supply, ...], opened: frozenset[str]) -> None:
        """Open device after device."""
        turn = 1
        while True:
            amperes, carried = self._loop(banks, opened).shorted(short)
            if amperes < FLOWS:
                return
            times = {name: now / self.rating[name] for name, now in carried.items() if now > FLOWS}
            times = {name: each for name, each in times.items() if self.rating[name] < inf}
            if not times:
                self.left.append((short, tuple(bank.name for bank in banks)))
                return
            most = max(times.values())
            together = [name for name, each in times.items() if each >= 0.99 * most]
            for name in together:
                cleared = Cleared(carried[name], amperes, short, tuple(bank.name for bank in banks), turn)
                if name not in self.smallest or cleared.amperes < self.smallest[name].amperes:
                    self.smallest[name] = cleared
            opened |= set(together)
            turn += 1

    def _loop(self, banks: tuple[Supply, ...], opened: frozenset[str]) -> Loop:
        key = tuple(bank.name for bank in banks), opened
        if key not in self._loops:
            self._loops[key] = Loop(self.net, banks, opened)
        return self._loops[key]

    def _joined(self, opened: frozenset[str]) -> Iterator[tuple[Supply, ...]]:
        """The banks that are in one circuit while some devices are open, where there are several."""
        live = Ways(b for b in self.net.banked("pos") if b.name not in opened)
        left = list(self.banks)
        while left:
            near = live.reached([left[0].plus])
            together = tuple(bank for bank in left if bank.plus in near)
            left = [bank for bank in left if bank not in together]
            if len(together) > 1:
                yield together


def shorts_from(net: Network, bank: Supply) -> list[Short]:
    """The shorts that a bank may drive."""
    live, back = Ways(net.banked("pos")), Ways(net.banked("neg"))
    bare = Ways(branch for branch in net.banked("pos") if not branch.opens)
    fed, grounded = live.reached([bank.plus]), back.reached([bank.minus])
    users = [(t.plus, t.minus) for t in net.takers] + [(s.plus, s.minus) for s in net.supplies if s is not bank]
    users = [(plus, minus) for plus, minus in users if plus in fed and minus in grounded]
    ends = {n: None for b in net.banked("pos") if b.what == "conductor" and b.a in fed for n in (b.a, b.b)}
    found: dict[Short, None] = {}
    needed = {minus: _needed(bank.minus, minus, back) for _, minus in users}
    landed = {minus: way[: _landing(net, way) + 1] for minus, way in needed.items()}
    for node in ends:
        near = live.reached([bank.plus], {node})
        behind = [user for user in users if user[0] not in near]
        if not behind:
            ahead = live.reached([node], {bank.plus})
            behind = [user for user in users if user[0] in ahead]
        beside = bare.reached([node])
        ways = [needed[minus] if plus in beside else landed[minus] for plus, minus in behind]
        found[Short(node, _first_shared(ways, bank.minus))] = None
        for body in net.body:
            if body in grounded:
                found[Short(node, body)] = None
    for taker in net.takers:
        if (taker.plus, taker.minus) in users:
            found[Short(taker.plus, taker.minus)] = None
    return list(found)


def _needed(start: str, end: str, back: Ways) -> list[str]:
    """The nodes without which a node does not reach the bank's minus, the bank's first."""
    way = _way(start, end, back)
    return [node for node in way if node in (start, end) or end not in back.reached([start], {node})]


def _landing(net: Network, way: list[str]) -> int:
    """The place in a way at which the conductor of its last node lands: the terminal of another part."""
    return max((n for n, node in enumerate(way[:-1]) if node in net.kinds), default=0)


def _way(start: str, end: str, ways: Ways) -> list[str]:
    """A way with the fewest steps."""
    came = {start: ""}
    ahead = [start]
    for node in ahead:
        for other in ways.beside.get(node, ()):
            if other not in came:
                came[other] = node
                ahead.append(other)
    way = [end]
    while came[way[-1]]:
        way.append(came[way[-1]])
    return way[::-1]


def _first_shared(ways: list[list[str]], otherwise: str) -> str:
    """The last of the nodes that all ways need."""
    if not ways:
        return otherwise
    return [node for node in ways[0] if all(node in way for way in ways[1:])][-1]
