"""What is wrong with the voltage at a load, where it is lost and what would mend it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from math import ceil, floor

from copperplate.findings import Finding, make
from copperplate.model import Battery, System
from copperplate.model.graph import graph
from copperplate.model.results import LoadResult, RunResult, Solution
from copperplate.model.side_by_side import side_by_side
from copperplate.sizing.ends import takes, terminals
from copperplate.standards import Profile, conductors
from copperplate.units import NOISE, exceeds, from_si, number, show, suffices


@dataclass(frozen=True)
class JudgedVoltages:
    """What the findings on voltages are made from."""

    system: System
    profile: Profile
    runs: Mapping[str, RunResult]
    solution: Solution
    loads: Mapping[str, LoadResult]
    others: frozenset[str]
    """Loads that lose most from another source than the one that sizes were optimised by."""
    lowest: Mapping[str, tuple[float, str]]
    """By load whose zone several sources hold: the volts that the worst of them alone leaves it, and which."""


def voltage_findings(judged: JudgedVoltages) -> Iterator[Finding]:
    """The findings on every load's voltage, in declaration order."""
    for load in judged.loads.values():
        if any(load.load in loads for loads in judged.solution.collapsed.values()):
            continue
        low, high, budget = load.works_low_v, load.works_high_v, load.budget_v
        enough = low is None or suffices(load.voltage_v, low, NOISE)
        if low is not None and not enough:
            held = suffices(load.voltage_v + load.solved_drop_v, low, NOISE)
            yield _too_low(judged, load, low) if held else _source_too_low(judged, load, low)
        alone_v, source = judged.lowest.get(load.load, (load.voltage_v, ""))
        if low is not None and enough and not suffices(alone_v, low, NOISE):
            yield _too_low_alone(judged, load, low, alone_v, source)
        if high is not None and load.highest_v is not None and exceeds(load.highest_v, high, NOISE):
            yield _too_high(judged, load, load.highest_v, high)
        if exceeds(load.drop_v, budget, NOISE):
            if load.load in judged.others:
                yield _alone(judged, load)
        elif exceeds(load.solved_drop_v, budget, NOISE):
            yield from _warm(judged, load)


def lost_by_run(system: System, load: LoadResult) -> dict[str, float]:
    """Volts lost on a load's supply path as solved, by run (out and back) and by device that has a resistance."""
    lost: dict[str, float] = {}
    for step in load.path:
        if not step.through:
            continue
        conductor = system.conductors.get(step.through)
        key = conductor.run if conductor is not None else step.through
        if conductor is not None or step.lost_v:
            lost[key] = lost.get(key, 0.0) + step.lost_v
    return lost


def _breakdown(judged: JudgedVoltages, load: LoadResult) -> str:
    """The supply path in one line: the source's volts, then what each run takes."""
    system = judged.system
    held = load.voltage_v + load.solved_drop_v
    part = system.parts[load.source]
    full = [case.id for case in system.cases if case.kind == "charge"]
    end = " (while charging)" if load.worst_case in full else " (low end of its range)"
    taken = [f"{run} {number(volts)} V" for run, volts in lost_by_run(system, load).items()]
    return " - ".join([f"{load.source} {show(held, 'V', 4)}{end if part.roles.stores else ''}", *taken])


def _too_low(judged: JudgedVoltages, load: LoadResult, low: float) -> Finding:
    system, part = judged.system, judged.system.parts[load.load]
    in_runs = {run: volts for run, volts in lost_by_run(system, load).items() if run in system.runs}
    worst = max(in_runs, key=lambda run: in_runs[run], default="")
    run = system.runs.get(worst)
    return make(
        "CP311",
        load.load,
        (run.size_span or run.span) if run is not None else part.span,
        at={"window": part.spans.get("works")},
        volts=load.voltage_v,
        low=low,
        run_v=in_runs.get(worst, 0.0),
        lost=load.solved_drop_v,
        breakdown=_breakdown(judged, load),
        remedies=_remedies(judged, load, low, in_runs),
    )


def _too_low_alone(judged: JudgedVoltages, load: LoadResult, low: float, volts: float, source: str) -> Finding:
    """Inside its window while the sources share the load, and not while one of them carries all."""
    system, part = judged.system, judged.system.parts[load.load]
    leads = [r for r in system.runs.values() if source in system.end_parts(r) and r.id in judged.runs]
    return make(
        "CP311",
        load.load,
        part.spans.get("works", part.span),
        at={"lead": [(run.span, {}) for run in leads[:2]]},
        volts=volts,
        low=low,
        sharing=_sharing(system, source),
        source=source,
        leads=[run.id for run in leads],
    )


def _sharing(system: System, source: str) -> str | None:
    """The source where it is one of three batteries side by side or more: with another out it carries its share."""
    groups = side_by_side(system, graph(system))
    return next((source for group in groups if source in group and len(group) > 2), None)


def _remedies(judged: JudgedVoltages, load: LoadResult, low: float, lost: Mapping[str, float]) -> list[str]:
    """The smallest larger size of one run, and the length of it, that bring the load into its window."""
    system, missing = judged.system, low - load.voltage_v
    larger = _larger_size(judged, load, low, lost)
    remedies = [larger] if larger else []
    volts = lost.get(load.run, 0.0)
    if volts > missing:
        metres = system.runs[load.run].length_m * (1.0 - missing * _stiffer(judged, load, low) / volts)
        unit = system.settings.length_unit
        if (length := floor(from_si(metres, unit) * 10) / 10) > 0.0:
            remedies.append(f"make `{load.run}` {number(length)} {unit} or shorter")
    return remedies or ["a higher system voltage, or a converter near the load"]


