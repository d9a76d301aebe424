"""The one way through the house: from the text of a plate to the finished design.

`compile_plate` reads like the sentence in DEVELOPERS.md: text, tree, resolved system, currents, guards, ratings,
sizes, the solved network, what protects and what it costs, and the independent re-check. Every stage is a pure
function that returns its result and its findings; nothing here computes.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable
from dataclasses import replace

from copperplate import audit, energy, network, protection, resolve, sizing, standards, stock, syntax
from copperplate.findings import SEVERITIES, Finding, make
from copperplate.left_open import open_points
from copperplate.mending import agreeing, of_itself, without_followers
from copperplate.model import Conductor, Load
from copperplate.model.graph import graph
from copperplate.model.links import Link, links
from copperplate.model.results import ConductorResult, Demand, Design, PublishedSource, RunResult, Solution
from copperplate.model.system import System
from copperplate.model.trace import Assumption
from copperplate.selectivity import Selectivity, raised
from copperplate.standards import Profile
from copperplate.text import Source
from copperplate.units import exceeds

ROUNDS = 6
"""Sizing and solving alternate until nothing draws or carries more than it was sized for."""
MARGIN = 1.0005
"""What is added to a solved current when sizing begins again, so that the rounds end soon."""
GROWN = 1e-6
"""What draws or carries more than this share above what it was sized for is sized again."""
CARRIED_A = 1e-9
"""Amperes below which a current is the rounding of a solution."""
NO_SIZE = "CP305"
"""No size carries a run: a main device then stands for what its cases draw, and a finding tells of the rest."""
BY_SHEETS = ("CP510",)
"""Codes that are found when the sheets are drawn: whoever does not draw cannot tell that they do not occur."""
Reader = Callable[[str], Source | None]
"""Gives the source of a plate named by `use`, or None where there is none."""


def compile_plate(source: Source, read: Reader) -> tuple[Design | None, tuple[Finding, ...]]:
    """The design of a plate and every finding. None where the plate could not be resolved into a system.

    With error findings the design may be partial: it serves `why`, `show` and the editor, and no pack is made
    of it. Never raises on any text."""
    tree, reading = syntax.parse(source)
    system, naming = resolve.resolve(tree, read)
    if system is None:
        return None, _ordered((*reading, *naming))
    if any(f.code == "CP208" for f in naming):
        reading = tuple(f for f in reading if f.code != "CP111")  # The lines of the `system` that is missing.
    broken = _has_errors((*reading, *naming))
    design, computing = design_system(system, source, broken)
    computing = of_itself(computing) if broken else computing
    findings = _accept(_ordered((*reading, *naming, *computing, *open_points(design))), system)
    return replace(design, findings=findings), findings


def looked_at(design: Design, more: tuple[Finding, ...]) -> Design:
    """The design with findings that only its sheets can tell, accepted ones with their reasons."""
    before = (replace(f, accepted=None) for f in design.findings if f.code not in ("CP251", "CP252"))
    return replace(design, findings=_accept(_ordered((*before, *more)), design.system))


def design_system(
    system: System, source: Source, broken: bool, mend: bool = True
) -> tuple[Design, tuple[Finding, ...]]:
    """The design of a resolved system. `broken`: earlier stages found errors, so that nothing is re-checked. `mend`:
    offers that concern one run are made to hold together, which designs the plate once more."""
    profile = standards.with_terminals(standards.profile(system.settings.rules), system.settings.terminals_c)
    if system.stock is not None:
        profile = standards.with_shelf(profile, tuple(system.stock.devices.items()))
    at_least: dict[str, float] = {}
    full_mains = True
    for _ in range(ROUNDS):
        demand, demand_findings, demand_assumptions = network.demand(system, profile, at_least)
        demand = replace(demand, full_mains=full_mains)
        ratings, rating_findings = protection.rate(system, profile, demand)
        runs, sizing_findings, sizing_assumptions = sizing.choose(system, profile, demand, ratings)
        if full_mains and demand.rated_a and any(f.code == NO_SIZE for f in sizing_findings):
            full_mains, demand = False, replace(demand, full_mains=False)
            ratings, rating_findings = protection.rate(system, profile, demand)
            runs, sizing_findings, sizing_assumptions = sizing.choose(system, profile, demand, ratings)
        shelved, shelf_findings = system, tuple[Finding, ...]()
        if system.stock is not None and system.stock.at_most is not None:
            shelf = stock.fewest(stock.sized_runs(system, runs), system.stock.at_most)
            if shelf is None:
                shelf_findings = (make("CP511", "stock", system.stock.span, count=system.stock.at_most),)
            else:
                shelved = replace(system, stock=replace(system.stock, sizes=shelf.sizes))
                runs, sizing_findings, sizing_assumptions = sizing.choose(shelved, profile, demand, ratings)
        solution, solving_findings = network.solve(system, profile, demand, runs)
        more = _beyond(system, demand, solution)
        if not more:
            break
        at_least |= more
    levels = Selectivity(ratings, runs, rating_findings, sizing_findings, sizing_assumptions)
    levels, checked = raised(shelved, profile, demand, levels, solution)
    ratings, runs = levels.ratings, levels.runs
    runs, loads, judging_findings = sizing.judge(system, profile, demand, runs, solution)
    sources = protection.sources(system, profile, solution)
    balance, energy_findings, energy_assumptions = energy.balance(system, profile, demand, solution)
    fits = sizing.fits(system, runs)
    materials, cuts = stock.materials(system, profile, runs, ratings, fits)
    findings = (
        *demand_findings,
        *levels.rating_findings,
        *levels.sizing_findings,
        *shelf_findings,
        *solving_findings,
        *judging_findings,
        *checked.findings,
        *energy_findings,
    )
    findings = without_followers(findings, misread=broken)
    if mend:
        findings = agreeing(system, findings, loads, lambda other: design_system(other, source, True, mend=False)[0])
    design = Design(
        system=system,
        source_name=source.name,
        source_sha256=hashlib.sha256(source.text.encode()).hexdigest(),
        profile=profile.id,
        profile_title=profile.title,
        runs=runs,
        conductors=_conductors(system, solution),
        devices=checked.devices,
        loads=loads,
        sources=sources,
        node_v=_by_node(system, solution),
        holdings=solution.holdings,
        draws=solution.draws,
        energy=balance,
        materials=materials,
        cuts=cuts,
        fits=fits,
        assumptions=_assumptions(
            system, demand_assumptions, levels.sizing_assumptions, checked.assumptions, energy_assumptions
        ),
        sources_used=_sources_used(profile, runs),
        constants=profile.constants(),
        findings=findings,
        not_covered=_not_covered(runs),
        links=_links(system),
        states=solution.states,
        lasting=protection.lasting(checked.study),
    )
    if not broken and not _has_errors(findings):
        disagreements = audit.recheck(design)
        findings = (*findings, *disagreements)
        design = replace(design, rechecked=not disagreements)
    return design, findings


def _beyond(system: System, demand: Demand, solution: Solution) -> dict[str, float]:
    """Consumers that draw more in the solve than they were sized for, as constant power does at the end of copper
    that is warmer than the rule judges by, and conductors and devices that carry more, as where batteries share what
    flows by their resistances; with what they draw or carry in the case that asks most."""
    drawn: dict[str, float] = {}
    for case in system.cases:
        for part, amperes in solution.load_a[case.id].items():
            if case.kind == "load" and part not in solution.collapsed[case.id]:
                drawn[part] = max(drawn.get(part, 0.0), abs(amperes))
    more = {part: a * MARGIN for part, a in drawn.items() if exceeds(a, demand.load_a.get(part, a), GROWN)}
    more = {**_partly(system, demand, solution), **more}
    pairs = ((solution.conductor_a, demand.design_a), (solution.device_a, demand.device_a)) if not more else ()
    for solved, sized in pairs:
        for name, amperes in sized.items():
            settled = (through for state, through in solved.items() if state not in solution.unsettled)
            carried = max((abs(through[name]) for through in settled), default=0.0)
            if exceeds(carried - CARRIED_A, amperes, GROWN):
                more[name] = carried * MARGIN
    return more


def _partly(system: System, demand: Demand, solution: Solution) -> dict[str, float]:
    """Inverters and converters that give a part of their output and draw more for it than was sized for; with their
    whole draw raised by as much."""
    found: dict[str, float] = {}
    turning = {
        ends.pos: part
        for part, ends in graph(system).consumers.items()
        if (roles := system.parts[part].roles).converts and roles.holds_voltage
    }
    cases = [case.id for case in system.cases if case.kind == "load"]
    for conductor in system.conductors.values():
        part = turning.get(conductor.to_node) or turning.get(conductor.from_node)
        if part is None or part not in demand.load_a:
            continue
        for case in cases:
            if part not in solution.collapsed[case]:
                sized = abs(demand.case_a[case].get(conductor.id, 0.0))
                solved = abs(solution.conductor_a[case].get(conductor.id, 0.0))
                if sized > CARRIED_A and exceeds(solved, sized, GROWN):
                    raised = demand.load_a[part] * solved / sized * MARGIN
                    found[part] = max(raised, found.get(part, 0.0))
    return found


def _has_errors(findings: Iterable[Finding]) -> bool:
    return any(f.severity == "error" for f in findings)


def _ordered(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Errors before warnings before advice, each in the order of the plate; doubles once."""
    unique = dict.fromkeys(findings)
    return tuple(
        sorted(
            unique,
            key=lambda f: (
                SEVERITIES.index(f.severity),
                f.span.source.name if f.span else "",
                f.span.start if f.span else -1,
                f.code,
                f.subject,
            ),
        )
    )


