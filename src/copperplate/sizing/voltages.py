"""What is wrong with the voltage at a load, with the way it was lost and what would mend it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil, floor

from copperplate.findings import Finding, Measure, Related, finding
from copperplate.model import System
from copperplate.model.results import LoadResult, RunResult, Solution
from copperplate.sizing.ends import takes, terminals
from copperplate.standards import Profile, conductors
from copperplate.units import beside, number, show


@dataclass(frozen=True)
class Judged:
    """What voltages are told from."""

    system: System
    profile: Profile
    runs: Mapping[str, RunResult]
    solution: Solution
    loads: Mapping[str, LoadResult]
    others: frozenset[str]
    """Loads that lose most from another source than the one that sizes were settled with."""
    lowest: Mapping[str, tuple[float, str]]
    """By load whose zone several sources hold: the volts that the worst of them alone leaves it, and which."""


def complaints(judged: Judged) -> tuple[Finding, ...]:
    """The findings on every load's voltage, in declaration order."""
    found: list[Finding] = []
    for load in judged.loads.values():
        if any(load.load in loads for loads in judged.solution.collapsed.values()):
            continue
        low = load.works_low_v
        if low is not None and load.voltage_v < low * (1 - 1e-9):
            alone = load.voltage_v + load.solved_drop_v < low * (1 - 1e-9)
            found.append(_source_too_low(judged, load, low) if alone else _too_low(judged, load, low))
        alone_v, source = judged.lowest.get(load.load, (load.voltage_v, ""))
        if low is not None and alone_v < low * (1 - 1e-9) and load.voltage_v >= low * (1 - 1e-9):
            found.append(_too_low_alone(judged, load, low, alone_v, source))
        high = load.works_high_v
        if high is not None and load.highest_v is not None and load.highest_v > high * (1 + 1e-9):
            found.append(_too_high(judged, load, load.highest_v, high))
        if load.load in judged.others and load.drop_v > load.budget_v * (1 + 1e-9):
            found.append(_alone(judged, load))
        within = load.drop_v <= load.budget_v * (1 + 1e-9)
        if within and load.solved_drop_v > load.budget_v * (1 + 1e-9):
            found.append(_warm(judged, load))
    return tuple(found)


def lost_by_run(system: System, load: LoadResult) -> dict[str, float]:
    """Volts lost on a load's way as solved, by run (out and back) and by device that has a resistance."""
    lost: dict[str, float] = {}
    for step in load.path:
        if not step.through:
            continue
        conductor = system.conductors.get(step.through)
        key = conductor.run if conductor is not None else step.through
        if conductor is not None or step.lost_v:
            lost[key] = lost.get(key, 0.0) + step.lost_v
    return lost


def _breakdown(judged: Judged, load: LoadResult) -> str:
    """The way in one line: the source's volts, then what each run takes."""
    system = judged.system
    held = load.voltage_v + load.solved_drop_v
    part = system.parts[load.source]
    case = next(c for c in system.cases if c.id == load.worst_case)
    end = "" if part.kind != "battery" else " (low end of its range)" if case.kind == "load" else " (while charging)"
    taken = [f"{run} {number(volts)} V" for run, volts in lost_by_run(system, load).items()]
    return " - ".join([f"{load.source} {show(held, 'V', 4)}{end}", *taken])


def _too_low(judged: Judged, load: LoadResult, low: float) -> Finding:
    system = judged.system
    part = system.parts[load.load]
    lost = lost_by_run(system, load)
    in_runs = {run: volts for run, volts in lost.items() if run in system.runs}
    worst = max(in_runs, key=lambda run: in_runs[run], default="")
    run = system.runs.get(worst)
    span = (run.size_span or run.span) if run is not None else part.span
    window = part.spans.get("works")
    return finding(
        "CP311",
        load.load,
        f"`{load.load}` gets {number(load.voltage_v, 4)} V and works from {number(low, 4)} V",
        span,
        label=f"this run drops {number(in_runs.get(worst, 0.0))} V of the {number(load.solved_drop_v)} V",
        notes=(_breakdown(judged, load),),
        help=_ways_out(judged, load, low, in_runs),
        related=(Related(window, "its window"),) if window is not None else (),
        measure=Measure(load.voltage_v, low, "V"),
    )


