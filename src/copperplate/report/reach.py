"""What a battery or another source reaches along the lines: the device above each device, and what stays live."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from copperplate.model.results import Design
from copperplate.model.system import DC_POLES, Device, System

Lines = Mapping[str, list[tuple[str, str]]]
"""By node: the nodes that a line leads to, each with the device in it, "" for a conductor."""
LINE_POLES = ("pos", "l", "l1", "l2")


def lines(system: System) -> Lines:
    """The live lines of a system."""
    found: dict[str, list[tuple[str, str]]] = {}

    def join(a: str, b: str, device: str) -> None:
        found.setdefault(a, []).append((b, device))
        found.setdefault(b, []).append((a, device))

    for conductor in system.conductors.values():
        if conductor.pole in LINE_POLES:
            join(conductor.from_node, conductor.to_node, "")
    for device in system.devices.values():
        for start, end in device.legs:
            join(start, end, device.id)
    return found


def walked(system: System, starts: Iterable[str], passes: Callable[[Device], bool] = lambda _: True) -> dict[str, str]:
    """By node reached from these: the last protective device on the shortest way there, "" for none. A device that
    does not pass ends the way."""
    ways = lines(system)
    known = dict.fromkeys(starts, "")
    queue = list(known)
    for node in queue:
        for onward, through in ways.get(node, ()):
            if onward in known or (through and not passes(system.devices[through])):
                continue
            protects = through and system.devices[through].roles.protects
            known[onward] = through if protects else known[node]
            queue.append(onward)
    return known


def bank_nodes(system: System) -> list[str]:
    """The positive terminals of the batteries."""
    return [n.id for n in system.nodes.values() if n.pole == "pos" and n.part and system.parts[n.part].roles.stores]


def above(design: Design) -> dict[str, str]:
    """By device: the one that stands next above it towards a battery; of several batteries the smallest."""
    system = design.system
    found: dict[str, str] = {}
    for start in bank_nodes(system):
        reached = walked(system, [start])
        for device in system.devices.values():
            if not device.roles.protects or device.pole not in DC_POLES or not device.legs:
                continue
            last = [reached[node] for node in device.legs[0] if node in reached]
            upper = next((name for name in last if name and name != device.id), "")
            if upper and system.devices[upper].run != device.run:
                now = found.get(device.id)
                found[device.id] = min(filter(None, (upper, now)), key=lambda name: _rating(design, name))
    return found


def _rating(design: Design, device: str) -> float:
    result = design.devices.get(device)
    return (result.rating.rating_a if result else None) or float("inf")
