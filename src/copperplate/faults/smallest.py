"""How each short is cleared, device after device: the smallest that each must open at, and what returns bear of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf

from copperplate.faults.banks import Bank
from copperplate.faults.circuit import Circuit, Feed, feeds_of
from copperplate.faults.heat import Heat, Heats, Passing
from copperplate.faults.shorts import shorts_from
from copperplate.faults.ways import Opened, Step, Turn, Ways, openings
from copperplate.model import System, Traced
from copperplate.model.graph import Graph
from copperplate.model.results import Clearing, RunResult
from copperplate.model.side_by_side import bridging


@dataclass(frozen=True, slots=True)
class FarEnd:
    """The smallest short that must open a device: at the end of `conductor`. `earlier` are the
    devices that open before it, turn by turn."""

    current: Traced
    conductor: str
    clearing: Clearing
    earlier: tuple[tuple[Opened, ...], ...] = ()


def smallest(
    system: System,
    net: Graph,
    runs: Mapping[str, RunResult],
    banks: Mapping[str, Bank],
    rating_a: Mapping[str, float | None],
    passing: Passing,
) -> tuple[dict[str, FarEnd], dict[str, Heat]]:
    """By device the least current at which it opens, of all bolted shorts, and by conductor of the return the most heat
    of any.

    A short is made at both ends of every live conductor, to the first negative that all share which give or take
    current behind it, and at the terminals of all that takes current; with a conducting body, to the body as well.
    Each battery feeds it alone, at the low end of its range, with what bridges banks as in a case and closed, and all
    that a case leaves joined feed it together at the lowest of theirs; copper is as hot as its insulation allows, out
    and back; a converter gives what it does at most, where no battery stands in its circuit. What limits its own
    current drives none. The device with the most times its rating opens, those that have nearly as many with it, and
    the rest is solved again until nothing flows."""
    circuit = Circuit(system, net, runs, rating_a)
    feeds = list(feeds_of(system, net, banks))
    far: dict[str, FarEnd] = {}
    heat: dict[str, Heat] = {}
    shorts: dict[str, list[tuple[int, int]]] = {}

    def clear(joined: tuple[Feed, ...], shorts: Sequence[tuple[int, int]], ways: Ways) -> None:
        conductors = circuit.conductors(joined[0].pos)
        heats = Heats(circuit.names, ways, passing)
        for node, back in shorts:
            _clear(circuit, ways, joined, node, back, conductors, far, heats)
        heats.raise_to(heat)

    between = bridging(system, net)
    for feed in feeds:
        for opened in dict.fromkeys((*(case.open_devices & between for case in system.cases), system.diodes)):
            ways = circuit.ways((feed,), opened)
            made = shorts_from(circuit, net, feed, ways)
            clear((feed,), made, ways)
            shorts[feed.part] = list(dict.fromkeys((*shorts.get(feed.part, ()), *made)))
    batteries = [feed for feed in feeds if feed.limit_a == inf]
    for opened in dict.fromkeys(case.open_devices for case in system.cases) if len(batteries) > 1 else ():
        for joined in circuit.joined(batteries, opened):
            together = dict.fromkeys(short for feed in joined for short in shorts[feed.part])
            clear(joined, list(together), circuit.ways(joined, opened))
    return far, heat


def _clear(
    circuit: Circuit,
    ways: Ways,
    feeds: Sequence[Feed],
    node: int,
    back: int,
    conductors: Mapping[int, str],
    far: dict[str, FarEnd],
    heats: Heats,
) -> None:
    """Keeps a short for those devices that it opens and of which it is the smallest."""
    volts, limit_a = min(feed.volts for feed in feeds), min(feed.limit_a for feed in feeds)
    turns: tuple[Turn, ...] = ()
    for step in openings(ways, node, back, lambda ohm: min(volts / abs(ohm) if ohm else inf, limit_a)):
        if not step.way.first:
            return
        for device, share, _ in step.way.first:
            if device not in far or share * step.turn.amperes < far[device].current.value:
                far[device] = _far_end(circuit, ways, feeds, node, back, conductors, share, step)
        turns = (*step.earlier, step.turn)
    heats.add(node, back, turns)


def _far_end(
    circuit: Circuit,
    ways: Ways,
    feeds: Sequence[Feed],
    node: int,
    back: int,
    conductors: Mapping[int, str],
    share: float,
    step: Step,
) -> FarEnd:
    feed, *others = feeds
    before, ohm = step.opened, abs(step.way.ohm)
    volts = min(each.volts for each in feeds)
    amperes = volts / ohm if ohm > 0.0 else inf
    inputs: list[tuple[str, float | str, str]] = []
    formula = "lowest voltage / (battery + conductors as hot as their insulation allows, out and back)"
    out_ohm = back_ohm = None
    if others:
        inputs += [(f"{' and '.join(each.part for each in feeds)}, lowest", volts, "V")]
        inputs += [("batteries and conductors, hot", ohm * 1000, "mohm")]
    else:
        out_ohm = abs(ways.between(circuit.number[feed.pos], node, frozenset(before)).ohm)
        back_ohm = abs(ways.between(back, circuit.number[feed.neg], frozenset(before)).ohm)
        inputs.append((f"{feed.part}, lowest", volts, "V"))
        if feed.inner_ohm:
            inputs.append((f"{feed.part} resistance", feed.inner_ohm * 1000, "mohm"))
        inputs += [("out, hot", out_ohm * 1000, "mohm"), ("back, hot", back_ohm * 1000, "mohm")]
    if amperes > feed.limit_a:
        amperes, formula = feed.limit_a, "what the converter gives at most"
        inputs.append((f"{feed.part} gives", feed.limit_a, "A"))
    if share < 1.0:
        inputs.append(("its share", share, ""))
    if before:
        inputs.append(("devices that open before it", ", ".join(before), ""))
    source = "common practice: one source alone, far end of the conductor"
    if others:
        source = "common practice: sources that a case joins, far end of the conductor"
    current = Traced(share * amperes, "A", "smallest fault current", formula, tuple(inputs), source, "practice")
    conductor = conductors.get(node) or next((line.id for line in circuit.out.at[node] if line.conductor), "")
    names, parts = circuit.names, tuple(each.part for each in feeds)
    clearing = Clearing(names[node], names[back], parts, out_ohm, back_ohm, len(step.earlier) + 1)
    return FarEnd(current, conductor, clearing, tuple(turn.opened for turn in step.earlier))
