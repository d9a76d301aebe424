"""AC faults by other means: resistances by repeated relaxation from each supply, currents by the bare formula."""

from __future__ import annotations

import math

from copperplate.audit.reach import LINES
from copperplate.audit.saying import defect, told
from copperplate.findings import Finding
from copperplate.model import PROTECTIVE, Device, Part, System
from copperplate.model.results import Design, DeviceResult
from copperplate.standards import conductors

NEAR = 1.0001
HIGH, LOW = 1.10, 0.90
"""Voltage factors, IEC 60909-0:2016 Table 1, from memory."""
OHM_M = 0.08e-3
"""Reactance of a conductor, IEC 60364-5-52 annex G, from memory."""
TRIPS_AT = {"b": 5.0, "c": 10.0, "d": 20.0}
"""IEC 60898-1 Table 7, from memory."""
Edge = tuple[str, str, float, float]
"""From node, to node, ohms and metres of one conductor."""


def check_mains(design: Design) -> list[Finding]:
    """For each shore supply that states its fault current: no device is told a smaller largest current, breaks less
    without a finding, or is told a larger smallest current than the formulas give. For every AC supply that limits
    itself: nothing relies on more than its rating. An earth fault said to be opened is."""
    system, found = design.system, []
    for part in system.of_kind("shore", "generator", "inverter"):
        starts = [n for n in system.nodes.values() if n.part == part.id and n.port.startswith("ac-out")]
        lines = [n.id for n in starts if n.pole in LINES]
        if not lines or starts[0].nominal_v <= 0.0:
            continue
        volts = next(n.nominal_v for n in starts if n.pole in LINES)
        found += _largest(design, part, volts, _least(lines, _edges(design, hot=False)))
        found += _smallest(design, part, volts, _least(lines, _edges(design, hot=True)))
    for name, one in design.devices.items():
        found += _earth(design, system.devices[name], one)
    return found


def _edges(design: Design, hot: bool) -> list[Edge]:
    """What joins two nodes of the lines, each way that current may take."""
    system = design.system
    found: list[Edge] = []
    for conductor in system.conductors.values():
        result = design.runs.get(conductor.run)
        if conductor.pole not in LINES or result is None or result.size is None:
            continue
        degrees = result.insulation_c if hot else 20.0
        each = conductors.ohm_per_m(result.size, degrees, system.settings.tinned) / result.parallel
        ends, metres = (conductor.from_node, conductor.to_node), conductor.length_m
        found += [(*ends, each * metres, metres), (*ends[::-1], each * metres, metres)]
    for device in system.devices.values():
        for a, b in device.legs:
            if system.nodes[a].pole in LINES:
                found.append((a, b, device.resistance_ohm, 0.0))
                if device.kind in PROTECTIVE:
                    found.append((b, a, device.resistance_ohm, 0.0))
    return found + _handed(system)


def _handed(system: System) -> list[Edge]:
    """An inverter with an AC inlet hands the supply through to its outlet."""
    found: list[Edge] = []
    for node in system.nodes.values():
        part, other = system.parts.get(node.part), node.id.replace(".ac-in.", ".ac-out.")
        if part is not None and part.kind == "inverter" and other != node.id and other in system.nodes:
            found.append((node.id, other, 0.0, 0.0))
    return found


def _least(starts: list[str], edges: list[Edge]) -> dict[str, tuple[float, float]]:
    """Least ohms, and metres on that way, by node: edges are relaxed until none gives less (R. Bellman, 1958)."""
    least = dict.fromkeys(starts, (0.0, 0.0))
    changed = True
    while changed:
        changed = False
        for a, b, ohm, metres in edges:
            if a in least and (b not in least or least[a][0] + ohm < least[b][0] - 1e-15):
                least[b] = (least[a][0] + ohm, least[a][1] + metres)
                changed = True
    return least


def _largest(design: Design, part: Part, volts: float, least: dict[str, tuple[float, float]]) -> list[Finding]:
    stated = part.get("fault_current_a")
    if part.kind != "shore" or not stated:
        return []
    found: list[Finding] = []
    settled = told(design, "CP714")
    for name, one in design.devices.items():
        device = design.system.devices[name]
        if device.legs[0][0] not in least or device.kind not in PROTECTIVE:
            continue
        amperes = HIGH * volts / math.hypot(HIGH * volts / stated, 2 * least[device.legs[0][0]][0])
        claimed = one.prospective_fault.value if one.prospective_fault is not None else 0.0
        if claimed * NEAR < amperes:
            message = f"`{part.id}` drives {amperes:.5g} A into a short at `{name}`, and {claimed:.5g} A was taken"
            found.append(defect("CP596", name, message))
        breaks = one.interrupting_a
        if breaks is not None and breaks * NEAR < amperes and name not in settled and not device.backed_by:
            found.append(defect("CP596", name, f"`{name}` breaks {breaks:.5g} A, and {amperes:.5g} A reach it, untold"))
    return found


def _smallest(design: Design, part: Part, volts: float, least: dict[str, tuple[float, float]]) -> list[Finding]:
    """At every load that a supply reaches: the device of its own run is told no more than the earth fault there."""
    loop = part.get("earth_loop_ohm") if part.kind == "shore" else None
    rated = part.get("current_a") or (part.get("power_w") or 0.0) / volts
    found: list[Finding] = []
    for load in design.system.of_kind("load", "charger"):
        at = [least[node] for pole in ("l", "l1") if (node := f"{load.id}.ac-in.{pole}") in least]
        run = next((r for r in design.system.runs.values() if r.to_end in (load.id, f"{load.id}.ac-in")), None)
        if not at or run is None:
            continue
        before = [d for d in design.system.devices.values() if d.run == run.id and d.kind in PROTECTIVE]
        for one in (design.devices[d.id] for d in before if d.id in design.devices and d.legs[0][0] in least):
            ohm, metres = at[0]
            amperes = rated
            if part.kind == "shore":
                amperes = LOW * volts / (loop + math.hypot(2 * ohm, 2 * metres * OHM_M)) if loop else math.inf
            claimed = one.earth_fault.value if one.earth_fault is not None else math.inf
            if amperes and claimed > amperes * NEAR and not math.isinf(amperes):
                message = f"`{part.id}` drives {amperes:.5g} A into an earth fault at `{load.id}`, and more was taken"
                found.append(defect("CP596", one.device, message))
    return found


def _earth(design: Design, device: Device, one: DeviceResult) -> list[Finding]:
    """What opens an earth fault: the device's curve, or a residual-current device somewhere among the AC devices."""
    if one.earth_end != "opens" or one.earth_fault is None or device.kind != "breaker":
        return []
    by_curve = one.earth_fault.value * NEAR >= TRIPS_AT.get(device.curve, math.inf) * (one.rating.rating_a or math.inf)
    if by_curve or any(d.residual_a for d in design.system.devices.values()):
        return []
    return [defect("CP596", device.id, f"an earth fault is said to open `{device.id}`, and nothing proves it")]
