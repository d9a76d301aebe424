"""Batteries side by side, any one of which may be out, and what parts those that are not."""

from __future__ import annotations

from copperplate.model.graph import Graph
from copperplate.model.groups import Groups
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


def bridging(system: System, net: Graph) -> frozenset[str]:
    """Combiners and normally open contacts that join what batteries feed from both sides, and splitters: only the cases
    close them."""
    open_ones = {d.id: d for d in system.devices.values() if d.roles.joins or d.normally_open}
    if not open_ones:
        return system.diodes
    groups = Groups[str]()
    for edge in net.edges:
        if edge.id not in open_ones or edge.kind != "device":
            groups.join(edge.a, edge.b)
    fed = {groups.root(net.outputs[b.id].pos) for b in system.of(Battery) if b.id in net.outputs}
    return system.diodes.union(
        name for name, device in open_ones.items() if all(groups.root(end) in fed for leg in device.legs for end in leg)
    )


def never_loaded(system: System, net: Graph) -> frozenset[str]:
    """What bridges banks, and stands open in every case with loads on."""
    loaded = [case.open_devices for case in system.cases if case.kind == "load"]
    return bridging(system, net) & frozenset.intersection(*loaded) if loaded else frozenset()
