"""Kirchhoff's and Ohm's laws held against the solved network: its residues prove a solution, no second solving."""

from __future__ import annotations

from copperplate.audit.wires import nodes_by_part, ohms
from copperplate.findings import Finding, finding
from copperplate.model import Case, Node, Part
from copperplate.model.groups import Groups
from copperplate.model.results import Design

VOLTS = 1e-6
AMPERES = 1e-6
SPLITTING = ("bus", "panel", "junction")


def check_laws(design: Design) -> list[Finding]:
    """In every case: the volts along each conductor are its current times the resistance of its size at its
    temperature, that temperature is what its hottest case makes it, what enters a bar or splice leaves it, and each
    load takes what its statement says at the voltage that it gets."""
    found = [*_temperatures(design), *(f for case in design.system.cases for f in _ohms_law(design, case))]
    terminals = nodes_by_part(design.system)
    for case in design.system.cases:
        found += _balances(design, case, terminals)
    return [*found, *_devices(design)]


def _disagree(subject: str, message: str) -> Finding:
    return finding("CP590", subject, message, help="a defect of this program, not of the plate: please report it")


def _temperatures(design: Design) -> list[Finding]:
    """Ta + (Tmax - Ta)(I/Iz)², with the current of the hottest case."""
    found: list[Finding] = []
    for name, result in design.conductors.items():
        run = design.system.conductors[name].run
        if design.runs.get(run) is None:
            continue
        hottest = max((abs(amperes) for amperes in result.current_a.values()), default=0.0)
        expected = _warmth(design, run, hottest)
        if result.temperature_c < expected - 0.5:
            found.append(
                _disagree(name, f"`{name}` is {expected:.1f} °C warm, and {result.temperature_c:.1f} °C was taken")
            )
    return found


def _warmth(design: Design, run: str, amperes: float) -> float:
    """Temperature of a run's conductors at a current; the rise is not followed above twice the ampacity."""
    result = design.runs[run]
    if result.ampacity is None or not result.ampacity.value:
        return result.ambient_c
    heating = min((amperes / result.ampacity.value) ** 2, 4.0)
    return result.ambient_c + (result.insulation_c - result.ambient_c) * heating


def _ohms_law(design: Design, case: Case) -> list[Finding]:
    found: list[Finding] = []
    for name, result in design.conductors.items():
        conductor = design.system.conductors[name]
        amperes = result.current_a.get(case.id, 0.0)
        ohm = ohms(design, conductor, _warmth(design, conductor.run, amperes))
        volts = (design.node_v.get(conductor.from_node, {}), design.node_v.get(conductor.to_node, {}))
        if ohm is None or any(case.id not in one for one in volts) or conductor.length_m <= 0.0:
            continue
        across = volts[0][case.id] - volts[1][case.id]
        expected = ohm * amperes
        if _zones_differ(design, conductor.from_node, conductor.to_node):
            continue
        if abs(across - expected) > VOLTS * max(1.0, abs(volts[0][case.id])):
            found.append(
                _disagree(
                    name, f"`{name}` loses {expected:.6g} V in case `{case.id}`, and {across:.6g} V stands across it"
                )
            )
    return found


def _zones_differ(design: Design, a: str, b: str) -> bool:
    """Volts of two systems are counted from two references."""
    return design.system.nodes[a].zone != design.system.nodes[b].zone


