"""Runs that are not sized by a current of their own: earths, and the links between the batteries of a bank."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from copperplate.findings import Finding, make
from copperplate.model import Assumption, Run, Size, System, Traced
from copperplate.model.results import GovernedBy, Rating, RunResult
from copperplate.standards import OutsideTable, Profile, conductors
from copperplate.units import suffices

NOTHING = Traced(0.0, "A", "design current", "an earth carries no current in service")


@dataclass(frozen=True)
class UnloadedRuns:
    """Results, findings and assumptions of these runs."""

    runs: Mapping[str, RunResult]
    findings: tuple[Finding, ...]
    assumptions: tuple[Assumption, ...]


def unloaded_runs(
    system: System, profile: Profile, ratings: Mapping[str, Rating], sized: Mapping[str, RunResult]
) -> UnloadedRuns:
    """Earth runs by the profile's table from the largest device that they must clear, links as the leads of their
    bank. `sized` are the results of every other run."""
    runs: dict[str, RunResult] = {}
    findings: list[Finding] = []
    assumptions: list[Assumption] = []
    for run in system.runs.values():
        if run.id in sized:
            continue
        if run.role == "link":
            runs[run.id], wrong = _link(system, run, sized)
            findings += wrong
            if run.size is not None:
                continue
            text = "its links are laid in the size of its leads"
            assumptions.append(Assumption(run.from_end, text, "common practice, no source"))
        else:
            runs[run.id], wrong = _earth(system, profile, run, ratings, sized)
            findings += wrong
    return UnloadedRuns(runs, tuple(findings), tuple(assumptions))


def _result(
    system: System, run: Run, size: Size | None, governed_by: GovernedBy, design: Traced, metres: float
) -> RunResult:
    area = conductors.area_mm2(size) if size else 0.0
    return RunResult(
        run=run.id, size=size, parallel=run.parallel, area_mm2=area, stated=run.size is not None,
        governed_by=governed_by, design_current=design, ampacity=None, table_ampacity_a=None, factors=(),
        insulation_c=run.insulation_c or system.settings.insulation_c, ambient_c=run.ambient_c, drop_v=0.0,
        drop_hot_v=0.0, candidates=(), protected_by=(), spare_length_m=None, spare_current_a=None, next_size=None,
        copper_mm2_m=area * metres * run.parallel,
    )  # fmt: skip


def _link(system: System, run: Run, sized: Mapping[str, RunResult]) -> tuple[RunResult, list[Finding]]:
    """As large as the largest lead of the bank, whose whole current the last link carries; a stated size that is less
    is told of."""
    bank = run.from_end.split(".")[0]
    leads = [r for r in sized.values() if r.size is not None and bank in system.end_parts(system.runs[r.run])]
    metres = run.length_m * run.count
    if not leads:
        nothing = Traced(0.0, "A", "design current", "as its bank's leads")
        return _result(system, run, run.size, "stated" if run.size else "link", nothing, metres), []
    largest = max(leads, key=lambda r: r.area_mm2 * r.parallel)
    if run.size is not None:
        result = _result(system, run, run.size, "stated", largest.design_current, metres)
        if suffices(result.area_mm2 * run.parallel, largest.area_mm2 * largest.parallel):
            return result, []
        of_lead, span = largest.size.label if largest.size else "", run.size_span or run.span
        return result, [make("CP620", run.id, span, size=run.size.label, lead=largest.run, lead_size=of_lead)]
    link = _result(system, run, largest.size, "link", largest.design_current, metres * largest.parallel)
    return replace(link, parallel=largest.parallel), []


def _earth(
    system: System,
    profile: Profile,
    run: Run,
    ratings: Mapping[str, Rating],
    sized: Mapping[str, RunResult],
) -> tuple[RunResult, list[Finding]]:
    metres = sum(system.conductors[c].length_m for c in run.conductor_ids)
    if not run.conductor_ids:
        return _result(system, run, run.size, "earth table", NOTHING, 0.0), []
    device, amperes = _to_clear(system, run, ratings, sized)
    line, series = _line(system, run, sized), system.settings.conductors
    needed: Size | None = None
    rule: Traced | None = None
    outside = ""
    try:
        if amperes:
            needed, rule = profile.earth_size(amperes, series, run.current, line) or (None, None)
    except OutsideTable as error:
        outside = str(error)
    design = Traced(
        0.0, "A", "design current", "an earth carries no current in service",
        (("largest device to clear", amperes, "A"), *(i for i in (rule.inputs if rule else ()) if i[0] != "device"))
        if amperes else (), rule.source if rule else "",
    )  # fmt: skip
    if run.size is not None:
        result = _result(system, run, run.size, "stated", design, metres)
        if needed is None or rule is None or suffices(result.area_mm2 * run.parallel, rule.value):
            return result, []
        return result, [
            make(
                "CP506",
                run.id,
                run.size_span or run.span,
                size=run.size.label,
                needed=needed.label,
                formula=rule.formula or rule.quantity,
                rule=rule.source,
            )
        ]
    result = _result(system, run, needed, "earth table", design, metres)
    if needed is not None:
        return result, []
    zones = _zones(system, run.id)
    near = [r for r in sized.values() if r.size is not None and not zones.isdisjoint(_zones(system, r.run))]
    largest = max(near, key=lambda r: r.area_mm2, default=None)
    usual = _one_smaller(profile, series, largest) if largest is not None else None
    return result, [
        make(
            "CP505",
            run.id,
            run.span,
            profile=profile.id,
            outside=outside or None,
            device=device or None,
            amperes=amperes,
            size=usual.label if usual is not None else None,
            largest=largest.size.label if largest is not None and largest.size is not None else None,
            run=largest.run if largest is not None else None,
        )
    ]


def _zones(system: System, run: str) -> frozenset[str]:
    """The systems that the conductors of a run belong to, earths apart."""
    conductors_of = (system.conductors[c] for c in system.runs[run].conductor_ids)
    nodes = (system.nodes[node] for c in conductors_of for node in (c.from_node, c.to_node))
    parts = system.parts
    return frozenset(n.zone for n in nodes if n.zone and not (n.part in parts and parts[n.part].roles.grounds))


def _one_smaller(profile: Profile, series: str, result: RunResult) -> Size | None:
    """The next size below that of a run, or the same where it is the smallest."""
    smaller = [s for s in profile.sizes(series) if not suffices(conductors.area_mm2(s), result.area_mm2)]
    return smaller[-1] if smaller else result.size


def _to_clear(
    system: System, run: Run, ratings: Mapping[str, Rating], sized: Mapping[str, RunResult]
) -> tuple[str, float]:
    """The largest device that a fault to this earth must open: of those before the part at its end; where that is a
    bank, bar or splice, or has none before it, of the circuits that it is joined to, else of the whole plate."""
    zones = _zones(system, run.id)
    ends = [p for p in system.end_parts(run) if p in system.parts and not system.parts[p].roles.grounds]
    before = [
        device
        for r in sized.values()
        for device in r.protected_by
        if system.runs[r.run].current == run.current and any(p in system.end_parts(system.runs[r.run]) for p in ends)
    ]
    at_source = any((roles := system.parts[p].roles).stores or roles.is_busbar or roles.is_splice for p in ends)
    if at_source or not before:
        same = [d.id for d in system.devices.values() if d.roles.protects]
        near = [d for d in same if not zones.isdisjoint(_zones(system, system.devices[d].run))]
        before = near or [d for d in same if system.runs[system.devices[d].run].current == run.current] or same
    rated = [(a, d) for d in before if d in ratings and (a := ratings[d].rating_a) is not None]
    amperes, device = max(rated, default=(0.0, ""))
    return device, amperes


def _line(system: System, run: Run, sized: Mapping[str, RunResult]) -> Size | None:
    """The largest conductor of the circuits at the ends of an earth."""
    ends = set(system.end_parts(run))
    beside = [r for r in sized.values() if r.size is not None and ends & set(system.end_parts(system.runs[r.run]))]
    largest = max(beside, key=lambda r: r.area_mm2, default=None)
    return largest.size if largest is not None else None
