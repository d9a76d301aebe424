"""Devices that feed a conductor from several sides, where the ungrounded side has rings or several sources.

The plain walks of `reach` see one way to each place. Here the parts of the circuit that no device divides are the
points of a small graph whose lines are the devices, and every device is tried: is a source still reached through it
when its own side is taken out?
"""

from __future__ import annotations

from dataclasses import dataclass

from copperplate.audit.reach import Way, feeding, ungrounded, ways
from copperplate.model.groups import Groups
from copperplate.model.results import Design

SMALL = 400
"""Parts of the circuit up to which every device is tried: the work grows with their square."""


@dataclass(frozen=True)
class Rings:
    """The parts of the circuit that no device divides, those with a source in them, and by part the devices through
    which a source is reached from it."""

    parts: Groups
    sources: set[str]
    feeders: dict[str, list[str]]


def rings(design: Design) -> Rings | None:
    """None where the plain walks tell all, or where the parts are too many."""
    system = design.system
    at = ways(system, ungrounded(system))
    parts, rounds = Groups[str](), False
    for node, around in at.items():
        for way in around:
            if not _divides(design, way):
                parts.join(node, way.to)
    lines: dict[str, dict[str, str]] = {}
    for device in system.devices.values():
        for a, b in device.legs:
            if device.roles.protects and a in at and b in at and parts.root(a) != parts.root(b):
                lines.setdefault(parts.root(a), {})[device.id] = parts.root(b)
                lines.setdefault(parts.root(b), {})[device.id] = parts.root(a)
    tree = Groups[str]()
    for start, onward in lines.items():
        for end in onward.values():
            rounds |= start < end and not tree.join(start, end)
    sources = {parts.root(node) for _, node in feeding(system) if node in at}
    if not (rounds or len(sources) > 1) or len(lines) > SMALL:
        return None
    feeders = {
        part: [d for d, end in onward.items() if _fed(lines, part, end, sources)] for part, onward in lines.items()
    }
    return Rings(parts, sources, feeders)


def _divides(design: Design, way: Way) -> bool:
    return bool(way.device) and design.system.devices[way.device].roles.protects


def _fed(lines: dict[str, dict[str, str]], part: str, start: str, sources: set[str]) -> bool:
    """Whether a source is reached from `start` without passing `part`."""
    seen = {part, start}
    for here in (front := [start]):
        if here in sources:
            return True
        for other in lines.get(here, {}).values():
            if other not in seen:
                seen.add(other)
                front.append(other)
    return False
