"""What besides its current binds a device: the parts that it alone protects, their motors, and its panel."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from copperplate.flow import Overload, Pole
from copperplate.model import Battery, Inverter, Load, Panel, Part, Shore, System
from copperplate.model.graph import graph
from copperplate.model.paths import paths
from copperplate.model.results import Demand
from copperplate.standards import fuses
from copperplate.standards.profile import Profile


class Start(NamedTuple):
    """A start behind a device: what flows through it, amperes, and for how long, seconds."""

    amperes: float
    seconds: float


@dataclass(frozen=True, slots=True)
class Bounds:
    """What besides the current binds a device: parts that it alone protects, its panel, and what flows through it while
    something behind it starts and all else runs. `outlet_a` is the largest device before socket outlets that state
    none; `curve` that of a breaker."""

    parts: tuple[Part, ...]
    panel: Panel | None
    starts: tuple[Start, ...] = ()
    outlet_a: float = math.inf
    curve: str = ""


def protected_parts(system: System, overload: Overload) -> dict[str, tuple[Part, ...]]:
    """Parts by the device that stands between them and the rest: loads, converters, inverters, other sources."""
    ways = {b for device in system.devices.values() if device.panel for _, b in device.legs}
    found: dict[str, dict[str, Part]] = {}
    for conductor in system.conductors.values():
        guards = overload.guards(conductor.id)
        for end in (conductor.from_node, conductor.to_node) if guards else ():
            part = system.parts.get(system.nodes[end].part)
            if part is None or end in ways or part.roles.is_splice:
                continue
            if system.runs[conductor.run].current == "ac" and any(current == "dc" for _, current in part.groups):
                continue  # Its maker speaks of its direct current, unless the plate names a port.
            for device in guards:
                found.setdefault(device, {})[part.id] = part
    for device, inlet in _inlets(system, overload):
        found.setdefault(device, {})[inlet.id] = inlet
    return {device: tuple(parts.values()) for device, parts in found.items()}


def _inlets(system: System, overload: Overload) -> Iterator[tuple[str, Part]]:
    """The first device behind each supply from outside, with the supply; not one that another supply lies behind."""
    pole = overload.pole
    mains = {pole.region[s.node]: system.parts[s.part] for s in pole.sources if system.parts[s.part].roles.mains}
    for line in pole.lines:
        near = [mains[r] for r in (pole.region[line.a], pole.region[line.b]) if r in mains] if line.protects else []
        if len(near) == 1 and isinstance(near[0], Shore):
            yield line.id, near[0]


def mains_of(system: System, pole: Pole) -> frozenset[str]:
    """Devices that are the first which the current of a battery meets."""
    fed = {pole.region[s.node] for s in pole.sources if isinstance(system.parts[s.part], Battery)}
    devices = (line for line in pole.lines if line.protects)
    return frozenset(line.id for line in devices if fed & {pole.region[line.a], pole.region[line.b]})


def starts_through(system: System, profile: Profile, demand: Demand) -> dict[str, tuple[Start, ...]]:
    """By device on the way of a motor that states its starting current, or of an inverter that states its surge: the
    most that flows through it while one of them starts and everything else draws as in the design current."""
    motor_s, surge_s = (profile.figures[name].value for name in ("start-time", "surge-time"))
    starting: dict[str, Start] = {}
    for part in system.of(Load, Inverter):
        running = demand.load_a.get(part.id, 0.0)
        if isinstance(part, Load) and part.inrush_a:
            starting[part.id] = Start(part.inrush_a, motor_s)
        elif isinstance(part, Inverter) and part.surge_w and part.power_w and part.surge_w > part.power_w:
            starting[part.id] = Start(running * part.surge_w / part.power_w, surge_s)
    if not starting:
        return {}
    ways = paths(system, graph(system)).to
    found: dict[str, dict[float, float]] = {}
    for name, start in starting.items():
        for step in ways.get(name, ()):
            if step.edge.kind == "device":
                carried = demand.device_a.get(step.edge.id, 0.0)
                most = max(0.0, carried - demand.load_a.get(name, 0.0)) + start.amperes
                of = found.setdefault(step.edge.id, {})
                of[start.seconds] = max(of.get(start.seconds, 0.0), most)
    return {device: tuple(Start(a, s) for s, a in of.items()) for device, of in found.items()}


def starts(family: fuses.Family, rating_a: float, bounds: Bounds) -> bool | None:
    """Whether the device surely stays closed at every start behind it; None where no curve tells of one."""
    told = [fuses.stays_closed(family, rating_a, start.amperes, start.seconds, bounds.curve) for start in bounds.starts]
    return False if False in told else None if None in told else True


@dataclass(frozen=True, slots=True)
class Limit:
    """The largest rating allowed, the part that sets it (None where none does), and its key."""

    rating_a: float
    part: Part | None = None
    key: str = ""


def limit_of(bounds: Bounds) -> Limit:
    """The least of what the makers of the parts and the way of the panel allow, an inlet and socket outlets too."""
    limits = [Limit(math.inf)]
    limits += [Limit(part.max_fuse_a, part, "max_fuse_a") for part in bounds.parts if part.max_fuse_a]
    inlets = (part for part in bounds.parts if isinstance(part, Shore))
    limits += [Limit(part.current_a, part, "current_a") for part in inlets if part.current_a]
    outlets = (part for part in bounds.parts if isinstance(part, Load) and part.ac and part.outlets)
    limits += [Limit(bounds.outlet_a, part, "outlets") for part in outlets if not part.max_fuse_a]
    if bounds.panel is not None and bounds.panel.way_max_a:
        limits.append(Limit(bounds.panel.way_max_a, bounds.panel, "way_max_a"))
    return min(limits, key=lambda limit: limit.rating_a)
