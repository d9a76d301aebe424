"""Terminal fit at both ends of every conductor, and what goes on them."""

from __future__ import annotations

from collections.abc import Mapping

from copperplate.model import Junction, Size, System, Terminal, links
from copperplate.model.results import Fit, RunResult
from copperplate.sizing.ends import describe, takes, terminal_at
from copperplate.standards import terminals


def fits(system: System, runs: Mapping[str, RunResult]) -> tuple[Fit, ...]:
    """Every end of every sized conductor on its terminal, in declaration order; the links of banks last. The findings
    of what does not fit are made when the size is chosen or checked."""
    ends: list[Fit] = []
    for conductor in system.conductors.values():
        result = runs.get(conductor.run)
        if result is None or result.size is None:
            continue
        for node in (conductor.from_node, conductor.to_node):
            part = system.parts.get(system.nodes[node].part)
            silent = "not stated"
            if part is None:
                silent = "device, not stated"
            elif part.roles.protects and node.removeprefix(part.id).lstrip(".").isdigit():
                silent = "way of a panel, not stated"
            splice = isinstance(part, Junction)
            ends.append(_fit(conductor.id, node, result.size, terminal_at(system, node), silent, splice))
    for link in links(system):
        result = runs.get(link.run)
        if result is None or result.size is None:
            continue
        for end, port in zip((link.from_end, link.to_end), link.ports, strict=True):
            terminal = system.parts[link.bank].terminal(port)
            ends.append(_fit(link.id, end, result.size, terminal, "not stated", False))
    return tuple(ends)


def _fit(conductor: str, node: str, size: Size, terminal: Terminal | None, silent: str, splice: bool) -> Fit:
    """One end. `silent`: what stands there where the plate does not say; `splice`: it is one, unless stated."""
    stud = terminal.stud if terminal is not None and terminal.form == "stud" else ""
    fitting = terminals.lug(size, stud)
    if terminal is not None and terminal.form == "clamp":
        fitting = terminals.ferrule(size)
    elif terminal is not None and terminal.form == "lead":
        fitting = f"splice to {terminal.largest.label}" if terminal.largest else "splice"
    elif terminal is None and splice:
        fitting = "splice"
    words = silent if terminal is None else describe(terminal)
    return Fit(
        conductor=conductor,
        node=node,
        terminal=words,
        accepts="" if terminal is None else words.partition(" ")[2] or words,
        size=size.label,
        fitting=fitting,
        fits=None if terminal is None else takes(terminal, size),
    )
