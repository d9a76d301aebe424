"""The names of things for people: titles before addresses, and no two devices of one name."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property

from copperplate.model.links import Link
from copperplate.model.parts import Earth, Junction, Part
from copperplate.model.results import Design
from copperplate.model.system import Conductor, Device, Run
from copperplate.model.wirelist import POLES, WireList, battery_of

MINUS = "−"


class Names:
    """The names of the parts, devices and ends of one design, as plain text."""

    def __init__(self, design: Design) -> None:
        self.design = design
        self.system = design.system
        self.wires = WireList(design)

    def part(self, identity: str) -> str:
        """The title of a part, or its id as a word."""
        part = self.system.parts.get(identity)
        return (part.title if part is not None else "") or _word(identity)

    def titled(self, address: str) -> str:
        """Title of the part at an address; "" where it has none."""
        part = self.system.parts.get(address.split(".")[0])
        return part.title if part is not None else ""

    def case(self, identity: str) -> str:
        """The title of a situation, or its id as a word; of a state of one, that one's."""
        cases = {case.id: case for case in (*self.design.states, *self.system.cases)}
        case = cases.get(identity)
        return (case.title if case is not None else "") or _word(identity)

    def of(self, address: str) -> str:
        """The name of whatever stands at an address: a device, a part, a run by what it leads to."""
        if address in self.system.devices:
            return self.device(address)
        if address in self.system.runs:
            return self.circuit(self.system.runs[address])
        if address in self.system.conductors:
            return self.circuit(self.system.runs[self.system.conductors[address].run])
        return self.part(address.split(".")[0])

    def listed(self, addresses: Iterable[str], most: int = 5) -> str:
        """`A, B and C`, `A, B and 7 more`: the names of several, each once."""
        names = list(dict.fromkeys(self.of(address) for address in addresses))
        if len(names) > most:
            return f"{', '.join(names[: most - 1])} and {len(names) - most + 1} more"
        return " and ".join(filter(None, (", ".join(names[:-1]), *names[-1:])))

    def circuit(self, run: Run) -> str:
        """What a run is for: of its two ends the one that fewest other circuits share."""
        return self.part(self._served(run).id)

    def _served(self, run: Run) -> Part:
        parts = [self.system.parts[end] for end in self.system.end_parts(run)]
        return min(reversed(parts), key=_shared)

    @cached_property
    def _devices(self) -> dict[str, str]:
        names = {device.id: self._device(device) for device in self.system.devices.values()}
        for differ in (self._side, self._other_end, lambda device: f"({device.id})"):
            counts: dict[str, list[str]] = {}
            for identity, name in names.items():
                counts.setdefault(name, []).append(identity)
            for name, same in counts.items():
                if len(same) > 1:
                    for identity in same:
                        names[identity] = f"{name} {differ(self.system.devices[identity])}".strip()
        return names

    def device(self, identity: str) -> str:
        """The name of a device, its own among all devices: `House bank fuse`, `Nav station panel way 3`."""
        return self._devices[identity]

    def _device(self, device: Device) -> str:
        if device.title:
            return device.title
        if device.panel and device.way is not None:
            return f"{self.part(device.panel)} way {device.way}"
        return f"{self.circuit(self.system.runs[device.run])} {device.kind}"

    def _side(self, device: Device) -> str:
        """`input` or `output` of the part that the device's run serves, where its ports tell."""
        run = self.system.runs[device.run]
        served = self._served(run).id
        end = next((end for end in (run.to_end, run.from_end) if end.split(".")[0] == served), "")
        words = end.replace("-", ".").split(".")[1:]
        return "input" if "in" in words or "pv" in words else "output" if "out" in words else ""

    def _other_end(self, device: Device) -> str:
        run = self.system.runs[device.run]
        served = self._served(run).id
        other = next((part for part in self.system.end_parts(run) if part != served), "")
        return f"to {self.part(other)}" if other and not device.panel else ""

    def end(self, node_id: str, first: bool) -> str:
        """What a conductor lands on at a node: a part with its pole, or a device. `first`: its from end."""
        node = self.system.nodes.get(node_id)
        before, after = self.wires.device_ends.get(node_id, ("", ""))
        if node is None or not node.part:
            device = before or after if first else after or before
            return self.device(device) if device else node_id
        part = self.system.parts.get(node.part)
        pole = POLES[node.pole].replace("-", MINUS)
        if part is None or isinstance(part, Junction | Earth) or not node.port:
            return self.part(node.part)
        if part.roles.stores and (number := battery_of(part, node.pole)):
            return f"{self.part(part.id)}, battery {number} {pole}"
        if node.port.isdigit():
            return f"{self.part(part.id)} way {node.port}"
        words = [_PORTS.get(word, word) for word in node.port.split(".") if word not in POLES]
        return " ".join([self.part(part.id), *words, *([] if "feed" in words else [pole])])

    def link_end(self, link: Link, first: bool) -> str:
        """The battery and terminal that an end of a link lands on."""
        number = link.from_battery if first else link.to_battery
        positive = (link.ports[0] if first else link.ports[1]) == "pos"
        return f"{self.part(link.bank)}, battery {number} {'+' if positive else MINUS}"

    def routes(self, conductor: Conductor) -> str:
        """The places that a conductor leads through."""
        titles = (self.system.routes[route].title or _word(route) for route, _ in conductor.routes)
        return ", ".join(dict.fromkeys(titles))


_PORTS = {"in": "input", "out": "output", "pv": "array", "ac-in": "AC input", "ac-out": "AC output"}


def _word(identity: str) -> str:
    words = identity.replace("-", " ").replace("_", " ")
    return words[:1].upper() + words[1:]


def _shared(part: Part) -> int:
    """How many circuits a part is commonly shared by, as a rank: a load by one."""
    roles = part.roles
    if roles.is_load:
        return 0
    if roles.converts or roles.pushes_current:
        return 1
    if roles.protects:
        return 2
    if roles.mains:
        return 3
    if roles.stores:
        return 4
    return 6 if roles.grounds else 5
