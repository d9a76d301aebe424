"""Lasting overload by its definition: a plain maximum flow by SciPy for each conductor and direction.

Definitions, in words:

- **into** a conductor from its end a towards its end b: the largest flow from all supplies to a, in the network
  without the conductor. A fuse or breaker lets its rating pass, a limited supply gives its limit, all else is without
  limit; every switch is closed. It is what comes into the conductor from a for ever, for a fault anywhere along it.
- **through** it from a to b: the lesser of the flow from supplies to a without node b, and of the flow from b without
  node a to consumers and to banks that can be charged. Overload without a fault.
- **A return** of an earthed system has the same flow on both poles: supplies whose minus lies behind b feed their
  plus, each consumer is a way without limit from its plus to its minus, and node b is left out.
- Supplies of alternating current are taken one at a time; an inverter hands through what reaches its inlet.
- **A conductor that leads back from a conducting body** carries what a short from a positive node to the body brings
  for ever: the largest finite flow over the nodes behind a device.

`scipy.sparse.csgraph.maximum_flow` takes whole numbers: amperes are counted in thousandths.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from math import inf

import numpy as np
from design_network import Branch, Network, Supply, Taker, Ways
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import maximum_flow

PARTS = 1000
NO_LIMIT = 10**9
"""Parts of an ampere that stand for "no limit": above the sum of all finite capacities, and within 32 bits."""


@dataclass(frozen=True)
class Flow:
    """A maximum flow: amperes (inf without limit), and the devices and supplies of the minimum cut nearest to where it
    arrives."""

    amperes: float
    cut: tuple[str, ...] = ()


Arc = tuple[str, str, float, str]
"""From, to, capacity, name."""


def flow(arcs: Collection[Arc], start: str, end: str) -> Flow:
    """The maximum flow from one node to another."""
    number: dict[str, int] = {start: 0}
    for a, b, _, _ in arcs:
        number.setdefault(a, len(number))
        number.setdefault(b, len(number))
    if end not in number or start == end:
        return Flow(0.0)
    room: dict[tuple[int, int], int] = {}
    for a, b, amperes, _ in arcs:
        key = number[a], number[b]
        if key[0] != key[1]:
            room[key] = min(room.get(key, 0) + parts(amperes), NO_LIMIT)
    matrix = csr_matrix((list(room.values()), tuple(zip(*room, strict=True))), shape=(len(number),) * 2, dtype=np.int32)
    answer = maximum_flow(matrix, 0, number[end])
    if answer.flow_value >= NO_LIMIT:
        return Flow(inf)
    left = {(i, j): room.get((i, j), 0) for i, j in room}
    moved = answer.flow.tocoo()
    for i, j, amount in zip(moved.row.tolist(), moved.col.tolist(), moved.data.tolist(), strict=True):
        left[i, j] = left.get((i, j), 0) - amount
    ahead: dict[int, list[int]] = {}
    for (i, j), amount in left.items():
        if amount > 0:
            ahead.setdefault(j, []).append(i)
    near, todo = {number[end]}, [number[end]]
    while todo:
        for i in ahead.get(todo.pop(), ()):
            if i not in near:
                near.add(i)
                todo.append(i)
    cut = {name for a, b, amperes, name in arcs if amperes and number[b] in near and number[a] not in near}
    return Flow(float(answer.flow_value) / PARTS, tuple(sorted(cut)))


def parts(amperes: float) -> int:
    return NO_LIMIT if amperes == inf else round(amperes * PARTS)


def lines(branches: Iterable[Branch], without: Collection[str] = ()) -> list[Arc]:
    """Both ways of each branch, one of a splitter; `without` names nodes that are left out."""
    found: list[Arc] = []
    for branch in branches:
        if branch.a not in without and branch.b not in without:
            found.append((branch.a, branch.b, branch.rating_a, branch.name))
            if not branch.one_way:
                found.append((branch.b, branch.a, branch.rating_a, branch.name))
    return found


def feeds(supplies: Iterable[Supply], pole: str) -> list[Arc]:
    """What supplies push in at the terminals of one pole; of a floating minus too, for a fault current leaves there."""
    return [("everywhere", _terminal(supply, pole), supply.limit_a, supply.name) for supply in supplies]


def takes(net: Network, pole: str) -> list[Arc]:
    """What can take current for ever without a fault at one pole: consumers and banks."""
    users = [*net.takers, *(supply for supply in net.supplies if supply.stores)]
    return [(_terminal(user, pole), "nowhere", inf, user.name) for user in users]


def _terminal(part: Supply | Taker, pole: str) -> str:
    return part.minus if pole == "neg" else part.plus


def into(net: Network, conductor: Branch, end: str) -> Flow:
    """What comes into an ungrounded conductor from its end `end` for ever."""
    best = Flow(0.0)
    for supplies, joins in _settings(net, conductor.pole):
        others = [b for b in live_lines(net, conductor.pole) if b is not conductor]
        found = flow([*lines(others), *joins, *feeds(supplies, conductor.pole)], "everywhere", end)
        best = max(best, found, key=lambda f: f.amperes)
    return best


def through(net: Network, conductor: Branch, end: str) -> float:
    """What flows through an ungrounded conductor from its end `end` to the other without a fault."""
    far = conductor.b if end == conductor.a else conductor.a
    best = 0.0
    for supplies, joins in _settings(net, conductor.pole):
        live = live_lines(net, conductor.pole)
        here = [arc for arc in joins if far not in arc[:2]]
        there = [arc for arc in joins if end not in arc[:2]]
        fed = [arc for arc in feeds(supplies, conductor.pole) if arc[1] != far]
        brought = flow([*lines(live, {far}), *here, *fed], "everywhere", end)
        to = [arc for arc in takes(net, conductor.pole) if arc[0] != end]
        turned = [(b, a, amperes, name) for a, b, amperes, name in [*lines(live, {end}), *there, *to]]
        best = max(best, min(brought.amperes, flow(turned, "nowhere", far).amperes))
    return best


def live_lines(net: Network, pole: str) -> list[Branch]:
    return net.lines("pos", "mid") if pole in ("pos", "mid") else net.lines(pole)


def _settings(net: Network, pole: str) -> list[tuple[list[Supply], list[Arc]]]:
    """Which supplies give at once, and what an inverter hands through while they do."""
    if pole in ("pos", "mid", "neg"):
        return [([s for s in net.supplies if net.poles[s.plus] == "pos"], [])]
    found: list[tuple[list[Supply], list[Arc]]] = []
    for supply in net.supplies:
        if net.poles[supply.plus] != pole:
            continue
        handed: list[Arc] = []
        if supply.kind != "inverter":
            inlets = [t for t in net.takers if t.plus.endswith(f".ac-in.{pole}")]
            outlets = {s.name: s.plus for s in net.supplies if s.kind == "inverter" and net.poles[s.plus] == pole}
            handed = [(t.plus, outlets[t.name], inf, t.name) for t in inlets if t.name in outlets]
        found.append(([supply], handed))
    return found


def returned(net: Network, conductor: Branch, end: str) -> Flow:
    """What an earthed return carries for ever from its end `end` to the other, towards the supplies behind that."""
    far = conductor.b if end == conductor.a else conductor.a
    back = [b for b in net.lines("neg") if b is not conductor]
    behind = Ways(back).reached([far], {end})
    supplies = [s for s in net.supplies if net.poles[s.plus] == "pos" and s.minus in behind and s.minus != end]
    arcs = [*lines(net.lines("pos")), *lines(back, {far}), *feeds(supplies, "pos"), *_consumed(net, far)]
    return flow(arcs, "everywhere", end)


def _consumed(net: Network, without: str) -> list[Arc]:
    """Each consumer as a way from its plus to its minus; a bank that is charged is one."""
    direct: list[Taker | Supply] = [t for t in net.takers if net.poles.get(t.plus) == "pos"]
    direct += [s for s in net.supplies if s.stores]
    return [(t.plus, t.minus, inf, t.name) for t in direct if t.minus != without]


def from_body(net: Network, conductor: Branch, end: str) -> Flow:
    """What a return from a conducting body carries for ever while a positive node behind a device lies on the body:
    the largest finite flow, one such short at a time. `end` is the end from which the body feeds it."""
    far = conductor.b if end == conductor.a else conductor.a
    back = [b for b in net.lines("neg") if b is not conductor]
    behind = Ways(back).reached([far], {end})
    supplies = [s for s in net.supplies if net.poles[s.plus] == "pos" and s.minus in behind and s.minus != end]
    best = Flow(0.0)
    nodes = {node for branch in net.lines("pos") for node in (branch.a, branch.b)}
    for node in sorted(nodes):
        for body in net.body:
            if body == far:
                continue
            arcs = [*lines(net.lines("pos")), *lines(back, {far}), *feeds(supplies, "pos"), (node, body, inf, "short")]
            found = flow(arcs, "everywhere", end)
            if best.amperes < found.amperes < inf:
                best = found
    return best