def _accept(findings: tuple[Finding, ...], system: System) -> tuple[Finding, ...]:
    """Warnings and advice that an `accept` names carry its reason; an `accept` that silences nothing, or tries
    to silence an error, is a finding itself."""
    reasons = {(accept.code, accept.subject): accept for accept in system.accepts}
    used: set[tuple[str, str]] = set()
    result: list[Finding] = []
    for f in findings:
        accept = reasons.get((f.code, f.subject))
        if accept is not None and f.severity != "error":
            used.add((f.code, f.subject))
            f = replace(f, accepted=accept.reason)
        result.append(f)
    errors = {(f.code, f.subject) for f in findings if f.severity == "error"}
    for key, accept in reasons.items():
        if key in errors:
            result.append(make("CP251", accept.subject, accept.span, accepted=accept.code))
        elif key not in used and key[0] not in BY_SHEETS:
            result.append(make("CP252", accept.subject, accept.span, accepted=accept.code))
    return _ordered(tuple(result))


def _conductors(system: System, solution: Solution) -> dict[str, ConductorResult]:
    """The conductors as built, with their colours."""
    settings = system.settings
    return {
        conductor.id: ConductorResult(
            conductor=conductor.id,
            resistance_ohm={case: ohms[conductor.id] for case, ohms in solution.resistance_ohm.items()},
            temperature_c=solution.temperature_c[conductor.id],
            current_a={case: amperes[conductor.id] for case, amperes in solution.conductor_a.items()},
            colour=_stated_colour(system, conductor)
            or standards.colour(
                settings.rules, settings.negative, conductor.pole, system.runs[conductor.run].current, settings.ac
            ),
        )
        for conductor in system.conductors.values()
        if conductor.id in solution.temperature_c
    }


