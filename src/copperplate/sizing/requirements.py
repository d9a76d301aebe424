"""What each run must carry: its current, and what the devices that protect it let pass."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from copperplate.flow import NO_DUTY, Duty
from copperplate.model import Solar, System, Traced
from copperplate.model.results import Demand
from copperplate.standards import Profile


@dataclass(frozen=True)
class RunRequirement:
    """What one run must carry, in amperes.

    `carries_a` is the current that its ampacity must reach, `design` the design current behind it. `unfactored_a` is
    what its ampacity before factors must reach where the profile holds continuous current so, else 0.0. `protect_a` is
    the rating that its ampacity must reach (0.0 where nothing asks for one), by the devices in `protected_by`, which
    let so much pass together; `factored_a` what those devices must carry of it. `ampere_metres` are its currents for
    voltage drop times its lengths, over the conductors in parallel (A m)."""

    design: Traced
    carries_a: float
    factored_a: float
    protect_a: float
    protected_by: tuple[str, ...]
    ampere_metres: float = 0.0
    unfactored_a: float = 0.0
    brief_s: float | None = None
    """How long loads run that run but briefly, where the run carries some: `carries_a` is without them then, and the
    design current flows for so long."""


def requirements(
    system: System,
    profile: Profile,
    demand: Demand,
    duties: Mapping[str, Duty],
) -> dict[str, RunRequirement]:
    """By run id, what it must carry. `duties` by conductor: what it carries against lasting overload. Protective earths
    carry nothing and follow the size of their run."""
    required: dict[str, RunRequirement] = {}
    for run in system.runs.values():
        live = [c for c in run.conductor_ids if system.conductors[c].pole != "pe"]
        if not live or run.earth:
            required[run.id] = RunRequirement(
                Traced(0.0, "A", "design current", "earth, carries no current"), 0.0, 0.0, 0.0, ()
            )
            continue
        heaviest = max(live, key=lambda c: demand.design_a[c])
        continuous = max(_carries(system, profile, demand, c) for c in live)
        alone = max(_alone(system, profile, demand, c) for c in live)
        carries, unfactored = (alone, continuous) if profile.before_factors else (continuous, 0.0)
        protect, devices = 0.0, tuple[str, ...]()
        for c in live:
            duty = duties.get(c, NO_DUTY)
            if duty.amperes > protect:
                protect, devices = duty.amperes, duty.by
            elif not devices:
                devices = duty.by
        design = demand.why.get(heaviest) or Traced(demand.design_a[heaviest], "A", "design current")
        factored = max(demand.factored_a[c] for c in live)
        metres = sum(demand.drop_a[c] * system.conductors[c].length_m for c in live) / run.parallel
        brief_s = max((demand.brief_s[c] for c in live if c in demand.brief_s), default=None)
        required[run.id] = RunRequirement(design, carries, factored, protect, devices, metres, unfactored, brief_s)
    return required


def _alone(system: System, profile: Profile, demand: Demand, conductor: str) -> float:
    """Current without the factor of continuous use: of an array the most that it gives in the brightest light."""
    zone = system.nodes[system.conductors[conductor].from_node].zone
    bright = profile.figures["source-solar"].value if isinstance(system.parts.get(zone), Solar) else 1.0
    return demand.steady_a.get(conductor, demand.design_a[conductor]) * bright


def _carries(system: System, profile: Profile, demand: Demand, conductor: str) -> float:
    """Current for the ampacity: the design current with the profile's factor for conductors. Between an array and
    its controller the profile's source factors hold for conductors as for devices (NEC 690.8)."""
    if conductor in demand.steady_a:
        return demand.steady_a[conductor]
    design, factored = demand.design_a[conductor], demand.factored_a[conductor]
    zone = system.nodes[system.conductors[conductor].from_node].zone
    if isinstance(system.parts.get(zone), Solar):
        return factored
    devices, wires = profile.figures["device-factor"].value, profile.figures["conductor-factor"].value
    if wires <= 1.0 or devices <= 1.0:
        return design
    return design + (factored - design) * min((wires - 1.0) / (devices - 1.0), 1.0)
