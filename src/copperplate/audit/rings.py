"""Devices that feed a conductor from several sides, where the ungrounded side has rings or several sources.

The plain walks of `reach` see one way to each place. Here the parts of the circuit that no device divides are the
points of a small graph whose lines are the devices, and every device is tried: is a source still reached through it
when its own side is taken out?
"""

from __future__ import annotations

from dataclasses import dataclass

from copperplate.audit.reach import Way, feeding, ungrounded, ways
from copperplate.audit.wires import ampacity_a, loaded_together
from copperplate.findings import Finding, make
from copperplate.model import Conductor
from copperplate.model.groups import Groups
from copperplate.model.results import Design
from copperplate.standards import profile

NEAR = 1.0001
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
    parts, rounds = Groups(), False
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
    tree = Groups()
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


def check_rings(design: Design) -> list[Finding]:
    """Each conductor carries what the devices at either of its ends let pass together."""
    system, found_rings = design.system, rings(design)
    if found_rings is None:
        return []
    at = ways(system, ungrounded(system))
    parts, sources, feeders = found_rings.parts, found_rings.sources, found_rings.feeders
    together = loaded_together(design)
    found: list[Finding] = []
    for conductor in system.conductors.values():
        if conductor.from_node not in at or conductor.to_node not in at:
            continue
        part, run = parts.root(conductor.from_node), system.runs[conductor.run]
        limit = ampacity_a(design, run, together[run.id])
        if part in sources or limit is None or len(feeders.get(part, ())) < 2:
            continue
        for end in (conductor.from_node, conductor.to_node):
            devices = _at(design, at, end, conductor.id, feeders[part])
            passed = sum(design.devices[d].rating.rating_a or 0.0 for d in devices if d in design.devices)
            own = any(d in run.device_ids for d in devices)
            if passed > limit * NEAR and not (own and len(devices) == 1) and not _short(design, at, conductor, limit):
                found.append(make("CP595", run.id, carries=limit, before=devices, passed=passed))
                break
    return found


def _short(design: Design, at: dict[str, list[Way]], conductor: Conductor, limit: float) -> bool:
    """Whether a conductor leads from a bar to its own device within the profile's distance and carries that one."""
    allowed = profile(design.profile).placement("bar", conductor.sheath).value
    if conductor.length_m > allowed * NEAR + 1e-9:
        return False
    for end in (conductor.from_node, conductor.to_node):
        others = [way for way in at[end] if way.conductor != conductor.id]
        if len(others) == 1 and _divides(design, others[0]):
            rating = design.devices[others[0].device].rating.rating_a if others[0].device in design.devices else None
            return rating is not None and rating <= limit * NEAR
    return False


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


def _at(design: Design, at: dict[str, list[Way]], start: str, conductor: str, feeders: list[str]) -> list[str]:
    """The feeding devices that one end of a conductor is joined to without it."""
    seen, found = {start}, dict[str, None]()
    for here in (front := [start]):
        for way in at[here]:
            if way.conductor == conductor and way.conductor:
                continue
            if _divides(design, way):
                found |= {way.device: None} if way.device in feeders else {}
            elif way.to not in seen:
                seen.add(way.to)
                front.append(way.to)
    return list(found)
