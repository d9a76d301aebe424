"""Ratings of what stands in the way of the current: bars, panels, switches, relays, selectors, shunts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from copperplate.findings import Finding, make
from copperplate.model import DC_POLES, Device, Node, Part
from copperplate.protection.regions import Region
from copperplate.protection.situation import Situation
from copperplate.text import Span
from copperplate.units import exceeds


def check_bars(situation: Situation) -> list[Finding]:
    """Current through each rated bar and panel, and the devices before it, against its rating."""
    found: list[Finding] = []
    region_of = {node: region for region in situation.regions for node in region.nodes}
    numbers = {name: index for index, name in enumerate(situation.circuit.names)}
    by_part: dict[str, list[Node]] = {}
    for node in situation.system.nodes.values():
        by_part.setdefault(node.part, []).append(node)
    edges = _edges(situation)
    for part in situation.system.parts.values():
        rating = part.current_a
        if rating is None or not part.roles.bar:
            continue
        ways = {b for d in situation.system.devices.values() if d.panel == part.id for _, b in d.legs}
        nodes = [node for node in by_part.get(part.id, []) if node.id not in ways]
        through = [(amperes, case) for node in nodes for amperes, case in _through(situation, edges.get(node.id, []))]
        worst, case = max(through, default=(0.0, ""))
        span = part.spans.get("current_a", part.span)
        regions = [region_of.get(numbers.get(node.id, -1)) for node in nodes]
        let = [passed for region in regions if region is not None for passed in _let(situation, part, region)]
        passed, devices = max(let, key=lambda feeding: feeding[0], default=(0.0, ()))
        if exceeds(worst, rating):
            needed = max(worst, passed)
            found.append(
                make("CP420", part.id, span, current=worst, rating=rating, case=case, kind=part.kind, needed=needed)
            )
        elif exceeds(passed, rating):
            found.append(_protected_above(situation, "CP421", part.id, span, rating, passed, devices))
    return found


def _let(situation: Situation, part: Part, region: Region) -> list[tuple[float, tuple[str, ...]]]:
    """What the devices that feed a bar let pass, together; AC supplies take turns, and each counts by itself."""
    if not part.ac:
        together = _passed(situation, region)
        return [] if together is None else [together]
    by_feeder = [_passed(situation, replace(region, feeders=(feeder,))) for feeder in region.feeders]
    return [passed for passed in by_feeder if passed is not None]


def _edges(situation: Situation) -> dict[str, list[tuple[str, int]]]:
    """By node: (conductor, +1 where its current leaves the node, -1 where it enters). A device on a bar counts by
    the conductor behind it."""
    system = situation.system
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


def _through(situation: Situation, edges: list[tuple[str, int]]) -> list[tuple[float, str]]:
    """(amperes that pass a node, case) by case: the larger of all that enters and all that leaves."""
    result: list[tuple[float, str]] = []
    for case, amperes in situation.demand.case_a.items():
        signed = [amperes.get(conductor, 0.0) * sign for conductor, sign in edges]
        leaving = sum(a for a in signed if a > 0.0)
        entering = -sum(a for a in signed if a < 0.0)
        result.append((max(leaving, entering), case))
    return result


def _passed(situation: Situation, region: Region) -> tuple[float, tuple[str, ...]] | None:
    """What the devices that feed a region let pass for ever, together; None where a source sits in it bare."""
    if region.direct or not region.feeders:
        return None
    devices = tuple(dict.fromkeys(device for _, device in region.feeders))
    ratings = [situation.rating_a.get(device) for device in devices]
    if any(rating is None for rating in ratings):
        return None
    return sum(rating for rating in ratings if rating is not None), devices


def _passed_by(
    situation: Situation, region: Region, device: Device, numbers: Mapping[str, int]
) -> tuple[float, tuple[str, ...]] | None:
    """What can pass a switch for ever: the devices that feed one of its sides together, the larger side of the two.
    Where the sides are joined past the switch as well, all that feed the region."""
    circuit = situation.circuit
    start, end = (numbers[node] for node in device.legs[0])
    side = {start: None}
    for node in (front := [start]):
        for index in circuit.at[node]:
            other = circuit.other(index, node)
            if not circuit.links[index].protective and circuit.links[index].device != device.id and other not in side:
                side[other] = None
                front.append(other)
    if end in side:
        return _passed(situation, region)
    sides: tuple[tuple[tuple[int, str], ...], ...] = (
        tuple((node, name) for node, name in region.feeders if node in side),
        tuple((node, name) for node, name in region.feeders if node not in side),
    )
    if device.roles.chooses and device.pole not in DC_POLES:
        # Supplies take turns: what comes from the others never passes this one.
        sides = sides[:1]
    known = [_passed(situation, replace(region, feeders=feeders)) for feeders in sides]
    return max((passed for passed in known if passed is not None), key=lambda passed: passed[0], default=None)


def check_switches(situation: Situation) -> list[Finding]:
    """Current through each device that does not protect, and the devices before it, against its rating."""
    found: list[Finding] = []
    region_of = {node: region for region in situation.regions for node in region.nodes}
    numbers = {name: index for index, name in enumerate(situation.circuit.names)}
    for device in situation.system.devices.values():
        if device.roles.protects:
            continue
        amperes = situation.demand.device_a.get(device.id, 0.0)
        passed = _passed_at(situation, device, region_of, numbers)
        rating = device.rating_a
        figures: dict[str, Any] = {
            "kind": device.kind,
            "current": amperes,
            "needed": max(amperes, passed[0] if passed is not None else 0.0),
        }
        if rating is None:
            if amperes > 0.0:
                found.append(make("CP430", device.id, device.span, **figures))
        elif exceeds(amperes, rating):
            found.append(make("CP422", device.id, device.span, rating=rating, **figures))
        elif passed is not None and exceeds(passed[0], rating):
            found.append(_protected_above(situation, "CP423", device.id, device.span, rating, *passed))
    return found


def _passed_at(
    situation: Situation, device: Device, region_of: Mapping[int, Region], numbers: Mapping[str, int]
) -> tuple[float, tuple[str, ...]] | None:
    """What can pass a switch for ever: what the devices before it let pass, or its own next one if that is less."""
    region = region_of.get(numbers.get(device.legs[0][0], -1))
    passed = _passed_by(situation, region, device, numbers) if region is not None else None
    behind = _own_device(situation, numbers.get(device.legs[0][1], -1), device.id)
    if passed is not None and behind is not None:
        passed = min(passed, behind, key=lambda through: through[0])
    return passed


def _own_device(situation: Situation, node: int, device: str) -> tuple[float, tuple[str, ...]] | None:
    """The next protective device past a switch, with nothing branching off before it, and its rating."""
    circuit, came_by = situation.circuit, device
    while node >= 0 and len(circuit.at[node]) == 2:
        index = next((i for i in circuit.at[node] if (circuit.links[i].device or str(i)) != came_by), None)
        if index is None:
            return None
        link = circuit.links[index]
        if link.protective:
            rating = situation.rating_a.get(link.device)
            return None if rating is None else (rating, (link.device,))
        came_by = link.device or str(index)
        node = circuit.other(index, node)
    return None


def _protected_above(
    situation: Situation, code: str, subject: str, span: Span, rating: float, passed: float, devices: tuple[str, ...]
) -> Finding:
    own = [(situation.system.devices[d].span, {"own": situation.rating_a[d] or 0.0}) for d in devices]
    return make(code, subject, span, at={"device": own}, rating=rating, passed=passed, devices=devices)