def _too_low_alone(judged: Judged, load: LoadResult, low: float, volts: float, source: str) -> Finding:
    """Inside its window while the sources share the load, and not while one of them carries all."""
    system = judged.system
    window = system.parts[load.load].spans.get("works", system.parts[load.load].span)
    leads = [r.id for r in system.runs.values() if source in system.end_parts(r) and r.id in judged.runs]
    return finding(
        "CP311",
        load.load,
        f"`{load.load}` gets {number(volts, 4)} V from `{source}` alone and works from {number(low, 4)} V",
        window,
        label="its window",
        notes=(f"the other sources are taken to be out, and `{source}` to carry all, in warm copper",),
        help=" and ".join(f"`{r}`" for r in leads) + " larger or shorter, or their sizes left out",
        related=tuple(Related(system.runs[r].span, f"a lead of `{source}`") for r in leads[:2]),
        measure=Measure(volts, low, "V"),
    )


def _ways_out(judged: Judged, load: LoadResult, low: float, lost: Mapping[str, float]) -> str:
    """The smallest larger size of one run, and the length of it, that bring the load into its window."""
    missing = low - load.voltage_v
    found: list[str] = []
    for run_id in sorted(lost, key=lambda one: -lost[one]):
        size = _larger_size(judged, load, run_id, low, lost[run_id])
        if size is not None:
            found.append(size)
            break
    own = load.run
    volts = lost.get(own, 0.0)
    if volts > missing:
        metres = judged.system.runs[own].length_m * (1.0 - missing * _stiffer(judged, load, low) / volts)
        unit, per = ("ft", 0.3048) if judged.system.settings.units == "us" else ("m", 1.0)
        if metres > 0.1 * per:
            found.append(f"make `{own}` {number(floor(metres / per * 10) / 10)} {unit} or shorter")
    return "; or ".join(found) or "a higher system voltage, or a converter near the load"


def _stiffer(judged: Judged, load: LoadResult, low: float) -> float:
    """A resistive load draws more at the higher voltage, and its way loses so much more."""
    resistive = judged.system.parts[load.load].values.get("resistance_ohm")
    return (low / load.voltage_v) ** 2 * 1.02 if resistive and load.voltage_v > 0.0 else 1.0


def _larger_size(judged: Judged, load: LoadResult, run_id: str, low: float, lost_v: float) -> str | None:
    """The smallest size above a run's own that fits its terminals and brings the load into its window."""
    system, result = judged.system, judged.runs[run_id]
    if result.size is None:
        return None
    tinned = system.settings.tinned
    shelf = system.stock.sizes if system.stock else ()
    ends = [t for c in system.runs[run_id].conductor_ids for _, t in terminals(system, system.conductors[c])]
    now = conductors.ohm_per_m(result.size, 20.0, tinned)
    for size in shelf or judged.profile.sizes(system.settings.conductors):
        if conductors.area_mm2(size) <= result.area_mm2 * 1.0001 or not all(takes(t, size) for t in ends):
            continue
        saved = lost_v * (1.0 - conductors.ohm_per_m(size, 20.0, tinned) / now)
        reached = load.voltage_v + saved / _stiffer(judged, load, low)
        if reached >= low:
            return f"{size.label} on `{run_id}`: {show(reached, 'V', 4)} at `{load.load}`"
    return None


def _source_too_low(judged: Judged, load: LoadResult, low: float) -> Finding:
    part = judged.system.parts[load.load]
    held = load.voltage_v + load.solved_drop_v
    source = judged.system.parts[load.source]
    window = part.spans.get("works", part.span)
    range_ = source.spans.get("range") or source.spans.get("out_v") or source.span
    return finding(
        "CP314",
        load.load,
        f"`{load.load}` works from {number(low, 4)} V, and `{load.source}` falls to {number(held, 4)} V by itself",
        window,
        label="its window",
        notes=(f"the wiring takes another {number(load.solved_drop_v)} V",),
        help=f"a device that works from {number(floor(load.voltage_v * 10) / 10)} V, a converter for it, "
        f"or stop using `{load.source}` earlier and say so in its range",
        related=(Related(range_, f"{number(held, 4)} V"),),
        measure=Measure(held, low, "V"),
    )


