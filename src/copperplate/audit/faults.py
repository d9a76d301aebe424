"""The largest fault current at each device by other means, and whether it can break that."""

from __future__ import annotations

from collections.abc import Iterator

from copperplate.audit.banks import cold_source
from copperplate.audit.plain import inverse
from copperplate.audit.reach import Way, ungrounded, ways
from copperplate.audit.reported import reported
from copperplate.findings import Finding, make
from copperplate.model import Battery
from copperplate.model.results import Design
from copperplate.standards import conductors, profile

DENSE_TO = 60
"""Groups of nodes up to which the whole network is inverted; above it each battery is taken by its own path."""
CANNOT_BREAK = ("CP411", "CP415")
"""Codes by which a device that cannot break its fault is reported."""


def check_faults(design: Design) -> Iterator[Finding]:
    """Each device's figure against a dense solution of the ungrounded side (against each battery alone in a large
    system), and its breaking capacity against that, where no finding has reported it."""
    system = design.system
    batteries = {battery.id: cold_source(battery) for battery in system.of(Battery)}
    if any(ohm is None for _, ohm in batteries.values()):
        return
    at = ways(system, ungrounded(system))
    group = _groups(design, at)
    weak = reported(design, *CANNOT_BREAK)
    least = _dense(design, at, group, batteries) if len(set(group.values())) <= DENSE_TO else None
    if least is None:
        least = _alone(design, at, group, batteries)
    for device in system.devices.values():
        result = design.devices.get(device.id)
        node = device.legs[0][0]
        if result is None or not device.roles.protects or group.get(node) not in least:
            continue
        amperes = least[group[node]]
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


def _groups(design: Design, at: dict[str, list[Way]]) -> dict[str, int]:
    """Number of the group of each node; edges without resistance join their ends."""
    group: dict[str, int] = {}
    count = 0
    for start in at:
        if start in group:
            continue
        group[start] = count
        front = [start]
        for node in front:
            for way in at[node]:
                if way.to not in group and _ohm(design, way) <= 0.0:
                    group[way.to] = count
                    front.append(way.to)
        count += 1
    return group


def _dense(
    design: Design, at: dict[str, list[Way]], group: dict[str, int], batteries: dict[str, tuple[float, float | None]]
) -> dict[int, float] | None:
    """Short-circuit current of each group: open-circuit volts over the own impedance, from the inverse of the whole
    conductance matrix. None where it is singular."""
    fed = _fed(at, batteries)
    numbers = sorted({group[node] for node in fed})
    index = {number: i for i, number in enumerate(numbers)}
    matrix = [[0.0] * len(numbers) for _ in numbers]
    pushed = [0.0] * len(numbers)
    for node in fed:
        for way in at[node]:
            ohm = _ohm(design, way)
            a, b = index[group[node]], index[group[way.to]]
            if ohm > 0.0 and a != b:
                matrix[a][a] += 1 / ohm
                matrix[a][b] -= 1 / ohm
    for name, (emf, inner) in batteries.items():
        node = f"{name}.pos"
        if node in group and inner:
            matrix[index[group[node]]][index[group[node]]] += 1 / inner
            pushed[index[group[node]]] += emf / inner
    inverted = inverse(matrix)
    if inverted is None:
        return None
    volts = [sum(z * amperes for z, amperes in zip(row, pushed, strict=True)) for row in inverted]
    return {number: volts[i] / inverted[i][i] for number, i in index.items()}


def _fed(at: dict[str, list[Way]], batteries: dict[str, tuple[float, float | None]]) -> list[str]:
    front = [f"{name}.pos" for name in batteries if f"{name}.pos" in at]
    seen = dict.fromkeys(front)
    for node in front:
        for way in at[node]:
            if way.to not in seen:
                seen[way.to] = None
                front.append(way.to)
    return list(seen)


def _alone(
    design: Design, at: dict[str, list[Way]], group: dict[str, int], batteries: dict[str, tuple[float, float | None]]
) -> dict[int, float]:
    """The larger of what each battery drives alone along its first way: never more than all together do."""
    best: dict[int, float] = {}
    for name, (emf, inner) in batteries.items():
        start = f"{name}.pos"
        if start not in at or not inner:
            continue
        ohms = {start: inner}
        front = [start]
        for node in front:
            amperes = emf / ohms[node]
            best[group[node]] = max(best.get(group[node], 0.0), amperes)
            for way in at[node]:
                if way.to not in ohms:
                    ohms[way.to] = ohms[node] + _ohm(design, way)
                    front.append(way.to)
    return best
