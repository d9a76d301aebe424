"""Currents carried from the consumers to the sources, before any size is known.

By Kirchhoff's first law alone where the wiring is a tree. A ring shares its current as equal conductors would, by
length; where every run of it has a stated size, by length over area. What a conductor of a ring must bear is all the
current that enters it, so that one way round may be cut. Batteries in parallel share; in states of their own each is
alone, for the others may be out or full. Other sources in parallel are each taken to give all of it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from copperplate.model import System
from copperplate.model.graph import Graph
from copperplate.model.loops import is_ring, joins_batteries, loops_without
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
    """What a case leaves closed and on: devices that are open and conductors that are taken away, sources that hold
    nothing."""

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


def carriers(system: System, net: Graph, closed: Closed) -> tuple[tuple[tuple[str, ...], Carrier], ...]:
    """The carriers of a closed graph, of a load that several ways lead to with each of them alone. Those with batteries
    out come last: of those in parallel each is left alone; of three or more side by side each is out by turns, and the
    others share."""
    ways = [replace(closed, open_devices=closed.open_devices | cut) for cut in one_way_each(system, net, closed)]
    each = [_carriers(system, net, way) for way in ways]
    return (*(whole for whole, *_ in each), *(out for _, *rest in each for out in rest))


def one_way_each(system: System, net: Graph, closed: Closed) -> tuple[frozenset[str], ...]:
    """What is open where one way is left to each load that several lead to (a float switch and a hand switch): first
    with the first way to each, then with each other way to one of them."""
    ways: dict[str, dict[str, set[str]]] = {}
    for loop in _loops(net, _opened(net, closed)):
        inside = {n for n in loop if n < len(net.edges)}
        nodes = {node for n in inside for node in (net.edges[n].a, net.edges[n].b)}
        for part, ends in net.consumers.items():
            for node in {ends.pos, ends.neg} & nodes if part not in net.outputs else ():
                edges = [net.edges[n] for n in net.at[node] if n in inside and net.edges[n].kind != "part"]
                if len(edges) > 1:
                    for edge in edges:
                        element = system.conductors.get(edge.id) or system.devices[edge.id]
                        ways.setdefault(part, {}).setdefault(element.run, set()).add(edge.id)
    first = {part: next(iter(by_run)) for part, by_run in ways.items()}
    chosen = [first, *({**first, part: run} for part, by_run in ways.items() for run in list(by_run)[1:])]
    return tuple(
        frozenset().union(*(edges for part in ways for run, edges in ways[part].items() if run != kept[part]))
        for kept in chosen
    )


def _carriers(system: System, net: Graph, closed: Closed) -> tuple[tuple[tuple[str, ...], Carrier], ...]:
    """The carrier of a closed graph first, then those with batteries out."""
    found: list[tuple[tuple[str, ...], Carrier]] = [((), carrier(system, net, closed))]
    groups = [group for group in side_by_side(system, net) if len(group) > 2]
    for banks in _parallel(system, net, _opened(net, closed)):
        shares = [tuple(b for b in group if b in banks) for group in groups]
        shares = [group for group in shares if len(group) > 2]
        alone = [(b,) for b in banks if not any(b in group for group in shares)]
        for group in (*alone, *shares):
            rest = tuple(b for b in banks if b not in group)
            for out in [(*rest, b) for b in group if len(group) > 1] + [rest] * bool(rest):
                found.append((out, carrier(system, net, replace(closed, sources_off=closed.sources_off | set(out)))))
    return tuple(found)


def _parallel(system: System, net: Graph, opened: frozenset[int]) -> list[list[str]]:
    """The batteries of each loop that goes through several and through no other source."""
    found = []
    for loop in _loops(net, opened):
        banks = _sources(net, loop)
        if len(banks) > 1 and joins_batteries(system, net, loop):
            found.append(banks)
    return found


def _sources(net: Graph, loop: tuple[int, ...]) -> list[str]:
    """The sources that a loop goes through."""
    return [net.joins[n - len(net.edges)].part for n in loop if n >= len(net.edges)]


def _opened(net: Graph, closed: Closed) -> frozenset[int]:
    """The numbers of the edges that are open and of the joins whose source is off."""
    open_edges = [n for n, edge in enumerate(net.edges) if edge.id in closed.open_devices]
    off = [n for n, join in enumerate(net.joins, len(net.edges)) if join.part in closed.sources_off]
    return frozenset((*open_edges, *off))


def carrier(system: System, net: Graph, closed: Closed) -> Carrier:
    """The graph made ready to carry currents, with some devices open and some sources off."""
    volts = {join.part: 0.0 for join in net.joins if join.part not in closed.sources_off}
    wiring = wire_up(system, net, volts, closed.open_devices, ideal=True)
    made = {item.edge for item in (*wiring.wires, *wiring.ties)}
    count = len(net.edges) + len(net.joins)
    opened = frozenset(number for number in range(count) if number not in made) if loops_of(net) else frozenset()
    sharing = {bank for banks in _parallel(system, net, opened) for bank in banks}
    apart = opened | {n for n, join in enumerate(net.joins, len(net.edges)) if join.part in sharing}
    even = [set(group) for group in side_by_side(system, net) if len(group) > 2]
    by_area = {
        c
        for loop in _loops(net, opened)
        if not (banks := set(_sources(net, loop))) or not any(banks <= group for group in even)
        for c, stated in _stated(system, net, loop)
        if stated == {True}
    }
    loops = [
        (loop, not is_ring(net, loop) or any(stated == {True, False} for _, stated in _stated(system, net, loop)))
        for loop in _loops(net, apart)
    ]
    ohms = tuple(_ohm(system, item.id, item.id in by_area) for item in wiring.wires)
    return Carrier(net, wiring, prepare(wiring.circuit), ohms, tuple(loops))


def _loops(net: Graph, opened: frozenset[int]) -> tuple[tuple[int, ...], ...]:
    return loops_without(net, opened) if opened else loops_of(net)


def _stated(system: System, net: Graph, loop: tuple[int, ...]) -> list[tuple[str, set[bool]]]:
    """The conductors of a loop, each with what holds of all of them: whether their sizes are stated."""
    ids = [net.edges[n].id for n in loop if n < len(net.edges) and net.edges[n].kind == "conductor"]
    stated = {system.runs[system.conductors[c].run].size is not None for c in ids}
    return [(c, stated) for c in ids]


def _ohm(system: System, conductor: str, by_area: bool) -> float:
    wire = system.conductors[conductor]
    run = system.runs[wire.run]
    area = conductors.area_mm2(run.size) if by_area and run.size is not None else 1.0
    return wire.length_m / (area * run.parallel)