def _stated_colour(system: System, conductor: Conductor) -> str:
    """The colour of a live conductor by the plate: as its run states it, or by what it feeds; "" else."""
    run = system.runs[conductor.run]
    if conductor.pole in ("neg", "n", "pe"):
        return ""
    load = system.parts.get(system.end_parts(run)[1])
    if run.colour or system.settings.colours == "by-pole" or not isinstance(load, Load):
        return run.colour
    return standards.colours.BY_FUNCTION.get(load.is_a or "", "")


def _links(system: System) -> tuple[Link, ...]:
    """The links of banks with their colours."""
    s = system.settings
    return tuple(
        replace(link, colour=standards.colour(s.rules, s.negative, link.pole, "dc", s.ac)) for link in links(system)
    )


def _by_node(system: System, solution: Solution) -> dict[str, dict[str, float]]:
    return {
        node: {case: volts[node] for case, volts in solution.node_v.items() if node in volts} for node in system.nodes
    }


def _assumptions(system: System, *groups: tuple[Assumption, ...]) -> tuple[Assumption, ...]:
    """All assumptions once: the system's first, the rest in the order of the stages."""
    return tuple(dict.fromkeys((*system.assumptions, *(a for group in groups for a in group))))


def _sources_used(profile: Profile, runs: dict[str, RunResult]) -> tuple[PublishedSource, ...]:
    """The published sources behind the profile's constants and the sizes, in the order of first use."""
    traces = [*profile.constants().values()]
    for run in runs.values():
        traces += [trace for trace in (run.design_current, run.ampacity, *run.factors) if trace is not None]
    found = dict.fromkeys((trace.source, trace.status) for trace in traces if trace.source)
    return tuple(dict.fromkeys(profile.published(source, status) for source, status in found))


def _not_covered(runs: dict[str, RunResult]) -> tuple[str, ...]:
    """What this design does not size, said on the first page."""
    unsized = [run for run in runs.values() if run.governed_by == "not sized"]
    if not unsized:
        return ()
    names = ", ".join(f"`{run.run}`" for run in unsized)
    return (f"These runs are drawn and listed and are not sized: {names}.",)
