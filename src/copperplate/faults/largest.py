"""The largest fault current that each device can meet, by the side that it comes from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from heapq import heappop, heappush

from copperplate.faults.banks import Bank
from copperplate.faults.sides import NOTHING, ONE_WAY, Norton, sides
from copperplate.faults.wiring import Branch, Wiring, live, pushing, wiring
from copperplate.model import System, Traced
from copperplate.model.graph import Graph
from copperplate.model.results import RunResult
from copperplate.standards import Profile
from copperplate.units import show

LISTED = 12
"""Conductors named one by one in a trace; longer ways give their sum."""


@dataclass(frozen=True, slots=True)
class Sides:
    """What comes to a device from its first side and from its second; None from a side that no battery reaches and
    nothing pushes from."""

    first: Traced | None
    second: Traced | None

    @property
    def amperes(self) -> tuple[float, float]:
        """The current of each side."""
        return self.first.value if self.first else 0.0, self.second.value if self.second else 0.0

    @property
    def larger(self) -> Traced:
        """What the device must break."""
        return max((side for side in (self.first, self.second) if side is not None), key=lambda side: side.value)


def largest(
    system: System, profile: Profile, net: Graph, runs: Mapping[str, RunResult], banks: Mapping[str, Bank]
) -> dict[str, Sides]:
    """Prospective fault current by device: the device taken out, both its ends shorted to a return without
    resistance, every battery at its full e.m.f. behind its lowest resistance, copper of the ungrounded path at 20 °C.
    What is connected and pushes a current of its own (alternators, chargers, controllers, converters, an array) adds
    all of it to each end that it reaches without the other: the larger current of two readings. Of a device with
    several legs the worst counts. Devices that no battery reaches have no entry, nor have those that one without a
    fault figure reaches."""
    cold_c = profile.figures["fault-copper"].value
    circuit = wiring(system, net, runs, live, cold_c)
    at = {part: circuit.number[net.outputs[part].pos] for part in banks if part in net.outputs}
    pushed = {
        part: (circuit.number[node], amperes)
        for part, (node, amperes) in pushing(system, net, profile).items()
        if node in circuit.number
    }
    names = [*at, *pushed]
    given = [NOTHING] * len(circuit.names)
    for bit, part in enumerate(names):
        norton = Norton(0.0, 0.0, 1 << bit)
        ohm = banks[part].resistance_ohm if part in at else None
        if ohm is not None:
            norton = Norton(banks[part].emf_full_v / ohm, 1.0 / ohm, 1 << bit)
        node = at[part] if part in at else pushed[part][0]
        given[node] = given[node].beside(norton)
    feeding = sum(1 << bit for bit, part in enumerate(names) if part in at)
    unknown = sum(1 << bit for bit, part in enumerate(names) if part in at and banks[part].resistance_ohm is None)
    legs = {index: branch for index, branch in enumerate(circuit.branches) if branch.id in system.devices}
    wires = [(b.a, b.b, ONE_WAY if b.id in system.diodes else b.ohm) for b in circuit.branches]
    pushed_a = {part: amperes for part, (_, amperes) in pushed.items()}
    trace = _Trace(circuit, banks, at, pushed_a, show(cold_c, "degC"))
    result: dict[str, Sides] = {}
    both = sides(len(circuit.names), wires, given, list(legs))
    for index, leg in legs.items():
        first, second = both.get(index, (NOTHING, NOTHING))
        reaching = first.sources | second.sources
        if not reaching & feeding or reaching & unknown:
            continue
        made = Sides(trace.side(first, leg.a, leg), trace.side(second, leg.b, leg))
        if leg.id not in result or made.larger.value > result[leg.id].larger.value:
            result[leg.id] = made
    return {device: result[device] for device in system.devices if device in result}


class _Trace:
    """How the current of a side comes about."""

    def __init__(
        self,
        circuit: Wiring,
        banks: Mapping[str, Bank],
        at: Mapping[str, int],
        pushed_a: Mapping[str, float],
        cold: str,
    ) -> None:
        self._circuit, self._banks, self._at, self._pushed_a, self._cold = circuit, banks, at, pushed_a, cold
        self._names = [*at, *pushed_a]
        self._ways = {part: _least(circuit, node, None) for part, node in at.items()}

    def side(self, side: Norton, node: int, device: Branch) -> Traced | None:
        """The current of one side with its sources and the ways of least resistance from the batteries."""
        parts = [part for bit, part in enumerate(self._names) if side.sources >> bit & 1]
        if not parts:
            return None
        inputs: list[tuple[str, float | str, str]] = []
        for part in parts:
            if part in self._at:
                inputs.append((f"{part} e.m.f.", self._banks[part].emf_full_v, "V"))
                inputs.append((f"{part} resistance", (self._banks[part].resistance_ohm or 0.0) * 1000, "mohm"))
                way = [branch for branch in self._way(part, node, device) if branch.ohm > 0.0]
                if len(way) <= LISTED:
                    inputs += [(branch.id, branch.ohm * 1000, "mohm") for branch in way]
                else:
                    ohm = sum(branch.ohm for branch in way)
                    inputs.append((f"{len(way)} conductors from {part}", ohm * 1000, "mohm"))
        added = [(f"{part} pushes", self._pushed_a[part], "A") for part in parts if part in self._pushed_a]
        return Traced(
            side.amperes + sum(amperes for _, amperes, _ in added),
            "A",
            "largest fault current",
            f"e.m.f. / (battery + conductors at {self._cold}); batteries add"
            + (", and what others push" if added else ""),
            tuple(dict.fromkeys([*inputs, *added])),
            "common practice: short at the device, return without resistance",
            "practice",
        )

    def _way(self, part: str, node: int, device: Branch) -> list[Branch]:
        """The branches from a battery to an end of a device, not through the device."""
        way = _back(self._ways[part], node)
        if device in way or any(device.other(node) in (branch.a, branch.b) for branch in way):
            way = _back(_least(self._circuit, self._at[part], device.other(node)), node)
        return way


def _least(circuit: Wiring, start: int, without: int | None) -> dict[int, tuple[float, Branch | None]]:
    """(ohms, branch that it is reached by) of each node along the way of least resistance, one node left out."""
    found: dict[int, tuple[float, Branch | None]] = {}
    waiting: list[tuple[float, int, int, Branch | None]] = [(0.0, 0, start, None)]
    order = 0
    while waiting:
        ohm, _, node, came = heappop(waiting)
        if node in found:
            continue
        found[node] = ohm, came
        for branch in circuit.at[node]:
            other = branch.other(node)
            if other not in found and other != without:
                order += 1
                heappush(waiting, (ohm + branch.ohm, order, other, branch))
    return found


def _back(found: Mapping[int, tuple[float, Branch | None]], node: int) -> list[Branch]:
    """The branches of a way, from where it began."""
    way: list[Branch] = []
    while (branch := found[node][1]) is not None:
        way.append(branch)
        node = branch.other(node)
    return way[::-1]
