"""A short at the far end of what each device protects: its current, the time to open, and the heat meanwhile."""

from __future__ import annotations

import math
from collections.abc import Iterator

from copperplate.audit.banks import cold_source, low_v
from copperplate.audit.reach import feeding
from copperplate.audit.reported import reported
from copperplate.audit.wires import ohms
from copperplate.findings import Finding, make
from copperplate.model import DC_POLES, Battery, Conductor
from copperplate.model.graph import graph
from copperplate.model.groups import Groups
from copperplate.model.results import Design, DeviceResult
from copperplate.standards import adiabatic, conductors, fuses, profile
from copperplate.units import exceeds, suffices

HEAT_CAPACITY, BETA_C, OHM_MM2_M = 3.45e-3, 234.5, 17.241e-6
"""Copper in IEC 60364-5-54 annex A: J/(K mm³), °C, ohm mm at 20 °C."""


def check_ends(design: Design) -> Iterator[Finding]:
    """Where one bank feeds a network without rings: at each consumer the current of a short again, as the bank's low
    voltage over its own resistance and hot copper out and back, for the smallest devices on the way, which open
    first. Everywhere: whether the device opens at the stated current,
    and stands I²t below k²S²."""
    yield from _currents(design)
    for name, result in design.devices.items():
        yield from _opening(design, name, result)


def _hot_ohm(design: Design, conductor: Conductor) -> float:
    """A conductor as warm as its insulation bears; 0.0 without a size."""
    result = design.runs.get(conductor.run)
    return (ohms(design, conductor, result.insulation_c) if result is not None else None) or 0.0


def _tree(
    design: Design, start: str, poles: frozenset[str]
) -> tuple[dict[str, tuple[float, tuple[str, ...]]], dict[str, tuple[str, str]]]:
    """Hot ohms from a node along the only ways there are, and the protective devices on them; and by node the one
    before it with the run between."""
    at: dict[str, list[tuple[str, float, str]]] = {}
    run_between: dict[tuple[str, str], str] = {}
    system = design.system
    for conductor in system.conductors.values():
        if conductor.pole in poles:
            ohm = _hot_ohm(design, conductor)
            at.setdefault(conductor.from_node, []).append((conductor.to_node, ohm, ""))
            at.setdefault(conductor.to_node, []).append((conductor.from_node, ohm, ""))
            for ends in ((conductor.from_node, conductor.to_node), (conductor.to_node, conductor.from_node)):
                run_between[ends] = conductor.run
    for device in system.devices.values():
        opens = device.id if device.roles.protects else ""
        for a, b in device.legs:
            at.setdefault(a, []).append((b, device.resistance_ohm, opens))
            at.setdefault(b, []).append((a, device.resistance_ohm, opens))
    for a, b in system.ties:
        at.setdefault(a, []).append((b, 0.0, ""))
        at.setdefault(b, []).append((a, 0.0, ""))
    none: tuple[str, ...] = ()
    reached = {start: (0.0, none)}
    came: dict[str, tuple[str, str]] = {}
    for node in (front := [start]):
        for other, ohm, device_id in at.get(node, ()):
            if other not in reached:
                before, passed = reached[node]
                reached[other] = before + ohm, (*passed, device_id) if device_id else passed
                came[other] = node, run_between.get((node, other), "")
                front.append(other)
    return reached, came


def _radial(design: Design) -> bool:
    groups = Groups[str]()
    links = [(c.from_node, c.to_node) for c in design.system.conductors.values()]
    links += [leg for device in design.system.devices.values() for leg in device.legs]
    return all(groups.join(a, b) for a, b in (*links, *design.system.ties))


