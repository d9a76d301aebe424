"""A bay of the power sheets: a chain of edges between two bars, and what hangs from it."""

from __future__ import annotations

from dataclasses import dataclass, field

from copperplate.drawing.banks import LinkedBank
from copperplate.drawing.wiring import WiringEdge


@dataclass
class Bay:
    """One chain. `path` are its edges from the top down, `nodes` the nodes between them (one more than edges).

    `top`, `bottom`: the rails it ends on, "" for a loose end. `link`: both ends are on rails of one row, "top" or
    "bottom". `hangs_from`: the part whose side it hangs from; `loop` where it comes back to that side."""

    path: list[WiringEdge]
    nodes: list[str]
    top: str = ""
    bottom: str = ""
    link: str = ""
    hangs_from: str = ""
    side: str = ""
    loop: bool = False
    hung: list[Bay] = field(default_factory=list)
    tail: list[WiringEdge] = field(default_factory=list)
    """Of what hangs: the chain from the lower terminal of the side it hangs from down to `tail_rail`."""
    tail_rail: str = ""

    @property
    def parts(self) -> list[WiringEdge]:
        return [edge for edge in self.path if edge.kind == "part"]

    def reversed(self) -> Bay:
        return Bay(self.path[::-1], self.nodes[::-1], self.bottom, self.top, self.link, hung=self.hung)


@dataclass
class Power:
    """The bays in drawing order, the rails by node (in order of first use), and the banks by their edge id."""

    bays: list[Bay]
    rails: list[str]
    banks: dict[str, LinkedBank]
