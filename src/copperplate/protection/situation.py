"""Everything that the checks of protection look at, gathered once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from copperplate.model import System, Traced
from copperplate.model.results import Demand, Guard, Rating, RunResult, Solution
from copperplate.protection.ac_faults import End, Fault, Supply
from copperplate.protection.battery import Bank
from copperplate.protection.circuit import Circuit
from copperplate.protection.far_end import FarEnd
from copperplate.protection.regions import Region
from copperplate.protection.topology import Stretch
from copperplate.standards.profile import Profile


@dataclass(frozen=True)
class Situation:
    """The sized system with its guards, ratings and fault currents. `rating_a` by device id; `upstream` the
    protective devices directly above each device; `largest`, `far` the fault currents by device id."""

    system: System
    profile: Profile
    demand: Demand
    guards: Mapping[str, Guard]
    ratings: Mapping[str, Rating]
    runs: Mapping[str, RunResult]
    solution: Solution
    circuit: Circuit
    regions: tuple[Region, ...]
    stretches: tuple[Stretch, ...]
    banks: Mapping[str, Bank]
    highest: Mapping[str, Traced]
    largest: Mapping[str, Traced]
    far: Mapping[str, FarEnd]
    rating_a: Mapping[str, float | None]
    upstream: Mapping[str, tuple[str, ...]]
    nearest: frozenset[str]
    """Devices that are the first which the current of a battery meets."""
    supplies: Mapping[str, Supply]
    """AC sources in a short, by part id."""
    ac_largest: Mapping[str, Fault]
    ac_ends: Mapping[tuple[str, str], End]
    """The largest fault of each AC device, and by (device, supply) the smallest ones at its far end."""

    def ampacity_a(self, conductor: str) -> float | None:
        """What a conductor carries after every factor, all its parallels together; None where it has no size."""
        run = self.runs.get(self.system.conductors[conductor].run)
        return run.ampacity.value if run is not None and run.ampacity is not None else None

    def zone_v(self, device: str) -> Traced | None:
        """The highest voltage of the system that a device sits in; None where it is AC or not known."""
        return self.highest.get(self.system.nodes[self.system.devices[device].legs[0][0]].zone)
