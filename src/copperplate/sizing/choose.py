"""Choosing the sizes of all runs: the ladder of each run, the budgets of all of them, and what is wrong with them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from copperplate.findings import Finding, make
from copperplate.model import Assumption, System
from copperplate.model.graph import graph
from copperplate.model.paths import paths, paths_by_source
from copperplate.model.results import Demand, Guard, Rating, RunResult
from copperplate.sizing.bundles import counting
from copperplate.sizing.earths import others
from copperplate.sizing.margins import uses
from copperplate.sizing.needs import needs
from copperplate.sizing.reasons import Reasons
from copperplate.sizing.rules import Rules, rules
from copperplate.sizing.settling import Settled, judged_v, settle
from copperplate.sizing.size_findings import size_findings
from copperplate.sizing.units import units
from copperplate.sizing.ways import Passage, passages, passages_alone
from copperplate.sizing.ways_out import WaysOut
from copperplate.standards import Profile


def choose(
    system: System,
    profile: Profile,
    demand: Demand,
    guards: Mapping[str, Guard],
    ratings: Mapping[str, Rating],
) -> tuple[dict[str, RunResult], tuple[Finding, ...], tuple[Assumption, ...]]:
    """The size of every run with its reasons, in declaration order. `drop_hot_v` is left to `judge`."""
    net = graph(system)
    ways = paths(system, net)
    judged = rules(system, profile, demand, needs(system, profile, demand, guards, ratings, ways))
    together, looped = units(system, net, judged, ways)
    passing = passages(system, demand, net.consumers, ways, looped)
    alone = passages_alone(system, demand, net.consumers, ways, paths_by_source(system, net), looped)
    settled = settle(system, judged, together, passing, alone)
    worst = _worst(judged, settled, passing, alone)
    used = uses(judged, settled.gauges, worst, settled.budget_v, _metres(system, judged))
    unit_of = {run: unit for unit in together for run in unit.runs}
    reasons = Reasons(system, profile, judged, unit_of, settled, used, ratings)
    sized = {run_id: reasons.result(run_id) for run_id in judged}
    rest = others(system, profile, ratings, sized)
    findings = size_findings(WaysOut(system, profile, judged, unit_of, settled, used))
    results = {run_id: (sized.get(run_id) or rest.runs[run_id]) for run_id in system.runs}
    advice = _bundles(system, profile, demand, sized)
    return results, (*findings, *rest.findings, *advice), (*_assumed(judged, settled), *rest.assumptions)


def _worst(
    judged: Mapping[str, Rules], settled: Settled, passing: tuple[Passage, ...], alone: tuple[Passage, ...]
) -> tuple[Passage, ...]:
    """The way of each load that loses most as sized: what margins are told from."""
    worst = {p.load: (judged_v(judged, settled.gauges, p), p) for p in passing}
    for p in alone:
        lost_v = judged_v(judged, settled.gauges, p)
        if p.load in worst and lost_v > worst[p.load][0] * (1 + 1e-9):
            worst[p.load] = (lost_v, p)
    return tuple(p for _, p in worst.values())


def _metres(system: System, judged: Mapping[str, Rules]) -> dict[str, float]:
    """Live conductor of each run, in metres over those in parallel."""
    return {
        run_id: sum(system.conductors[c].length_m for c in r.run.conductor_ids if system.conductors[c].pole != "pe")
        / r.run.parallel
        for run_id, r in judged.items()
    }


def _assumed(judged: Mapping[str, Rules], settled: Settled) -> tuple[Assumption, ...]:
    found: list[Assumption] = []
    for run_id, r in judged.items():
        if r.run.outside_m is not None and not r.laying.sheath:
            text = (
                "its least size is that of an unsheathed run, for more of it is outside the sheath than the rule allows"
            )
            found.append(Assumption(run_id, text))
        g = settled.gauges[run_id]
        reading = r.profile.reading(g.size, r.laying.insulation_c) if g is not None and not g.outside else ""
        if reading:
            found.append(Assumption(run_id, f"its ampacity is {reading}", g.table.source if g and g.table else ""))
    if not settled.exact:
        text = (
            "sizes are not proven the least, for the ways of the current form no tree or are too long: "
            "every budget holds, and the copper may not be the least"
        )
        found.append(Assumption("system", text))
    return tuple(found)


def _bundles(system: System, profile: Profile, demand: Demand, sized: Mapping[str, RunResult]) -> Iterator[Finding]:
    """Advice on routes that many well-loaded conductors share, where the profile has no factor for them."""
    well_loaded = profile.figures["well-loaded"].value
    for route in system.routes.values():
        runs = [system.runs[r] for r in dict.fromkeys(route.runs) if r in sized]
        if not runs:
            continue
        nominal_v = system.nodes[system.conductors[runs[0].conductor_ids[0]].from_node].nominal_v
        rule = profile.bundle_advice(nominal_v)
        if rule is None:
            continue
        most = 0
        for amperes in demand.case_a.values():
            count = 0
            for run in runs:
                ampacity = sized[run.id].ampacity
                if ampacity is not None:
                    loaded = [c for c in counting(system, run) if abs(amperes[c]) >= well_loaded * ampacity.value]
                    count += run.parallel * len(loaded)
            most = max(most, count)
        if most >= rule.value:
            yield make("CP550", route.id, route.span, count=most, limit=rule.value, rule=rule.source)
