"""Which devices stand open in a case: those that it turns off, and those that nothing closes."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import product
from math import prod

from copperplate.model import Device, Engine, Inverter, Load, Selector
from copperplate.model.groups import Groups
from copperplate.resolve.actors import Actors
from copperplate.resolve.addresses import part_of
from copperplate.resolve.built import Built
from copperplate.resolve.reading import Reading

MOST_POSITIONS = 16
"""So many positions of several selectors are taken together; beyond, each selector moves while the others stand."""


@dataclass(frozen=True)
class Contacts:
    """The devices of a plate, and what closes them."""

    built: Built
    actors: Actors
    running_in_some: set[str] = field(default_factory=set)
    """What is on in some declared case."""

    @property
    def devices(self) -> Mapping[str, Device]:
        return self.built.devices

    def opened(self, on: Container[str], turned_on: Container[str], off: Container[str]) -> frozenset[str]:
        """The devices that stand open while the parts of `on` run, and a case turns devices on and off."""
        return frozenset(
            device.id
            for device in self.devices.values()
            if device.id in off or (device.id not in turned_on and not self._closes(device, on))
        )

    def chosen_open(self, settings: Mapping[str, str]) -> frozenset[str]:
        """The contacts of selectors that stand open in these positions."""
        selectors = {name: part for name, part in self.actors.parts.items() if isinstance(part, Selector)}
        return frozenset(
            device.id
            for device in self.devices.values()
            if device.of in settings
            and device.id.removeprefix(f"{device.of}.") not in selectors[device.of].closes(settings[device.of])
        )

    def positions(self, settings: Mapping[str, str]) -> Iterator[Mapping[str, str]]:
        """The positions of all selectors, by selector: as set, and one after the other each position that closes
        something of those that are not. AC supplies take turns by themselves."""
        free = [
            [(name, position) for position in part.settings if part.closes(position)]
            for name, part in self.actors.parts.items()
            if isinstance(part, Selector) and not part.ac and name not in settings
        ]
        if prod(map(len, free)) > MOST_POSITIONS:
            firsts = [each[0] for each in free]
            chosen = [(*firsts[:n], other, *firsts[n + 1 :]) for n, each in enumerate(free) for other in each]
            yield from ({**settings, **dict(some)} for some in dict.fromkeys(chosen))
        else:
            yield from ({**settings, **dict(some)} for some in product(*free))

    def _closes(self, device: Device, on: Container[str]) -> bool:
        """Whether a device is closed where the case does not name it."""
        if device.closed_by:
            return part_of(device.closed_by) in on
        if device.worked_by:
            # What works it, a float or a thumb, closes it while what its run leads to is on.
            load = part_of(self.built.runs[device.run].to_end)
            if isinstance(self.actors.parts.get(load), Load):
                return load in on
        if device.roles.joins or device.roles.one_way:
            return any(self._charges(name, device, on) for name in self.actors.chargers)
        return not device.normally_open

    def _charges(self, name: str, device: Device, on: Container[str]) -> bool:
        """Whether a source charges the circuit that a combiner sits in, or what a splitter takes in."""
        part, by = self.actors.parts[name], self.actors.supply.by
        fed = not isinstance(part, Inverter) or any(source in on for source in by.get(f"{name}.ac-in", ()))
        gives = [output.live for output in self.built.circuits.connected if output.part.id == name]
        if name not in on or not fed:
            return False
        if device.roles.one_way:
            before = self._before_diodes.root(device.legs[0][0])
            return any(self._before_diodes.root(live) == before for live in gives)
        here = self.built.nodes[device.legs[0][0]].zone
        return any(self.built.circuits.zone_of(live) == here for live in gives)

    @cached_property
    def _before_diodes(self) -> Groups[str]:
        """The nodes that are joined without passing a splitter."""
        groups = Groups[str]()
        for wire in self.built.conductors.values():
            groups.join(wire.from_node, wire.to_node)
        for device in self.devices.values():
            for before, behind in () if device.roles.one_way else device.legs:
                groups.join(before, behind)
        return groups

    def running(self, on: Container[str]) -> Iterator[str]:
        """The engines that what is on makes run."""
        for part in self.actors.parts.values():
            engine = getattr(part, "engine", None)
            if part.id in on and engine and part.id in self.actors.chargers:
                yield engine

    def driven(self, name: str) -> Iterator[str]:
        """The alternators that an engine turns."""
        parts = self.actors.parts
        if isinstance(parts.get(name), Engine):
            yield from (other for other in self.actors.chargers if getattr(parts[other], "engine", None) == name)


def check_contacts(contacts: Contacts, reading: Reading) -> None:
    """A finding of a contact that is closed by what no plate declares."""
    for device in contacts.devices.values():
        name = part_of(device.closed_by)
        if name and name not in contacts.actors.parts and name not in reading.names.unread:
            likely = reading.meant(name, contacts.actors.parts)
            reading.report("CP202", device.id, device.span, name=name, keyword="closed-by", likely=likely)
