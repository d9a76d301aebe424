"""Conductors as the re-check sees them: ohms, ampacity, loaded neighbours, from the plate and the tables alone."""

from __future__ import annotations

from dataclasses import dataclass
from math import prod

from copperplate.model import Case, Conductor, Node, Run, System
from copperplate.model.results import Design
from copperplate.standards import OutsideTable, conductors, profile

SPLITTING = ("bus", "panel", "junction")


@dataclass(frozen=True)
class Joined:
    """What lies on each node: conductors with +1 where they leave it, and device legs with their far ends."""

    system: System
    conductors: dict[str, list[tuple[str, int]]]
    legs: dict[str, list[tuple[str, str]]]
    tied: frozenset[str]

    def group(self, node: str, open_devices: frozenset[str] = frozenset()) -> list[str] | None:
        """The nodes that devices alone join to a terminal; None where another part than a bar is among them, or the
        inside of a part joins it to one."""
        found, own = {node: None}, self.system.nodes[node].part
        for here in (front := [node]):
            if here in self.tied:
                return None
            for device, other in self.legs.get(here, ()):
                if device not in open_devices and other not in found:
                    found[other] = None
                    front.append(other)
            part = self.system.parts.get(self.system.nodes[here].part)
            if part is not None and part.id != own and part.kind not in SPLITTING:
                return None
        return list(found)

    def leaving(self, design: Design, case: Case, node: str) -> float | None:
        """Amperes that leave a part by one of its terminals, by Kirchhoff's first law over the group; None where
        another part draws from the group too."""
        group = self.group(node, case.open_devices)
        if group is None:
            return None
        total = 0.0
        for here in group:
            for conductor, sign in self.conductors.get(here, ()):
                result = design.conductors.get(conductor)
                total += sign * result.current_a.get(case.id, 0.0) if result is not None else 0.0
        return total


def joined(system: System) -> Joined:
    """The index of a system, by node."""
    at: dict[str, list[tuple[str, int]]] = {}
    legs: dict[str, list[tuple[str, str]]] = {}
    for conductor in system.conductors.values():
        at.setdefault(conductor.from_node, []).append((conductor.id, 1))
        at.setdefault(conductor.to_node, []).append((conductor.id, -1))
    for device in system.devices.values():
        for a, b in device.legs:
            legs.setdefault(a, []).append((device.id, b))
            legs.setdefault(b, []).append((device.id, a))
    return Joined(system, at, legs, frozenset(node for pair in system.ties for node in pair))


def nodes_by_part(system: System) -> dict[str, list[Node]]:
    """The terminals of each part, in declaration order."""
    found: dict[str, list[Node]] = {}
    for node in system.nodes.values():
        found.setdefault(node.part, []).append(node)
    return found


def ohms(design: Design, conductor: Conductor, temperature_c: float) -> float | None:
    """Resistance of a conductor of its run's size at a temperature, its parallels together and the earth that it
    lands on included; None without a size."""
    result = design.runs.get(conductor.run)
    if result is None or result.size is None:
        return None
    tinned = design.system.settings.tinned
    copper = conductors.ohm_per_m(result.size, temperature_c, tinned) * conductor.length_m / result.parallel
    return copper + sum(_earth(design.system, node) for node in (conductor.from_node, conductor.to_node))


def _earth(system: System, node: str) -> float:
    part = system.parts.get(system.nodes[node].part)
    if part is None or part.kind != "earth" or not part.get("conducts", False):
        return 0.0
    return float(part.get("resistance_ohm", 0.0)) / 2


def ampacity(design: Design, run: Run, together: int) -> float | None:
    """Table times factors times parallels; None without a size or where the table does not reach."""
    result = design.runs.get(run.id)
    if result is None or result.size is None or not run.conductor_ids:
        return None
    rules, system = profile(design.profile), design.system
    insulation_c = run.insulation_c if run.insulation_c is not None else system.settings.insulation_c
    nominal_v = system.nodes[system.conductors[run.conductor_ids[0]].from_node].nominal_v
    try:
        table = rules.ampacity(result.size, insulation_c)
        factors = rules.factors(
            result.size, insulation_c, run.ambient_c, run.engine_space, nominal_v, together, run.laid
        )
    except OutsideTable:
        return None
    return table.value * prod(factor.value for factor in factors) * result.parallel


def neighbours(design: Design) -> dict[str, int]:
    """By run: loaded conductors in its fullest route at once, itself always counted whole. Every current-carrying
    pole counts, each conductor in parallel by itself; earths do not, nor the neutral between two lines."""
    system = design.system
    poles: dict[str, list[str]] = {}
    for run in system.runs.values():
        by_pole: dict[str, str] = {}
        for conductor in run.conductor_ids:
            by_pole.setdefault(system.conductors[conductor].pole, conductor)
        if {"l1", "l2"} <= set(by_pole):
            by_pole.pop("n", None)
        by_pole.pop("pe", None)
        poles[run.id] = [] if run.earth else list(by_pole.values())
    own = {run.id: len(poles[run.id]) * run.parallel for run in system.runs.values()}
    result = dict(own)
    cases = [case.id for case in system.cases]
    for route in system.routes.values():
        members = [name for name in dict.fromkeys(route.runs) if name in own]
        for case in cases:
            live = {
                name: system.runs[name].parallel * sum(_carries(design, c, case) for c in poles[name])
                for name in members
            }
            total = sum(live.values())
            for name in members:
                result[name] = max(result[name], total - live[name] + own[name])
    return result


def _carries(design: Design, conductor: str, case: str) -> bool:
    found = design.conductors.get(conductor)
    return found is not None and abs(found.current_a.get(case, 0.0)) > 1e-9
