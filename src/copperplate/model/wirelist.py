"""How a wiring list names the two ends of a conductor, and what protects it: the same words on sheets, in reports
and on labels."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from copperplate.model.parts import Earth, Junction, Part
from copperplate.model.results import Design
from copperplate.model.system import Conductor, Pole, Run

POLES = {"pos": "+", "neg": "-", "mid": "mid", "l": "L", "l1": "L1", "l2": "L2", "n": "N", "pe": "PE"}
MOST_NAMED = 4
"""Devices that are named one by one where they protect a conductor together."""


@dataclass(frozen=True)
class WireList:
    """One design, with the index that its lists need."""

    design: Design

    @cached_property
    def device_ends(self) -> dict[str, tuple[str, str]]:
        """By node: the device that ends there and the one that begins there ("" for none)."""
        found: dict[str, tuple[str, str]] = {}
        for device in self.design.system.devices.values():
            for start, end in device.legs:
                found[end] = (device.id, found.get(end, ("", ""))[1])
                found[start] = (found.get(start, ("", ""))[0], device.id)
        return found

    def end(self, node_id: str, first: bool) -> str:
        """What a conductor lands on at a node: a part with its pole, or a device. `first`: its from end. What is no
        node of the system, as an end of a link, is given as it is."""
        node = self.design.system.nodes.get(node_id)
        before, after = self.device_ends.get(node_id, ("", ""))
        if node is None or not node.part:
            return (before or after if first else after or before) or node_id
        part = self.design.system.parts.get(node.part)
        if part is None or isinstance(part, Junction | Earth) or not node.port:
            return node.part
        if part.roles.stores and (number := battery_of(part, node.pole)):
            return f"{part.id} {number} {POLES[node.pole]}"
        return port_name(node.part, node.port, POLES[node.pole])

    def protected_by(self, conductor: Conductor) -> str:
        """What protects one conductor; a piece before its run's own device says so; "-" where nothing does."""
        system = self.design.system
        run = system.runs[conductor.run]
        result = self.design.runs.get(run.id)
        if conductor.pole == "pe" or run.earth:
            return "earthing"
        if result is None:
            return ""
        own = [d for d in run.device_ids if system.devices[d].roles.protects]
        behind = self.before(conductor, run)
        if conductor.pole != "pos":
            return _listed(result.protected_by) or "-"
        names = _listed([d for d in result.protected_by if d not in own or d in behind])
        later = [d for d in own if d not in behind]
        return ", ".join(part for part in (names, f"before {later[0]}" if later else "") if part) or "-"

    def before(self, conductor: Conductor, run: Run) -> set[str]:
        """Devices of the run that stand between its start and this piece."""
        system = self.design.system
        ends = {end: d for d in run.device_ids for _, end in system.devices[d].legs}
        starts = {d: start for d in run.device_ids for start, _ in system.devices[d].legs[:1]}
        pieces = {c.to_node: c.from_node for c in (system.conductors[i] for i in run.conductor_ids)}
        found: set[str] = set()
        node = conductor.from_node
        for _ in range(2 * len(pieces) + 2 * len(ends)):
            if node in ends and ends[node] not in found:
                found.add(ends[node])
                node = starts[ends[node]]
            elif node in pieces:
                node = pieces[node]
            else:
                break
        return found


def battery_of(bank: Part, pole: Pole) -> int:
    """The battery of a bank that a lead of the whole bank goes to, 0 for a battery alone: the positive lead to the
    first, the negative one to the last, so that each string has as much link before it (common practice, no source)."""
    count = bank.series * bank.parallel
    return 0 if count == 1 else 1 if pole == "pos" else count


def port_name(part: str, port: str, pole: str) -> str:
    """`fridge +`, `conv in -`, `cabin feed`, `cabin.3`, `shore ac-out L`."""
    if port.isdigit():
        return f"{part}.{port}"
    words = [word for word in port.split(".") if word not in POLES]
    return " ".join([part, *words, *([] if "feed" in words else [pole])])


def _listed(devices: Sequence[str]) -> str:
    """Devices one after the other; of many the first and how many more there are."""
    if len(devices) <= MOST_NAMED:
        return " ".join(devices)
    return f"{' '.join(devices[: MOST_NAMED - 1])} and {len(devices) - MOST_NAMED + 1} more"
