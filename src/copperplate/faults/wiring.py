"""The circuit of a direct-current fault as numbers: each pole with the ohms of its branches, and what feeds a fault."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property

from copperplate.model import Battery, Earth, Inverter, System
from copperplate.model.graph import Graph, earth_ohm
from copperplate.model.groups import Groups
from copperplate.model.results import RunResult
from copperplate.standards import Profile, conductors
from copperplate.standards.supplies import lasting_a


@dataclass(frozen=True, slots=True)
class Branch:
    """A conductor, one leg of a device, or a join inside a part ("" its id). `opens`: by itself on too much current."""

    id: str
    a: int
    b: int
    ohm: float
    conductor: bool = False
    opens: bool = False

    def other(self, node: int) -> int:
        """The far end seen from a node."""
        return self.b if node == self.a else self.a


@dataclass(frozen=True, eq=False)
class Wiring:
    """Nodes of a circuit, by number, and the branches between them; every switch is closed."""

    names: tuple[str, ...]
    branches: tuple[Branch, ...]

    @cached_property
    def number(self) -> dict[str, int]:
        """The number of each node by its address."""
        return {name: index for index, name in enumerate(self.names)}

    @cached_property
    def at(self) -> tuple[tuple[Branch, ...], ...]:
        """The branches at each node."""
        here: list[list[Branch]] = [[] for _ in self.names]
        for branch in self.branches:
            here[branch.a].append(branch)
            if branch.b != branch.a:
                here[branch.b].append(branch)
        return tuple(map(tuple, here))


def conductor_ohm(system: System, runs: Mapping[str, RunResult], conductor: str, temperature_c: float | None) -> float:
    """Resistance of a conductor as sized, all its parallels together; at its insulation's temperature where
    `temperature_c` is None. 0.0 where it has no size."""
    wire = system.conductors[conductor]
    run = runs.get(wire.run)
    if run is None or run.size is None:
        return 0.0
    degrees = run.insulation_c if temperature_c is None else temperature_c
    return conductors.ohm_per_m(run.size, degrees, system.settings.tinned) * wire.length_m / run.parallel


def live(system: System, node: str) -> bool:
    """Whether a node is on the ungrounded side of the direct current."""
    return system.nodes[node].pole in ("pos", "mid")


def returning(system: System, node: str) -> bool:
    """Whether a direct current returns through a node: a negative, or an earth where it conducts."""
    part = system.parts.get(system.nodes[node].part)
    return part.conducts if isinstance(part, Earth) else system.nodes[node].pole == "neg"


def wiring(
    system: System,
    net: Graph,
    runs: Mapping[str, RunResult],
    within: Callable[[System, str], bool],
    cold_c: float | None,
) -> Wiring:
    """What joins the nodes that are `within` a circuit, copper at `cold_c` or, where that is None, as hot as its
    insulation allows; a join inside a part, last of the edges, only where nothing else joins its ends. Each
    landing on a conducting earth adds half of what that has between any two points."""
    names = tuple(node for node in system.nodes if within(system, node))
    number = {name: index for index, name in enumerate(names)}
    found: list[Branch] = []
    apart = Groups[str]()
    for edge in net.edges:
        if edge.a not in number or edge.b not in number:
            continue
        a, b = number[edge.a], number[edge.b]
        if edge.kind == "part" and apart.root(edge.a) == apart.root(edge.b):
            continue
        apart.join(edge.a, edge.b)
        if edge.kind == "device":
            device = system.devices[edge.id]
            found.append(Branch(edge.id, a, b, device.resistance_ohm, opens=device.roles.protects))
        elif edge.kind == "part":
            found.append(Branch("", a, b, 0.0))
        elif system.runs[system.conductors[edge.id].run].role == "run":
            ohm = conductor_ohm(system, runs, edge.id, cold_c) + earth_ohm(system, edge.a) + earth_ohm(system, edge.b)
            found.append(Branch(edge.id, a, b, ohm, conductor=True))
    return Wiring(names, tuple(found))


def pushing(system: System, net: Graph, profile: Profile) -> dict[str, tuple[str, float]]:
    """(node, amperes) by part of what adds a current of its own to a direct-current fault, in the order of the nodes:
    what it gives for ever, a charging inverter at the terminals that it draws at."""
    ends = [(part, found) for part, found in net.outputs.items() if found.current == "dc"]
    ends += [(part, found) for part, found in net.consumers.items() if isinstance(system.parts[part], Inverter)]
    at = {found.pos: (part, found.nominal_v) for part, found in ends if not isinstance(system.parts[part], Battery)}
    given = {node: lasting_a(system.parts[part], profile, volts, True) for node, (part, volts) in at.items()}
    return {at[node][0]: (node, given[node]) for node in system.nodes if given.get(node, 0.0) > 0.0}
