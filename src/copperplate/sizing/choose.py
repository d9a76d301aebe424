"""Choosing the sizes of all runs: the ladder of each run, the budgets of all of them, and what is wrong with them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from copperplate.findings import Finding, make
from copperplate.flow import Duty, Tap, duties, from_bodies, from_consumers, overload
from copperplate.model import Assumption, System
from copperplate.model.graph import graph
from copperplate.model.paths import paths, paths_by_source
from copperplate.model.results import Demand, Rating, RunResult
from copperplate.sizing.bundles import counting
from copperplate.sizing.chosen import ChosenSizes
from copperplate.sizing.drops import VoltageDrops
from copperplate.sizing.laying import Laying, carried_a, ladder, layings
from copperplate.sizing.margins import Margins, budget_uses
from copperplate.sizing.optimise import optimise_sizes
from copperplate.sizing.reasons import run_result
from copperplate.sizing.requirements import requirements
from copperplate.sizing.rules import Rules, rules
from copperplate.sizing.size_findings import size_findings
from copperplate.sizing.sizing_units import sizing_units
from copperplate.sizing.supply_paths import SupplyPath, supply_paths, supply_paths_alone
from copperplate.sizing.unloaded import unloaded_runs
from copperplate.standards import Profile
from copperplate.units import NOISE, exceeds


def choose(
    system: System,
    profile: Profile,
    demand: Demand,
    ratings: Mapping[str, Rating],
) -> tuple[dict[str, RunResult], tuple[Finding, ...], tuple[Assumption, ...]]:
    """The size of every run with its reasons, in declaration order. `drop_hot_v` is left to `judge`."""
    net = graph(system)
    shortest = paths(system, net)
    laid = layings(system, profile, demand)
    duties = _duties(system, profile, ratings, laid)
    by_run = rules(system, profile, laid, requirements(system, profile, demand, duties))
    units, ringed = sizing_units(system, net, by_run, shortest)
    first = supply_paths(system, demand, net.consumers, shortest, ringed)
    alone = supply_paths_alone(system, demand, net.consumers, shortest, paths_by_source(system, net), ringed)
    sizes = optimise_sizes(system, by_run, units, first, alone)
    drops = VoltageDrops(by_run, sizes.gauges)
    uses = budget_uses(drops, _worst(drops, first, alone), sizes.budget_v, _metres(system, by_run))
    unit_of = {run: unit for unit in units for run in unit.runs}
    chosen = ChosenSizes(system, profile, unit_of, sizes, drops, uses)
    margins = Margins(profile, drops, uses, ratings)
    sized = {run_id: run_result(chosen, margins, run_id) for run_id in by_run}
    rest = unloaded_runs(system, profile, ratings, sized)
    findings = size_findings(chosen)
    results = {run_id: (sized.get(run_id) or rest.runs[run_id]) for run_id in system.runs}
    advice = _bundles(system, profile, demand, sized)
    return results, (*findings, *rest.findings, *advice), (*_assumed(drops, sizes.exact), *rest.assumptions)


def unprotected(
    system: System, profile: Profile, demand: Demand, ratings: Mapping[str, Rating], runs: Mapping[str, RunResult]
) -> dict[str, tuple[str, ...]]:
    """The runs whose sizes do not carry what devices of these ratings let pass, with those devices. A chosen size that
    still carries it stays chosen: other ratings only refuse sizes that were dearer or refused before."""
    laid = layings(system, profile, demand)
    duties = _duties(system, profile, ratings, laid)
    by_run = rules(system, profile, laid, requirements(system, profile, demand, duties))
    sized = ((run, rule, runs[run].size) for run, rule in by_run.items())
    return {
        run: rule.requirement.protected_by
        for run, rule, size in sized
        if size is not None and rule.refuses("protection", rule.of(size))
    }


def _duties(
    system: System,
    profile: Profile,
    ratings: Mapping[str, Rating],
    laid: Mapping[str, Laying],
) -> dict[str, Duty]:
    """What each conductor must carry against lasting overload."""
    carried = carried_a(system, profile, laid)

    def share(conductor: str) -> float:
        return profile.figures["device-share"].value

    def allowed_m(tap: Tap) -> float:
        return 0.0 if tap.origin == "device" else profile.placement(tap.origin, tap.sheath).value

    lasting = overload(system, profile, ratings)
    judged = lasting.judged(carried, allowed_m, share)
    carrying = {**lasting.duties(judged), **duties(from_consumers(lasting))}
    # A size that a short to the body overloads is a warning, not a refusal; one of our own carries as much as any does.
    for conductor, duty in duties(from_bodies(lasting)).items():
        run = system.runs[system.conductors[conductor].run]
        if carried.get(conductor) is None and run.id in laid:
            gauges = ladder(profile, system.settings.conductors, laid[run.id])
            amperes = min(duty.amperes, max(gauge.ampacity_a for gauge in gauges) * run.parallel)
            if amperes > carrying[conductor].amperes:
                carrying[conductor] = replace(duty, amperes=amperes)
    return carrying


def _worst(drops: VoltageDrops, first: tuple[SupplyPath, ...], alone: tuple[SupplyPath, ...]) -> tuple[SupplyPath, ...]:
    """The path of each load that loses most with the sizes as chosen: what margins are told from."""
    worst = {path.load: (drops.judged_v(path), path) for path in first}
    for path in alone:
        lost_v = drops.judged_v(path)
        if path.load in worst and exceeds(lost_v, worst[path.load][0], NOISE):
            worst[path.load] = (lost_v, path)
    return tuple(path for _, path in worst.values())


def _metres(system: System, by_run: Mapping[str, Rules]) -> dict[str, float]:
    """Live conductor of each run, in metres over those in parallel."""
    return {
        run_id: sum(system.conductors[c].length_m for c in r.run.conductor_ids if system.conductors[c].pole != "pe")
        / r.run.parallel
        for run_id, r in by_run.items()
    }


def _assumed(drops: VoltageDrops, exact: bool) -> Iterator[Assumption]:
    """How tables and the sheath of a run were read, and whether the sizes are proven the least."""
    for run_id, r in drops.rules.items():
        if r.run.outside_m is not None and not r.laying.sheath:
            yield Assumption(
                run_id,
                "its least size is that of an unsheathed run, for more of it is outside the sheath than the rule "
                "allows",
            )
        g = drops.gauges[run_id]
        reading = r.profile.reading(g.size, r.laying.insulation_c) if g is not None and not g.outside else ""
        if reading:
            yield Assumption(run_id, f"its ampacity is {reading}", g.table.source if g and g.table else "")
    if not exact:
        yield Assumption(
            "system",
            "sizes are not proven the least, for the ways of the current form no tree or are too long: "
            "every budget holds, and the copper may not be the least",
        )


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
