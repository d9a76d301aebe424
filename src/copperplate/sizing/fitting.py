"""Terminal fit at both ends of every conductor, and what goes on them."""

from __future__ import annotations

from collections.abc import Mapping

from copperplate.findings import Finding
from copperplate.model import System
from copperplate.model.results import Fit, RunResult
from copperplate.sizing.ends import describe, takes, terminal_at
from copperplate.standards import Profile, terminals


def fits(
    system: System, profile: Profile, runs: Mapping[str, RunResult]
) -> tuple[tuple[Fit, ...], tuple[Finding, ...]]:
    """Every end of every sized conductor on its terminal, in declaration order. What does not fit was told when
    the size was chosen or checked."""
    found: list[Fit] = []
    for conductor in system.conductors.values():
        result = runs.get(conductor.run)
        if result is None or result.size is None:
            continue
        for node in (conductor.from_node, conductor.to_node):
            terminal = terminal_at(system, node)
            part = system.parts.get(system.nodes[node].part)
            stud = terminal.stud if terminal is not None and terminal.form == "stud" else ""
            fitting = terminals.lug(result.size, stud)
            if terminal is not None and terminal.form == "clamp":
                fitting = terminals.ferrule(result.size)
            elif terminal is not None and terminal.form == "lead":
                fitting = f"splice to {terminal.largest.label}" if terminal.largest else "splice"
            elif terminal is None and part is not None and part.kind == "junction":
                fitting = "splice"
            if terminal is not None:
                words = describe(terminal)
            elif part is None:
                words = "device, not stated"
            elif part.kind == "panel" and node.removeprefix(part.id).lstrip(".").isdigit():
                words = "way of a panel, not stated"
            else:
                words = "not stated"
            found.append(
                Fit(
                    conductor=conductor.id,
                    node=node,
                    terminal=words,
                    accepts="" if terminal is None else words.partition(" ")[2] or words,
                    size=result.size.label,
                    fitting=fitting,
                    fits=None if terminal is None else takes(terminal, result.size),
                )
            )
    return tuple(found), ()
