"""Kirchhoff's and Ohm's laws held against the solved network: its residues prove a solution, no second solving."""

from __future__ import annotations

from collections.abc import Iterator

from copperplate.audit.consumers import drawn_a
from copperplate.audit.incidence import across_v, nodes_by_part
from copperplate.audit.wires import brief_a, ohms
from copperplate.findings import Finding, make
from copperplate.model import Case, Load, Node
from copperplate.model.groups import Groups
from copperplate.model.results import Design

VOLTS = 1e-6
AMPERES = 1e-6
"""Residues up to these shares of a volt, an ampere or of the figure itself are the rounding of a solution."""
OHMS = 1e-6
DEGREES = 0.5


def check_laws(design: Design) -> Iterator[Finding]:
    """In every case: the volts along each conductor are its current times the resistance of its size at its
    temperature, that temperature is what its hottest case makes it, what enters a bar or splice leaves it, and each
    load takes what its statement says at the voltage that it gets."""
    yield from _temperatures(design)
    for case in (*design.system.cases, *design.states):
        yield from _ohms_law(design, case)
    terminals = nodes_by_part(design.system)
    for case in (*design.system.cases, *design.states):
        yield from _balances(design, case, terminals)
    yield from _devices(design)


def _temperatures(design: Design) -> Iterator[Finding]:
    """Ta + (Tmax - Ta)(I/Iz)², with the current of the hottest case."""
    for name, result in design.conductors.items():
        run = design.system.conductors[name].run
        if design.runs.get(run) is None:
            continue
        hottest = max((abs(result.current_a.get(case.id, 0.0)) for case in design.system.cases), default=0.0)
        warm_c = _warm_c(design, run, hottest)
        if result.temperature_c < warm_c - DEGREES:
            yield make("CP590", name, warm=warm_c, taken=result.temperature_c)


def _warm_c(design: Design, run: str, amperes: float) -> float:
    """Temperature of a run's conductors at a current; the rise is not followed above twice the ampacity."""
    result = design.runs[run]
    if result.ampacity is None or not result.ampacity.value:
        return result.ambient_c
    heating = min((amperes / max(result.ampacity.value, brief_a(design, run))) ** 2, 4.0)
    return result.ambient_c + (result.insulation_c - result.ambient_c) * heating


def _ohms_law(design: Design, case: Case) -> Iterator[Finding]:
    """The ohms stated for a case, and the volts along a conductor by those that its current makes of its copper."""
    for name, result in design.conductors.items():
        conductor = design.system.conductors[name]
        amperes = result.current_a.get(case.id, 0.0)
        ohm = ohms(design, conductor, _warm_c(design, conductor.run, amperes))
        stands_v = across_v(design, case, conductor.from_node, conductor.to_node)
        if ohm is None or stands_v is None or conductor.length_m <= 0.0:
            continue
        stated_ohm = result.resistance_ohm.get(case.id)
        if stated_ohm is not None and abs(stated_ohm - ohm) > OHMS * ohm:
            yield make("CP590", name, case=case.id, ohm=ohm * 1000, stated_ohm=stated_ohm * 1000)
        if _zones_differ(design, conductor.from_node, conductor.to_node):
            continue
        if abs(stands_v - ohm * amperes) > VOLTS * max(1.0, abs(design.node_v[conductor.from_node][case.id])):
            yield make("CP590", name, case=case.id, lost=ohm * amperes, across=stands_v)


def _zones_differ(design: Design, a: str, b: str) -> bool:
    """Volts of two systems are counted from two references."""
    return design.system.nodes[a].zone != design.system.nodes[b].zone


def _balances(design: Design, case: Case, terminals: dict[str, list[Node]]) -> Iterator[Finding]:
    """Currents into each group of nodes that closed devices join without resistance."""
    system = design.system
    joined = Groups[str]()
    for device in system.devices.values():
        if device.id in case.open_devices or device.resistance_ohm > 0.0:
            continue
        for a, b in device.legs:
            joined.join(a, b)
    for conductor in system.conductors.values():
        if conductor.length_m <= 0.0:
            joined.join(conductor.from_node, conductor.to_node)
    for pair in system.ties:
        ends = [system.parts.get(system.nodes[node].part) for node in pair]
        if any(part is not None and part.roles.splits for part in ends):
            joined.join(*pair)
    resisting = [d for d in system.devices.values() if d.resistance_ohm > 0.0]
    unknown = {joined.root(node) for d in resisting for leg in d.legs for node in leg}
    entering: dict[str, float] = {}
    scale: dict[str, float] = {}
    for conductor in system.conductors.values():
        result = design.conductors.get(conductor.id)
        for node, sign in ((conductor.from_node, -1.0), (conductor.to_node, 1.0)):
            group = joined.root(node)
            if result is None:
                unknown.add(group)
                continue
            amperes = result.current_a.get(case.id, 0.0)
            entering[group] = entering.get(group, 0.0) + sign * amperes
            scale[group] = max(scale.get(group, 0.0), abs(amperes))
    members: dict[str, list[str]] = {}
    for node in system.nodes:
        members.setdefault(joined.root(node), []).append(node)
    for group, amperes in entering.items():
        if group in unknown:
            continue
        names = dict.fromkeys(system.nodes[node].part for node in members[group])
        ends = [part for name in names if (part := system.parts.get(name)) is not None and not part.roles.splits]
        slack = AMPERES * max(1.0, scale[group])
        if not ends:
            if abs(amperes) > slack:
                yield make("CP590", members[group][0], case=case.id, entering=amperes)
        elif len(ends) == 1 and isinstance(ends[0], Load) and system.nodes[group].pole in ("pos", "l"):
            yield from _load(design, case, ends[0], terminals[ends[0].id], amperes, slack)


def _devices(design: Design) -> Iterator[Finding]:
    """The current of a device is that of the one conductor behind it, where one and nothing else is there."""
    system = design.system
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
            stated = result.current_a.get(case, 0.0)
            off = abs(amperes) - abs(stated)
            # Of several poles the device carries what the heaviest of them does.
            off = abs(off) if len(system.devices[name].legs) == 1 else off
            if off > AMPERES * max(1.0, abs(amperes)):
                yield make("CP590", name, case=case, passing=amperes, stated=stated)
                break


def _load(design: Design, case: Case, load: Load, nodes: list[Node], amperes: float, slack: float) -> Iterator[Finding]:
    """A load's current against its statement, at the voltage that it gets."""
    pos = next((n for n in nodes if n.pole in ("pos", "l", "l1", "l2")), None)
    neg = next((n for n in nodes if n.pole in ("neg", "n")), None)
    volts = across_v(design, case, pos.id, neg.id) if pos is not None and neg is not None else None
    if pos is None or volts is None or any(n.pole == "l2" for n in nodes):
        return
    if load.current_a is None and load.power_w is not None and volts <= 0.0:
        return
    ac = pos.pole != "pos"
    takes = drawn_a(load, volts, pos.nominal_v if ac else None) * case.shares.get(load.id, 0.0)
    # The second line of a split phase swings against the first: its volts and amperes are counted negative.
    reaching = abs(amperes) if ac else amperes
    if abs(reaching - takes) > max(slack, AMPERES * takes):
        yield make("CP590", load.id, case=case.id, takes=takes, reaching=reaching)
