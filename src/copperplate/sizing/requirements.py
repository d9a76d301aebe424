"""What each run must carry: its current, and what the devices that protect it let pass."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass

from copperplate.model import Battery, Run, Solar, System, Traced
from copperplate.model.graph import Graph, graph
from copperplate.model.paths import Paths, Reach, Step, reach
from copperplate.model.results import Demand, Guard, Rating
from copperplate.standards import Profile
from copperplate.units import NOISE, exceeds


@dataclass(frozen=True)
class RunRequirement:
    """What one run must carry, in amperes.

    `carries_a` is the current that its ampacity must reach, `design` the design current behind it. `protect_a` is the
    rating that its ampacity must reach (0.0 where nothing asks for one), by the devices in `protected_by`, of which
    those in `bound_by`, which feed it from one end, let so much pass together; `factored_a` what those devices must
    carry of it. `ampere_metres` are its currents for voltage drop times its lengths, over the conductors in parallel
    (A m)."""

    design: Traced
    carries_a: float
    factored_a: float
    protect_a: float
    protected_by: tuple[str, ...]
    ampere_metres: float = 0.0
    bound_by: tuple[str, ...] = ()
    returning: bool = False
    """True for a return conductor alone, whose device stands in another run."""


def requirements(
    system: System,
    profile: Profile,
    demand: Demand,
    guards: Mapping[str, Guard],
    ratings: Mapping[str, Rating],
    shortest: Paths,
) -> dict[str, RunRequirement]:
    """By run id, what it must carry. Protective earths carry nothing and follow the size of their run."""
    rating_a = {device: rating.rating_a for device, rating in ratings.items()}
    shared = _shared_protection(system, profile, guards, rating_a, shortest)
    required: dict[str, RunRequirement] = {}
    for run in system.runs.values():
        live = [c for c in run.conductor_ids if system.conductors[c].pole != "pe"]
        if not live or run.earth:
            required[run.id] = RunRequirement(
                Traced(0.0, "A", "design current", "earth, carries no current"), 0.0, 0.0, 0.0, ()
            )
            continue
        heaviest = max(live, key=lambda c: demand.design_a[c])
        carries = max(_carries(system, profile, demand, c) for c in live)
        protect, devices = 0.0, tuple[str, ...]()
        for c in live:
            amperes, by = protection(profile, guards.get(c), rating_a, run)
            if not amperes and c in shared:
                amperes, by = shared[c]
            if amperes > protect:
                protect, devices = amperes, by
            elif not devices:
                devices = by
        design = demand.why.get(heaviest) or Traced(demand.design_a[heaviest], "A", "design current")
        factored = max(demand.factored_a[c] for c in live)
        metres = sum(demand.drop_a[c] * system.conductors[c].length_m for c in live) / run.parallel
        bound_by = next((by for c in live if (by := _bounding(guards.get(c), rating_a, protect, devices))), devices)
        required[run.id] = RunRequirement(
            design, carries, factored, protect, devices, metres, bound_by, not any(c in guards for c in live)
        )
    return required


def _bounding(
    guard: Guard | None, rating_a: Mapping[str, float | None], amperes: float, devices: tuple[str, ...]
) -> tuple[str, ...]:
    """The devices of one end of a conductor that together let these amperes pass; () where no end's do."""
    for side in guard.sides if guard is not None and set(devices) == set(guard.devices) else ():
        if abs(sum(rating_a.get(device) or 0.0 for device in side) - amperes) < NOISE * max(amperes, 1.0):
            return side
    return ()


def _carries(system: System, profile: Profile, demand: Demand, conductor: str) -> float:
    """Current for the ampacity: the design current with the profile's factor for conductors. Between an array and
    its controller the profile's source factors hold for conductors as for devices (NEC 690.8)."""
    design, factored = demand.design_a[conductor], demand.factored_a[conductor]
    zone = system.nodes[system.conductors[conductor].from_node].zone
    if isinstance(system.parts.get(zone), Solar):
        return factored
    devices, wires = profile.device_factor.value, profile.conductor_factor.value
    if wires <= 1.0 or devices <= 1.0:
        return design
    return design + (factored - design) * min((wires - 1.0) / (devices - 1.0), 1.0)


