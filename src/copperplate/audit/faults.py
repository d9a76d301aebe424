"""The largest fault current at each device by its definition, and whether it can break that."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from copperplate.audit.banks import cold_source
from copperplate.audit.grid import grids
from copperplate.audit.reach import Way, ways
from copperplate.audit.reported import reported
from copperplate.findings import Finding, make
from copperplate.model import Battery
from copperplate.model.results import Design
from copperplate.standards import conductors, profile

NODES_TO = 400
"""Nodes up to which the network is solved for every device; a larger one would take minutes."""
NEARLY_NONE = 1e-9
"""Ohms that stand for none."""
CANNOT_BREAK = ("CP411", "CP415")
"""Codes by which a device that cannot break its fault is reported."""
Wires = dict[str, list[tuple[str, float]]]
"""By node: where a wire leads, and its siemens."""


def check_faults(design: Design) -> Iterator[Finding]:
    """Each device's figure against its definition: the device taken out, both its ends shorted, what comes to either;
    and its breaking capacity against that, where no finding has reported it."""
    system = design.system
    batteries = {f"{battery.id}.pos": cold_source(battery) for battery in system.of(Battery)}
    at = ways(system, frozenset({"pos", "mid"}))
    if len(at) > NODES_TO or any(ohm is None for _, ohm in batteries.values()):
        return
    banks = {node: (emf, ohm) for node, (emf, ohm) in batteries.items() if node in at and ohm is not None}
    wires: Wires = {
        node: [(w.to, 1.0 / max(_ohm(design, w), NEARLY_NONE)) for w in here if w.device not in system.diodes]
        for node, here in at.items()
    }
    diodes = [leg for name in sorted(system.diodes) for leg in system.devices[name].legs]
    pushed = [
        ({node, *(behind for before, behind in diodes if _joined(wires, before, [node]))}, amperes)
        for node, amperes in grids(design)[0].turns[0].items()
        if amperes < math.inf
    ]
    weak = reported(design, *CANNOT_BREAK)
    for device in system.devices.values():
        result = design.devices.get(device.id)
        legs = [leg for leg in device.legs if set(leg) <= set(at)]
        if result is None or not device.roles.protects or not any(_joined(wires, a, banks) for a, _ in legs):
            continue
        ends = [end for a, b in legs for end in ((a, b), (b, a))]
        amperes = max(_side(wires, banks, pushed, *end) for end in ends)
        claimed = result.prospective_fault.value if result.prospective_fault is not None else 0.0
        if claimed < amperes * (1 - 1e-6):
            yield make("CP596", device.id, reaching=amperes, taken=claimed)
        breaks = result.interrupting_a
        settled = device.id in weak or device.panel in weak or device.backed_by
        if (breaks is None or breaks < amperes * 0.9999) and not settled:
            yield make("CP596", device.id, breaks=breaks, reaching=amperes)


def _ohm(design: Design, way: Way) -> float:
    if way.device:
        return design.system.devices[way.device].resistance_ohm
    conductor = design.system.conductors[way.conductor]
    result = design.runs.get(conductor.run)
    if result is None or result.size is None:
        return 0.0
    tinned, cold_c = design.system.settings.tinned, profile(design.profile).figures["fault-copper"].value
    return conductors.ohm_per_m(result.size, cold_c, tinned) * conductor.length_m / result.parallel


def _near(wires: Wires, start: str, there: str) -> list[str]:
    """The nodes that one reaches, without another."""
    near = {start: None}
    for node in (front := [start]):
        for other, _ in wires[node]:
            if other != there and other not in near:
                near[other] = None
                front.append(other)
    return list(near)


def _joined(wires: Wires, start: str, nodes: Iterable[str]) -> bool:
    """Whether any of some nodes is reached from one."""
    return not set(nodes).isdisjoint(_near(wires, start, ""))


def _side(
    wires: Wires,
    banks: dict[str, tuple[float, float]],
    pushed: list[tuple[set[str], float]],
    here: str,
    there: str,
) -> float:
    """What comes to a node with it and another shorted: what lies between the two carries nothing.

    Every other node is taken away in turn, its star of wires made a mesh: what it brings goes to its neighbours by
    their shares, and so at last to the node."""
    near = _near(wires, here, there)
    links: dict[str, dict[str, float]] = {node: {} for node in near}
    lost = dict.fromkeys(near, 0.0)
    brought = dict.fromkeys(near, 0.0)
    for node in near:
        for other, siemens in wires[node]:
            if other == there:
                lost[node] += siemens
            else:
                links[node][other] = links[node].get(other, 0.0) + siemens
        if node in banks:
            emf, ohm = banks[node]
            lost[node] += 1.0 / ohm
            brought[node] += emf / ohm
    ends = [node for node in near if node != here and len(links[node]) == 1]
    left = dict.fromkeys(node for node in near if node != here)
    while left:
        node = ends.pop() if ends else min(left, key=lambda each: len(links[each]))
        if left.pop(node, "") is not None:
            continue
        beside = links.pop(node)
        total = lost[node] + sum(beside.values())
        for other, siemens in beside.items():
            lost[other] += lost[node] * siemens / total
            brought[other] += brought[node] * siemens / total
            del links[other][node]
            for third, more in beside.items():
                if third != other:
                    links[other][third] = links[other].get(third, 0.0) + siemens * more / total
            if other != here and len(links[other]) <= 1:
                ends.append(other)
    return brought[here] + sum(amperes for nodes, amperes in pushed if not nodes.isdisjoint(lost))