def _too_high(judged: Judged, load: LoadResult, volts: float, high: float) -> Finding:
    part = judged.system.parts[load.load]
    source = judged.system.parts[load.source]
    window = part.spans.get("works", part.span)
    held = source.spans.get("full_v") or source.spans.get("range") or source.spans.get("out_v") or source.span
    assumed = source.kind == "battery" and not {"full_v", "range"} & source.stated
    note = f"`{load.source}` is held so high while it charges, and the load is on its bars even when off"
    if assumed:
        chemistry = source.get("chemistry") or "battery"
        note += f"; that is taken for {chemistry}, for the plate states neither `full` nor `range`"
    return finding(
        "CP312",
        load.load,
        f"`{load.load}` gets {number(volts, 4)} V and works to {number(high, 4)} V",
        window,
        label="its window",
        notes=(note,),
        help=f"a device that works to {number(ceil(volts * 10) / 10)} V, or a converter that feeds it"
        + (f"; or `full` on `{load.source}`, as its charger holds it" if assumed else ""),
        related=(Related(held, f"{number(volts, 4)} V"),),
        measure=Measure(volts, high, "V"),
    )


def _alone(judged: Judged, load: LoadResult) -> Finding:
    """A budget overdrawn where one of several sources carries all, the others being out."""
    system = judged.system
    lost: dict[str, float] = {}
    for step in load.path:
        if step.through in system.conductors:
            name = system.conductors[step.through].run
            lost[name] = lost.get(name, 0.0) + step.judged_v
    worst = max(lost, key=lambda one: lost[one])
    leads = [r for r in lost if load.source in system.end_parts(system.runs[r]) and judged.runs[r].size] or [worst]
    over, tinned = load.drop_v - load.budget_v, system.settings.tinned
    rate = judged.profile.judged_ohm_per_m
    ways: list[str] = []
    for size in judged.profile.sizes(system.settings.conductors):
        kept = sum(
            lost[r] * min(rate(size, tinned).value / rate(now, tinned).value, 1.0)
            for r in leads
            if (now := judged.runs[r].size) is not None
        )
        if sum(lost[r] for r in leads) - kept >= over:
            ways.append(f"{size.label} on " + " and ".join(f"`{r}`" for r in leads))
            break
    run = system.runs[worst]
    return finding(
        "CP310",
        load.load,
        f"`{load.load}` loses {number(load.drop_percent)} % on its way from `{load.source}` alone, and its budget is "
        f"{number(load.budget_percent)} %",
        run.size_span or run.span,
        label=f"this run loses {number(lost[worst])} V of the {number(load.budget_v)} V",
        notes=(f"the other sources are taken to be out, and `{load.source}` to carry all",),
        help="; or ".join([*ways, "shorter leads"]),
        measure=Measure(load.drop_percent, load.budget_percent, "%"),
        rule=judged.profile.clauses.get("drop", ""),
    )


def _warm(judged: Judged, load: LoadResult) -> Finding:
    """Within its budget by the profile's figure, and not so in copper at its working temperature."""
    part = judged.system.parts[load.load]
    lost = {r: v for r, v in lost_by_run(judged.system, load).items() if r in judged.runs}
    over = load.solved_drop_v - load.budget_v
    mending = ""
    for run_id in sorted(lost, key=lambda one: -lost[one]):
        target = load.voltage_v + over
        mending = _larger_size(judged, load, run_id, target, lost[run_id]) or ""
        if mending:
            break
    run = judged.system.runs.get(load.run)
    # With one size stated larger, sizes that are left out are chosen anew, and thinner ones may do again.
    chosen = any(judged.system.runs[one].size is None for one in lost if one in judged.system.runs)
    pinned = " and `pin --sizes` keeps the other sizes" if chosen and mending else ""
    return finding(
        "CP313",
        load.load,
        f"`{load.load}` loses {beside(load.solved_percent, load.budget_percent)} % in warm copper, and its budget is "
        f"{number(load.budget_percent)} %",
        run.span if run is not None else part.span,
        notes=(f"{number(load.drop_percent)} % by the figure that the rules judge with", _breakdown(judged, load)),
        help=f"{mending}, if the budget is to hold warm{pinned}"
        if mending
        else "a larger conductor, if it is to hold warm",
        measure=Measure(load.solved_percent, load.budget_percent, "%"),
        rule=judged.profile.constants()["judged"].source,
    )
