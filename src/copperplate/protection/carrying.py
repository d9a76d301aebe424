"""Ratings of what stands in the way of the current: bars, panels, switches, relays, selectors, shunts."""

from __future__ import annotations

import math
from typing import Any

from copperplate.findings import Finding, make
from copperplate.model import Device, Node, Part
from copperplate.protection.study import ProtectionStudy
from copperplate.text import Span
from copperplate.units import exceeds


def check_bars(study: ProtectionStudy) -> list[Finding]:
    """Current through each rated bar and panel, and the devices before it, against its rating."""
    found: list[Finding] = []
    by_part: dict[str, list[Node]] = {}
    for node in study.system.nodes.values():
        by_part.setdefault(node.part, []).append(node)
    edges = _edges(study)
    for part in study.system.parts.values():
        rating = part.current_a
        if rating is None or not part.roles.bar:
            continue
        ways = {b for d in study.system.devices.values() if d.panel == part.id for _, b in d.legs}
        nodes = [node for node in by_part.get(part.id, []) if node.id not in ways]
        through = [(amperes, case) for node in nodes for amperes, case in _through(study, edges.get(node.id, []))]
        worst, case = max(through, default=(0.0, ""))
        span = part.spans.get("current_a", part.span)
        let = [_let(study, part, study.overload.leading.driving(node.id)) for node in nodes]
        passed, devices = max(let, key=lambda each: each[0], default=(0.0, ()))
        if exceeds(worst, rating):
            needed = max(worst, passed)
            found.append(
                make("CP420", part.id, span, current=worst, rating=rating, case=case, kind=part.kind, needed=needed)
            )
        elif exceeds(passed, rating):
            found.append(_protected_above(study, "CP421", part.id, span, rating, passed, devices))
    return found


def _let(study: ProtectionStudy, part: Part, devices: tuple[str, ...]) -> tuple[float, tuple[str, ...]]:
    """What the devices that a large fault current comes to a bar by let pass, together; AC supplies take turns, and
    each counts by itself. A fault at the bar lasts with it, whatever its circuits take."""
    ratings = {device: study.rating_a.get(device) or 0.0 for device in devices}
    if part.ac and ratings:
        largest = max(ratings, key=ratings.__getitem__)
        return ratings[largest], (largest,)
    return sum(ratings.values()), devices


def _edges(study: ProtectionStudy) -> dict[str, list[tuple[str, int]]]:
    """By node: (conductor, +1 where its current leaves the node, -1 where it enters). A device on a bar counts by
    the conductor behind it."""
    system = study.system
    direct: dict[str, list[tuple[str, int]]] = {}
    for conductor in system.conductors.values():
        direct.setdefault(conductor.from_node, []).append((conductor.id, 1))
        direct.setdefault(conductor.to_node, []).append((conductor.id, -1))
    past: dict[str, list[str]] = {}
    ways: set[str] = set()
    for device in system.devices.values():
        for a, b in device.legs:
            past.setdefault(a, []).append(b)
            past.setdefault(b, []).append(a)
            if device.panel:
                ways.add(b)
    result = {node: list(edges) for node, edges in direct.items()}
    for node in past:
        if not system.nodes[node].part or node in ways:
            continue
        behind, seen = list(past[node]), {node}
        for other in behind:
            if other in seen or (system.nodes[other].part and other not in ways):
                continue
            seen.add(other)
            result.setdefault(node, []).extend(direct.get(other, []))
            behind += past[other] if not direct.get(other) else []
    return result


def _through(study: ProtectionStudy, edges: list[tuple[str, int]]) -> list[tuple[float, str]]:
    """(amperes that pass a node, case) by case: the larger of all that enters and all that leaves."""
    result: list[tuple[float, str]] = []
    for case, amperes in study.demand.case_a.items():
        signed = [amperes.get(conductor, 0.0) * sign for conductor, sign in edges]
        leaving = sum(a for a in signed if a > 0.0)
        entering = -sum(a for a in signed if a < 0.0)
        result.append((max(leaving, entering), case))
    return result


def check_switches(study: ProtectionStudy) -> list[Finding]:
    """Current through each device that does not protect, and the devices before it, against its rating. Of a switch
    in a signal no rating is asked."""
    found: list[Finding] = []
    for device in study.system.devices.values():
        of_source = device.roles.one_way and not study.system.parts[device.of].roles.splits
        if device.roles.protects or of_source:
            continue
        amperes = study.demand.device_a.get(device.id, 0.0)
        # What passes one way is bounded by what stands before it.
        exempt = device.id in study.overload.cranking or device.roles.one_way
        passed, devices = (0.0, ()) if exempt else _passed(study, device)
        rating = device.rating_a
        figures: dict[str, Any] = {
            "kind": device.kind,
            "current": amperes,
            "needed": max(amperes, passed),
        }
        if rating is None:
            if amperes > 0.0 and study.system.runs[device.run].signal_a is None:
                found.append(make("CP430", device.id, device.span, **figures))
        elif exceeds(amperes, rating):
            found.append(make("CP422", device.id, device.span, rating=rating, **figures))
        elif exceeds(passed, rating):
            found.append(_protected_above(study, "CP423", device.id, device.span, rating, passed, devices))
    return found


def _passed(study: ProtectionStudy, device: Device) -> tuple[float, tuple[str, ...]]:
    """What can come to a switch for ever, and the devices that bound it: what the devices before it let pass; on a
    short way without one, what those ahead do."""
    overload = study.overload
    found: list[tuple[float, tuple[str, ...]]] = [(0.0, ())]
    for line in overload.pole.of.get(device.id, ()):
        for direction in overload.directions(line):
            if direction.into_a <= 0.0:
                continue
            before = overload.before(direction)
            ways = overload.leading.taps.through(line, direction.node, lambda *_: True)
            ahead = tuple(dict.fromkeys(d for way in ways for d, _ in way.devices))
            passed = sum(study.rating_a.get(d) or math.inf for d in ahead)
            short = all(not way.bare and not exceeds(way.metres, study.allowed_m(way)) for way in ways)
            alone = len(ahead) == 1 and not any(way.bare for way in ways)
            if ahead and (short or alone) and passed < direction.into_a:
                found.append((passed, ahead))
            else:
                found.append((direction.into_a, before))
    return max((each for each in found if each[0] < math.inf), key=lambda each: each[0])


def _protected_above(
    study: ProtectionStudy, code: str, subject: str, span: Span, rating: float, passed: float, devices: tuple[str, ...]
) -> Finding:
    own = [(study.system.devices[d].span, {"own": study.rating_a[d] or 0.0}) for d in devices]
    return make(code, subject, span, at={"device": own}, rating=rating, passed=passed, devices=devices)
