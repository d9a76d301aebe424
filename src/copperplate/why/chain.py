"""The pieces and devices of a run in the order that current meets them."""

from __future__ import annotations

from dataclasses import dataclass

from copperplate.model import Conductor, Device, Run, System

POLES = ("pos", "l", "l1", "mid", "n", "neg", "pe", "l2")
"""The pole that a run is read along: the first of these that it has."""


@dataclass(frozen=True)
class Link:
    """One piece of conductor or one device on the way from a run's near end to its far end."""

    from_node: str
    to_node: str
    conductor: Conductor | None = None
    device: Device | None = None


def chains(system: System) -> dict[str, list[Link]]:
    """By run: the links of its leading pole, near end first; a way's own device is the first link."""
    devices: dict[str, list[Device]] = {}
    for device in system.devices.values():
        devices.setdefault(device.run, []).append(device)
    return {run.id: _chain(system, run, devices.get(run.id, [])) for run in system.runs.values()}


def _chain(system: System, run: Run, devices: list[Device]) -> list[Link]:
    conductors = [system.conductors[conductor] for conductor in run.conductor_ids]
    poles = {c.pole for c in conductors} | {d.pole for d in devices}
    pole = next((p for p in POLES if p in poles), None)
    links = [Link(c.from_node, c.to_node, conductor=c) for c in conductors if c.pole == pole]
    links += [Link(*d.legs[0], device=d) for d in devices if d.pole == pole and d.legs]
    return _ordered(links)


def _ordered(links: list[Link]) -> list[Link]:
    by_start = {link.from_node: link for link in links}
    ends = {link.to_node for link in links}
    start = next((link for link in links if link.from_node not in ends), None)
    ordered: list[Link] = []
    while start is not None and len(ordered) < len(links):
        ordered.append(start)
        start = by_start.get(start.to_node)
    return ordered
