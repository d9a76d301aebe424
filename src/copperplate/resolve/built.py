"""The physical side of a system while it is built: nodes, conductors, devices and runs."""

from __future__ import annotations

from dataclasses import dataclass, field

from copperplate.model import Conductor, Device, Node, Pole, Run
from copperplate.resolve.circuits import Circuits
from copperplate.resolve.reading import Reading
from copperplate.resolve.wires import Wiring


@dataclass
class Built:
    """What has been built of a plate so far, in its order."""

    circuits: Circuits
    nodes: dict[str, Node] = field(default_factory=dict)
    conductors: dict[str, Conductor] = field(default_factory=dict)
    devices: dict[str, Device] = field(default_factory=dict)
    runs: dict[str, Run] = field(default_factory=dict)

    @property
    def wiring(self) -> Wiring:
        """The wires that it is built of."""
        return self.circuits.wiring

    @property
    def reading(self) -> Reading:
        """The plate while it is read."""
        return self.wiring.reading

    def add_node(self, node: str, pole: Pole, circuit: str = "", control: bool = False) -> None:
        """A terminal by its address, or a point inside a run that belongs to the circuit of the node `circuit`. A
        `control` port is a point too."""
        if node in self.nodes:
            return
        part, _, port = ("", "", "") if circuit or control else node.partition(".")
        root = self.circuits.root(circuit or node)
        nominal_v = self.circuits.nominal.get(root, self.wiring.settings.nominal_v)
        self.nodes[node] = Node(node, part, port, pole, self.circuits.zone.get(root, ""), nominal_v)
