"""Currents carried from the consumers to the sources, before any size is known.

By Kirchhoff's first law alone where the wiring is a tree. A ring shares its current as equal conductors would, by
length; where every run of it has a stated size, by length over area. What a conductor of a ring must bear is all the
current that enters it, so that one way round may be cut. Sources in parallel are each taken to give all of it, for the
others may be out; of three batteries side by side or more one may be out, and the others share.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from copperplate.model import System
from copperplate.model.graph import Graph
from copperplate.model.loops import is_ring, loops_without
from copperplate.model.loops import loops as loops_of
from copperplate.model.side_by_side import side_by_side
from copperplate.network.kirchhoff import Plan, Question, prepare, settle
from copperplate.network.wiring import Wiring, wire_up
from copperplate.standards import conductors


@dataclass(frozen=True)
class Flows:
    """By conductor or device id: `signed` amperes from its first node to its second, `borne` what it must bear.
    In a ring it is |signed| that is `shared`; in any other loop, and in a ring of which only some runs have a stated
    size, `shared` is as large as `borne`."""

    signed: dict[str, float]
    borne: dict[str, float]
    shared: dict[str, float]


@dataclass(frozen=True)
class Closed:
    """What a case leaves closed and on: devices that are open, sources that hold nothing."""

    open_devices: frozenset[str] = frozenset()
    sources_off: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Carrier:
    """The graph with one set of devices closed, ready to carry any currents. `loops` are blocks of edges, each with
    the flag that nothing tells how it shares its current."""

    net: Graph
    wiring: Wiring
    plan: Plan
    ohms: tuple[float, ...]
    loops: tuple[tuple[tuple[int, ...], bool], ...]

    def flows(self, amperes: Sequence[float]) -> Flows:
        """The currents for what each element draws."""
        answer = settle(self.plan, Question(self.ohms, amperes))
        through = [0.0] * (len(self.net.edges) + len(self.wiring.ties))
        for item, a in zip(self.wiring.wires, answer.wire_a, strict=True):
            through[item.edge] = a
        for item, a in zip(self.wiring.ties, answer.tie_a, strict=True):
            through[item.edge] = a
        signed: dict[str, float] = {}
        for number, edge in enumerate(self.net.edges):
            if edge.kind != "part" and abs(through[number]) >= abs(signed.get(edge.id, 0.0)):
                signed[edge.id] = through[number]
        borne = {key: abs(a) for key, a in signed.items()}
        shared = dict(borne)
        ends = self._ends() if self.loops else {}
        for loop, mixed in self.loops:
            entering = _entering(loop, through, ends)
            for number in loop:
                if number < len(self.net.edges) and self.net.edges[number].id in borne:
                    key = self.net.edges[number].id
                    borne[key] = max(borne[key], entering)
                    if mixed:
                        shared[key] = borne[key]
        return Flows(signed, borne, shared)

    def _ends(self) -> dict[int, tuple[int, int]]:
        """Points of every closed edge, by its number."""
        items = (*self.wiring.wires, *self.wiring.ties)
        ends = (*self.wiring.circuit.wires, *((a, b) for a, b, _ in self.wiring.circuit.ties))
        return {item.edge: pair for item, pair in zip(items, ends, strict=True)}


def _entering(loop: Sequence[int], through: Sequence[float], ends: Mapping[int, tuple[int, int]]) -> float:
    """All the current that enters a loop from outside."""
    given: dict[int, float] = {}
    for number in loop:
        a, b = ends[number]
        given[a] = given.get(a, 0.0) + through[number]
        given[b] = given.get(b, 0.0) - through[number]
    return sum(a for a in given.values() if a > 0.0)


def carrier(system: System, net: Graph, closed: Closed) -> Carrier:
    """The graph made ready to carry currents, with some devices open and some sources off."""
    volts = {join.part: 0.0 for join in net.joins if join.part not in closed.sources_off}
    wiring = wire_up(system, net, volts, closed.open_devices, ideal=True)
    made = {item.edge for item in (*wiring.wires, *wiring.ties)}
    loops: list[tuple[tuple[int, ...], bool]] = []
    by_area: set[str] = set()
    sharing = [frozenset(group) for group in side_by_side(system, net) if len(group) > 2]
    count = len(net.edges) + len(net.joins)
    opened = frozenset(number for number in range(count) if number not in made) if loops_of(net) else frozenset()
    for loop in loops_without(net, opened) if opened else loops_of(net):
        through = frozenset(net.joins[n - len(net.edges)].part for n in loop if n >= len(net.edges))
        if through and any(through <= group for group in sharing):
            continue
        ids = [net.edges[n].id for n in loop if n < len(net.edges) and net.edges[n].kind == "conductor"]
        stated = [system.runs[system.conductors[c].run].size is not None for c in ids]
        unknown = not is_ring(net, loop) or (any(stated) and not all(stated))
        loops.append((loop, unknown))
        by_area.update(ids if all(stated) else ())
    ohms = tuple(_ohm(system, item.id, item.id in by_area) for item in wiring.wires)
    return Carrier(net, wiring, prepare(wiring.circuit), ohms, tuple(loops))


def _ohm(system: System, conductor: str, by_area: bool) -> float:
    wire = system.conductors[conductor]
    run = system.runs[wire.run]
    area = conductors.area_mm2(run.size) if by_area and run.size is not None else 1.0
    return wire.length_m / (area * run.parallel)