def _currents(design: Design) -> Iterator[Finding]:
    system, net = design.system, graph(design.system)
    batteries = [battery for battery in system.of(Battery) if f"{battery.id}.pos" in system.nodes]
    if len(batteries) != 1 or len(feeding(system)) != 1 or not _radial(design):
        return
    (battery,) = batteries
    _, inner_ohm = cold_source(battery)
    if inner_ohm is None:
        return
    out, _ = _tree(design, f"{battery.id}.pos", frozenset({"pos", "mid"}))
    back, came = _tree(design, f"{battery.id}.neg", frozenset({"neg"}))
    for name, ends in net.consumers.items():
        if ends.pos not in out or ends.neg not in back:
            continue
        amperes = low_v(battery) / (inner_ohm + out[ends.pos][0] + back[ends.neg][0])
        ratings = {device: design.devices[device].rating.rating_a for device in out[ends.pos][1]}
        least = min((rating for rating in ratings.values() if rating), default=0.0)
        for device, rating in ratings.items():
            result = design.devices[device]
            taken = result.end_fault.value if result.end_fault is not None else math.inf
            if rating and rating <= least and exceeds(taken, amperes):
                yield make("CP596", device, short_at=name, amperes=amperes, taken=taken)
        first = [device for device, rating in ratings.items() if rating and rating <= least]
        passes = max((_passes(design, device, amperes) for device in first), default=math.inf)
        node = ends.neg
        while passes < math.inf and node in came:
            node, run = came[node]
            stands = _stands(design, run)
            if stands is not None and passes > stands * 1.01:
                yield make("CP596", first[0], passes=passes, run=run, stands=stands)


def _passes(design: Design, device: str, amperes: float) -> float:
    """I²t that a device lets pass at most, A²s; infinite where no curve tells, or none that it opens in time."""
    built = design.devices[device].rating
    family, rating = profile(design.profile).family(built.family), built.rating_a or math.inf
    seconds = fuses.slow_gate(family, rating, amperes)
    if seconds is None or seconds > profile(design.profile).figures["disconnection"].value:
        return math.inf
    gates = [g for g in family.gates if g.max_s is not None and g.rating_min_a <= rating <= g.rating_max_a]
    reached = [g for g in gates if suffices(amperes, g.share * rating)]
    return min([*((g.share * rating) ** 2 * (g.max_s or 0.0) for g in reached), amperes**2 * seconds])


def _stands(design: Design, run: str) -> float | None:
    """k²S² of a run, A²s; None where it has no size."""
    built = design.runs.get(run)
    if built is None or built.size is None:
        return None
    return (k_of(built.insulation_c) * conductors.area_mm2(built.size) * built.parallel) ** 2


def k_of(insulation_c: float) -> float:
    """k of copper: sqrt(Qc (B + 20) / rho20 ln(1 + (Tf - Ti) / (B + Ti))), IEC 60364-5-54 annex A, in A s½/mm²."""
    final = adiabatic.final_temperature_c(insulation_c)
    rise = math.log(1 + max(final - insulation_c, 0.0) / (BETA_C + insulation_c))
    return math.sqrt(HEAT_CAPACITY * (BETA_C + 20) / OHM_MM2_M * rise)


def _opening(design: Design, name: str, result: DeviceResult) -> Iterator[Finding]:
    device, rating = design.system.devices[name], result.rating.rating_a
    if not device.roles.protects or result.end_fault is None or rating is None:
        return
    amperes = result.end_fault.value
    rules = profile(design.profile)
    family = rules.family(result.rating.family)
    seconds = fuses.slow_gate(family, rating, amperes)
    alternating = device.pole not in DC_POLES
    if alternating and device.roles.switches:
        at_once = fuses.at_once("breaker", device.curve)
        seconds = at_once.seconds if suffices(amperes, at_once.times * rating) else None
    if result.far_end == "opens" and (seconds is None or seconds > rules.figures["disconnection"].value):
        yield make("CP596", name, opens_at=amperes)
    if alternating:
        return
    if result.far_end == "does not open" and not {name, device.panel} & reported(design, "CP412", "CP417", "CP418"):
        yield make("CP596", name, stays_closed_at=amperes)
    if result.far_end != "opens" or seconds is None:
        return
    passes = _passes(design, name, amperes)
    for run in result.protects:
        stands = _stands(design, run)
        if stands is not None and passes > stands * 1.01:
            yield make("CP596", name, passes=passes, run=run, stands=stands)
