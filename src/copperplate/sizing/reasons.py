"""Why a run has its size: the rule that binds, margins and offers."""

from __future__ import annotations

from dataclasses import replace
from math import inf

from copperplate.model.results import Binding, GovernedBy, RunResult
from copperplate.sizing.chosen import ChosenSizes
from copperplate.sizing.ladder import ampere_metres_of, candidates, drop_rung, start_rung
from copperplate.sizing.laying import Gauge
from copperplate.sizing.margins import Margin, Margins
from copperplate.sizing.rules import ALONE, Rules
from copperplate.units import show


def run_result(chosen: ChosenSizes, margins: Margins, run_id: str) -> RunResult:
    """The result of one run, `drop_hot_v` left to judging."""
    r, g = chosen.rules[run_id], chosen.gauges[run_id]
    run = r.run
    most = max((am for _, am in chosen.uses.through.get(run_id, ())), default=0.0) or r.requirement.ampere_metres
    metres = sum(chosen.system.conductors[c].length_m for c in run.conductor_ids) * run.parallel
    larger = (o for o in r.gauges if g is not None and o.area_mm2 > g.area_mm2 and r.allows(o, ALONE))
    following = next(larger, None)
    length, current = margins.length(run_id), margins.current(run_id)
    return RunResult(
        run=run_id,
        size=g.size if g else None,
        parallel=run.parallel,
        area_mm2=g.area_mm2 if g else 0.0,
        stated=run.size is not None,
        governed_by=governed_by(chosen, run_id),
        design_current=r.requirement.design,
        ampacity=g.ampacity(run.parallel) if g else None,
        brief_s=r.requirement.brief_s,
        table_ampacity_a=g.table.value if g and g.table else None,
        factors=g.factors if g else (),
        insulation_c=r.laying.insulation_c,
        ambient_c=r.laying.ambient_c,
        drop_v=most * g.judged.value if g else 0.0,
        drop_hot_v=0.0,
        candidates=candidates(chosen, run_id),
        protected_by=r.requirement.protected_by,
        spare_length_m=length[0] if length else None,
        spare_current_a=current[0] if current else None,
        spare_length_by=_binding(chosen, length),
        spare_current_by=_binding(chosen, current),
        next_size=following.size if following else None,
        copper_mm2_m=g.area_mm2 * metres if g else 0.0,
        offers=offers(chosen, run_id),
    )


def _binding(chosen: ChosenSizes, margin: Margin | None) -> Binding | None:
    """What binds, a voltage window told from a budget."""
    if margin is None:
        return None
    window = margin[1].rule == "drop" and margin[1].subject in chosen.sizes.windowed
    return replace(margin[1], rule="window") if window else margin[1]


def governed_by(chosen: ChosenSizes, run_id: str) -> GovernedBy:
    """The rule that refuses the next smaller size."""
    r, g = chosen.rules[run_id], chosen.gauges[run_id]
    if r.run.size is not None:
        return "stated"
    if g is None:
        return "ampacity" if r.refuses("ampacity", r.gauges[-1]) else "protection"
    smaller = [o for o in r.gauges if o.area_mm2 < g.area_mm2]
    if not smaller:
        return "minimum"
    given_up = chosen.sizes.given_up.get(run_id, ())
    refused = [rule for rule in r.refused_by(smaller[-1]) if rule not in given_up]
    if refused:
        return refused[0]
    for other in chosen.unit_of[run_id].runs:
        elsewhere = chosen.rules[other]
        if other != run_id and elsewhere.refused_by(elsewhere.of(smaller[-1].size)):
            return "lead"
    entries = chosen.uses.through.get(run_id, ())
    if start_rung(chosen, run_id, smaller[-1]).verdict == "refused":
        return "start"
    if len(entries) == 1:
        load = chosen.uses.paths[entries[0][0]].path.load
        return "window" if load in chosen.sizes.windowed else "drop"
    return "shared budget"


def offers(chosen: ChosenSizes, run_id: str) -> tuple[str, ...]:
    """What else could be taken, computed: a smaller size by the device's own window, a larger one that fits."""
    r, g = chosen.rules[run_id], chosen.gauges[run_id]
    if g is None:
        return ()
    return tuple(offer for offer in (_by_window(chosen, r, g), _by_clamp(chosen, r, g)) if offer)


def _by_window(chosen: ChosenSizes, r: Rules, g: Gauge) -> str:
    """The size that would do if the window of a load, and not its budget, were the limit."""
    entries = chosen.uses.through.get(r.run.id, ())
    if len(entries) != 1 or governed_by(chosen, r.run.id) != "drop":
        return ""
    path = chosen.uses.paths[entries[0][0]].path
    works = chosen.system.parts[path.load].works
    if works is None:
        return ""
    for smaller in (o for o in r.gauges if o.area_mm2 < g.area_mm2 and r.allows(o, ALONE)):
        trial = chosen.trial(r.run.id, smaller)
        left = path.low_v - chosen.drops.warm_v(path, trial)
        if left >= works.low:
            return (
                f"{smaller.size.label} would do if the window of `{path.load}` (from {show(works.low, 'V')}) "
                f"were the limit: it would get {show(left, 'V', 4)}"
            )
    return ""


def _by_clamp(chosen: ChosenSizes, r: Rules, g: Gauge) -> str:
    """The largest size that the terminals take, where it is larger."""
    if r.advice_mm2 or r.run.size is not None or not any(high < inf for *_, high in r.ends):
        return ""
    fitting = [o for o in r.gauges if r.allows(o, ("terminal", "stock"))]
    if not fitting or fitting[-1].area_mm2 <= g.area_mm2:
        return ""
    largest = fitting[-1]
    rung = drop_rung(chosen, r.run.id, largest, ampere_metres_of(chosen, r.run.id))
    drop = f": the drop would be {rung.shown}" if rung.verdict != "not judged" else ""
    return f"its terminals take up to {largest.size.label}{drop}"
