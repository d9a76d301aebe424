"""Kirchhoff's laws for a circuit of numbers: one elimination a pass, a few passes.

A load draws amperes + siemens x V + watts / V at its own voltage V. Constant currents and resistances are solved in
one pass. For constant power each pass linearises watts / V at the last voltages (Newton's method): the load becomes
a current of 2P/V and a conductance of -P/V². Started from the voltages without these loads, which are the highest
there can be, the passes come down to the working point and never below it; where there is none, a pivot of the
elimination or a voltage turns negative, and the loads that ask for too much are named. Passes end when no voltage
moves by more than 1e-12 of itself.

Voltages are solved as differences from a *rest* in which no current flows, so that a drop of millivolts keeps its
digits beside twelve volts.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from copperplate.model.elimination import Factors, Order, back_solve, factor, order
from copperplate.network.circuit import Circuit, Islands, join

SETTLED = 1e-12
"""Passes end when voltages and currents move by less than this share of themselves."""
MOST_PASSES = 80


@dataclass(frozen=True)
class Plan:
    """A circuit made ready: islands, rest voltages, order of elimination. Good for any resistances and currents."""

    circuit: Circuit
    islands: Islands
    rest: list[float]
    """Volts of each point where no current flows (two sources of unequal voltage apart)."""
    order: Order
    coupled: list[int]
    loops: tuple[tuple[list[int], Plan], ...]
    """Loops of pure ties: (tie numbers, the same ties as a circuit of equal resistances)."""


@dataclass(frozen=True)
class Question:
    """Resistance of each wire, and what each load draws: amperes + siemens x V + watts / V."""

    ohms: Sequence[float]
    amperes: Sequence[float] = ()
    siemens: Sequence[float] = ()
    watts: Sequence[float] = ()


@dataclass(frozen=True)
class Answer:
    """Volts by point, amperes by wire and tie (from first to second point) and by load; `collapsed` are the loads
    whose constant power the wiring cannot bring: the answer is that without them. `bearable` is then the share of all
    constant powers at which the first of them just still works."""

    volts: list[float]
    wire_a: list[float]
    tie_a: list[float]
    load_a: list[float]
    load_v: list[float]
    passes: int
    collapsed: tuple[int, ...] = ()
    settled: bool = True
    bearable: float = 1.0


Adjust = Callable[[Answer], Question]
"""Gives the next question from the last answer: resistances at their temperature, powers drawn by converters."""


def prepare(circuit: Circuit) -> Plan:
    """Joins, orders and rests a circuit."""
    islands = join(circuit)
    at = islands.island
    wires = [(at[a], at[b]) for a, b in circuit.wires]
    held, rest_of = _references(circuit, islands, wires)
    coupled = [n for n, flag in enumerate(circuit.coupled) if flag]
    branches = wires + [(at[circuit.loads[n][0]], at[circuit.loads[n][1]]) for n in coupled]
    rest = [rest_of[at[point]] + islands.above[point] for point in range(circuit.points)]
    return Plan(circuit, islands, rest, order(islands.count, held, branches), coupled, _loops(circuit, islands))


def _references(circuit: Circuit, islands: Islands, wires: Sequence[tuple[int, int]]) -> tuple[list[bool], list[float]]:
    """Which islands are held, and the rest voltage of every island's root, spread from the references."""
    neighbours: list[list[int]] = [[] for _ in range(islands.count)]
    for number, (a, b) in enumerate(wires):
        neighbours[a].append(number)
        neighbours[b].append(number)
    held = [False] * islands.count
    rest = [0.0] * islands.count
    seen = [False] * islands.count

    def spread(start: int) -> None:
        front = [start]
        for island in front:
            for number in neighbours[island]:
                a, b = wires[number]
                point_a, point_b = circuit.wires[number]
                across = islands.above[point_a] - islands.above[point_b]
                if a == island and not seen[b]:
                    seen[b], rest[b] = True, rest[a] + across
                    front.append(b)
                elif b == island and not seen[a]:
                    seen[a], rest[a] = True, rest[b] - across
                    front.append(a)

    for point in circuit.references:
        island = islands.island[point]
        if not seen[island]:
            seen[island] = held[island] = True
            rest[island] = -islands.above[point]
            spread(island)
    for island in range(islands.count):
        if not seen[island]:
            seen[island] = held[island] = True
            spread(island)
    return held, rest