def _stiffer(judged: JudgedVoltages, load: LoadResult, low: float) -> float:
    """A resistive load draws more at the higher voltage, and its path loses so much more."""
    resistive = judged.system.parts[load.load].resistance_ohm
    return (low / load.voltage_v) ** 2 * 1.02 if resistive and load.voltage_v > 0.0 else 1.0


def _larger_size(judged: JudgedVoltages, load: LoadResult, low: float, lost: Mapping[str, float]) -> str | None:
    """Of the run that loses most, and can have it, the smallest larger size that fits its terminals and brings the
    load to these volts."""
    system, tinned = judged.system, judged.system.settings.tinned
    shelf = system.stock.sizes if system.stock else ()
    for run_id in sorted(lost, key=lambda run: -lost[run]):
        result = judged.runs[run_id]
        if result.size is None:
            continue
        ends = [t for c in system.runs[run_id].conductor_ids for _, t in terminals(system, system.conductors[c])]
        now = conductors.ohm_per_m(result.size, 20.0, tinned)
        for size in shelf or judged.profile.sizes(system.settings.conductors):
            if not exceeds(conductors.area_mm2(size), result.area_mm2) or not all(takes(t, size) for t in ends):
                continue
            saved = lost[run_id] * (1.0 - conductors.ohm_per_m(size, 20.0, tinned) / now)
            reached = load.voltage_v + saved / _stiffer(judged, load, low)
            if reached >= low:
                return f"{size.label} on `{run_id}`: {show(reached, 'V', 4)} at `{load.load}`"
    return None


def _source_too_low(judged: JudgedVoltages, load: LoadResult, low: float) -> Finding:
    part, source = judged.system.parts[load.load], judged.system.parts[load.source]
    return make(
        "CP314",
        load.load,
        part.spans.get("works", part.span),
        at={"held": source.spans.get("range") or source.spans.get("out_v") or source.span},
        low=low,
        source=load.source,
        held=load.voltage_v + load.solved_drop_v,
        lost=load.solved_drop_v,
        reached=floor(load.voltage_v * 10) / 10,
    )


def _too_high(judged: JudgedVoltages, load: LoadResult, volts: float, high: float) -> Finding:
    part, source = judged.system.parts[load.load], judged.system.parts[load.source]
    held = source.spans.get("full_v") or source.spans.get("range") or source.spans.get("out_v") or source.span
    silent = isinstance(source, Battery) and not {"full_v", "range"} & source.stated
    return make(
        "CP312",
        load.load,
        part.spans.get("works", part.span),
        at={"held": held},
        volts=volts,
        high=high,
        source=load.source,
        chemistry=(source.chemistry or "battery") if isinstance(source, Battery) and silent else None,
        wanted=ceil(volts * 10) / 10,
    )


def _alone(judged: JudgedVoltages, load: LoadResult) -> Finding:
    """A budget overdrawn where one of several sources carries all, the others being out."""
    system = judged.system
    lost: dict[str, float] = {}
    for step in load.path:
        if step.through in system.conductors:
            name = system.conductors[step.through].run
            lost[name] = lost.get(name, 0.0) + step.judged_v
    worst = max(lost, key=lambda run: lost[run])
    leads = [r for r in lost if load.source in system.end_parts(system.runs[r]) and judged.runs[r].size] or [worst]
    over, tinned = load.drop_v - load.budget_v, system.settings.tinned
    rate = judged.profile.judged_ohm_per_m
    remedies: list[str] = []
    for size in judged.profile.sizes(system.settings.conductors):
        kept = sum(
            lost[r] * min(rate(size, tinned).value / rate(now, tinned).value, 1.0)
            for r in leads
            if (now := judged.runs[r].size) is not None
        )
        if sum(lost[r] for r in leads) - kept >= over:
            remedies.append(f"{size.label} on " + " and ".join(f"`{r}`" for r in leads))
            break
    run = system.runs[worst]
    return make(
        "CP310",
        load.load,
        run.size_span or run.span,
        lost=load.drop_percent,
        allowed=load.budget_percent,
        sharing=_sharing(system, load.source),
        source=load.source,
        run_v=lost[worst],
        budget_v=load.budget_v,
        remedies=[*remedies, "shorter leads"],
        rule=judged.profile.clauses.get("drop", ""),
    )


def _warm(judged: JudgedVoltages, load: LoadResult) -> Iterator[Finding]:
    """Within its budget by the profile's figure, and not so in copper at its working temperature: an error where
    budgets are to hold so, a warning where a size that the plate states loses most, else a figure of the report."""
    system, warm = judged.system, judged.system.settings.judge == "warm"
    lost = {run: volts for run, volts in lost_by_run(system, load).items() if run in judged.runs}
    most = max(lost, key=lambda run: lost[run], default="")
    if not warm and (most not in system.runs or system.runs[most].size is None):
        return
    larger = _larger_size(judged, load, load.voltage_v + (load.solved_drop_v - load.budget_v), lost)
    run = system.runs.get(load.run)
    finding = make(
        "CP313",
        load.load,
        run.span if run is not None else system.parts[load.load].span,
        lost=load.solved_percent,
        allowed=load.budget_percent,
        judged=load.drop_percent,
        breakdown=_breakdown(judged, load),
        larger=larger,
        # With one size stated larger, sizes that are left out are chosen anew, and thinner ones may do again.
        chosen=any(system.runs[name].size is None for name in lost if name in system.runs),
        rule=judged.profile.constants()["judged"].source,
    )
    yield replace(finding, severity="error") if warm else finding
