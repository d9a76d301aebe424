"""AC faults: the largest current that each device can meet, and the smallest that should open it.

Each supply alone. The return lies beside the line and is of its size, so that the circuit is that of the lines with
the ohms of every conductor out and back.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial

from copperplate.faults.largest import Sides
from copperplate.faults.mains import Supply
from copperplate.faults.sides import NOTHING, Norton, sides
from copperplate.faults.ways import Link, Step, Way, Ways, openings
from copperplate.faults.wiring import Branch, Wiring, wiring
from copperplate.model import System, Traced
from copperplate.model.graph import Graph
from copperplate.model.results import Clearing, RunResult
from copperplate.model.turns import LINES, Turn, transfers, turns
from copperplate.standards import Profile, fuses
from copperplate.units import show

AT_ONCE = Norton(1.0, 1.0, 1)
"""One volt behind one ohm: a supply of which only the ways are asked."""


@dataclass(frozen=True, slots=True)
class Fault:
    """The largest current at a device, by the side that it comes from, and the supply that drives it."""

    sides: Sides
    supply: Supply

    @property
    def current(self) -> Traced:
        """What the device must break."""
        return self.sides.larger


@dataclass(frozen=True, slots=True)
class End:
    """The end of a conductor at which a device has the smallest currents of one supply: the `short` between live
    conductors and the one to the protective `earth`. `residual_a` of the residual-current devices that stand before
    every such end."""

    supply: str
    conductor: str
    node: str
    short: Traced
    earth: Traced
    residual_a: float | None
    clearing: Clearing


def largest_ac(
    system: System, profile: Profile, net: Graph, runs: Mapping[str, RunResult], supplies: Mapping[str, Supply]
) -> dict[str, Fault]:
    """Prospective current of each AC device: the largest that any supply drives from one of its sides into a short at
    it, between its line and the neutral, or both lines where they are there. Supplies take turns, so that none are
    added.

    IEC 60909-0: c U / |Z|. Copper at 20 °C, out and back; cable reactance left out, and the source's impedance at
    right angles to the copper: of two readings the larger current."""
    result: dict[str, Fault] = {}
    for turn in turns(system, net):
        supply = supplies.get(turn.supply)
        if supply is None:
            continue
        circuit = _circuit(system, net, runs, turn, profile.figures["fault-copper"].value)
        given = [NOTHING] * len(circuit.names)
        for node in turn.starts:
            given[circuit.number[node]] = AT_ONCE
        for device, ends in _sides(system, circuit, given):
            both = _both_lines(system, device, supply)
            made = Sides(*(_largest(profile, supply, *end, both) for end in ends))
            if device not in result or made.larger.value > result[device].current.value:
                result[device] = Fault(made, supply)
    return result


Drawn = tuple[float, float]
"""What one volt behind one ohm drives into one end of a device, amperes, and what it drives meanwhile into both."""


def _sides(system: System, circuit: Wiring, given: list[Norton]) -> Iterator[tuple[str, tuple[Drawn, Drawn]]]:
    """What comes to the ends of each leg of a device, where anything does; a stub at each stands for one that is
    open."""
    wires = [(branch.a, branch.b, 2 * branch.ohm) for branch in circuit.branches]
    closed = {index: branch.id for index, branch in enumerate(circuit.branches) if branch.id in system.devices}
    number, first_stub, nodes = circuit.number, len(wires), len(circuit.names)
    legs = [(device.id, *leg) for device in system.devices.values() for leg in device.legs]
    shut = {*closed.values()}
    stubs = [(device, end) for device, *ends in legs if device not in shut for end in ends if end in number]
    wires += [(number[end], nodes + place, 0.0) for place, (_, end) in enumerate(stubs)]
    asked = [*closed, *range(first_stub, len(wires))]
    found = sides(nodes + len(stubs), wires, [*given, *[NOTHING] * len(stubs)], asked)
    for index, device in closed.items():
        first, second = (side.amperes for side in found.get(index, (NOTHING, NOTHING)))
        if first + second > 0.0:
            yield device, ((first, first + second), (second, first + second))
    for place in range(0, len(stubs), 2):
        first, second = (found[first_stub + place + end][0].amperes for end in (0, 1))
        if first + second > 0.0:
            yield stubs[place][0], ((first, first), (second, second))


def _circuit(
    system: System, net: Graph, runs: Mapping[str, RunResult], turn: Turn, temperature_c: float | None
) -> Wiring:
    """The lines with what is closed in a turn."""
    whole = wiring(system, net, runs, lambda of, node: of.nodes[node].pole in LINES, temperature_c)
    number = whole.number
    handed = [
        Branch("", number[a], number[b], 0.0)
        for a, b, part in transfers(net)
        if part in turn.handing and a in number and b in number
    ]
    return Wiring(whole.names, (*(b for b in whole.branches if b.id not in turn.opened), *handed))


def _both_lines(system: System, device: str, supply: Supply) -> bool:
    """Whether both lines of a split supply are at a device: in its run, or on the bars of its panel."""
    here = system.devices[device]
    if not supply.split:
        return False
    if here.panel:
        return all(f"{here.panel}.ac-in.{line}" in system.nodes for line in ("l1", "l2"))
    poles = {system.conductors[c].pole for c in system.runs[here.run].conductor_ids}
    return {"l1", "l2"} <= poles


def _largest(profile: Profile, supply: Supply, amperes: float, of_both: float, both: bool) -> Traced | None:
    """What one side brings: its share of what comes to both, whose ohms follow from one volt behind one ohm."""
    if not amperes > 0.0:
        return None
    ohm, share = max(1.0 / of_both - 1.0, 0.0), amperes / of_both
    volts = supply.volts * (2 if both else 1)
    c, cold = profile.figures["fault-voltage-highest"], show(profile.figures["fault-copper"].value, "degC")
    source = c.value * volts / supply.most_a
    across = "line to line" if both else "line to neutral"
    inputs: list[tuple[str, float | str, str]] = [
        (across, volts, "V"),
        ("c", c.value, ""),
        (f"{supply.part}, {supply.how}", supply.most_a, "A"),
        (f"out and back, {cold}", ohm * 1000, "mohm"),
    ]
    if share < 1.0:
        inputs.append(("its share", share, ""))
    if supply.limited:
        amperes = min(supply.most_a, c.value * volts / ohm) if ohm > 0.0 else supply.most_a
        formula = "what the source gives at most, or c U / copper out and back"
    else:
        amperes = c.value * volts / math.hypot(source, ohm)
        formula = "c U / sqrt(source² + copper²), source = c U / its current"
    quantity = f"largest fault current, {across}"
    return Traced(share * amperes, "A", quantity, formula, tuple(inputs), c.source, c.status)


def ends_ac(
    system: System,
    profile: Profile,
    net: Graph,
    runs: Mapping[str, RunResult],
    supplies: Mapping[str, Supply],
    rating_a: Mapping[str, float | None],
) -> dict[tuple[str, str], End]:
    """By (device, supply): the end of a conductor with the smallest currents that the device is the first to open at,
    or among the first: those with the most times their rating.

    IEC 60364-4-41 411.4.4: U0 / Zs of the loop, hot copper out and back and the reactance of both conductors, added
    to the source's impedance as numbers: of two readings the smaller current."""
    result: dict[tuple[str, str], End] = {}
    for turn in turns(system, net):
        supply = supplies.get(turn.supply)
        if supply is None:
            continue
        circuit = _circuit(system, net, runs, turn, None)
        for device, end in _ends(system, profile, circuit, turn, supply, rating_a):
            result[device, turn.supply] = _worse(result.get((device, turn.supply)), end)
    return result