def _balances(design: Design, case: Case, terminals: dict[str, list[Node]]) -> list[Finding]:
    """Currents into each group of nodes that closed devices join without resistance."""
    system = design.system
    joined = Groups()

    for device in system.devices.values():
        if device.id in case.open_devices or device.resistance_ohm > 0.0:
            continue
        for a, b in device.legs:
            joined.join(a, b)
    for conductor in system.conductors.values():
        if conductor.length_m <= 0.0:
            joined.join(conductor.from_node, conductor.to_node)
    resisting = [d for d in system.devices.values() if d.resistance_ohm > 0.0]
    resistive = {joined.root(node) for d in resisting for leg in d.legs for node in leg}
    entering: dict[str, float] = {}
    scale: dict[str, float] = {}
    unsized: set[str] = set()
    for conductor in system.conductors.values():
        result = design.conductors.get(conductor.id)
        for node, sign in ((conductor.from_node, -1.0), (conductor.to_node, 1.0)):
            group = joined.root(node)
            if result is None:
                unsized.add(group)
                continue
            amperes = result.current_a.get(case.id, 0.0)
            entering[group] = entering.get(group, 0.0) + sign * amperes
            scale[group] = max(scale.get(group, 0.0), abs(amperes))
    members: dict[str, list[str]] = {}
    for node in system.nodes:
        members.setdefault(joined.root(node), []).append(node)
    found: list[Finding] = []
    for group, amperes in entering.items():
        parts = [
            system.parts[p] for p in dict.fromkeys(system.nodes[n].part for n in members[group]) if p in system.parts
        ]
        ends = [part for part in parts if part.kind not in SPLITTING]
        slack = AMPERES * max(1.0, scale[group])
        if group in unsized or group in resistive:
            continue
        if not ends:
            if abs(amperes) > slack:
                name = members[group][0]
                found.append(_disagree(name, f"{amperes:.6g} A enter `{name}` in case `{case.id}` and do not leave it"))
        elif len(ends) == 1 and ends[0].kind == "load" and system.nodes[group].pole in ("pos", "l"):
            found += _load(design, case, ends[0], terminals[ends[0].id], amperes, slack)
    return found


def _devices(design: Design) -> list[Finding]:
    """The current of a device is that of the one conductor behind it, where one and nothing else is there."""
    system, found = design.system, []
    at: dict[str, list[str]] = {}
    for conductor in system.conductors.values():
        for node in (conductor.from_node, conductor.to_node):
            at.setdefault(node, []).append(conductor.id)
    legs = [(device.id, node) for device in system.devices.values() for node in device.legs[0]]
    meeting: dict[str, int] = {}
    for _, node in legs:
        meeting[node] = meeting.get(node, 0) + 1
    for name, node in legs:
        result, here = design.devices.get(name), at.get(node, [])
        part = system.parts.get(system.nodes[node].part)
        inside = part is None or node.removeprefix(f"{part.id}.").isdigit()
        if result is None or len(here) != 1 or meeting[node] != 1 or not inside or here[0] not in design.conductors:
            continue
        for case, amperes in design.conductors[here[0]].current_a.items():
            off = abs(amperes) - abs(result.current_a.get(case, 0.0))
            # Of several poles the device is said to carry what the heaviest of them does.
            off = abs(off) if len(system.devices[name].legs) == 1 else off
            if off > AMPERES * max(1.0, abs(amperes)):
                said = result.current_a.get(case, 0.0)
                found.append(
                    _disagree(name, f"{amperes:.6g} A pass `{name}` in case `{case}`, and {said:.6g} A is said")
                )
                break
    return found


def _load(design: Design, case: Case, part: Part, nodes: list[Node], amperes: float, slack: float) -> list[Finding]:
    """A load's current against its statement, at the voltage that it gets."""
    share = case.shares.get(part.id, 0.0)
    pos = next((n.id for n in nodes if n.pole in ("pos", "l", "l1", "l2")), None)
    neg = next((n.id for n in nodes if n.pole in ("neg", "n")), None)
    if pos is None or neg is None or case.id not in design.node_v.get(pos, {}) or any(n.pole == "l2" for n in nodes):
        return []
    volts = design.node_v[pos][case.id] - design.node_v[neg][case.id]
    pole = design.system.nodes[pos].pole
    count = part.get("count", 1) * share
    if part.get("current_a") is not None:
        expected = part.get("current_a") * count
    elif part.get("power_w") is not None and volts > 0.0:
        # An AC load is taken to draw its current at nominal voltage, for its power factor is of that.
        at_v = volts if pole == "pos" else design.system.nodes[pos].nominal_v
        expected = part.get("power_w") * count / (at_v * part.get("power_factor", 1.0))
    elif part.get("resistance_ohm"):
        expected = abs(volts) / part.get("resistance_ohm") * count
    else:
        return []
    if pole != "pos":
        # The second line of a split phase swings against the first: its volts and amperes are counted negative.
        amperes = abs(amperes)
    if abs(amperes - expected) <= max(slack, 1e-6 * expected):
        return []
    return [_disagree(part.id, f"`{part.id}` takes {expected:.6g} A in case `{case.id}`, and {amperes:.6g} A reach it")]
