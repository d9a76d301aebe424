"""Second travellers: between two switches that work a circuit from both its ends lie two conductors, of which one
carries the current at a time."""

from __future__ import annotations

from collections.abc import Mapping

from copperplate.model.system import Run, System


def travellers(system: System) -> Mapping[str, str]:
    """By conductor that has a second traveller beside it: the marker of that."""
    found: dict[str, str] = {}
    for run in system.runs.values():
        ends = [d for d in (system.devices[name] for name in run.device_ids) if d.two_way]
        for before, after in zip(ends[::2], ends[1::2], strict=False):
            for conductor in _between(system, run, before.legs[0][1], after.legs[0][0]):
                found[conductor] = f"{system.conductors[conductor].marker} second"
    return found


def _between(system: System, run: Run, start: str, end: str) -> list[str]:
    """The conductors of a run from one node to another."""
    onward = {system.conductors[c].from_node: c for c in run.conductor_ids}
    names: list[str] = []
    while start != end and start in onward:
        names.append(onward[start])
        start = system.conductors[onward[start]].to_node
    return names if start == end else []
