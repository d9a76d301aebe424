"""What is wrong with the size of a run, and what its reader should know of it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from copperplate.findings import Finding, make
from copperplate.sizing.chosen import ChosenSizes
from copperplate.sizing.laying import Gauge, minimum
from copperplate.sizing.makers_findings import makers_findings
from copperplate.sizing.remedies import ELECTRIC, LAYABLE, for_budget, for_terminal, in_parallel, larger_on_way
from copperplate.sizing.rules import ALONE, Rules
from copperplate.sizing.supply_paths import SupplyPath
from copperplate.standards import conductors
from copperplate.units import number


def size_findings(chosen: ChosenSizes) -> Iterator[Finding]:
    """The findings on every run's size, in declaration order, then those on budgets."""
    unsized: set[tuple[str, ...]] = set()
    advised: set[tuple[str, str]] = set()
    for run_id, r in chosen.rules.items():
        if r.run.size is not None:
            yield from _stated(chosen, r, r.of(r.run.size))
        elif chosen.gauges[run_id] is not None:
            yield from _given_up(chosen, r)
        elif chosen.members(run_id) not in unsized:
            unsized.add(chosen.members(run_id))
            yield _none_carries(chosen, r)
        for finding in makers_findings(chosen, r):
            # The two leads of a device are one size, and get one finding.
            key = (finding.code, chosen.members(run_id)[0])
            if key not in advised:
                advised.add(key)
                yield finding
    sized = chosen.gauges
    for use in chosen.uses.paths:
        runs = [run for run, _ in use.path.runs if run in chosen.rules]
        # What a source does alone is judged as built.
        if not use.path.alone and chosen.overdrawn(use) and all(sized.get(run) is not None for run in runs):
            yield _overdrawn(chosen, use.path, use.judged_v)


def _stated(chosen: ChosenSizes, r: Rules, g: Gauge) -> Iterator[Finding]:
    """A stated size against the rules that a run judges alone; its protection is judged with its devices."""
    run, span = r.run, r.run.size_span or r.run.span
    fitting = next((o.size.label for o in r.gauges if r.allows(o, ALONE)), None)
    if g.below_minimum:
        least, rule = minimum(r.profile, r.series, r.laying)
        yield make(
            "CP304",
            run.id,
            span,
            size=g.size.label,
            area=g.area_mm2,
            least=least.label,
            least_area=rule.value,
            fitting=fitting,
            rule=rule.source,
        )
    if g.outside and not g.below_minimum:
        yield make("CP306", run.id, span, outside=g.outside, fitting=fitting, ambient=r.laying.ambient_c)
    elif not g.outside and r.refuses("ampacity", g):
        yield make("CP303", run.id, span, fitting=fitting, **_good(r, g))
    if r.refuses("terminal", g):
        yield from _unfit(chosen, r, g)
    if r.refuses("stock", g):
        yield make("CP508", run.id, span, size=g.size.label, shelf=_shelf(r), fitting=fitting)


def _good(r: Rules, g: Gauge) -> dict[str, Any]:
    """What a size of a run is good for, and how its ampacity came about where a factor lowers it."""
    need, before = r.requirement, r.too_little_before(g)
    factored = g.table is not None and bool(g.factors) and not before
    return {
        "laid": g.size.laid(r.run.parallel),
        "carries": need.unfactored_a if before else need.carries_a,
        "good": (g.unfactored_a if before else g.ampacity_a) * r.run.parallel,
        "table": g.table.value if g.table is not None else None,
        "factors": " x ".join(f"{number(f.value)} ({f.quantity})" for f in g.factors) if factored else None,
        "ampacity": g.ampacity_a,
        "rule": g.table.source if g.table is not None else "",
    }


def _shelf(r: Rules) -> str:
    return ", ".join(size.label for size in sorted(r.shelf, key=conductors.area_mm2))


def _none_carries(chosen: ChosenSizes, r: Rules) -> Finding:
    """No size of the ladder serves this run."""
    need, largest = r.requirement, r.gauges[-1]
    if all(g.outside for g in r.gauges):
        return make("CP306", r.run.id, r.run.span, outside=largest.outside, ambient=r.laying.ambient_c)
    return make(
        "CP305",
        r.run.id,
        r.run.span,
        protect=need.protect_a if need.protect_a > need.carries_a else None,
        devices=_listed(need.protected_by) or None,
        wanted=max(need.carries_a, need.unfactored_a, need.protect_a),
        parallel=in_parallel(chosen, r.run.id, list(r.gauges)) or None,
        **_good(r, largest),
    )


