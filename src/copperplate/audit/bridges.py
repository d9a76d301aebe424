"""What hangs on one conductor or device alone.

One whose removal parts some consumers from every source carries what they draw: such bridges, and what lies behind
each, come from one depth-first search (R. Tarjan, A note on finding the bridges of a graph, 1974).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from copperplate.audit.consumers import case_a, full_a
from copperplate.audit.incidence import across_v
from copperplate.model import Charger, Controller, Converter, Inverter, Load, Part
from copperplate.model.graph import Graph
from copperplate.model.results import Design


@dataclass
class Behind:
    """What only one conductor or device joins to the sources: how many consumers and pushing sources, the last of
    each, how many parts whose current no statement gives, whether any consumer runs continuously, and by case what
    those draw that do not. `drawn_a` and `steady_a` by case: the sizing currents of all, and of those that run
    continuously."""

    consumers: int = 0
    consumer: str = ""
    pushing: int = 0
    pusher: str = ""
    unknown: int = 0
    continuous: bool = False
    brief_a: list[float] = field(default_factory=list)
    drawn_a: list[float] = field(default_factory=list)
    steady_a: list[float] = field(default_factory=list)

    def add(self, other: Behind) -> None:
        self.consumers += other.consumers
        self.consumer = other.consumer or self.consumer
        self.pushing += other.pushing
        self.pusher = other.pusher or self.pusher
        self.unknown += other.unknown
        self.continuous |= other.continuous
        self.brief_a = _sum(self.brief_a, other.brief_a)
        self.drawn_a = _sum(self.drawn_a, other.drawn_a)
        self.steady_a = _sum(self.steady_a, other.steady_a)


def _sum(first: list[float], second: list[float]) -> list[float]:
    if not first or not second:
        return first or second
    return [a + b for a, b in zip(first, second, strict=True)]


def bridges(design: Design, net: Graph, poles: frozenset[str]) -> dict[str, Behind]:
    """By conductor or device id: what hangs on it alone. The search begins at what holds a voltage."""
    system = design.system
    at: dict[str, list[tuple[str, str]]] = {}
    for edge, a, b in _edges(design, poles):
        at.setdefault(a, []).append((edge, b))
        at.setdefault(b, []).append((edge, a))
    own: dict[str, Behind] = {}
    roots: list[str] = []

    def put(nodes: Iterable[str], behind: Behind) -> list[str]:
        inside = [node for node in nodes if node and system.nodes[node].pole in poles]
        for node in inside:
            own.setdefault(node, Behind()).add(behind)
        return inside

    for name, ends in net.outputs.items():
        outer = (ends.pos, ends.third, ends.neg)
        if net.holds(name):
            roots += put(outer, Behind(unknown=1))
        elif isinstance(system.parts[name], Converter):
            put((ends.pos, ends.neg), Behind(unknown=1))
        else:
            put(outer, Behind(pushing=1, pusher=name))
    for name, ends in net.consumers.items():
        part = system.parts[name]
        if isinstance(part, Controller):
            roots += [node for node in (ends.pos, ends.neg) if system.nodes[node].pole in poles]
        else:
            put((ends.pos, ends.neg), consumer_alone(design, net, part))
        if isinstance(part, Charger):
            put((ends.pos, ends.neg), Behind(unknown=1))
        if isinstance(part, Inverter) and part.charges_a and name in net.inlets:
            put((ends.pos, ends.neg), Behind(unknown=1))
    for inlet in net.inlets.values():
        # An inverter that hands a supply through is a consumer whose current no statement gives.
        put((inlet.pos, inlet.neg), Behind(unknown=1))
    return _search(at, own, roots)


def consumer_alone(design: Design, net: Graph, part: Part) -> Behind:
    """One consumer with its currents by case."""
    cases = design.system.cases
    drawn = [case_a(design, net, part, case) if case.kind == "load" else 0.0 for case in cases]
    if part.continuous:
        return Behind(1, part.id, continuous=True, drawn_a=drawn, steady_a=drawn)
    amperes, ends = full_a(design, net, part), net.consumers[part.id]
    watts = (part.power_w or 0.0) * part.count if isinstance(part, Load) and ends.current == "dc" else 0.0
    brief: list[float] = []
    for case in cases:
        volts = across_v(design, case, ends.pos, ends.neg) or 0.0
        brief.append(max(amperes, watts / volts if volts > 0.0 else 0.0) * case.shares.get(part.id, 0.0))
    return Behind(1, part.id, brief_a=brief, drawn_a=drawn)


def _edges(design: Design, poles: frozenset[str]) -> Iterable[tuple[str, str, str]]:
    system = design.system
    for conductor in system.conductors.values():
        if system.nodes[conductor.from_node].pole in poles and system.nodes[conductor.to_node].pole in poles:
            yield conductor.id, conductor.from_node, conductor.to_node
    for device in system.devices.values():
        for a, b in device.legs:
            if system.nodes[a].pole in poles and system.nodes[b].pole in poles:
                yield device.id, a, b
    for number, (a, b) in enumerate(system.ties):
        inside = system.nodes[a].part == system.nodes[b].part
        if not inside and system.nodes[a].pole in poles and system.nodes[b].pole in poles:
            yield f"tie {number}", a, b


def _search(at: dict[str, list[tuple[str, str]]], own: dict[str, Behind], roots: list[str]) -> dict[str, Behind]:
    order: dict[str, int] = {}
    lowest: dict[str, int] = {}
    gathered: dict[str, Behind] = {}
    bridging: dict[str, Behind] = {}
    for root in roots:
        if root in order:
            continue
        stack: list[tuple[str, str, str, int]] = [(root, "", "", 0)]
        while stack:
            node, edge, parent, done = stack.pop()
            if done == 0:
                order[node] = lowest[node] = len(order)
                gathered[node] = Behind()
                gathered[node].add(own.get(node, Behind()))
            around = at.get(node, [])
            if done < len(around):
                stack.append((node, edge, parent, done + 1))
                through, other = around[done]
                if through == edge and other == parent:
                    continue
                if other in order:
                    lowest[node] = min(lowest[node], order[other])
                else:
                    stack.append((other, through, node, 0))
            elif parent:
                lowest[parent] = min(lowest[parent], lowest[node])
                # A device of two live poles is one device: the larger side counts.
                fuller = edge not in bridging or bridging[edge].consumers < gathered[node].consumers
                if lowest[node] > order[parent] and fuller:
                    bridging[edge] = gathered[node]
                gathered[parent].add(gathered[node])
    return bridging
