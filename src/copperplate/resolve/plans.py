"""What the physical side of a system is built from, and what has been built."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from copperplate.model import Conductor, Device, Node, Pole, Run
from copperplate.resolve.circuits import Circuits
from copperplate.resolve.reading import Reading
from copperplate.resolve.wires import Wiring


@dataclass(frozen=True)
class Plan:
    """Everything that is known before the first conductor is laid."""

    wiring: Wiring
    circuits: Circuits
    poles: Mapping[str, Pole]

    @property
    def reading(self) -> Reading:
        """The plate while it is read."""
        return self.wiring.reading


@dataclass
class Built:
    """Nodes, conductors, devices and runs so far, in the order of the plate."""

    nodes: dict[str, Node] = field(default_factory=dict)
    conductors: dict[str, Conductor] = field(default_factory=dict)
    devices: dict[str, Device] = field(default_factory=dict)
    runs: dict[str, Run] = field(default_factory=dict)


def add_node(built: Built, plan: Plan, node: str, pole: Pole, circuit: str = "") -> None:
    """A terminal by its address, or a point inside a run that belongs to the circuit of the node `circuit`."""
    if node in built.nodes:
        return
    part, _, port = ("", "", "") if circuit else node.partition(".")
    root = plan.circuits.joined.root(circuit or node)
    zone = plan.circuits.zone.get(root, "")
    nominal_v = plan.circuits.nominal.get(root, plan.wiring.settings.nominal_v)
    built.nodes[node] = Node(node, part, port, pole, zone, nominal_v)