def _listed(devices: tuple[str, ...]) -> str:
    """Devices by name, as many as a reader wants to see."""
    more = [f"{len(devices) - 3} more"] if len(devices) > 3 else []
    return " and ".join([f"`{device}`" for device in devices[:3]] + more)


def _given_up(chosen: ChosenSizes, r: Rules) -> Iterator[Finding]:
    """Rules that had to give way for this run."""
    g, given_up = chosen.gauges[r.run.id], chosen.sizes.given_up.get(r.run.id, ())
    if g is not None and "terminal" in given_up:
        yield from _unfit(chosen, r, g)
    if g is not None and "stock" in given_up:
        yield make("CP509", r.run.id, r.run.span, size=g.size.label, shelf=_shelf(r))


def _unfit(chosen: ChosenSizes, r: Rules, g: Gauge) -> Iterator[Finding]:
    """The terminals that do not take the size, one finding each."""
    stated = r.run.size is not None
    allowed = [o for o in r.gauges if r.allows(o, ALONE)]
    smaller = [o.size.label for o in allowed if o.area_mm2 < g.area_mm2]
    seen: set[tuple[str, str]] = set()
    for node, terminal, low, high in r.ends:
        part = chosen.system.parts[chosen.system.nodes[node].part]
        if low <= g.area_mm2 <= high or (part.id, terminal) in seen:
            continue
        seen.add((part.id, terminal))
        small = g.area_mm2 < low
        yield make(
            "CP501",
            r.run.id,
            r.run.size_span or r.run.span,
            at={"terminal": part.spans.get("terminal", part.span)},
            size=g.size.label,
            area=None if g.size.system == "mm2" else g.area_mm2,
            part=part.id,
            terminal=terminal,
            remedies=None if small or stated else for_terminal(chosen, r.run.id),
            larger=allowed[0].size.label if small and allowed else None,
            smaller=smaller[-1] if not small and smaller else None,
            **({} if stated else _because(chosen, r, g)),
        )


def _because(chosen: ChosenSizes, r: Rules, g: Gauge) -> dict[str, Any]:
    """Why a size that does not fit is needed: the rules that refuse the largest that would."""
    fitting = [o for o in r.gauges if r.allows(o, LAYABLE) and o.area_mm2 < g.area_mm2]
    if not fitting:
        return {}
    refused = r.refused_by(fitting[-1], ELECTRIC)
    over = [p for p in chosen.paths(r.run.id) if not chosen.holds(p, chosen.trial(r.run.id, fitting[-1]))]
    return {
        "fitting": fitting[-1].size.label,
        "refused": " and ".join(refused) or None,
        "loads": ", ".join(f"`{p.load}`" for p in over) or None,
    }


def _overdrawn(chosen: ChosenSizes, path: SupplyPath, lost_v: float) -> Finding:
    """A load whose budget the sizes on its supply path do not hold."""
    part, nominal_v, budget_v = chosen.system.parts[path.load], path.ends.nominal_v, chosen.sizes.budget_v
    gauges = chosen.gauges
    shares = [(am * g.judged.value, run) for run, am in path.runs if (g := gauges.get(run)) is not None]
    worst_v, worst = max(shares, default=(0.0, ""))
    run, larger = chosen.system.runs.get(worst), larger_on_way(chosen, path)
    return make(
        "CP310",
        path.load,
        (run.size_span or run.span) if run else part.span,
        at={"drop": part.spans.get("drop", part.span) if "drop" in part.stated else None},
        lost=100 * lost_v / nominal_v,
        allowed=100 * budget_v[path.load] / nominal_v,
        run_v=worst_v,
        budget_v=budget_v[path.load],
        shares=", ".join(f"`{name}` {number(volts)} V" for volts, name in shares),
        remedies=for_budget(chosen, path),
        larger=larger[1].size.label if larger is not None and larger[0] == worst else None,
        rule=chosen.profile.clauses.get("drop", ""),
    )
