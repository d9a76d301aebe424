"""The network solved with the sizes as built: both poles, conductors at their temperature, every case."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from copperplate.findings import Finding, make
from copperplate.model import Case, Load, Part, State, System
from copperplate.model.graph import Graph, graph
from copperplate.model.results import Demand, ElementDraw, Holding, RunResult, Solution
from copperplate.network.built import Wire, inside_ohm, wires_as_built
from copperplate.network.currents import share
from copperplate.network.kirchhoff import Answer, prepare, settle
from copperplate.network.questions import Asking, Law, laws, pushed_a, rated_w
from copperplate.network.sources import held_v, joined_nodes, limit_v
from copperplate.network.states import case_state, states
from copperplate.network.wiring import Element, Wiring, elements, wire_up
from copperplate.standards import Profile
from copperplate.units import NOISE, exceeds, suffices

MOST_ROUNDS = 40
BALANCED = 1e-12
"""Rounds over the sharing between batteries end when their e.m.f.s move by less, in volts."""
TURNED = 1e-6
"""Share of its rating or voltage by which an answer must contradict what a source was taken for."""


def solve(
    system: System, profile: Profile, demand: Demand, runs: Mapping[str, RunResult]
) -> tuple[Solution, tuple[Finding, ...]]:
    """Voltages and currents of every case, and a finding for each load whose supply breaks down.

    Conductors of runs without a size are taken without resistance."""
    net = graph(system)
    wires = wires_as_built(system, runs)
    bare = frozenset(c for c in system.conductors if c not in wires)
    drawing = elements(system, net)
    node_v: dict[str, dict[str, float]] = {}
    conductor_a: dict[str, dict[str, float]] = {}
    device_a: dict[str, dict[str, float]] = {}
    load_a: dict[str, dict[str, float]] = {}
    source_a: dict[str, dict[str, float]] = {}
    terminal_v: dict[str, dict[str, float]] = {}
    collapsed: dict[str, tuple[str, ...]] = {}
    resistance_ohm: dict[str, dict[str, float]] = {}
    asked: dict[str, tuple[Asking, Answer]] = {}
    findings: list[Finding] = []
    told: set[str] = set()
    beside = states(system, net)
    for case in (*map(case_state, system.cases), *beside):
        asking, answer = _solve_state(system, net, case, wires, bare, drawing)
        asked[case.id], wiring = (asking, answer), asking.wiring
        volts = answer.volts
        node_v[case.id] = {node: volts[wiring.point[node]] for node in system.nodes}
        amperes = dict.fromkeys(system.conductors, 0.0)
        through = dict.fromkeys(system.devices, 0.0)
        given: dict[str, float] = {}
        for item, a in (*zip(wiring.wires, answer.wire_a, strict=True), *zip(wiring.ties, answer.tie_a, strict=True)):
            if item.kind == "conductor":
                amperes[item.id] = a
            elif item.kind == "device" and exceeds(abs(a), abs(through[item.id]), NOISE):
                # Its first pole counts: the same current comes back through the neutral with the other sign.
                through[item.id] = a
        for item, a in zip(wiring.ties, answer.tie_a, strict=True):
            if item.kind == "source":
                # The current inside a source runs from its negative to its positive terminal.
                given[item.id] = given.get(item.id, 0.0) + (-a if item.id not in given else abs(a))
        drawn = {e.part: a for e, a in zip(wiring.elements, answer.load_a, strict=True) if e.role == "supply"}
        for e, a in zip(wiring.elements, answer.load_a, strict=True):
            if e.role == "push":
                given[e.part] = -a
        conductor_a[case.id], device_a[case.id] = amperes, through
        load_a[case.id], source_a[case.id] = drawn, given
        resistance_ohm[case.id] = {c: wire.ohm(wire.temperature_c(amperes[c])) for c, wire in wires.items()}
        terminal_v[case.id] = {
            part: volts[wiring.point[ends.pos]] - volts[wiring.point[ends.neg]]
            for part, ends in net.outputs.items()
            if net.holds(part)
        }
        collapsed[case.id] = tuple(dict.fromkeys(wiring.elements[n].part for n in answer.collapsed))
        findings += _collapses(system, case, wiring, answer, told)
    temperature_c = {
        c: max(wire.temperature_c(conductor_a[case.id][c]) for case in system.cases) for c, wire in wires.items()
    }
    solution = Solution(
        node_v=node_v,
        conductor_a=conductor_a,
        device_a=device_a,
        load_a=load_a,
        source_a=source_a,
        temperature_c=temperature_c,
        resistance_ohm=resistance_ohm,
        held_v=terminal_v,
        collapsed=collapsed,
        holdings=_holdings(net, inside_ohm(system, net), asked),
        draws=_draws(drawing, laws(system, net, drawing, [1.0] * len(drawing)), asked),
        states=beside,
        unsettled=frozenset(state for state, (_, answer) in asked.items() if not answer.settled),
    )
    return solution, tuple(findings)


def _solve_state(
    system: System,
    net: Graph,
    state: State,
    wires: Mapping[str, Wire],
    bare: frozenset[str],
    drawing: Sequence[Element],
) -> tuple[Asking, Answer]:
    """A state with its sources at their limits: what pushes gives its rating as long as its terminals stay below the
    voltage that ends it, else what brings them there, and nothing where others hold them higher still. Which of them
    end is found by rounds with these held at that voltage: each round turns those that the last answer contradicts,
    after half of the rounds one at a time."""
    pushing = {
        e.part: (n, on, limit)
        for n, e in enumerate(drawing)
        if e.role == "push"
        and (on := share(state, system, net, e)) * pushed_a(system.parts[e.part], e) > 0.0
        and (limit := limit_v(system, net, e)) is not None
    }
    limits: dict[str, float] = {}
    pushed: dict[str, float] = {}
    most_rounds = 2 * len(pushing) + 4
    for number in range(most_rounds):
        asking, answer = _solve_pushed(system, net, state, wires, bare, drawing, limits, pushed)
        wiring = asking.wiring
        given = {i.id: a for i, a in zip(wiring.wires, answer.wire_a, strict=True) if i.kind == "limit"}
        given = {name: a / pushed_a(system.parts[name], drawing[pushing[name][0]]) for name, a in given.items()}
        turned = [
            name
            for name in limits
            if exceeds(given[name], pushing[name][1], TURNED) or given[name] < -TURNED * pushing[name][1]
        ]
        turned += [
            name
            for name, (n, _, limit) in pushing.items()
            if name not in limits
            and (
                not suffices(answer.load_v[n], limit, TURNED)
                if name in pushed
                else exceeds(answer.load_v[n], limit, TURNED)
            )
        ]
        if not turned:
            break
        for name in turned[: None if 2 * number < most_rounds else 1]:
            if name not in limits:
                limits[name], pushed[name] = pushing[name][2], 0.0
                continue
            del limits[name]
            if given[name] > 0.0:
                del pushed[name]
    if limits:
        pushed |= {name: max(given[name], 0.0) for name in limits}
        asking, answer = _solve_pushed(system, net, state, wires, bare, drawing, {}, pushed)
    passing = zip(asking.wiring.ties, answer.tie_a, strict=True)
    if back := [item.id for item, a in passing if item.id in system.diodes and a < -NOISE]:
        parted = replace(state, open_devices=state.open_devices | {back[0]})
        return _solve_state(system, net, parted, wires, bare, drawing)
    return asking, answer


def _solve_pushed(
    system: System,
    net: Graph,
    state: State,
    wires: Mapping[str, Wire],
    bare: frozenset[str],
    drawing: Sequence[Element],
    limits: Mapping[str, float],
    pushed: Mapping[str, float],
) -> tuple[Asking, Answer]:
    volts = held_v(system, net, state)
    inside = {bank: ohm for bank, ohm in inside_ohm(system, net).items() if bank in volts}
    joined = joined_nodes(system, net, state)
    together = {part: joined.root(net.outputs[part].pos) for part in inside}
    raised = dict.fromkeys(together.values(), 0.0)
    coupled = [e.role != "push" for e in drawing]
    for _ in range(MOST_ROUNDS):
        emf = {part: v + raised.get(together.get(part, ""), 0.0) for part, v in volts.items()}
        wiring = wire_up(
            system, net, emf, state.open_devices, coupled=coupled, bare=bare, inside_ohm=inside, limits=limits
        )
        asking = Asking(system, net, state, wires, wiring, pushed)
        answer = settle(prepare(wiring.circuit), asking.first(), asking.next)
        # The e.m.f.s of banks that the state joins are raised together, so that no terminal is below the voltage that
        # is held (none above it while charging), and the resistances decide the sharing only.
        needed: dict[str, float] = {}
        worse = min if state.kind == "charge" else max
        for item, a in zip(wiring.ties, answer.tie_a, strict=True):
            if item.kind == "source" and item.id in inside:
                lost = -a * inside[item.id]
                at = together[item.id]
                needed[at] = worse(lost, needed.get(at, lost))
        if all(abs(needed[at] - raised[at]) <= BALANCED for at in needed):
            break
        raised = needed
    return asking, answer


Asked = Mapping[str, tuple[Asking, Answer]]
"""By state id, the question last asked of it and the answer."""


def _holdings(net: Graph, inside: Mapping[str, float], asked: Asked) -> tuple[Holding, ...]:
    found: list[Holding] = []
    for join in net.joins:
        on = {case: (a, answer, a.held[join.a]) for case, (a, answer) in asked.items() if join.a in a.held}
        volts = {case: asking.wiring.circuit.ties[tie][2] for case, (asking, _, tie) in on.items()}
        amperes = {case: -answer.tie_a[tie] for case, (_, answer, tie) in on.items()}
        found.append(Holding(join.part, join.b, join.a, inside.get(join.part, 0.0), volts, amperes))
    return tuple(found)


def _draws(drawing: Sequence[Element], each: Sequence[Law], asked: Asked) -> tuple[ElementDraw, ...]:
    found: list[ElementDraw] = []
    wiring = next(iter(asked.values()))[0].wiring
    node = {number: name for name, number in wiring.point.items()}
    for n, (element, law) in enumerate(zip(drawing, each, strict=True)):
        a, b = wiring.circuit.loads[n]
        found.append(
            ElementDraw(
                element.part,
                element.role,
                node[a],
                node[b],
                law.amperes,
                law.siemens,
                law.watts,
                law.conversion,
                law.transfer,
                {case: asking.share[n] for case, (asking, _) in asked.items()},
                {case: answer.load_a[n] for case, (_, answer) in asked.items()},
            )
        )
    return tuple(found)


def _collapses(system: System, case: Case, wiring: Wiring, answer: Answer, told: set[str]) -> list[Finding]:
    found: list[Finding] = []
    for n in answer.collapsed:
        part = system.parts[wiring.elements[n].part]
        # Where there is no voltage even without the load, no wire is too thin: nothing is connected there.
        if part.id in told or not answer.load_v[n] > 0.0:
            continue
        told.add(part.id)
        watts = _asked_w(part)
        bearable, name = watts * answer.bearable, case.title or case.id
        found.append(make("CP301", part.id, part.span, asked=watts, bearable=bearable, case=name))
    return found


def _asked_w(part: Part) -> float:
    if isinstance(part, Load):
        return (part.power_w or 0.0) * part.count
    return rated_w(part) / part.efficiency
