"""Batteries side by side, any one of which may be out."""

from __future__ import annotations

from copperplate.model.graph import Graph
from copperplate.model.parts import Battery
from copperplate.model.system import System


def side_by_side(system: System, net: Graph) -> tuple[tuple[str, ...], ...]:
    """Groups of batteries whose leads end on one pair of bars: nothing branches off a lead, and no case opens a device
    of it. A bank on a feeder of its own bars is none, nor are banks that a relay joins, where a case opens that."""
    opened = frozenset(device for case in system.cases for device in case.open_devices)
    groups: dict[tuple[str, str], list[str]] = {}
    for battery in system.of(Battery):
        ends = net.outputs.get(battery.id)
        if ends is not None:
            pair = (_bar(system, net, ends.pos, opened), _bar(system, net, ends.neg, opened))
            if all(pair):
                groups.setdefault(pair, []).append(battery.id)
    return tuple(tuple(group) for group in groups.values() if len(group) > 1)


def _bar(system: System, net: Graph, node: str, opened: frozenset[str]) -> str:
    """The node at which something branches off the lead of a terminal; nothing where a case can part the lead."""
    came = -1
    while True:
        onward = [number for number in net.at[node] if number != came]
        if len(onward) != 1:
            return node if came >= 0 and onward else ""
        if net.edges[onward[0]].id in opened:
            return ""
        came = onward[0]
        node = net.other(came, node)
