"""What is sized as one: a run with its both poles, the leads of one two-pole device, the runs of a ring."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from copperplate.model import Bus, Panel, System
from copperplate.model.graph import Graph
from copperplate.model.groups import Groups
from copperplate.model.loops import is_ring, joins_batteries, loops, loops_without
from copperplate.model.paths import Paths
from copperplate.model.side_by_side import bridging
from copperplate.sizing.rules import Rules


@dataclass(frozen=True)
class SizingUnit:
    """Runs that get one size, in declaration order. The runs of a ring are one unit: with one size all around, its
    current is shared by length, whatever the size. So are the leads of batteries in parallel, unless
    a combiner or a splitter stands between them."""

    runs: tuple[str, ...]


def sizing_units(
    system: System, net: Graph, rules: Mapping[str, Rules], shortest: Paths
) -> tuple[tuple[SizingUnit, ...], frozenset[str]]:
    """The units of all runs whose size is left out, in declaration order, and the conductors that lie in a ring.

    Two single conductors are one unit where they are the only ones on the two terminals of a device, or feed the two
    poles of one panel or bar, and have as many conductors in parallel."""
    free = {run_id for run_id, r in rules.items() if r.run.size is None}
    joined = Groups[str]()
    at: dict[str, list[str]] = {}
    for run_id in rules:
        if system.runs[run_id].conductors == 1:
            for c in system.runs[run_id].conductor_ids:
                for node in (system.conductors[c].from_node, system.conductors[c].to_node):
                    if run_id not in at.setdefault(node, []):
                        at[node].append(run_id)
    pairs = [(at.get(e.pos, []), at.get(e.neg, [])) for e in (*net.outputs.values(), *net.consumers.values())]
    for leads in (*pairs, *_feeds(system, shortest, at)):
        if all(len(lead) == 1 for lead in leads):
            plus, minus = leads[0][0], leads[1][0]
            if plus != minus and {plus, minus} <= free and rules[plus].run.parallel == rules[minus].run.parallel:
                joined.join(plus, minus)
    parted = bridging(system, net)
    opened = frozenset(number for number, edge in enumerate(net.edges) if edge.id in parted)
    for loop in loops_without(net, opened) if opened else loops(net):
        if not (is_ring(net, loop) or joins_batteries(system, net, loop)):
            continue
        inside = [net.edges[n].id for n in loop if n < len(net.edges) and net.edges[n].kind == "conductor"]
        runs = list(dict.fromkeys(r for c in inside if (r := system.conductors[c].run) in free))
        for run_id in runs[1:]:
            joined.join(runs[0], run_id)
    members: dict[str, list[str]] = {}
    for run_id in system.runs:
        if run_id in free:
            members.setdefault(joined.root(run_id), []).append(run_id)
    return tuple(SizingUnit(tuple(runs)) for runs in members.values()), ringed(net)


def _feeds(system: System, shortest: Paths, at: Mapping[str, list[str]]) -> Iterator[tuple[list[str], list[str]]]:
    """The single conductors that bring current to the two poles of a panel or bar, and take it back: of those on its
    terminals those that the supply paths of consumers lead through (at a bar, where branches land too, of several),
    of both poles the same consumers'."""
    poles = {part.id: _poles(system, part.id) for part in system.of(Panel, Bus)}
    landing = {run for pair in poles.values() for node in pair for run in at.get(node, [])}
    through: dict[str, list[str]] = {}
    for load, steps in shortest.to.items() if landing else ():
        for step in steps:
            run = system.conductors[step.edge.id].run if step.edge.kind == "conductor" else ""
            if run in landing:
                through.setdefault(run, []).append(load)
    for part, pair in poles.items():
        least = 1 if system.parts[part].roles.protects else 2
        feeding = [[run for run in at.get(node, []) if len(through.get(run, ())) >= least] for node in pair]
        if len(feeding) == 2 and all(len(runs) == 1 for runs in feeding):
            plus, minus = feeding[0][0], feeding[1][0]
            if through[plus] == through[minus]:
                yield [plus], [minus]


def _poles(system: System, part: str) -> tuple[str, ...]:
    """The two terminals that a part of both poles is fed at: a panel's `feed` and `neg`, a bar's `pos` and `neg`."""
    for plus in (f"{part}.feed", f"{part}.pos"):
        if plus in system.nodes and f"{part}.neg" in system.nodes:
            return plus, f"{part}.neg"
    return ()


def ringed(net: Graph) -> frozenset[str]:
    """The conductors that lie in a ring."""
    return frozenset(net.edges[n].id for loop in loops(net) if is_ring(net, loop) for n in loop)