def _loops(circuit: Circuit, islands: Islands) -> tuple[tuple[list[int], Plan], ...]:
    """Islands in which ties close a loop: their currents are shared as if every tie had the same small resistance,
    so devices in parallel share equally."""
    conflicts = set(islands.conflicts)
    looped = dict.fromkeys(islands.island[circuit.ties[n][0]] for n in islands.closing if n not in conflicts)
    members: dict[int, list[int]] = {island: [] for island in looped}
    for number, (a, _, _) in enumerate(circuit.ties):
        if islands.island[a] in members and number not in conflicts:
            members[islands.island[a]].append(number)
    result = []
    for numbers in members.values():
        points: dict[int, int] = {}
        wires = [
            (points.setdefault(circuit.ties[n][0], len(points)), points.setdefault(circuit.ties[n][1], len(points)))
            for n in numbers
        ]
        loads = [(place, 0) for place in points.values()]
        inner = prepare(Circuit(len(points), wires, loads=loads, references=(0,)))
        result.append((numbers, inner))
    return tuple(result)


def settle(plan: Plan, question: Question, adjust: Adjust | None = None) -> Answer:
    """The working point. Loads that collapse are left out, named, and the rest is solved without them."""
    dropped: list[int] = []
    bearable = 1.0
    while True:
        answer, asked = _settle(plan, _without(question, dropped), _adjust_without(adjust, dropped))
        if answer is not None:
            return replace(answer, collapsed=tuple(sorted(dropped)), bearable=bearable)
        weakest, share = _weakest(plan, asked)
        bearable = bearable if dropped else share
        dropped += weakest


def _without(question: Question, dropped: Sequence[int]) -> Question:
    if not dropped:
        return question
    watts = list(question.watts)
    for number in dropped:
        watts[number] = 0.0
    return replace(question, watts=watts)


def _adjust_without(adjust: Adjust | None, dropped: Sequence[int]) -> Adjust | None:
    if adjust is None:
        return None
    return lambda answer: _without(adjust(answer), dropped)


def _weakest(plan: Plan, question: Question) -> tuple[list[int], float]:
    """The loads to leave out: with every power lowered by one share until the circuit just works, the one whose
    voltage has sunk furthest, and those within two hundredths of it; and that share."""
    powered = [n for n, watts in enumerate(question.watts) if watts > 0.0]
    rest, _ = _settle(plan, replace(question, watts=[0.0] * len(question.watts)), None)
    low, high, best = 0.0, 1.0, rest
    for _ in range(14):
        share = (low + high) / 2
        trial, _ = _settle(plan, replace(question, watts=[share * w for w in question.watts]), None)
        low, high, best = (low, share, best) if trial is None else (share, high, trial)
    if rest is None or best is None:
        return powered, low
    sunk = {n: best.load_v[n] / rest.load_v[n] if rest.load_v[n] > 0.0 else 0.0 for n in powered}
    lowest = min(sunk.values())
    return [n for n in powered if sunk[n] <= lowest + 0.02], low


def _settle(plan: Plan, question: Question, adjust: Adjust | None) -> tuple[Answer | None, Question]:
    """Passes to the working point from the rest; None where there is none, with the question last asked."""
    loads = len(plan.circuit.loads)
    none = [0.0] * loads
    at_v: list[float] = []
    answer: Answer | None = None
    for passes in range(1, MOST_PASSES + 1):
        amperes, siemens = list(question.amperes) or list(none), list(question.siemens) or list(none)
        powered = [n for n in plan.coupled if question.watts and question.watts[n]]
        # The first pass leaves constant power out: its voltages are the highest that there can be.
        if at_v and any(not at_v[n] > 0.0 for n in powered):  # asked for only now, where no voltage is
            return None, question
        for number in powered if at_v else ():
            watts, volts = question.watts[number], at_v[number]
            amperes[number] += 2.0 * watts / volts
            siemens[number] -= watts / volts**2
        step = _solve(plan, question.ohms, amperes, siemens)
        if step is None or any(not step.load_v[n] > 0.0 for n in powered):
            return None, question
        moved = max(map(_change, at_v, step.load_v), default=0.0) if at_v else float(bool(powered))
        at_v, answer = step.load_v, replace(step, passes=passes)
        if adjust is not None:
            asked, question = question, adjust(answer)
            moved = max(moved, _changed(asked, question), float(passes == 1))
        if moved <= SETTLED:
            return answer, question
    return (replace(answer, settled=False) if answer is not None else None), question


