"""Ratings of what stands in the way of the current: bars, panels, switches, relays, selectors, shunts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from copperplate.findings import Finding, Measure, Related, finding
from copperplate.model import DC_POLES, PROTECTIVE, Device, Node, Part
from copperplate.protection.regions import Region
from copperplate.protection.situation import Situation
from copperplate.text import Span
from copperplate.units import enough, exceeds, number


def check_bars(situation: Situation) -> list[Finding]:
    """Current through each rated bar and panel, and the devices before it, against its rating."""
    found: list[Finding] = []
    region_of = {node: region for region in situation.regions for node in region.nodes}
    numbers = {name: index for index, name in enumerate(situation.circuit.names)}
    by_part: dict[str, list[Node]] = {}
    for node in situation.system.nodes.values():
        by_part.setdefault(node.part, []).append(node)
    edges = _edges(situation)
    for part in situation.system.of_kind("bus", "panel"):
        rating = part.get("current_a")
        if rating is None:
            continue
        ways = {b for d in situation.system.devices.values() if d.panel == part.id for _, b in d.legs}
        nodes = [node for node in by_part.get(part.id, []) if node.id not in ways]
        through = [(amperes, case) for node in nodes for amperes, case in _through(situation, edges.get(node.id, []))]
        worst, case = max(through, default=(0.0, ""))
        span = part.spans.get("current_a", part.span)
        regions = [region_of.get(numbers.get(node.id, -1)) for node in nodes]
        let = [one for region in regions if region is not None for one in _let(situation, part, region)]
        if exceeds(worst, rating):
            found.append(
                finding(
                    "CP420",
                    part.id,
                    f"`{part.id}` carries {number(worst)} A and is rated {number(rating)} A",
                    span,
                    label=f"{number(rating)} A",
                    notes=(f"largest in case `{case}`",),
                    help=f"a {part.kind} of {enough(max([worst, *(a for a, _ in let)]))} A or more",
                    measure=Measure(worst, rating, "A"),
                )
            )
            continue
        above = max(let, key=lambda one: one[0], default=(0.0, ()))
        if exceeds(above[0], rating):
            found.append(_protected_above(situation, "CP421", part.id, span, rating, *above))
    return found


def _let(situation: Situation, part: Part, region: Region) -> list[tuple[float, tuple[str, ...]]]:
    """What the devices that feed a bar let pass, together; AC supplies take turns, and each counts by itself."""
    if not part.get("ac"):
        together = _passed(situation, region)
        return [] if together is None else [together]
    by_one = [_passed(situation, replace(region, feeders=(feeder,))) for feeder in region.feeders]
    return [one for one in by_one if one is not None]


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
    if device.kind == "selector" and device.pole not in DC_POLES:
        # Supplies take turns: what comes from the others never passes this one.
        sides = sides[:1]
    known = [_passed(situation, replace(region, feeders=feeders)) for feeders in sides]
    return max((one for one in known if one is not None), key=lambda one: one[0], default=None)


def check_switches(situation: Situation) -> list[Finding]:
    """Current through each device that does not protect, and the devices before it, against its rating."""
    found: list[Finding] = []
    region_of = {node: region for region in situation.regions for node in region.nodes}
    numbers = {name: index for index, name in enumerate(situation.circuit.names)}
    for device in situation.system.devices.values():
        if device.kind in PROTECTIVE:
            continue
        amperes = situation.demand.device_a.get(device.id, 0.0)
        passed = _passed_at(situation, device, region_of, numbers)
        needed = max(amperes, passed[0] if passed is not None else 0.0)
        if device.rating_a is None:
            if amperes > 0.0:
                found.append(_unrated(device, amperes, needed))
            continue
        if exceeds(amperes, device.rating_a):
            found.append(
                finding(
                    "CP422",
                    device.id,
                    f"the {device.kind} `{device.id}` carries {number(amperes)} A and is rated "
                    f"{number(device.rating_a)} A",
                    device.span,
                    label=f"{number(device.rating_a)} A",
                    help=f"a {device.kind} of {enough(needed)} A or more",
                    measure=Measure(amperes, device.rating_a, "A"),
                )
            )
            continue
        if passed is not None and exceeds(passed[0], device.rating_a):
            found.append(_protected_above(situation, "CP423", device.id, device.span, device.rating_a, *passed))
    return found


def _passed_at(
    situation: Situation, device: Device, region_of: Mapping[int, Region], numbers: Mapping[str, int]
) -> tuple[float, tuple[str, ...]] | None:
    """What can pass a switch for ever: what the devices before it let pass, or its own next one if that is less."""
    region = region_of.get(numbers.get(device.legs[0][0], -1))
    passed = _passed_by(situation, region, device, numbers) if region is not None else None
    behind = _own_device(situation, numbers.get(device.legs[0][1], -1), device.id)
    if passed is not None and behind is not None:
        passed = min(passed, behind, key=lambda one: one[0])
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


def _unrated(device: Device, amperes: float, needed: float) -> Finding:
    return finding(
        "CP430",
        device.id,
        f"the {device.kind} `{device.id}` states no rating; it carries {number(amperes)} A",
        device.span,
        label="no rating",
        help=f"state its rating, {enough(needed)} A or more",
        measure=Measure("not stated", amperes, "A"),
    )


def _protected_above(
    situation: Situation, code: str, subject: str, span: Span, rating: float, passed: float, devices: tuple[str, ...]
) -> Finding:
    names = " and ".join(f"`{d}`" for d in devices)
    return finding(
        code,
        subject,
        f"`{subject}` is rated {number(rating)} A, and {names} before it "
        f"{'lets' if len(devices) == 1 else 'let'} {number(passed)} A pass",
        span,
        label=f"{number(rating)} A",
        help=f"one rated {enough(passed)} A or more, or a smaller device before it",
        related=tuple(
            Related(situation.system.devices[d].span, f"{number(situation.rating_a[d] or 0.0)} A") for d in devices
        ),
        measure=Measure(passed, rating, "A"),
    )
