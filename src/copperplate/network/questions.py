"""The questions of one case: what loads draw by their own law, converters and inlets by what lies behind them, and
conductors at the temperature that the last answer gives them."""

from __future__ import annotations

from collections.abc import Mapping

from copperplate.model import Case, Converter, Load, Part, Solar, System
from copperplate.model.graph import Graph
from copperplate.model.transfer import handing
from copperplate.network.built import Wire, inside_ohm
from copperplate.network.currents import share
from copperplate.network.kirchhoff import Answer, Question
from copperplate.network.wiring import Element, Item, Wiring


class Asking:
    """One case's `first` question, and the `next` one after an answer."""

    def __init__(self, system: System, net: Graph, case: Case, wires: Mapping[str, Wire], wiring: Wiring) -> None:
        self.system, self.wires, self.wiring = system, wires, wiring
        self.amperes = [0.0] * len(wiring.elements)
        self.siemens = [0.0] * len(wiring.elements)
        self.watts = [0.0] * len(wiring.elements)
        self.following: list[tuple[int, int, list[int], float, int]] = []
        self.handing: list[tuple[int, list[int]]] = []
        through = handing(system, net)[case.id] if net.inlets else frozenset()
        push = {e.part: n for n, e in enumerate(wiring.elements) if e.role == "push"}
        ties: dict[str, list[int]] = {}
        for n, item in enumerate(wiring.ties):
            if item.kind == "source":
                ties.setdefault(item.id, []).append(n)
        supplied = {e.ends.zone for e in wiring.elements if e.role == "supply"}
        for n, element in enumerate(wiring.elements):
            part = system.parts[element.part]
            on = share(case, system, net, element)
            lines = 2 if element.role == "inlet" and net.inlets[part.id].third else 1
            if element.role == "inlet" and part.id in through:
                given_by = ties.get(part.id, [])
                self.handing.append((n, given_by if lines == 1 else given_by[element.line : element.line + 1]))
            if element.role == "push":
                self.amperes[n] = -on * _pushed(part, element)
            elif isinstance(part, Load):
                self._load(n, part, element, on)
            elif on:
                output = net.outputs.get(part.id)
                if element.role == "supply" and net.holds(part.id) and output is not None and output.zone in supplied:
                    self.watts[n] = part.idle_w or 0.0
                    self.following.append((n, -1, ties.get(part.id, []), on, lines))
                elif part.id in push:
                    self.following.append((n, push[part.id], [], on, lines))
                else:
                    self.watts[n] = on * rated_w(part) / part.efficiency
        inside = inside_ohm(system, net)
        self.metal = [wires.get(item.id) if item.kind == "conductor" else None for item in wiring.wires]
        self.fixed = [_fixed_ohm(system, inside, item) for item in wiring.wires]

    def _load(self, n: int, load: Load, element: Element, on: float) -> None:
        count = load.count * on
        if load.current_a is not None:
            self.amperes[n] = load.current_a * count
        elif load.resistance_ohm:
            self.siemens[n] = count / load.resistance_ohm
        elif load.power_w is not None and element.ends.current == "dc":
            self.watts[n] = load.power_w * count
        elif load.power_w is not None:
            self.amperes[n] = load.power_w * count / (element.ends.nominal_v * load.power_factor)

    def first(self) -> Question:
        ohms = [w.ohm(w.ambient_c) if w else r for w, r in zip(self.metal, self.fixed, strict=True)]
        return Question(ohms, self.amperes, self.siemens, self.watts)

    def next(self, answer: Answer) -> Question:
        ohms = [
            w.ohm(w.temperature_c(a)) if w else r for w, r, a in zip(self.metal, self.fixed, answer.wire_a, strict=True)
        ]
        watts = list(self.watts)
        for n, pushing, ties, on, lines in self.following:
            part = self.system.parts[self.wiring.elements[n].part]
            if pushing >= 0:
                given = -answer.load_a[pushing] * max(answer.load_v[pushing], 0.0)
            else:
                volts = [abs(self.wiring.circuit.ties[t][2]) for t in ties]
                given = sum(abs(answer.tie_a[t]) * v for t, v in zip(ties, volts, strict=True))
                given = min(given, on * rated_w(part))
            watts[n] = max(given / part.efficiency, part.idle_w or 0.0) / lines
        amperes = list(self.amperes)
        for n, ties in self.handing:
            volts_in = self.wiring.elements[n].ends.nominal_v
            amperes[n] = sum(abs(answer.tie_a[t] * self.wiring.circuit.ties[t][2]) for t in ties) / volts_in
        return Question(ohms, amperes, self.siemens, watts)


def _fixed_ohm(system: System, inside: Mapping[str, float], item: Item) -> float:
    if item.kind == "device":
        return system.devices[item.id].resistance_ohm
    return inside[item.id] if item.kind == "source" else 0.0


def rated_w(part: Part) -> float:
    """Rated output of a converter or inverter."""
    if isinstance(part, Converter):
        return (part.current_a or 0.0) * (part.out_v or 0.0)
    return part.power_w or 0.0


def _pushed(part: Part, element: Element) -> float:
    """Amperes that a source pushes at its rating."""
    if isinstance(part, Solar):
        each_v = part.vmp_v or element.ends.nominal_v / part.series
        return (part.imp_a or part.isc_a or (part.power_w or 0.0) / each_v) * part.parallel
    return part.pushes_a
