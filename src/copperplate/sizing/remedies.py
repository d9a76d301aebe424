"""Remedies for a design that does not hold: each is computed, and checked against every rule, before it is offered."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import floor

from copperplate.model import Load
from copperplate.sizing.bundles import counting
from copperplate.sizing.chosen import ChosenSizes
from copperplate.sizing.drops import AS_CHOSEN
from copperplate.sizing.laying import Gauge
from copperplate.sizing.rules import ALONE, Rule, Rules
from copperplate.sizing.supply_paths import SupplyPath
from copperplate.units import NOISE, from_si, number, show

MOST_PARALLEL = 4
"""So many conductors in parallel are offered at most."""
ELECTRIC: tuple[Rule, ...] = ("minimum", "ampacity", "protection", "advice", "comparable")
"""The rules that hold wherever a run ends and whatever is on the shelf."""
LAYABLE: tuple[Rule, ...] = ("minimum", "terminal", "stock")
"""The rules for each of several conductors that carry the current together."""
BOOSTED_TO = {12.0: 24.0, 24.0: 48.0}


def for_terminal(chosen: ChosenSizes, run_id: str) -> tuple[str, ...]:
    """Remedies where the size that is needed does not fit a terminal."""
    r, g = chosen.rules[run_id], chosen.gauges[run_id]
    if g is None:
        return ()
    remedies: list[str] = []
    fitting = [o for o in r.gauges if r.allows(o, LAYABLE)]
    carrying = [o for o in fitting if r.allows(o, ELECTRIC)]
    paths = chosen.paths(run_id)
    if carrying and paths:
        remedies += _by_budget_or_length(chosen, r, carrying[-1], paths)
    parallel = in_parallel(chosen, run_id, fitting)
    if parallel:
        remedies.append(f"{parallel}, if the terminal takes so many")
    return (*remedies, f"a device or a terminal block that takes {g.size.label}")


def for_budget(chosen: ChosenSizes, path: SupplyPath) -> tuple[str, ...]:
    """Remedies where the drop on a load's path exceeds its budget."""
    remedies = _by_size(chosen, path)
    own = _own_run(chosen, path)
    if own is not None:
        r = chosen.rules[own]
        if not remedies:
            parallel = in_parallel(chosen, own, [o for o in r.gauges if r.allows(o, LAYABLE)])
            remedies += [f"{parallel} on `{own}`"] if parallel else []
        metres = _shorter_m(chosen, r, [path], chosen.trial(own, chosen.drops.gauge(own)))
        if metres > 0.0:
            remedies.append(f"`{own}` {_length(chosen, metres)} or shorter")
    if path.load not in chosen.sizes.windowed:
        remedies += _by_budget(chosen, path)
    return (*remedies, *_by_voltage(chosen, path))


def in_parallel(chosen: ChosenSizes, run_id: str, gauges: Sequence[Gauge]) -> str:
    """The least copper of the fewest conductors in parallel, of these sizes, that carries and holds what it must; ""
    where none does."""
    r, paths = chosen.rules[run_id], chosen.paths(run_id)
    for count in range(2, MOST_PARALLEL + 1):
        many = {run: _parallel(chosen, run, count) for run in chosen.members(run_id)}
        thinner = [_thinned(path, many, r.run.parallel / count) for path in paths]
        for g in gauges:
            trial = {run: m.of(g.size) for run, m in many.items()}
            carries = all(m.allows(trial[run], ELECTRIC) for run, m in many.items())
            if carries and all(chosen.holds(path, trial) for path in thinner):
                return f"`{g.size.label}, parallel {count}`"
    return ""


def _parallel(chosen: ChosenSizes, run_id: str, count: int) -> Rules:
    """The rules of a run with so many conductors in parallel: each of them is loaded, and counts."""
    r = chosen.rules[run_id]
    more = r.laying.loaded + (count - r.run.parallel) * len(counting(chosen.system, r.run))
    return replace(r, run=replace(r.run, parallel=count), laying=replace(r.laying, loaded=more, parallel=count > 1))


def _thinned(path: SupplyPath, runs: Mapping[str, object], share: float) -> SupplyPath:
    """A path with this share of the ampere-metres of some runs."""

    def thinner(those: tuple[tuple[str, float], ...]) -> tuple[tuple[str, float], ...]:
        return tuple((run, am * share if run in runs else am) for run, am in those)

    start = replace(path.start, runs=thinner(path.start.runs)) if path.start is not None else None
    return replace(path, runs=thinner(path.runs), start=start)


