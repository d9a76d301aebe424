"""Runs that are not sized by a current of their own: earths, and the links between the batteries of a bank."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from copperplate.findings import Finding, finding
from copperplate.model import PROTECTIVE, Assumption, Run, Size, System, Traced
from copperplate.model.results import GovernedBy, Rating, RunResult
from copperplate.standards import OutsideTable, Profile, conductors
from copperplate.units import number

NOTHING = Traced(0.0, "A", "design current", "an earth carries no current in service")


@dataclass(frozen=True)
class Others:
    """Results and findings of these runs."""

    runs: Mapping[str, RunResult]
    findings: tuple[Finding, ...]
    assumptions: tuple[Assumption, ...]


def others(system: System, profile: Profile, ratings: Mapping[str, Rating], sized: Mapping[str, RunResult]) -> Others:
    """Earth runs by the profile's table from the largest device that they must clear, links as the leads of their
    bank. `sized` are the results of every other run."""
    runs: dict[str, RunResult] = {}
    findings: list[Finding] = []
    assumptions: list[Assumption] = []
    for run in system.runs.values():
        if run.id in sized:
            continue
        if run.role == "link":
            runs[run.id] = _link(system, run, sized)
            text = "its links are laid in the size of its leads"
            assumptions.append(Assumption(run.from_end, text, "common practice, no source"))
        else:
            runs[run.id], told = _earth(system, profile, run, ratings, sized)
            findings += told
    return Others(runs, tuple(findings), tuple(assumptions))


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


def _link(system: System, run: Run, sized: Mapping[str, RunResult]) -> RunResult:
    """As large as the largest lead of the bank, whose whole current the last link carries."""
    bank = run.from_end.split(".")[0]
    leads = [r for r in sized.values() if r.size is not None and bank in system.end_parts(system.runs[r.run])]
    metres = run.length_m * run.count
    if not leads:
        return _result(system, run, None, "link", Traced(0.0, "A", "design current", "as its bank's leads"), metres)
    largest = max(leads, key=lambda r: r.area_mm2 * r.parallel)
    found = _result(system, run, largest.size, "link", largest.design_current, metres * largest.parallel)
    return replace(found, parallel=largest.parallel)


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
    line = _line(system, run, sized)
    needed: Size | None = None
    rule: Traced | None = None
    reason = f"the rules {profile.id} have no table of earth conductors for it"
    try:
        told = profile.earth_size(amperes, system.settings.conductors, run.current, line) if amperes else None
        if told is not None:
            needed, rule = told
    except OutsideTable as outside:
        reason = str(outside)
    design = Traced(
        0.0, "A", "design current", "an earth carries no current in service",
        (("largest device to clear", amperes, "A"), *(i for i in (rule.inputs if rule else ()) if i[0] != "device"))
        if amperes else (), rule.source if rule else "",
    )  # fmt: skip
    if run.size is not None:
        result = _result(system, run, run.size, "stated", design, metres)
        if needed is None or rule is None or result.area_mm2 * run.parallel >= rule.value * 0.9999:
            return result, []
        message = f"`{run.id}` is {run.size.label}, and its earth conductor must be {needed.label}"
        span = run.size_span or run.span
        help_ = f"{needed.label}, or leave the size out"
        notes = (rule.formula or rule.quantity,)
        return result, [finding("CP506", run.id, message, span, notes=notes, help=help_, rule=rule.source)]
    if needed is not None:
        return _result(system, run, needed, "earth table", design, metres), []
    message = f"the size of the earth conductor `{run.id}` is not known: {reason}"
    help_ = "state it; common practice, no source: not more than one size under the largest current-carrying conductor"
    largest = max((r for r in sized.values() if r.size is not None), key=lambda r: r.area_mm2, default=None)
    if largest is not None and largest.size is not None:
        ladder = profile.sizes(system.settings.conductors)
        smaller = [s for s in ladder if conductors.area_mm2(s) < largest.area_mm2 * 0.9999]
        size = smaller[-1] if smaller else largest.size
        help_ += f", so {size.label} here ({largest.size.label} in `{largest.run}`)"
    largest_device = (f"`{device}` is the largest device to clear, {number(amperes)} A",) if device else ()
    told_ = finding("CP505", run.id, message, run.span, notes=largest_device, help=help_)
    return _result(system, run, None, "earth table", design, metres), [told_]


def _to_clear(
    system: System, run: Run, ratings: Mapping[str, Rating], sized: Mapping[str, RunResult]
) -> tuple[str, float]:
    """The largest device that a fault to this earth must open: of those before the part at its end, else of the
    whole plate."""
    ends = [p for p in system.end_parts(run) if p in system.parts and system.parts[p].kind != "earth"]
    before = [
        device
        for r in sized.values()
        for device in r.protected_by
        if system.runs[r.run].current == run.current and any(p in system.end_parts(system.runs[r.run]) for p in ends)
    ]
    if any(system.parts[p].kind in ("bus", "battery", "junction") for p in ends) or not before:
        same = [d.id for d in system.devices.values() if d.kind in PROTECTIVE]
        before = [d for d in same if system.runs[system.devices[d].run].current == run.current] or same
    rated = [(a, d) for d in before if d in ratings and (a := ratings[d].rating_a) is not None]
    amperes, device = max(rated, default=(0.0, ""))
    return device, amperes


def _line(system: System, run: Run, sized: Mapping[str, RunResult]) -> Size | None:
    """The largest conductor of the circuits at the ends of an earth."""
    ends = set(system.end_parts(run))
    beside = [r for r in sized.values() if r.size is not None and ends & set(system.end_parts(system.runs[r.run]))]
    largest = max(beside, key=lambda r: r.area_mm2, default=None)
    return largest.size if largest is not None else None
