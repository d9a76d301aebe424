"""What besides its current binds a device: the parts that it alone protects, their motors, and its panel."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from copperplate.model import Part, System
from copperplate.model.graph import graph
from copperplate.model.paths import paths
from copperplate.model.results import Demand, Guard
from copperplate.standards import fuses

START_S = 0.1
"""A small motor has run up after a tenth of a second (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Bounds:
    """What besides the current binds a device: parts that it alone protects, its panel, and the most that flows
    through it while a motor behind it starts and all else runs (0.0 without one)."""

    parts: tuple[Part, ...]
    panel: Part | None
    start_a: float = 0.0


def protected_parts(system: System, guards: Mapping[str, Guard]) -> dict[str, tuple[Part, ...]]:
    """Parts by the device that stands between them and the rest: loads, converters, inverters, other sources."""
    ways = {b for device in system.devices.values() if device.panel for _, b in device.legs}
    found: dict[str, dict[str, Part]] = {}
    for conductor_id, guard in guards.items():
        conductor = system.conductors[conductor_id]
        for end in (conductor.from_node, conductor.to_node):
            part = system.parts.get(system.nodes[end].part)
            if part is None or end in ways or part.kind == "junction":
                continue
            for device in guard.devices or guard.own_end:
                found.setdefault(device, {})[part.id] = part
    return {device: tuple(parts.values()) for device, parts in found.items()}


def starting_a(bounds: Bounds) -> float:
    """The largest current through the device at the start of one motor behind it; 0 where none states it."""
    own = max((part.get("inrush_a", 0.0) for part in bounds.parts if part.kind == "load"), default=0.0)
    return max(own, bounds.start_a)


def starts_through(system: System, demand: Demand) -> dict[str, float]:
    """By device on the way of a motor that states its starting current: what flows through it while the largest of
    them starts and everything else draws as in the design current."""
    motors = [part for part in system.of_kind("load") if part.get("inrush_a")]
    if not motors:
        return {}
    ways = paths(system, graph(system)).to
    found: dict[str, float] = {}
    for part in motors:
        for step in ways.get(part.id, ()):
            if step.edge.kind == "device":
                carried = demand.device_a.get(step.edge.id, 0.0)
                others = max(0.0, carried - demand.load_a.get(part.id, 0.0))
                found[step.edge.id] = max(found.get(step.edge.id, 0.0), others + part.get("inrush_a"))
    return found


def starts(family: fuses.Family, rating_a: float, start_a: float) -> bool:
    """Whether the family's fast gate lets `start_a` pass for the time of a start; True without a curve."""
    gate = fuses.fast_gate(family, rating_a, start_a)
    return gate is None or start_a <= rating_a or gate >= START_S


def limit_of(bounds: Bounds) -> tuple[float, Part | None, str]:
    """(the largest rating allowed, the part that sets it, the attribute)."""
    limits: list[tuple[float, Part | None, str]] = [(float("inf"), None, "")]
    limits += [(part.get("max_fuse_a"), part, "max_fuse_a") for part in bounds.parts if part.get("max_fuse_a")]
    if bounds.panel is not None and bounds.panel.get("way_max_a"):
        limits.append((bounds.panel.get("way_max_a"), bounds.panel, "way_max_a"))
    return min(limits, key=lambda limit: limit[0])
