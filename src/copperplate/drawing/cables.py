"""The AC wiring as cables between parts: which conductors lie side by side, and what sits in them.

A *cable* is one AC run, drawn as a stroke a pole. Every cable leads from the part nearer to its supply; earthing
conductors lead from the part to the earth.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from copperplate.model import Run, System

POLES = ("l", "l1", "l2", "n", "pe")


@dataclass(frozen=True)
class Core:
    """One pole of a cable: its conductors and the devices that it passes through, in order from the supply."""

    pole: str
    steps: tuple[tuple[str, str], ...]
    """("conductor" or "device", id)."""


@dataclass
class Cable:
    """One AC run from part `start` to part `end`. `devices`: those in its line, in order; `way`: the device of
    the way that it leaves a panel by."""

    run: Run
    start: str
    end: str
    cores: tuple[Core, ...]
    devices: tuple[str, ...]
    way: str = ""


@dataclass
class SupplyForest:
    """What the AC wiring holds: the parts in it, the cables that leave each, the sources on top, and the cables
    that reach a part which is fed already."""

    parts: list[str] = field(default_factory=list)
    leaving: dict[str, list[Cable]] = field(default_factory=dict)
    roots: list[str] = field(default_factory=list)
    again: list[Cable] = field(default_factory=list)


def supply(system: System) -> SupplyForest:
    """The AC wiring as a forest: sources on top, every part below the first cable that feeds it."""
    ways = {d.run: d.id for d in system.devices.values() if d.panel and system.runs[d.run].current == "ac"}
    cables = [_cable(system, run, ways.get(run.id, "")) for run in system.runs.values() if run.current == "ac"]
    forest = SupplyForest()
    out: dict[str, list[Cable]] = {}
    fed: set[str] = set()
    for cable in cables:
        for part in (cable.start, cable.end):
            if part not in forest.parts and not system.parts[part].roles.grounds:
                forest.parts.append(part)
        out.setdefault(cable.start, []).append(cable)
        fed.add(cable.end)
    starts = [part for part in forest.parts if part not in fed and out.get(part)]
    placed: set[str] = set()
    for part in [*starts, *forest.parts]:
        if part not in placed:
            forest.roots.append(part)
            _grow(system, part, out, placed, forest)
    return forest


def _grow(system: System, root: str, out: dict[str, list[Cable]], placed: set[str], forest: SupplyForest) -> None:
    placed.add(root)
    waiting = [root]
    while waiting:
        part = waiting.pop(0)
        for cable in out.get(part, ()):
            is_earth = system.parts[cable.end].roles.grounds
            if cable.end in placed and not is_earth:
                forest.again.append(cable)
            else:
                if not is_earth:
                    placed.add(cable.end)
                    waiting.append(cable.end)
                forest.leaving.setdefault(part, []).append(cable)


def _cable(system: System, run: Run, way: str) -> Cable:
    start, end = system.end_parts(run)
    if system.parts[start].roles.grounds:
        start, end = end, start
    in_line = [system.devices[name] for name in run.device_ids if name != way]
    cores = []
    for pole in POLES:
        steps: dict[str, tuple[str, str, str]] = {}
        reached: set[str] = set()
        for name in run.conductor_ids:
            conductor = system.conductors[name]
            if conductor.pole == pole:
                steps[conductor.from_node] = ("conductor", name, conductor.to_node)
                reached.add(conductor.to_node)
        if not steps:
            continue
        for device in in_line:
            for a, b in device.legs:
                if system.nodes[a].pole == pole:
                    steps[a] = ("device", device.id, b)
                    reached.add(b)
        node: str | None = next((node for node in steps if node not in reached), next(iter(steps)))
        order: list[tuple[str, str]] = []
        while node in steps:
            kind, name, onward = steps.pop(node)
            order.append((kind, name))
            node = onward
        order += [(kind, name) for kind, name, _ in steps.values()]
        cores.append(Core(pole, tuple(order)))
    return Cable(run, start, end, tuple(cores), tuple(device.id for device in in_line), way)