def _ends(
    system: System,
    profile: Profile,
    circuit: Wiring,
    turn: Turn,
    supply: Supply,
    rating_a: Mapping[str, float | None],
) -> Iterator[tuple[str, End]]:
    """A short at both ends of every conductor, and the devices that open at it, each at its turn."""
    ground, residual_a = len(circuit.names), _residual_a(system, turn)
    links = [_link(system, profile, branch, rating_a) for branch in circuit.branches]
    links += [Link(ground, circuit.number[node], 0.0) for node in turn.starts]
    ways = Ways(ground + 1, links, len(links) - 1)
    for wire in circuit.branches:
        across = _across(system, wire.id, supply) if wire.conductor else 1
        driven = partial(_least_a, profile, supply, across)
        for end in (wire.a, wire.b) if wire.conductor else ():
            node = circuit.names[end]
            back, residual = _beside(system, wire.id, node), residual_a.get(node)
            for step in openings(ways, ground, end, driven):
                half = abs(step.way.ohm) / 2
                clearing = Clearing(node, back, (supply.part,), half, half, len(step.earlier) + 1)
                for device, share in _quickest(system, step.way):
                    short = _smallest(profile, supply, step, share, across, "smallest short circuit")
                    earth = _smallest(profile, supply, step, share, 1, "smallest earth fault")
                    yield device, End(supply.part, wire.id, node, short, earth, residual, clearing)


