"""Everything that the checks of protection look at, gathered once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from copperplate.faults import Bank, End, FarEnd, Fault, Heat, Sides, Supply
from copperplate.flow import Duty, Judged, Overload, Tap, from_bodies, from_consumers
from copperplate.model import System, Traced
from copperplate.model.results import Demand, Limit, Rating, RunResult, Solution
from copperplate.protection.bounds import mains_of
from copperplate.standards.profile import Profile


@dataclass(frozen=True)
class ProtectionStudy:
    """The sized system with its ratings, lasting overload and fault currents. `rating_a` by device id; `largest`, `far`
    the fault currents by device id, `heat` what shorts heat in conductors of the return."""

    system: System
    profile: Profile
    demand: Demand
    ratings: Mapping[str, Rating]
    runs: Mapping[str, RunResult]
    solution: Solution
    overload: Overload
    banks: Mapping[str, Bank]
    highest: Mapping[str, Traced]
    sides: Mapping[str, Sides]
    largest: Mapping[str, Traced]
    far: Mapping[str, FarEnd]
    heat: Mapping[str, Heat]
    rating_a: Mapping[str, float | None]
    supplies: Mapping[str, Supply]
    """AC sources in a short, by part id."""
    ac_largest: Mapping[str, Fault]
    ac_ends: Mapping[tuple[str, str], End]
    """The largest fault of each AC device, and by (device, supply) the smallest ones at its far end."""

    @cached_property
    def from_consumers(self) -> Mapping[str, tuple[Limit, Limit]]:
        """What comes back for ever through each return, by direction."""
        return from_consumers(self.overload)

    @cached_property
    def from_bodies(self) -> Mapping[str, tuple[Limit, Limit]]:
        """What a short to a conducting body drives for ever through each conductor that leads back, by direction."""
        return from_bodies(self.overload)

    @cached_property
    def judged(self) -> tuple[Judged, ...]:
        """What comes into each ungrounded conductor from each end, and what it must carry of it."""
        return self.overload.judged(self._carried_a, self.allowed_m, self._share)

    @cached_property
    def duties(self) -> Mapping[str, Duty]:
        """What each ungrounded conductor must carry against lasting overload, and the devices that it relies on."""
        return self.overload.duties(self.judged)

    @cached_property
    def _carried_a(self) -> dict[str, float | None]:
        return {conductor: self.ampacity_a(conductor) for conductor in self.system.conductors}

    def _share(self, conductor: str) -> float:
        return self.profile.figures["device-share"].value

    def allowed_m(self, tap: Tap) -> float:
        """How long a way without a device may be, metres; nothing behind a device of its own."""
        return 0.0 if tap.origin == "device" else self.profile.placement(tap.origin, tap.sheath).value

    @cached_property
    def upstream(self) -> Mapping[str, tuple[str, ...]]:
        """By device, the protective devices directly above it, towards the sources."""
        devices = (device for device in self.system.devices.values() if device.roles.protects)
        return {device.id: self.overload.leading.upper(device.id) for device in devices}

    @cached_property
    def nearest(self) -> frozenset[str]:
        """Devices that are the first which the current of a battery meets."""
        return mains_of(self.system, self.overload.pole)

    def ampacity_a(self, conductor: str) -> float | None:
        """What a conductor carries after every factor, all its parallels together; None where it has no size."""
        run = self.runs.get(self.system.conductors[conductor].run)
        return run.ampacity.value if run is not None and run.ampacity is not None else None

    def zone_v(self, device: str) -> Traced | None:
        """The highest voltage of the system that a device sits in; None where it is AC or not known."""
        return self.highest.get(self.system.nodes[self.system.devices[device].legs[0][0]].zone)
