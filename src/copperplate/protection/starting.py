"""The voltage at a motor while it starts."""

from __future__ import annotations

from collections.abc import Mapping

from copperplate.findings import Finding, Measure, Related, finding
from copperplate.model import Part
from copperplate.model.graph import Graph, Terminals, graph
from copperplate.model.paths import Paths, paths
from copperplate.protection.situation import Situation
from copperplate.standards import conductors
from copperplate.units import number


def check_starting(situation: Situation) -> list[Finding]:
    """The starting current through the whole path, out and back, must leave the voltage inside the device's window.

    The other loads stay as in the worst case; what the start adds flows through the resistance of the path as
    built. A path with loops is taken by its shortest way alone, which loses more."""
    motors = [part for part in situation.system.of_kind("load") if part.get("inrush_a") and part.get("works")]
    if not motors:
        return []
    net = graph(situation.system)
    ways = paths(situation.system, net)
    found: list[Finding] = []
    for part in motors:
        ends = net.consumers.get(part.id)
        if ends is None or part.id not in ways.to:
            continue
        found += _motor(situation, net, ways, part, ends)
    return found


def _motor(situation: Situation, net: Graph, ways: Paths, part: Part, ends: Terminals) -> list[Finding]:
    solution = situation.solution
    ohm = 0.0
    own: dict[str, float] = {}
    for step in ways.to[part.id]:
        if step.edge.kind == "conductor":
            added = solution.resistance_ohm.get(step.edge.id, 0.0)
            run = situation.system.conductors[step.edge.id].run
            own[run] = own.get(run, 0.0) + added
        elif step.edge.kind == "device":
            added = situation.system.devices[step.edge.id].resistance_ohm
        else:
            added = 0.0
        ohm += added
    start_a = part.get("inrush_a")
    lowest: tuple[float, str] | None = None
    for case in situation.system.cases:
        volts, amperes = solution.node_v.get(case.id, {}), solution.load_a.get(case.id, {})
        if case.kind != "load" or ends.pos not in volts or ends.neg not in volts or not case.shares.get(part.id):
            continue
        extra = max(0.0, start_a - abs(amperes.get(part.id, 0.0)))
        at_start = volts[ends.pos] - volts[ends.neg] - extra * ohm
        if lowest is None or at_start < lowest[0]:
            lowest = (at_start, case.id)
    works = part.get("works")
    if lowest is None or lowest[0] >= works.low - 1e-9:
        return []
    system = situation.system
    leads = [name for name in own if part.id in system.end_parts(system.runs[name])]
    run = max(own, key=lambda name: own[name], default="")
    return [
        finding(
            "CP427",
            part.id,
            f"`{part.id}` gets {number(lowest[0])} V while it starts at {number(start_a)} A and works from "
            f"{number(works.low)} V",
            part.spans.get("inrush_a", part.span),
            label=f"{number(start_a)} A for a start",
            notes=(f"{number(ohm * 1000)} mohm out and back, in case `{lowest[1]}`",),
            help=_help(situation, own, leads, start_a, works.low - lowest[0]),
            related=(Related(situation.system.runs[run].span, "this run loses the most"),) if run else (),
            measure=Measure(lowest[0], works.low, "V"),
        )
    ]


def _help(situation: Situation, own: Mapping[str, float], leads: list[str], start_a: float, missing_v: float) -> str:
    """The size of the motor's own leads, all alike, that would leave the voltage inside the window."""
    settings = situation.system.settings
    names = " and ".join(f"`{name}`" for name in leads)
    for size in situation.profile.sizes(settings.conductors):
        ohm = 0.0
        for name in leads:
            result = situation.runs.get(name)
            if result is None or result.size is None:
                return "shorter or larger conductors"
            now = conductors.ohm_per_m(result.size, result.insulation_c, settings.tinned)
            ohm += own[name] * conductors.ohm_per_m(size, result.insulation_c, settings.tinned) / now
        if leads and (sum(own[name] for name in leads) - ohm) * start_a >= missing_v:
            return f"{size.label} for {names}"
    return f"{names or 'the runs before it'} shorter, or the feeders before larger"