def protection(
    profile: Profile,
    guard: Guard | None,
    rating_a: Mapping[str, float | None],
    run: Run,
) -> tuple[float, tuple[str, ...]]:
    """The rating that a conductor's ampacity must reach, and the devices it is of. A conductor that begins without
    a device is protected by the one at its far end while that stands within the profile's distance; beyond it by
    whatever stands before it."""
    if guard is None:
        return 0.0, ()
    if guard.own_end and guard.origin:
        limit = profile.placement(guard.origin, run.sheath)
        if not exceeds(guard.unprotected_m, limit.value) or not (guard.devices or guard.limited_a):
            return guard.own_end_a(rating_a) or 0.0, guard.own_end
    return guard.upstream_a(rating_a) or 0.0, guard.devices


def _shared_protection(
    system: System,
    profile: Profile,
    guards: Mapping[str, Guard],
    rating_a: Mapping[str, float | None],
    shortest: Paths,
) -> dict[str, tuple[float, tuple[str, ...]]]:
    """Return conductors, which have no device of their own: an overcurrent in them has come through the devices of
    the positive conductors that serve the same consumers, and the least of those limits it."""
    returns = _returns(system, profile, guards, rating_a, shortest.to)
    # What limits its own current (an alternator, a charger) is no consumer; a battery's fault current comes through
    # its positive conductor all the same, and back through its negative one.
    also = _returns(system, profile, guards, rating_a, {**shortest.to, **_paths_to_sources(system)})
    # Beside other banks the negative lead of one has its own main, whatever the paths of the consumers say of it.
    banks = {step.edge.id for steps in _leads(system, graph(system)).values() for step in steps}
    less = {c for c, by in returns.items() if c in banks and c in also and by[0] < also[c][0]}
    return {**also, **{c: by for c, by in returns.items() if c not in less}}


def _paths_to_sources(system: System) -> dict[str, tuple[Step, ...]]:
    """By source that holds no voltage, and whose zone a battery holds, the steps from that to its terminals."""
    net = graph(system)
    trees: dict[str, Reach] = {}
    paths = _leads(system, net)
    for part, ends in net.outputs.items():
        if net.holds(part) or ends.current != "dc":
            continue
        tree = trees.get(ends.zone)
        if tree is None:
            tree = trees[ends.zone] = reach(system, net, ends.zone)
        walks = [tree.walk(net, node) for node in (ends.pos, ends.neg)]
        steps = [step for walk in walks if walk is not None and system.parts[walk[0]].roles.stores for step in walk[2]]
        if steps:
            paths[f"source {part}"] = tuple(steps)
    return paths


def _leads(system: System, net: Graph) -> dict[str, tuple[Step, ...]]:
    """By battery, its two leads as far as nothing branches off: the fault current of a bank beside others comes back
    through its negative lead as it left through the positive one, whichever bank the paths of the consumers lead to."""
    leads: dict[str, tuple[Step, ...]] = {}
    batteries = system.of(Battery)
    for battery in batteries if len(batteries) > 1 else ():
        ends, steps = net.outputs.get(battery.id), list[Step]()
        for start in (ends.pos, ends.neg) if ends is not None else ():
            node, before = start, -1
            while True:
                onward = [number for number in net.at.get(node, ()) if number != before]
                if len(onward) != 1:
                    break
                before = onward[0]
                node = net.other(before, node)
                steps.append(Step(net.edges[before], 1 if net.edges[before].b == node else -1, node))
        leads[f"bank {battery.id}"] = tuple(steps)
    return leads


def _returns(
    system: System,
    profile: Profile,
    guards: Mapping[str, Guard],
    rating_a: Mapping[str, float | None],
    paths: Mapping[str, tuple[Step, ...]],
) -> dict[str, tuple[float, tuple[str, ...]]]:
    """By conductor without a guard: of all conductors that serve the same consumers the least rating, and its devices.
    A set of consumers is known by the sum of a mark of each, 128 bits of a hash of its name: sets that differ have sums
    that differ."""
    passing: dict[str, int] = {}
    for consumer, steps in paths.items():
        mark = int.from_bytes(hashlib.blake2b(consumer.encode(), digest_size=16).digest(), "big")
        for step in steps:
            if step.edge.kind == "conductor":
                passing[step.edge.id] = passing.get(step.edge.id, 0) + mark
    least: dict[int, tuple[float, tuple[str, ...]]] = {}
    for conductor, consumers in passing.items():
        run = system.runs[system.conductors[conductor].run]
        amperes, devices = protection(profile, guards.get(conductor), rating_a, run)
        if devices and amperes and (consumers not in least or amperes < least[consumers][0]):
            least[consumers] = (amperes, devices)
    return {
        conductor: least[consumers]
        for conductor, consumers in passing.items()
        if consumers in least and conductor not in guards
    }