def _by_budget_or_length(chosen: ChosenSizes, r: Rules, g: Gauge, paths: list[SupplyPath]) -> list[str]:
    """The budget that the largest fitting size would need, and the length at which it holds the present one."""
    trial = chosen.trial(r.run.id, g)
    if not all(chosen.starts(path, trial) for path in paths):
        return []
    remedies: list[str] = []
    over = [path for path in paths if not chosen.holds(path, trial)]
    if len(over) == 1 and over[0].load not in chosen.sizes.windowed:
        remedies += _by_budget(chosen, over[0], trial, g.size.label)
    metres = _shorter_m(chosen, r, over, trial)
    if metres > 0.0:
        remedies.append(f"with {g.size.label}, {_length(chosen, metres)} or shorter")
    return remedies


def _by_budget(
    chosen: ChosenSizes, path: SupplyPath, trial: Mapping[str, Gauge] = AS_CHOSEN, size: str = ""
) -> list[str]:
    """The budget that a path needs, where its device works with it."""
    part = chosen.system.parts[path.load]
    works = part.works
    if isinstance(part, Load) and part.critical:
        return []
    if works is not None and path.low_v - chosen.drops.warm_v(path, trial) < works.low:
        return []
    percent = floor(1000 * chosen.drops.judged_v(path, trial) / path.ends.nominal_v + 1) / 10
    if works is None and percent > 100 * chosen.profile.figures["drop-largest"].value:
        return []
    allowed = f", for it works from {show(works.low, 'V')}" if works is not None else ", if it works so low"
    with_size = f" with {size}" if size else ""
    return [f"`drop {number(percent)} %` on `{path.load}`{with_size}{allowed}"]


def _shorter_m(chosen: ChosenSizes, r: Rules, over: list[SupplyPath], trial: Mapping[str, Gauge]) -> float:
    """Metres one way at which every one of these paths holds its budget; 0.0 where no length does."""
    metres = r.run.length_m
    for path in over:
        own_v = sum(am * trial[run].judged.value for run, am in path.runs if run in trial)
        if not own_v:
            return 0.0
        over_v = chosen.drops.judged_v(path, trial) - chosen.sizes.budget_v[path.load]
        metres = min(metres, r.run.length_m * (1.0 - over_v / own_v))
    return metres if over else 0.0


def _length(chosen: ChosenSizes, metres: float) -> str:
    """A length in the plate's unit, rounded down to what can be measured out."""
    unit = chosen.system.settings.length_unit
    return f"{number(floor(from_si(metres, unit) * 10 + NOISE) / 10)} {unit}"


def larger_on_way(chosen: ChosenSizes, path: SupplyPath) -> tuple[str, Gauge] | None:
    """The smallest size that holds the budget, on the run that loses most of those that one mends."""
    gauges = {run: g for run, _ in path.runs if (g := chosen.gauges.get(run)) is not None}
    lost_v = {run: am * gauges[run].judged.value for run, am in path.runs if run in gauges}
    for run in sorted(lost_v, key=lambda run: -lost_v[run]):
        r = chosen.rules[run]
        larger = [o for o in r.gauges if o.area_mm2 > gauges[run].area_mm2 and r.allows(o, ALONE)]
        fitting = next((o for o in larger if chosen.holds(path, chosen.trial(run, o))), None)
        if fitting is not None:
            return run, fitting
    return None


def _by_size(chosen: ChosenSizes, path: SupplyPath) -> list[str]:
    larger = larger_on_way(chosen, path)
    if larger is None:
        return []
    run, gauge = larger
    percent = 100 * chosen.drops.judged_v(path, chosen.trial(run, gauge)) / path.ends.nominal_v
    return [f"{gauge.size.label} on `{run}`: {number(percent)} %"]


def _own_run(chosen: ChosenSizes, path: SupplyPath) -> str | None:
    """The run that serves this load alone and loses most."""
    sized = [(am, run) for run, am in path.runs if chosen.gauges.get(run) is not None]
    alone = [(am, run) for am, run in sized if len(chosen.uses.through[run]) == 1]
    return max(alone)[1] if alone else None


def _by_voltage(chosen: ChosenSizes, path: SupplyPath) -> list[str]:
    """Twice the voltage: half the current for the same power, so a quarter of the drop in percent."""
    nominal_v = path.ends.nominal_v
    power_w = chosen.system.parts[path.load].power_w
    if nominal_v not in BOOSTED_TO or path.ends.current == "ac" or power_w is None:
        return []
    quarter = 100 * chosen.drops.judged_v(path) / nominal_v / 4
    if quarter / 100 * nominal_v > chosen.sizes.budget_v[path.load]:
        return []
    return [f"a {number(BOOSTED_TO[nominal_v])} V system: {number(quarter)} % with these sizes"]
