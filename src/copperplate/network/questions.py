"""The questions of one state: what elements draw by their own law, converters and inlets by what lies behind them, and
conductors at the temperature that the last answer gives them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from copperplate.model import Converter, Load, Part, Solar, State, System
from copperplate.model.graph import Graph
from copperplate.model.results import Conversion, Transfer
from copperplate.model.transfer import handing
from copperplate.network.built import Wire, inside_ohm
from copperplate.network.currents import share
from copperplate.network.kirchhoff import Answer, Question
from copperplate.network.wiring import Element, Item, Wiring

LIMIT_OHM = 1e-6
"""Between the voltage that ends a source and its terminals: sources that end at one voltage share equally."""


@dataclass(frozen=True)
class Law:
    """What an element draws at a share of its full current: amperes + siemens x V + watts / V, or in place of watts
    what a conversion needs. An inlet draws besides what it hands through."""

    amperes: float = 0.0
    siemens: float = 0.0
    watts: float = 0.0
    conversion: Conversion | None = None
    transfer: Transfer | None = None


def laws(system: System, net: Graph, elements: Sequence[Element], shares: Sequence[float]) -> tuple[Law, ...]:
    """The law of each element at its share, in their order."""
    through = handing(system, net) if net.inlets else {}
    pushing = {element.part: element.ends.pos for element in elements if element.role == "push"}
    supplied = {element.ends.zone for element in elements if element.role == "supply"}
    found: list[Law] = []
    for element, on in zip(elements, shares, strict=True):
        part, output = system.parts[element.part], net.outputs.get(element.part)
        held = tuple(join.a for join in net.joins if join.part == part.id)
        inlet = element.role == "inlet"
        lines = 2 if inlet and net.inlets[part.id].third else 1
        if element.role == "push":
            found.append(Law(amperes=-on * pushed_a(part, element)))
            continue
        if isinstance(part, Load):
            found.append(_load(part, element, on))
            continue
        transfer = None
        if inlet and (cases := tuple(case for case, parts in through.items() if part.id in parts)):
            given_by = held if lines == 1 else held[element.line : element.line + 1]
            transfer = Transfer(given_by, element.ends.nominal_v, cases)
        idle_w = part.idle_w or 0.0
        if not inlet and output is not None and net.holds(part.id) and output.zone in supplied:
            found.append(Law(conversion=Conversion(held, on * rated_w(part), part.efficiency, idle_w, lines)))
        elif part.id in pushing:
            conversion = Conversion((pushing[part.id],), None, part.efficiency, idle_w, lines)
            found.append(Law(conversion=conversion, transfer=transfer))
        else:
            found.append(Law(watts=on * rated_w(part) / part.efficiency, transfer=transfer))
    return tuple(found)


def _load(load: Load, element: Element, on: float) -> Law:
    count = load.count * on
    if load.current_a is not None:
        return Law(amperes=load.current_a * count)
    if load.resistance_ohm:
        return Law(siemens=count / load.resistance_ohm)
    watts = (load.power_w or 0.0) * count
    if element.ends.current == "dc":
        return Law(watts=watts)
    return Law(amperes=watts / (element.ends.nominal_v * load.power_factor))


class Asking:
    """One state's `first` question, and the `next` one after an answer. `share` of its full current that each element
    has in the state; `pushed` are the shares of sources that push less than the state asks of them."""

    def __init__(
        self,
        system: System,
        net: Graph,
        state: State,
        wires: Mapping[str, Wire],
        wiring: Wiring,
        pushed: Mapping[str, float],
    ) -> None:
        self.state, self.wiring = state, wiring
        self.share = [
            pushed[element.part]
            if element.role == "push" and element.part in pushed
            else share(state, system, net, element)
            for element in wiring.elements
        ]
        self.laws = laws(system, net, wiring.elements, self.share)
        self.amperes = [law.amperes for law in self.laws]
        self.siemens = [law.siemens for law in self.laws]
        pairs = zip(self.laws, self.share, strict=True)
        self.watts = [law.conversion.idle_w if law.conversion and on else law.watts for law, on in pairs]
        joins = {join.a: number for number, join in enumerate(net.joins, len(net.edges))}
        ties = {item.edge: n for n, item in enumerate(wiring.ties) if item.kind == "source"}
        self.held = {node: ties[number] for node, number in joins.items() if number in ties}
        limits = {item.id: n for n, item in enumerate(wiring.ties) if item.kind == "limit"}
        self.held |= {e.ends.pos: limits[e.part] for e in wiring.elements if e.role == "push" and e.part in limits}
        self.pushing = {e.ends.pos: n for n, e in enumerate(wiring.elements) if e.role == "push"}
        inside = inside_ohm(system, net)
        self.metal = [wires.get(item.id) if item.kind == "conductor" else None for item in wiring.wires]
        self.fixed = [_fixed_ohm(system, inside, item) for item in wiring.wires]

    def first(self) -> Question:
        ohms = [w.ohm(w.ambient_c) if w else r for w, r in zip(self.metal, self.fixed, strict=True)]
        return Question(ohms, self.amperes, self.siemens, self.watts)

    def next(self, answer: Answer) -> Question:
        ohms = [
            w.ohm(w.temperature_c(a)) if w else r for w, r, a in zip(self.metal, self.fixed, answer.wire_a, strict=True)
        ]
        amperes, watts = list(self.amperes), list(self.watts)
        for n, (law, on) in enumerate(zip(self.laws, self.share, strict=True)):
            if law.conversion is not None and on:
                conversion = law.conversion
                given = sum(self._given_w(answer, node) for node in conversion.outputs)
                if conversion.limit_w is not None:
                    given = min(given, conversion.limit_w)
                watts[n] = max(given / conversion.efficiency, conversion.idle_w) / conversion.lines
            if law.transfer is not None and self.state.of in law.transfer.cases:
                amperes[n] += sum(self._given_w(answer, node) for node in law.transfer.outputs) / law.transfer.volts
        return Question(ohms, amperes, self.siemens, watts)

    def _given_w(self, answer: Answer, node: str) -> float:
        """What a part gives at one of its outputs: where it holds a voltage, or where it pushes."""
        if node in self.held:
            tie = self.held[node]
            return abs(answer.tie_a[tie]) * abs(self.wiring.circuit.ties[tie][2])
        if node in self.pushing:
            n = self.pushing[node]
            return -answer.load_a[n] * max(answer.load_v[n], 0.0)
        return 0.0


def _fixed_ohm(system: System, inside: Mapping[str, float], item: Item) -> float:
    if item.kind == "device":
        return system.devices[item.id].resistance_ohm
    return LIMIT_OHM if item.kind == "limit" else inside[item.id] if item.kind == "source" else 0.0


def rated_w(part: Part) -> float:
    """Rated output of a converter or inverter."""
    if isinstance(part, Converter):
        return (part.current_a or 0.0) * (part.out_v or 0.0)
    return part.power_w or 0.0


def pushed_a(part: Part, element: Element) -> float:
    """Amperes that a source pushes at its rating."""
    if isinstance(part, Solar):
        each_v = part.vmp_v or element.ends.nominal_v / part.series
        return (part.imp_a or part.isc_a or (part.power_w or 0.0) / each_v) * part.parallel
    return part.pushes_a
