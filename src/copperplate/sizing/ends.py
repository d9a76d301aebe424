"""Where conductors land: the terminal at each end and what it takes."""

from __future__ import annotations

from math import inf

from copperplate.model import Conductor, Size, System, Terminal
from copperplate.standards import conductors

SAME = 1.001
"""Areas closer than this ratio are one size to a clamp."""


def terminal_at(system: System, node: str) -> Terminal | None:
    """The terminal that a node is, None where the plate states none."""
    part = system.parts.get(system.nodes[node].part)
    if part is None:
        return None
    port = node.removeprefix(part.id).lstrip(".")
    stem = port.rpartition(".")[0]
    return part.terminals.get(port) or (part.terminals.get(stem) if stem else None) or part.terminal("")


def terminals(system: System, conductor: Conductor) -> tuple[tuple[str, Terminal], ...]:
    """The stated terminals at the ends of a conductor, by node."""
    ends = [(node, terminal_at(system, node)) for node in (conductor.from_node, conductor.to_node)]
    return tuple((node, terminal) for node, terminal in ends if terminal is not None)


def limits(terminal: Terminal) -> tuple[float, float]:
    """The smallest and largest area of one conductor that a terminal takes, mm²: a stud any lug, a lead any splice,
    a clamp its range."""
    if terminal.form != "clamp":
        return 0.0, inf
    low = conductors.area_mm2(terminal.smallest) / SAME if terminal.smallest else 0.0
    high = conductors.area_mm2(terminal.largest) * SAME if terminal.largest else inf
    return low, high


def takes(terminal: Terminal, size: Size) -> bool:
    """Whether a terminal takes one conductor of this size."""
    low, high = limits(terminal)
    return low <= conductors.area_mm2(size) <= high


def describe(terminal: Terminal) -> str:
    """The terminal as readers see it: "stud M8", "clamp 1.5 to 35 mm²", "lead 14 AWG"."""
    if terminal.form == "stud":
        return f"stud {terminal.stud}"
    if terminal.form == "lead":
        return f"lead {terminal.largest.label if terminal.largest else ''}".strip()
    low, high = terminal.smallest, terminal.largest
    if low is None or high is None:
        return "clamp"
    first = low.number if low.system == high.system else low.label
    return f"clamp {first} to {high.label}"