def _quickest(system: System, way: Way) -> list[tuple[str, float]]:
    """The devices that open first, with their shares: of those with as many times their rating the ones whose type
    opens at once at the fewest."""
    shares = {device: share for device, share, _ in way.first}
    times = {d: fuses.at_once(here.kind, here.curve).times if (here := system.devices[d]).roles.switches else 0.0
             for d in shares}
    return [(device, share) for device, share in shares.items() if times[device] <= min(times.values())]


def _worse(known: End | None, other: End) -> End:
    """Of two ends that with the smaller currents, of equal ones that further on; an end before which no
    residual-current device stands relies on the current alone."""
    if known is None:
        return other
    residual = None
    if known.residual_a is not None and other.residual_a is not None:
        residual = max(known.residual_a, other.residual_a)
    least = min(known, other, key=lambda end: (end.earth.value, end.short.value, -(end.clearing.out_ohm or 0.0)))
    return replace(least, residual_a=residual)


def _link(system: System, profile: Profile, branch: Branch, rating_a: Mapping[str, float | None]) -> Link:
    """A branch with its ohms out and back; a conductor has reactance too."""
    device = branch.id if branch.id in system.devices else ""
    rating = rating_a.get(device) if branch.opens else None
    metres = system.conductors[branch.id].length_m if branch.conductor else 0.0
    ohm = 2 * complex(branch.ohm, metres * profile.figures["cable-reactance"].value)
    return Link(branch.a, branch.b, ohm, device, rating or math.inf)


def _residual_a(system: System, turn: Turn) -> dict[str, float]:
    """By node: the least operating current of residual-current devices that the current of a supply cannot pass by."""
    found: dict[str, float] = {}
    told = {d.id: d.residual_a for d in system.devices.values() if d.residual_a is not None}
    everywhere = turn.reach()
    for amperes in sorted(set(told.values()), reverse=True):
        sensitive = {device for device, residual in told.items() if residual <= amperes}
        found |= dict.fromkeys(everywhere - turn.reach(sensitive.__contains__), amperes)
    return found


def _across(system: System, conductor: str, supply: Supply) -> int:
    """Lines between which a short at a conductor lies: two where its run has no neutral."""
    run = system.runs[system.conductors[conductor].run]
    poles = {system.conductors[c].pole for c in run.conductor_ids}
    return 2 if {"l1", "l2"} <= poles and "n" not in poles and supply.split else 1


def _beside(system: System, conductor: str, node: str) -> str:
    """The node of the neutral, else of the other line, that lies beside the end of a line."""
    wire = system.conductors[conductor]
    stem, _, rest = conductor.rpartition(f".{wire.pole}")
    for pole in ("n", "l1", "l2"):
        other = system.conductors.get(f"{stem}.{pole}{rest}")
        if other is not None and other is not wire:
            return other.from_node if node == wire.from_node else other.to_node
    return node


def _least_a(profile: Profile, supply: Supply, across: int, ohm: complex) -> float:
    """What a supply drives at least."""
    volts, copper = profile.figures["fault-voltage-lowest"].value * supply.volts * across, abs(ohm)
    if supply.outside:
        return volts / (supply.loop_ohm * across + copper)
    return min(supply.lasting_a, volts / copper) if copper > 0.0 else supply.lasting_a


def _smallest(
    profile: Profile, supply: Supply, step: Step, share: float, across: int, quantity: str
) -> Traced:
    c = profile.figures["fault-voltage-lowest"]
    inputs: list[tuple[str, float | str, str]] = [("U", supply.volts * across, "V"), ("c", c.value, "")]
    inputs.append(("out and back, hot", abs(step.way.ohm) * 1000, "mohm"))
    if supply.outside:
        inputs.append((f"loop outside {supply.part}", supply.loop_ohm * across * 1000, "mohm"))
        formula = "c U / (loop outside + hot copper out and back)"
    else:
        inputs.append((f"{supply.part} gives for long", supply.lasting_a, "A"))
        formula = "what the source gives for long, or c U / copper out and back"
    if share < 1.0:
        inputs.append(("its share", share, ""))
    if step.earlier:
        inputs.append(("devices that open before it", ", ".join(step.opened), ""))
    amperes = share * _least_a(profile, supply, across, step.way.ohm)
    return Traced(amperes, "A", quantity, formula, tuple(inputs), profile.clauses["fault-loop"], c.status)