def _change(a: float, b: float) -> float:
    return abs(a - b) / max(abs(a), abs(b), 1e-9)


def _changed(before: Question, after: Question) -> float:
    """Largest relative change of a resistance, current or power. A tenth of it counts: currents are differences
    of voltages and know a digit less."""
    pairs = ((before.ohms, after.ohms), (before.watts, after.watts), (before.amperes, after.amperes))
    return 0.1 * max((max(map(_change, old, new), default=0.0) for old, new in pairs), default=0.0)


def _solve(plan: Plan, ohms: Sequence[float], amperes: Sequence[float], siemens: Sequence[float]) -> Answer | None:
    """One linear pass: loads draw amperes + siemens x V. None where a pivot is not positive."""
    circuit, islands = plan.circuit, plan.islands
    at, rest = islands.island, plan.rest
    conductance = [1.0 / r for r in ohms]
    into = [0.0] * islands.count
    for (a, b), g in zip(circuit.wires, conductance, strict=True):
        driving = rest[a] - rest[b]
        if driving:
            into[at[a]] -= g * driving
            into[at[b]] += g * driving
    drawn = list(amperes)
    for number in plan.coupled:
        a, b = circuit.loads[number]
        drawn[number] += siemens[number] * (rest[a] - rest[b])
    for (a, b), i in zip(circuit.loads, drawn, strict=True):
        into[at[a]] -= i
        into[at[b]] += i
    factors = factor(plan.order, conductance + [siemens[n] for n in plan.coupled])
    if not isinstance(factors, Factors):
        return None
    shift = back_solve(plan.order, factors, into)
    wire_a = [
        g * (shift[at[a]] - shift[at[b]] + (rest[a] - rest[b]))
        for (a, b), g in zip(circuit.wires, conductance, strict=True)
    ]
    volts = [level + shift[island] for level, island in zip(rest, at, strict=True)]
    load_v = [volts[a] - volts[b] for a, b in circuit.loads]
    load_a = list(amperes)
    for number in plan.coupled:
        load_a[number] += siemens[number] * load_v[number]
    return Answer(volts, wire_a, _tie_currents(plan, wire_a, load_a), load_a, load_v, 1)


def _tie_currents(plan: Plan, wire_a: Sequence[float], load_a: Sequence[float]) -> list[float]:
    """Currents of the ties by Kirchhoff's first law, from the leaves of each island of ties to its first point."""
    circuit = plan.circuit
    leaves = [0.0] * circuit.points
    for (a, b), i in zip(circuit.wires, wire_a, strict=True):
        leaves[a] += i
        leaves[b] -= i
    for (a, b), i in zip(circuit.loads, load_a, strict=True):
        leaves[a] += i
        leaves[b] -= i
    tie_a = [0.0] * len(circuit.ties)
    for numbers, inner in plan.loops:
        points: dict[int, int] = {}
        for n in numbers:
            points.setdefault(circuit.ties[n][0], len(points))
            points.setdefault(circuit.ties[n][1], len(points))
        drawn = [leaves[point] for point in points]
        shared = settle(inner, Question([1.0] * len(numbers), drawn))
        for n, i in zip(numbers, shared.wire_a, strict=True):
            tie_a[n] = i
    looped = {n for numbers, _ in plan.loops for n in numbers}
    for number, child, parent, sign in plan.islands.walk:
        if number in looped:
            continue
        tie_a[number] = sign * leaves[child]
        leaves[parent] += leaves[child]
    return tie_a
