"""A short at the far end of what each device protects: its current, the time to open, and the heat meanwhile."""

from __future__ import annotations

import math

from copperplate.audit.faults import bank
from copperplate.audit.reach import feeding, reach, ungrounded, ways
from copperplate.audit.saying import defect, told
from copperplate.audit.supply import low_v
from copperplate.findings import Finding
from copperplate.model import DC_POLES, PROTECTIVE, Conductor
from copperplate.model.graph import earth_ohm, graph
from copperplate.model.groups import Groups
from copperplate.model.results import Design, DeviceResult
from copperplate.standards import adiabatic, conductors, fuses, profile

NEAR = 1.0001
HEAT_CAPACITY, BETA_C, OHM_MM2_M = 3.45e-3, 234.5, 17.241e-6
"""Copper in IEC 60364-5-54 annex A: J/(K mm³), °C, ohm mm at 20 °C."""


def check_ends(design: Design) -> list[Finding]:
    """Where one bank feeds a network without rings: each device's far-end current again, as the bank's low voltage
    over its own resistance and hot copper out and back. Everywhere: whether the device opens at the current told,
    and stands I²t below k²S²."""
    return [*_currents(design), *(f for name, one in design.devices.items() for f in _opening(design, name, one))]


def _hot(design: Design, conductor: Conductor) -> float:
    result = design.runs.get(conductor.run)
    if result is None or result.size is None:
        return 0.0
    each = conductors.ohm_per_m(result.size, result.insulation_c, design.system.settings.tinned)
    earths = sum(earth_ohm(design.system, node) for node in (conductor.from_node, conductor.to_node))
    return each * conductor.length_m / result.parallel + earths


def _tree(design: Design, start: str, poles: frozenset[str]) -> dict[str, float]:
    """Hot ohms from a node along the only ways there are."""
    at: dict[str, list[tuple[str, float]]] = {}
    system = design.system
    for conductor in system.conductors.values():
        if conductor.pole in poles:
            ohm = _hot(design, conductor)
            at.setdefault(conductor.from_node, []).append((conductor.to_node, ohm))
            at.setdefault(conductor.to_node, []).append((conductor.from_node, ohm))
    for device in system.devices.values():
        for a, b in device.legs:
            at.setdefault(a, []).append((b, device.resistance_ohm))
            at.setdefault(b, []).append((a, device.resistance_ohm))
    for a, b in system.ties:
        at.setdefault(a, []).append((b, 0.0))
        at.setdefault(b, []).append((a, 0.0))
    ohms = {start: 0.0}
    for node in (front := [start]):
        for other, ohm in at.get(node, ()):
            if other not in ohms:
                ohms[other] = ohms[node] + ohm
                front.append(other)
    return ohms


def _radial(design: Design) -> bool:
    groups = Groups()
    links = [(c.from_node, c.to_node) for c in design.system.conductors.values()]
    links += [leg for device in design.system.devices.values() for leg in device.legs]
    return all(groups.join(a, b) for a, b in (*links, *design.system.ties))


def _currents(design: Design) -> list[Finding]:
    system = design.system
    banks = [part for part in system.of_kind("battery") if system.nodes.get(f"{part.id}.pos")]
    if len(banks) != 1 or len(feeding(system)) != 1 or not _radial(design):
        return []
    (battery,) = banks
    inner = bank(battery)[1]
    if inner is None:
        return []
    out = _tree(design, f"{battery.id}.pos", frozenset({"pos", "mid"}))
    back = _tree(design, f"{battery.id}.neg", frozenset({"neg"}))
    found: list[Finding] = []
    net = graph(system)
    tree = reach(system, ways(system, ungrounded(system)), battery.id, f"{battery.id}.pos")
    for name, ends in net.consumers.items():
        device = tree.behind.get(ends.pos, "")
        result = design.devices.get(device)
        if not device or ends.pos not in out or ends.neg not in back or result is None:
            continue
        amperes = low_v(battery) / (inner + out[ends.pos] + back[ends.neg])
        claimed = result.end_fault.value if result.end_fault is not None else math.inf
        if claimed > amperes * NEAR:
            message = f"a short at `{name}` drives {amperes:.5g} A through `{device}`, and {claimed:.5g} A was taken"
            found.append(defect("CP596", device, message))
    return found


def k_of(insulation_c: float) -> float:
    """k of copper: sqrt(Qc (B + 20) / rho20 ln(1 + (Tf - Ti) / (B + Ti))), IEC 60364-5-54 annex A, in A s½/mm²."""
    final = adiabatic.final_temperature_c(insulation_c)
    rise = math.log(1 + max(final - insulation_c, 0.0) / (BETA_C + insulation_c))
    return math.sqrt(HEAT_CAPACITY * (BETA_C + 20) / OHM_MM2_M * rise)


def _opening(design: Design, name: str, one: DeviceResult) -> list[Finding]:
    rating = one.rating.rating_a
    if design.system.devices[name].kind not in PROTECTIVE or one.end_fault is None or rating is None:
        return []
    amperes = one.end_fault.value
    rules = profile(design.profile)
    family = rules.family(one.rating.family)
    seconds = fuses.slow_gate(family, rating, amperes)
    found: list[Finding] = []
    device = design.system.devices[name]
    alternating = device.pole not in DC_POLES
    if alternating and device.kind == "breaker":
        at_once = fuses.at_once("breaker", device.curve)
        seconds = at_once.seconds if amperes * NEAR >= at_once.times * rating else None
    if one.far_end == "opens" and (seconds is None or seconds > rules.figures["disconnection"].value):
        found.append(defect("CP596", name, f"`{name}` is said to open at {amperes:.4g} A, and its curve does not"))
    if alternating:
        return found
    untold = not {name, design.system.devices[name].panel} & told(design, "CP412", "CP417", "CP418")
    if one.far_end == "does not open" and untold:
        found.append(defect("CP596", name, f"`{name}` does not open at {amperes:.4g} A, untold"))
    if one.far_end != "opens" or seconds is None:
        return found
    for run in one.protects:
        result = design.runs.get(run)
        if result is None or result.size is None:
            continue
        stands = (k_of(result.insulation_c) * conductors.area_mm2(result.size) * result.parallel) ** 2
        gates = [g for g in family.gates if g.max_s is not None and g.rating_min_a <= rating <= g.rating_max_a]
        reached = [g for g in gates if g.share * rating <= amperes * NEAR]
        bounds = [(g.share * rating) ** 2 * (g.max_s or 0.0) for g in reached]
        passes = min([*bounds, amperes**2 * seconds])
        if passes > stands * 1.01:
            message = f"{passes:.4g} A²s pass `{name}`, and `{run}` stands {stands:.4g} A²s"
            found.append(defect("CP596", name, message))
    return found
